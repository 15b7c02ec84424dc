"""Fingerprints of what judgements and plans are made from: they tell whether any of it has changed."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

from spanwalk.rules.arrangements.choosing.wanted import KEEP, policy_of
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.judging.judging import RULES_VERSION
from spanwalk.rules.money.charges_entered import of_each_group
from spanwalk.rules.points.found import KindHeld
from spanwalk.rules.record_view import Record
from spanwalk.services.planning.inputs import Inputs, correction_of
from spanwalk.storage import json_text

Plan = PlanInShort
FINGERPRINT_BYTES = 16
NO_FINGERPRINTS = (b"", b"")


class Fingerprints:
    """Fingerprints of what judgements and plans of a site hang on: equal fingerprints, equal outcomes.

    They know of no field by itself: whole records go in, so that a new field cannot be forgotten. Only what else lights
    the room is left out where the site's policy of light does not look at it, and of money what no single group hangs on.
    `of_all` is the fingerprint of what the plans of all groups hang on alike.
    """

    def __init__(self, inputs: Inputs) -> None:
        catalogue, site = inputs.catalogue, inputs.survey.site()
        items = [catalogue.bars, catalogue.drivers, catalogue.accessories, catalogue.wiring_parts]
        offered = [*items, catalogue.prices, inputs.bars]
        own, added = [each.__dict__ for each in inputs.own], inputs.survey.of_type("own_row")
        self._of_ways = fingerprint_of([*offered, site, RULES_VERSION, own, added])
        self.of_all = fingerprint_of([self._of_ways, of_each_group(inputs.money)])
        self._of_judgements = fingerprint_of([inputs.bars, site, RULES_VERSION])
        self._inputs = inputs
        self._looks_at_others = policy_of(site) != KEEP
        self._of_record: dict[str, str] = {}

    def of_inputs(self, group_id: str, plans: Mapping[str, Plan]) -> bytes:
        """Fingerprint of all that a group's judgement and plan are made from."""
        inputs = self._inputs
        judged_from = [self._judged_from(group_id), self._judged_from(inputs.partners.get(group_id))]
        return bytes.fromhex(fingerprint_of([*self._around(group_id, plans), judged_from]))

    def of_plan(
        self, group_id: str, plans: Mapping[str, Plan], judged: Judgement, there: Judgement | None = None
    ) -> bytes:
        """Fingerprint of all that a group's plan is made from, its judgement and that of its neighbour given."""
        return bytes.fromhex(fingerprint_of([*self._around(group_id, plans), judged, there]))

    def of_ways(self, group_id: str, plans: Mapping[str, Plan]) -> bytes:
        """Fingerprint of all that a group's plan is made from but the terms of money: of what passes fit, electrics and duty, and more."""
        judged_from = self._judged_from(group_id)
        return bytes.fromhex(fingerprint_of([self._of_ways, *self._around(group_id, plans)[1:], judged_from]))

    def of_judgement(self, group_id: str) -> bytes:
        """Fingerprint of all that a group's judgement is made from: neither prices nor terms of money."""
        kind, room = self._inputs.places[group_id]
        records = [self._inputs.survey.by_id[group_id], self._record(kind), self._record(room)]
        return bytes.fromhex(fingerprint_of([self._of_judgements, *records, self._judged_from(group_id)]))

    def _judged_from(self, group_id: str | None) -> list[object] | None:
        judge = None if group_id is None else self._inputs.to_judge.get(group_id)
        return None if judge is None else [judge.readings, judge.trials, str(judge.elsewhere)]

    def _around(self, group_id: str, plans: Mapping[str, Plan]) -> list[object]:
        """What both hang on."""
        inputs = self._inputs
        kind, room = inputs.places[group_id]
        partner = inputs.partners.get(group_id)
        with_whom = partner and [
            inputs.survey.by_id[partner],
            self._record(inputs.places[partner][0]),
            self._here(partner),
            inputs.doubts.get(partner),
            plans.get(partner) if inputs.is_fed(group_id) else None,
            self._read(partner),
            self._held(partner),
        ]
        around = [
            self.of_all,
            inputs.survey.by_id[group_id],
            self._record(kind),
            self._record(room),
            self._here(group_id),
        ]
        theirs = [
            inputs.unpaired.get(group_id),
            inputs.doubts.get(group_id),
            self._read(group_id),
            self._held(group_id),
        ]
        return [*around, with_whom, *theirs, correction_of(inputs.light, inputs.places[group_id][1]["id"])]

    def _read(self, group_id: str) -> int | None:
        """In how many fixtures of the kind cavities were read, where that is not enough, which a plan tells of."""
        read = self._inputs.read.get(self._inputs.places[group_id][0]["id"])
        return None if read is None or read.is_enough else read.fixtures

    def _held(self, group_id: str) -> list[KindHeld]:
        return self._inputs.held_of(self._inputs.places[group_id][0]["id"])

    def _here(self, group_id: str) -> list[object]:
        """What else lights the room, as far as the plan looks at it."""
        others = self._inputs.others(group_id)
        return [others.known, others.site_values, *([others.lumens, others.watts] if self._looks_at_others else [])]

    def _record(self, record: Record) -> str:
        """Fingerprint of a record that several groups hang on, made once."""
        if record["id"] not in self._of_record:
            self._of_record[record["id"]] = fingerprint_of(record)
        return self._of_record[record["id"]]


def fingerprint_of(value: object) -> str:
    """Fingerprint of any value: equal fingerprints, equal values."""
    return hashlib.blake2b(json_text.dumps(value).encode(), digest_size=FINGERPRINT_BYTES).hexdigest()


__all__ = ["FINGERPRINT_BYTES", "NO_FINGERPRINTS", "Fingerprints", "fingerprint_of"]
