"""The reference tables as a site has them: its own figures laid over them, and every figure with its source."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Literal, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.figures import Figure, SiteValue, figures, why_not, with_site_values, with_unit
from spanwalk.rules.own_rows import row_called, with_own_rows
from spanwalk.rules.points.found import FigureNotUsed
from spanwalk.rules.record_types import OwnRowView
from spanwalk.rules.record_view import Facet, Tables
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.days import day_of, zone_at
from spanwalk.services.refusals import NotThere
from spanwalk.services.sync.state import site_records
from spanwalk.storage import json_text
from spanwalk.storage.tables import Membership, Person, Record, Site
from spanwalk.sync.model import StoredFacet
from spanwalk.words import say

TYPE, IDENTITY, VALUE = "figure", "identity", "value"
WHO_SETS = ("manager", "owner")
ROW_TYPE: Literal["own_row"] = "own_row"
NOT_SURE = ("from memory", "common practice")
"""Ways of knowing that are marked wherever a figure is shown."""


def site_values(session: Session, site_id: str) -> list[SiteValue]:
    """What the managers of a site set in place of figures of the tables, by whom and when.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    query = select(Record.id, Record.facets).where(
        Record.site == site_id, Record.type == TYPE, Record.removed.is_(False)
    )
    # Ordered here: see `state.site_records`.
    rows = sorted(session.execute(query), key=lambda row: row.id)
    chosen = [(row.id, json_text.loads(row.facets)) for row in rows]
    names = {row.id: row.name for row in session.execute(select(Person.id, Person.name))} if chosen else {}
    zone = zone_at(session, site_id) if chosen else ""
    return [_site_value(record, facets, names, zone) for record, facets in chosen if facets.get(VALUE, {}).get("value")]


def _site_value(record: str, facets: Mapping[str, StoredFacet], names: dict[str, str], zone: str) -> SiteValue:
    where, said = cast("Facet", facets[IDENTITY]["value"]), facets[VALUE]
    value, by, on = cast("Facet", said["value"]), said["by"], day_of(said["at"], zone)
    own = (value["value"], value["reason"], value.get("source", ""))
    return SiteValue(record, where["table"], where["row"], where["figure"], *own, names.get(by, by), on)


def figures_not_used(session: Session, site_id: str) -> list[FigureNotUsed]:
    """What managers set and what cannot stand in the tables: `{"record", "row", "why"}`, `why` a sentence."""
    laid, not_used = with_site_values(tables(), site_values(session, site_id))
    found: list[FigureNotUsed] = [
        {"record": each["record"], "row": each["row"], "why": say(each["code"], each["facts"])} for each in not_used
    ]
    return [*found, *_rows_not_used(laid, own_rows(session, site_id))]


def _rows_not_used(laid: Tables, here: Sequence[OwnRowView]) -> list[FigureNotUsed]:
    """Rows that a site added and that cannot stand in its tables, each with why, a sentence."""
    _, rows = with_own_rows(laid, here)
    return [{"record": each.record, "row": each.row, "why": say(each.why["code"], each.why["facts"])} for each in rows]


def own_rows(session: Session, site_id: str) -> list[OwnRowView]:
    """The rows that a site added to the tables, as view records."""
    return Survey(site_records(session, site_id, types=(ROW_TYPE,))).of_type(ROW_TYPE)


def site_figures(session: Session, site_id: str, person: str) -> dict[str, object]:
    """Every table with its rows and figures, each with source, how it is known, and the site's own value.

    Returns
    -------
    dict
        ``{"tables": [{"table", "title", "fixed"?, "rows": [{"row", "figures": […]}]}], "not_used": […], "rows_not_used": […],
        "offered": […]}``; a figure is
        ``{"figure", "title", "unit", "value", "source", "edition", "how_known", "least", "most", "whole", "own"}``;
        ``fixed`` is the code of why a table's figures may not be set.
    """
    own = {(each.table, each.row, each.name): each for each in site_values(session, site_id)}
    about = tables()["figures"]["tables"]
    found = []
    for table, of_table in groupby(figures(tables()), lambda each: each.table):
        rows = [
            {"row": row, "figures": [_told(each, own.pop(each.address, None)) for each in of_row]}
            for row, of_row in groupby(of_table, lambda each: each.row)
        ]
        fixed = {"fixed": about[table]["fixed"]} if "fixed" in about[table] else {}
        found.append({"table": table, "title": about[table]["title"], **fixed, "rows": rows})
    here = own_rows(session, site_id)
    return {
        "tables": found,
        "not_used": [_own_told(None, each) for each in own.values()],
        "rows_not_used": _rows_not_used(tables(), here),
        "offered": offered_rows(session, site_id, person, here),
    }


