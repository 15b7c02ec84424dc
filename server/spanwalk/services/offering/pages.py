"""An offer as a PDF and as a workbook, with the same figures in both, and a place to sign."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.services.files.sheets_out import OutTable, as_workbook
from spanwalk.services.handover.numbers import number
from spanwalk.services.handover.paper import SMALL_PT, Paper, numbered
from spanwalk.services.offering.cells import intactness, or_unknown, printed
from spanwalk.services.offering.gathering import AreaGroup, Offer, money_of
from spanwalk.services.offering.options import TODAY, Option
from spanwalk.services.offering.signing import to_sign
from spanwalk.services.planning.job_sums import together
from spanwalk.services.text.cost_lines import has_charges, name_of, where_from
from spanwalk.services.text.neutral import Out
from spanwalk.words import say

MONEY = ("cost", "rebate", "net_cost", "saving_year", "npv", "lcc")
"""Figures of money that options are compared by, in their order."""
COUNTS = ("groups", "fixtures", "items")
ENERGY = ("kwh_now", "kwh_then")
COST = 9
"""Column of the areas in which the price stands."""


def offer_pdf(offer: Offer) -> bytes:
    """The offer as a PDF; each page says of how many it is one, for it is signed."""
    return numbered(lambda pages: _paper(offer, pages))


def _paper(offer: Offer, pages: int) -> Paper:
    foot = {"number": offer.number, "site": offer.site, "day": offer.made_on, "pages": pages}
    paper = Paper(title_of(offer), offer.inches, lambda page: _say("page", {**foot, "n": page}))
    paper.heading(title_of(offer))
    for place, each in enumerate(about(offer)):
        paper.say(each, bold=place == 0)
    _options(paper, offer)
    _price(paper, offer)
    _areas(paper, offer)
    for section, told in sections(offer):
        paper.heading(_say(section), 2)
        for each in told:
            paper.say(each, bullet=True, size=9.0)
    to_sign(paper, _say("sign.about", {"day": offer.valid_until}))
    paper.heading(_say("sources"), 2)
    for each in offer.sources:
        paper.say(each, bullet=True, size=SMALL_PT)
    paper.say(_say("content", {"content": offer.content}), size=SMALL_PT)
    return paper


def _options(paper: Paper, offer: Offer) -> None:
    paper.heading(_say("options"), 2)
    paper.say(_say("options.about"), size=SMALL_PT)
    energy = {_say(f"row.{name}") for name in ENERGY}
    rows = [[printed(cell, 0 if row[0] in energy else 2) for cell in row] for row in option_rows(offer)]
    paper.table(option_heads(offer), rows, (3, *(2 for _ in offer.options)), range(1, 1 + len(offer.options)))


def _price(paper: Paper, offer: Offer) -> None:
    if not has_charges(offer.lines):
        return
    paper.heading(_say("price"), 2)
    paper.say(_say("price.about"), size=SMALL_PT)
    rows = [[printed(cell, 2) for cell in row] for row in price_rows(offer)]
    paper.table(price_heads(offer), rows, (3, 5, 2), (2,))


def _areas(paper: Paper, offer: Offer) -> None:
    paper.heading(_say("floors"), 2)
    rows = [
        [printed(cell, 0 if column in (2, 3) else 2) for column, cell in enumerate(row)] for row in floor_rows(offer)
    ]
    paper.table(floor_heads(offer), rows, (4, 2, 2, 2, 2), range(1, 5))
    paper.heading(_say("areas"), 2)
    paper.say(_say("areas.about"), size=SMALL_PT)
    cells = [[printed(cell, 2 if column == COST else 0) for column, cell in enumerate(row)] for row in area_rows(offer)]
    last = [printed(cell) for cell in sum_row(offer)]
    paper.table(area_heads(offer), [*cells, last], (2, 2.7, 1, 3.7, 2.1, 1.5, 1.7, 2, 1.6, 2), (4, 5, 6, 7, 8, COST))


def offer_workbook(offer: Offer) -> bytes:
    """The same as a workbook: a sheet for each part."""
    notes = [title_of(offer), *about(offer)]
    sheets = [
        OutTable("options", _say("options"), option_heads(offer), [*option_rows(offer)], notes),
        *_price_sheet(offer),
        OutTable("floors", _say("floors"), floor_heads(offer), [*floor_rows(offer)]),
        OutTable("areas", _say("areas"), area_heads(offer), [*area_rows(offer), sum_row(offer)]),
    ]
    sheets += [OutTable(name, _say(name), [_say(name)], [[each] for each in told]) for name, told in sections(offer)]
    sources = [*offer.sources, _say("content", {"content": offer.content})]
    sheets += [OutTable("sources", _say("sources"), [_say("sources")], [[each] for each in sources])]
    return as_workbook(sheets, offer.made_on)


def _price_sheet(offer: Offer) -> Iterator[OutTable]:
    if has_charges(offer.lines):
        yield OutTable("price", _say("price"), price_heads(offer), [*price_rows(offer)])


def title_of(offer: Offer) -> str:
    """What the offer is called."""
    return _say("title", {"number": offer.number, "site": offer.site})


def about(offer: Offer) -> Iterator[str]:
    """For whom, by whom, from when to when, and what it comes to."""
    yield from intactness(offer.intact, offer.content_before)
    planned = offer.planned
    facts: dict[str, object] = {"fixtures": planned.fixtures, "cost": _money(offer, planned.money["cost"])}
    code = "sum-with-tax" if planned.tax else "sum"
    yield _say(
        code if planned.money["cost"] is not None else "sum-unknown", facts | {"tax": _money(offer, planned.tax)}
    )
    for name, value in (("for", offer.customer), ("at", offer.address), ("by", offer.firm), ("call", offer.call)):
        if value:
            yield _say(name, {"value": value})
    yield _say("made", {"day": offer.made_on, "until": offer.valid_until, "head": offer.head})
    if offer.note:
        yield offer.note


def option_heads(offer: Offer) -> list[str]:
    """Names of the options above their figures."""
    return [_say("figure"), *(_say(f"option.{each.name}") for each in offer.options)]


def option_rows(offer: Offer) -> Iterator[list[Out]]:
    """A row for each figure, a column for each option."""
    for name in COUNTS:
        yield [_say(f"row.{name}"), *(_count(each, name) for each in offer.options)]
    for name in ENERGY:
        yield [_say(f"row.{name}"), *(or_unknown(getattr(each, name)) for each in offer.options)]
    yield [_say("row.share"), *(_span(each) for each in offer.options)]
    currency = f" [{offer.currency}]" if offer.currency else ""
    taxed = any(each.tax for each in offer.options)
    for name in MONEY:
        code = "cost-with-tax" if name == "cost" and taxed else name
        yield [_say(f"row.{code}") + currency, *(_figure(each, name) for each in offer.options)]
        if name == "cost" and taxed:
            yield [_say("row.tax") + currency, *("–" if each.name == TODAY else each.tax for each in offer.options)]


def _count(option: Option, name: str) -> Out:
    counts = {"groups": option.groups, "fixtures": option.fixtures, "items": option.items}
    return counts[name]


def _span(option: Option) -> str:
    if option.name == TODAY:
        return "100"
    if option.share_pct is None:
        return _say("not-known")
    return _say("from-to", {"least": f"{option.share_pct[0]:.0f}", "most": f"{option.share_pct[1]:.0f}"})


def _figure(option: Option, name: str) -> Out:
    value = money_of(option).get(name)
    return "–" if value is None and option.name == TODAY else or_unknown(value)


def price_heads(offer: Offer) -> list[str]:
    """Heads of what the price is made of."""
    currency = f" [{offer.currency}]" if offer.currency else ""
    return [_say("head.line"), say("job.where-from"), _say("head.cost") + currency]


def price_rows(offer: Offer) -> Iterator[list[Out]]:
    """A row for each line of the price; they add up to it to the cent."""
    for each in offer.lines:
        yield [name_of(each), where_from(each), each["amount"]]
    yield [_say("together"), "", round(sum(each["amount"] for each in offer.lines), 2)]


def floor_heads(offer: Offer) -> list[str]:
    """Heads of the floors."""
    currency = f" [{offer.currency}]" if offer.currency else ""
    names = ("floor", "fixtures", "watts-now", "watts-then", "cost")
    return [_say(f"head.{name}") + (currency if name == "cost" else "") for name in names]


def floor_rows(offer: Offer) -> Iterator[list[Out]]:
    """A row for each floor; their prices together are the price of the job."""
    for floor in dict.fromkeys(each.floor for each in offer.groups):
        groups = [each for each in offer.groups if each.floor == floor]
        sums = [together(values) for values in zip(*((g.watts_now, g.watts_then, g.cost) for g in groups), strict=True)]
        yield [floor, sum(each.fixtures for each in groups), *map(or_unknown, sums)]


def area_heads(offer: Offer) -> list[str]:
    """Heads of the areas."""
    names = ("floor", "room", "kind", "fitted", "fixtures", "watts-now", "watts-then", "lux", "share", "cost")
    currency = f" [{offer.currency}]" if offer.currency else ""
    return [_say(f"head.{name}") + (currency if name == "cost" else "") for name in names]


def area_rows(offer: Offer) -> Iterator[list[Out]]:
    """A row for each group, room after room."""
    for each in offer.groups:
        yield [
            each.floor,
            each.room,
            each.mark,
            each.fitted,
            each.fixtures,
            or_unknown(each.watts_now),
            each.watts_then,
            _lux(each),
            or_unknown(each.share_pct),
            or_unknown(each.cost),
        ]


def _lux(each: AreaGroup) -> str:
    return _say("not-known") if each.lux is None else _say("from-to", {"least": each.lux[0], "most": each.lux[1]})


def sum_row(offer: Offer) -> list[Out]:
    """All areas together: their costs are those of the job, to the cent."""
    cost = together(each.cost for each in offer.groups)
    fixtures = sum(each.fixtures for each in offer.groups)
    return [_say("together"), "", "", "", fixtures, "", "", "", "", or_unknown(cost)]


def sections(offer: Offer) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What stands below the figures: on what they rest, what may happen, what is not in the price."""
    yield "assumptions", offer.assumptions
    yield "cautions", (_say("cautions.first"), *offer.cautions)
    yield "not-included", offer.not_included


def _money(offer: Offer, value: float | None) -> str:
    return f"{offer.currency} {number(value, 2)}".strip()


def _say(code: str, facts: dict[str, object] | None = None) -> str:
    return say(f"offer-sheet.{code}", facts or {})


__all__ = ["about", "area_rows", "offer_pdf", "offer_workbook", "option_rows", "sum_row", "title_of"]
