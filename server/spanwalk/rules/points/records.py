"""Open points of records of any type: conflicts, labels, photos, devices. Twin: pwa/rules/points/records.js."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from spanwalk.rules.points.found import Found, Seen, bound_labels
from spanwalk.rules.record_types import LabelView, RoomView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import facet, has


def conflict(seen: Seen) -> Iterator[Found]:
    """Facets that two people changed apart; one point for a record and facet."""
    for record in seen.survey.all:
        for name, number in sorted(Counter(each["facet"] for each in record["conflicts"]).items()):
            if not _is_told_otherwise(seen, record, name):
                yield Found(record["id"], seen.survey.room_of(record), {"facet": name, "values": number + 1})


def _is_told_otherwise(seen: Seen, record: Record, name: str) -> bool:
    return (name == "life" and bool(seen.survey.orphans(record))) or (record["type"], name) == ("label", "binding")


def removed_with_children(seen: Seen) -> Iterator[Found]:
    """Removed rooms, groups and the like under which something still lives that is no record of work."""
    for record in seen.survey.all:
        if children := seen.survey.orphans(record):
            names = {"children": len(children), "type": record["type"]}
            yield Found(record["id"], seen.survey.room_of(record), names)


def code_on_two_fixtures(seen: Seen) -> Iterator[Found]:
    """Labels whose one code was bound to two fixtures."""
    for label in seen.survey.of_type("label"):
        if any(each["facet"] == "binding" for each in label["conflicts"]):
            yield Found(label["id"], _room_of_label(seen, label), {"code": facet(label, "identity").get("code", "")})


def two_codes_on_a_fixture(seen: Seen) -> Iterator[Found]:
    """Fixtures that bear two labels; one point for a fixture."""
    sets: dict[tuple[str, int], list[LabelView]] = defaultdict(list)
    for label in bound_labels(seen):
        sets[facet(label, "binding")["group"], facet(label, "binding")["position"]].append(label)
    for (_, position), labels in sets.items():
        if len(labels) > 1:
            codes = ", ".join(sorted(str(facet(label, "identity").get("code", "")) for label in labels))
            yield Found(labels[0]["id"], _room_of_label(seen, labels[0]), {"codes": codes, "position": position})


def _room_of_label(seen: Seen, label: LabelView) -> RoomView | None:
    group = seen.survey.by_id.get(facet(label, "binding").get("group", ""))
    return seen.survey.room_of(group) if group is not None else None


def photo_not_arrived(seen: Seen) -> Iterator[Found]:
    """Photos that somebody took and whose picture is not on the server yet."""
    for photo in seen.survey.of_type("photo"):
        identity = facet(photo, "identity")
        if seen.photos_arrived is not None and identity.get("sha256") not in seen.photos_arrived:
            subject = seen.survey.by_id.get(identity.get("subject", ""))
            room = seen.survey.room_of(subject) if subject is not None else None
            yield Found(photo["id"], room, {"purpose": identity.get("purpose", "")})


def unsent_work(seen: Seen) -> Iterator[Found]:
    """Devices that said that they hold work which they have not sent; where only photos are missing, each of
    them is told already, by the rule before this one."""
    told = sum(1 for _ in photo_not_arrived(seen))
    for device in seen.devices:
        if device["operations"] > 0 or device["photos"] > told:
            facts: dict[str, object] = {
                "person": device["person"],
                "operations": device["operations"],
                "photos": device["photos"],
                "since": device["since"],
            }
            yield Found(device["id"], None, facts)


def figure_not_used(seen: Seen) -> Iterator[Found]:
    """Figures that a manager set for the site and that cannot stand in place of the tables'."""
    for each in seen.figures_not_used:
        yield Found(each["record"], None, {"row": each["row"], "why": each["why"]})


def question_open(seen: Seen) -> Iterator[Found]:
    """Questions that nobody has answered."""
    for question in seen.survey.of_type("question"):
        if not has(question, "answer"):
            identity = facet(question, "identity")
            subject = seen.survey.by_id.get(identity.get("subject", ""))
            room = seen.survey.room_of(subject) if subject is not None else None
            yield Found(question["id"], room, {"question": identity.get("question", "")})
