"""What the firm's closed sites change in the judgement of a group: how many readings are enough with them, and without. Twin: pwa/rules/judging/firm_effect.js."""

from __future__ import annotations

from dataclasses import replace

from spanwalk.rules.fit.cavity import Sample, believed_firm, measure_more, trusted_cavity
from spanwalk.rules.judging.firm_numbers import OWN_DEGREES
from spanwalk.rules.judging.judgement_types import FirmEffect
from spanwalk.rules.record_view import Table
from spanwalk.rules.said import Said

COUNTS = "counts"
TOO_FEW = "too-few-read-here"
ODD = "reads-otherwise"


def firm_effect(sample: Sample, needed_ticks: int | None, factors: Table) -> FirmEffect | None:
    """What the firm's numbers change in a group; None where the site does not take them, or there are none of the kind.

    Parameters
    ----------
    sample : Sample
        The group's cavities [1/320 mm].
    needed_ticks : int or None
        Cavity that the best row of bars needs, all margins in it [1/320 mm]; None where there is no such row.
    factors : mapping
        `prediction.json`.

    Returns
    -------
    dict
        `state`: 'counts', 'too-few-read-here' (of this kind, so far) or 'reads-otherwise' (wider than the firm's usual
        sites: only what was read here counts); `sites` and `readings` that the numbers rest on; `readings_with` and
        `readings_without`: cavities of the group to read in all until that row fits, if they read like those so far; null
        where no number of readings does it, or nothing was read.
    """
    firm = sample.firm
    if firm is None:
        return None
    return {
        "state": _state(sample, factors),
        "sites": firm.sites,
        "readings": firm.readings,
        "readings_with": _wanted(sample, needed_ticks, factors),
        "readings_without": _wanted(replace(sample, firm=None), needed_ticks, factors),
    }


def firm_said(effect: FirmEffect) -> Said:
    """What is told of it beside a verdict: on how many readings of how many sites it rests, and how much it changed.

    Parameters
    ----------
    effect : mapping
        What `firm_effect` gives.
    """
    within, alone = effect["readings_with"], effect["readings_without"]
    code = effect["state"]
    if code == COUNTS and within is not None and alone is not None:
        code = "counts-alike" if within == alone else "counts-more"
    facts: dict[str, object] = {name: effect[name] for name in ("sites", "readings")}
    if code == "counts-more":
        facts |= {"readings_with": within, "readings_without": alone}
    return {"code": f"firm.{code}", "facts": facts}


def _state(sample: Sample, factors: Table) -> str:
    if believed_firm(sample, 0, factors) is not None:
        return COUNTS
    return TOO_FEW if believed_firm(sample, OWN_DEGREES, factors) is not None else ODD


def _wanted(sample: Sample, needed_ticks: int | None, factors: Table) -> int | None:
    """Cavities of the group to read in all until its readings prove what is needed."""
    if needed_ticks is None or not sample.cavities:
        return None
    read = trusted_cavity(sample, factors)["read_ticks"]
    if read is not None and read >= needed_ticks:
        return len(sample.cavities)
    more = measure_more(sample, needed_ticks, factors)
    return None if more is None else len(sample.cavities) + more


__all__ = ["firm_effect", "firm_said"]
