"""What light a site wants of a group, and whether a candidate gives it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.now import Now, mains_of
from spanwalk.rules.arrangements.plan_types import TargetFacts, WantedFacts, WantedTold
from spanwalk.rules.gear.checks import Check, cannot_tell, fails, passes, plain
from spanwalk.rules.light import light
from spanwalk.rules.record_types import SiteView
from spanwalk.rules.record_view import Row
from spanwalk.rules.said import Said

KEEP, TARGET = "keep-a-share-of-todays-light", "meet-the-target-of-the-space"
DEFAULT_KEEP_PCT = 100
DEFAULT_CEILING_PCT = 200
"""Most light on day one where nobody chose (common practice, no source): bars lose up to a third of their light by the horizon."""
AS_FOUND, ALL_BURNING = "as-found", "all-lamps-burning"
DEFAULT_KEPT = ALL_BURNING
"""Which of today's lights is kept where nobody chose: with every lamp burning, so that dark lamps make no dark room for good."""
OF_MAINS = {50: "en-12464-1-2021", 60: "us-federal-41-cfr-102-74-180"}
"""Whose targets count where the site chose none: those of the world whose mains it hangs on; none crosses to the other."""
CHOSEN = {
    KEEP: {
        "light_policy": "what light is wanted",
        "keep_light_pct": "how much of today's light to keep",
        "light_kept": "which of today's light to keep",
        "light_ceiling_pct": "the most light",
        "light_years": "years of light",
    },
    TARGET: {
        "light_ceiling_pct": "the most light",
        "light_standard": "whose targets count",
        "light_years": "years of light",
    },
}
"""What a site chooses under each policy, by its settings; what it did not is taken, and said to be."""


@dataclass(frozen=True)
class Wanted:
    """Light wanted of a group: lumens [lm], the ceiling over them, the policy it comes from, what was assumed or missing.

    `corrected` says by which readings, and what lumens the tables alone would want; None where no reading counts.
    """

    lumens: float | None
    ceiling_share: float
    facts: WantedFacts
    corrected: Said | None = None

    @property
    def told(self) -> WantedTold:
        """The facts with the code of their sentence: by a target, as a share of today's, or what is missing."""
        name = "missing" if "missing" in self.facts else "target" if "standard" in self.facts else "share"
        assumed = "-assumed" if self.facts["assumed"] and name != "missing" else ""
        return {"code": f"plan.wanted.{name}{assumed}", **self.facts}


def wanted_light(body: Body, current: Now) -> Wanted:
    """What light the site's policy wants of a group.

    'Keep a share of today's light': that share of its light as found or with all lamps burning, whichever the site
    keeps. 'Meet the target of the space': lumens for the target in this room, this group's part of them as it has
    today with all lamps burning. In both the bars give it up to the horizon, and on day one no more than the ceiling.

    A target is light on the work plane: where readings say that a lumen makes more or less of it than the tables have it, as
    many fewer or more lumens are wanted. A share of today's light is one of lumens: rooms and bodies are the same before and
    after, so that readings do not move it.
    """
    settings = body.settings
    policy = policy_of(body.site)
    keep, ceiling = (
        settings.get("keep_light_pct", DEFAULT_KEEP_PCT),
        settings.get("light_ceiling_pct", DEFAULT_CEILING_PCT),
    )
    facts: WantedFacts = {
        "policy": policy,
        "ceiling_pct": ceiling,
        "assumed": [words for name, words in CHOSEN[policy].items() if name not in settings],
    }
    kept = str(settings.get("light_kept", DEFAULT_KEPT)) if policy == KEEP else ALL_BURNING
    today = current.light
    if today is None or not (today.as_found_lm if kept == AS_FOUND else today.all_burning_lm):
        return Wanted(None, ceiling / 100, {**facts, "missing": list(current.missing) or ["a lamp that burns"]})
    if policy == KEEP:
        lumens = (today.as_found_lm if kept == AS_FOUND else today.all_burning_lm) * keep / 100
        return _corrected(body, lumens, Wanted(None, ceiling / 100, {**facts, "keep_pct": keep, "kept": kept}))
    target, room = target_lux(body), current.room
    if target is None or room is None or not body.others.known:
        by_choice = " by the standard that was chosen" if "light_standard" in settings else ""
        missing = [
            (f"target of the space{by_choice}", target),
            ("room size", room),
            ("light of the other groups", body.others.known or None),
        ]
        return Wanted(None, ceiling / 100, {**facts, "missing": [name for name, value in missing if value is None]})
    whole = light.lumens_for(target["lux"], room.area_m2, room.utilisation)
    part = today.all_burning_lm / (today.all_burning_lm + body.others.lumens)
    return _corrected(body, whole * part, Wanted(None, ceiling / 100, {**facts, **_of_target(body, target)}))


