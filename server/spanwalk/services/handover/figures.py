"""Energy, light and money of what is handed over, as releases froze them, and on what they rest; nothing is planned anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import cast

from spanwalk.reference import tables
from spanwalk.rules.figures import Figure, figures
from spanwalk.rules.record_types import ConversionView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet, has
from spanwalk.services.days import day_of
from spanwalk.services.handover.numbers import number
from spanwalk.services.handover.told import EnergyTold, MoneyTold, ReleaseTold, SumsTold
from spanwalk.services.planning.job_sums import together
from spanwalk.services.releases.sums import Figures, Released, basis_frozen, sold_frozen, sums
from spanwalk.services.text.cost_lines import for_customers, has_charges
from spanwalk.services.text.explaining import sentence
from spanwalk.services.text.read_as import figure_title, marked
from spanwalk.words import say

NOTHING: Mapping[str, float | None] = {}
MONEY = (
    "cost",
    "rebate",
    "net_cost",
    "saving_energy_year",
    "saving_year",
    "first_year_short",
    "npv",
    "lcc",
    "lcc_as_is",
)
"""Figures of money that are told, in their order."""


def energy_of(frozen: Figures) -> EnergyTold:
    """Energy and light of a group as frozen; hours are what energy over load comes to."""
    energy = cast("Mapping[str, float | None]", frozen.get("energy") or {})
    light = frozen.get("light") or {}
    watts, kwh, band = frozen.get("watts_now"), energy.get("kwh_now"), light.get("range_lux")
    first = light.get("day_one_range_lux")
    return EnergyTold(
        watts_now=watts,
        watts_then=frozen.get("watts_then"),
        kwh_now=kwh,
        kwh_then=energy.get("kwh_then"),
        hours_year=None if not watts or kwh is None else round(kwh * 1000 / watts, 1),
        kw_saved=energy.get("kw_saved"),
        emission_saved_kg=energy.get("emission_saved_kg"),
        share_of_today_pct=light.get("share_of_today_pct"),
        lux=light.get("lux"),
        range_lux=(band[0], band[1]) if band else None,
        day_one_lux=light.get("day_one_lux"),
        day_one_range_lux=(first[0], first[1]) if first else None,
        corrected=None if (said := light.get("corrected")) is None else sentence(said),
    )


def sums_of(frozen: Mapping[str, Figures]) -> SumsTold:
    """Energy of groups together; a figure is None as soon as one group lacks it."""
    told = [cast("Mapping[str, float | None]", each.get("energy") or NOTHING) for each in frozen.values()]
    return SumsTold(
        fixtures=sum(int(each.get("fixtures", 0)) for each in frozen.values()),
        kwh_now=together(each.get("kwh_now") for each in told),
        kwh_then=together(each.get("kwh_then") for each in told),
        kw_saved=together(each.get("kw_saved") for each in told),
        emission_saved_kg=together(each.get("emission_saved_kg") for each in told),
    )


def money_of(releases: Sequence[Released], frozen: Mapping[str, Figures]) -> MoneyTold:
    """Money of what is in force as one job, by the limits, packs and prices that the newest release froze."""
    newest = releases[-1]
    spare_pct = float(newest.whole.get("spare_pct", 0))
    sold = sold_frozen(releases, newest.number)
    job = sums(frozen, basis_frozen(newest), sold, spare_pct)
    told = cast("Mapping[str, float | None]", job["sums"])
    lines = for_customers(job["lines"]) if has_charges(job["lines"]) else []
    return MoneyTold(str(newest.whole.get("currency", "")), {name: told.get(name) for name in MONEY}, tuple(lines))


def releases_told(releases: Sequence[Released], reads_sums: bool, zone: str) -> tuple[ReleaseTold, ...]:
    """Each release with what it says of itself, and its own money where that is told."""
    return tuple(_release(each, reads_sums, zone) for each in releases)


def _release(release: Released, reads_sums: bool, zone: str) -> ReleaseTold:
    said = facet(release.record, "identity")
    money = (release.whole.get("money") or {}) if reads_sums else {}
    return ReleaseTold(
        number=release.number,
        day=day_of(said.get("made_at"), zone),
        groups=int(said.get("groups") or 0),
        fixtures=int(said.get("fixtures") or 0),
        rules_version=str(said.get("rules_version") or ""),
        catalogue=str(said.get("catalogue") or ""),
        withdrawn=_withdrawn(release),
        has_sums=bool(release.whole),
        cost=money.get("cost"),
        rebate=money.get("rebate"),
        npv=money.get("npv"),
    )


def _withdrawn(release: Released) -> str:
    if not has(release.record, "withdrawn"):
        return ""
    return str(facet(release.record, "withdrawn").get("reason") or say("handover-report.withdrawn"))


def assumptions(
    releases: Sequence[Released],
    frozen: Mapping[str, Figures],
    conversions: Sequence[ConversionView],
    with_money: bool,
) -> tuple[str, ...]:
    """On what energy, emission and money rest, as the releases say it, a sentence each; what they did not freeze is said."""
    told = [*_of_energy(frozen)]
    if with_money:
        told += _of_money(releases[-1])
    values: dict[str, str] = {}
    for each in conversions:
        card = cast("Mapping[str, object]", facet(each, "identity").get("frozen") or {})
        for said in cast("Sequence[Said]", card.get("site_values") or ()):
            values.setdefault(str(said), sentence(said))
    return (*told, *values.values())


def _of_energy(frozen: Mapping[str, Figures]) -> Iterator[str]:
    yield say("handover-report.rests.release")
    hours = sorted(told for each in frozen.values() if (told := energy_of(each).hours_year) is not None)
    if hours:
        yield say("handover-report.rests.hours", {"least": number(hours[0]), "most": number(hours[-1])})
    all_of = sums_of(frozen)
    if all_of.emission_saved_kg is not None and all_of.kwh_now is not None and all_of.kwh_then is not None:
        saved = all_of.kwh_now - all_of.kwh_then
        if saved > 0:
            yield say("handover-report.rests.emission", {"factor": number(all_of.emission_saved_kg / saved, 3)})
    yield say("handover-report.rests.not-frozen")


def _of_money(newest: Released) -> Iterator[str]:
    basis, limits = basis_frozen(newest), basis_frozen(newest).limits
    yield say("handover-report.rests.money", {"number": newest.number})
    yield say("handover-report.rests.discount", {"pct": marked(f"{basis.discount_share * 100:g}")})
    yield say("handover-report.rests.spares", {"pct": marked(f"{float(newest.whole.get('spare_pct', 0)):g}")})
    shares = {"cap": limits.cap_share, "ratchet": limits.ratchet_share}
    for name, share in shares.items():
        if share is not None:
            yield say(f"handover-report.rests.{name}", {"pct": marked(f"{share * 100:g}")})
    if limits.most is not None:
        yield say("handover-report.rests.most", {"most": number(limits.most, 2)})


def sources(
    without: frozenset[str] = frozenset(),
    used: Callable[[Figure], bool] = lambda _: True,
    named: Callable[[str], str] = str,
) -> tuple[str, ...]:
    """Where the figures of the reference tables are from, by table, each source once.

    Parameters
    ----------
    without : frozenset of str
        Tables that are left out.
    used : callable
        Whether a figure is told of.
    named : callable
        What a source is called; as the table has it unless said.
    """
    titles = tables()["figures"]["tables"]
    found: dict[str, None] = {}
    for each in figures(tables()):
        if each.table in without or not used(each):
            continue
        facts = {
            "table": figure_title(titles[each.table]["title"]),
            "source": named(each.source),
            "how_known": each.how_known,
        }
        code = "source" if each.edition in ("", "-") else "source-edition"
        found[say(f"handover-report.{code}", facts | {"edition": each.edition})] = None
    return tuple(found)