def offered_rows(session: Session, site_id: str, person: str, here: Sequence[OwnRowView]) -> list[dict[str, object]]:
    """Rows that other sites of this person offer to the firm's, and that this site has not: shown, never used by themselves.

    Returns
    -------
    list of dict
        ``{"record", "site", "sort", "row", "facets"}``, by site and row.
    """
    names = {row_called(each) for each in here}
    query = select(Site.id, Record.facets).join(Record, Record.id == Site.id)
    sites = query.join(Membership, (Membership.site == Site.id) & (Membership.person == person))
    sites = sites.where(Membership.ended_at.is_(None), Membership.role.in_(WHO_SETS))
    found: list[dict[str, object]] = []
    for other, facets in session.execute(sites.where(Site.id != site_id)):
        for row in own_rows(session, other):
            identity = facet(row, "identity")
            if identity.get("offered") and row_called(row) not in names:
                name = json_text.loads(facets)[IDENTITY]["value"]["name"]
                sort = str(identity["table"])
                told = {part: _without_parent(facet(row, cast("Literal['lamp']", part))) for part in ("identity", sort)}
                found.append({"record": row["id"], "site": name, "sort": sort, "row": row_called(row), "facets": told})
    return sorted(found, key=lambda each: (str(each["site"]), str(each["row"])))


def _without_parent(said: Facet) -> dict[str, object]:
    """What a facet says, without whose it is."""
    return {name: value for name, value in said.items() if name != "parent"}


def _told(figure: Figure, own: SiteValue | None) -> dict[str, object]:
    names = ("title", "unit", "value", "source", "edition", "how_known", "least", "most", "whole")
    return {
        "figure": figure.name,
        **{name: getattr(figure, name) for name in names},
        "own": None if own is None else _own_told(figure, own),
    }


def _own_told(figure: Figure | None, own: SiteValue) -> dict[str, object]:
    wrong = why_not(figure, own.value)
    told = {name: getattr(own, name) for name in ("record", "table", "row", "value", "reason", "source", "by", "on")}
    return told | {"figure": own.name, "wrong": wrong}


def figure_lines(session: Session, wanted: Sequence[str], site: str | None) -> Iterator[str]:
    """Every figure in whose table, row, name or source all the wanted words stand, as lines to read.

    Parameters
    ----------
    session : Session
        An open transaction.
    wanted : sequence of str
        Words, in any case; none: every figure.
    site : str or None
        Id or name of a site whose own values are to be told too.

    Raises
    ------
    NotThere
        There is no such site.
    """
    own = (
        {}
        if site is None
        else {(each.table, each.row, each.name): each for each in site_values(session, site_called(session, site))}
    )
    words = [word.casefold() for word in wanted]
    chosen = [each for each in figures(tables()) if all(word in _text(each) for word in words)]
    for (table, row), of_row in groupby(chosen, lambda each: (each.table, each.row)):
        yield f"{table}: {row}"
        for figure in of_row:
            yield f"  {figure.title} ({figure.name}): {with_unit(figure.value, figure.unit)}"
            yield f"    {_how_known(figure)}: {figure.source} (edition: {figure.edition})"
            if figure.address in own:
                yield "    " + _own_line(figure, own[figure.address])


NAMES_TOLD = 20
"""So many sites at most are named to who gave a name that none has."""


def site_called(session: Session, wanted: str) -> str:
    """The id of the site of an id or name."""
    names = []
    for site_id, facets in session.execute(select(Site.id, Record.facets).join(Record, Record.id == Site.id)):
        name = json_text.loads(facets)[IDENTITY]["value"]["name"]
        if wanted in (site_id, name):
            return site_id
        names.append(f"'{name}'")
    raise NotThere("figures.site-unknown", value=wanted, sites=", ".join(sorted(names)[:NAMES_TOLD]))


def _text(figure: Figure) -> str:
    parts = (figure.table, figure.row, figure.name, figure.title, figure.source, figure.edition, figure.how_known)
    return " ".join(parts).casefold()


def _how_known(figure: Figure) -> str:
    return figure.how_known.upper() if figure.how_known.startswith(NOT_SURE) else figure.how_known


def _own_line(figure: Figure, own: SiteValue) -> str:
    facts = {"value": with_unit(own.value, figure.unit), "by": own.by, "on": own.on, "reason": own.reason}
    wrong = why_not(figure, own.value)
    said = say("figures.set-here", facts)
    return said if wrong is None else f"{said} {say('figures.not-used')} {say(wrong['code'], wrong['facts'])}"