def _corrected(body: Body, tables_lm: float, wanted: Wanted) -> Wanted:
    """What is wanted, a target in lumens as readings of light make them of those that the tables alone would want [lm]."""
    factors, is_target = body.light_factors, wanted.facts["policy"] == TARGET
    if not factors.is_corrected:
        return replace(wanted, lumens=tables_lm)
    lumens = tables_lm * exp(-factors.new.mean) if is_target else tables_lm
    facts = {
        "points": factors.points,
        "rooms": factors.today.rooms,
        "before_lm": round(tables_lm),
        "after_lm": round(lumens),
        "today_pct": plain(round(exp(factors.today.mean) * 100, 1)),
        "new_pct": plain(round(exp(factors.new.mean) * 100, 1)),
    }
    code = f"plan.corrected.{'room' if factors.points else 'kind'}{'' if is_target else '-lux'}"
    return replace(wanted, lumens=lumens, corrected={"code": code, "facts": facts})


def policy_of(site: SiteView) -> str:
    """The site's policy of light; a share of today's where it chose none."""
    return str((site["facets"].get("settings") or {}).get("light_policy", KEEP))


def target_lux(body: Body) -> Row | None:
    """The target illuminance of the room's space by the standard that the site chose, that of its mains where it chose none.

    None where the space has no row, or that standard none for the space: another one's is not taken instead.
    """
    targets = [each for each in (body.space_row or {}).get("targets", []) if each["lux"] is not None]
    standard = body.settings.get("light_standard", OF_MAINS.get(mains_of(body) or 0))
    return next((each for each in targets if standard == each["standard"]), None)


def _of_target(body: Body, target: Row) -> TargetFacts:
    table = body.tables["spaces"]
    return {
        "target_lux": target["lux"],
        "standard": target["standard"],
        "standard_row": target["row"],
        "how_known": target["how_known"],
        "source": target.get("source") or table["targets_source"][target["standard"]],
        "edition": target.get("edition") or table["targets_edition"][target["standard"]],
    }


def judge_light(light_each: light.NewLight | None, fixtures: int, wanted: Wanted) -> light.Judgement | None:
    """How the light of so many fixtures stands to what is wanted; None where either is not known.

    Parameters
    ----------
    light_each : NewLight or None
        Light of one body [lm]; None if it is not in the tables.
    fixtures : int
        Bodies of the group.
    wanted : Wanted
        What light is wanted.
    """
    if wanted.lumens is None or light_each is None:
        return None
    return light.judge(light_each.times(fixtures), wanted.lumens, wanted.ceiling_share)


def check_light(found: light.Judgement | None, wanted: Wanted) -> Check:
    """Is it the light that is wanted: no less up to the horizon, and no more than the ceiling on day one?"""
    if found is None:
        return cannot_tell("light", **{"missing": ["body"], **wanted.facts})
    facts = {
        "then_lm": round(found.new.maintained_lm),
        "day_one_lm": round(found.new.day_one_lm),
        "wanted_lm": round(found.wanted_lm),
        "share_of_wanted_pct": found.share_of_wanted * 100,
        "day_one_pct": found.day_one_share * 100,
        "ceiling_pct": wanted.ceiling_share * 100,
    }
    if found.verdict == "enough":
        return passes("light", **facts)
    name = "light-too-dim" if found.verdict == "too dim" else "light-too-bright"
    off = 1 - found.share_of_wanted if found.verdict == "too dim" else found.day_one_share - wanted.ceiling_share
    return fails(name, off_by_pct=off * 100, **facts)
