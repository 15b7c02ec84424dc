"""The figures of the reference tables one by one: where each comes from, and what a site sets in its place.

A figure is addressed by table, row and name: `spaces`, `office-open`, `hours_year`. The table `figures` says how
rows are named, and which figures a site may set within which limits.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from spanwalk.rules.record_view import Facet, Row, Tables
from spanwalk.rules.said import Said

WHOLE_TABLE = "whole table"
"""Row of a figure that stands for all rows of its table."""
BETWEEN = " · "
EACH = "*"
NAMED_BY = "standard"
"""What tells the items of a list inside a row apart."""
MARK = "site_values"
"""Where a row, or a table, says which of its figures were set for the site."""


@dataclass(frozen=True)
class Figure:
    """One figure.

    Parameters
    ----------
    table, part, row, name : str
        Where it stands; `part` is the list in the table, empty for figures of the whole table.
    title, unit : str
        What it is, and its unit; empty for a plain number.
    value : float
        As the table has it.
    source, edition, how_known : str
        Where it is from.
    least, most : float or None
        What a site may set it to; None where it may not be set.
    whole : bool
        Whether only whole numbers will do.
    """

    table: str
    part: str
    row: str
    name: str
    title: str
    unit: str
    value: float
    source: str
    edition: str
    how_known: str
    least: float | None
    most: float | None
    whole: bool

    @property
    def address(self) -> tuple[str, str, str]:
        """Table, row and name: no two figures have the same."""
        return self.table, self.row, self.name


@dataclass(frozen=True)
class SiteValue:
    """What a manager set in a figure's place.

    Parameters
    ----------
    record : str
        Id of the record that holds it.
    table, row, name : str
        The figure's address.
    value : float
        In the figure's unit.
    reason, source : str
        Why, and where from; the source may be empty.
    by, on : str
        Who set it, and the day.
    """

    record: str
    table: str
    row: str
    name: str
    value: float
    reason: str
    source: str
    by: str
    on: str


class NotUsed(Said):
    """A site's own value that cannot stand in the table's place: its record, table and row, and why."""

    record: str
    row: str


def figures(tables: Tables) -> Iterator[Figure]:
    """Every figure of the tables that `figures` describes, table by table, row by row.

    Parameters
    ----------
    tables : mapping
        Reference tables by name.
    """
    about = tables["figures"]
    for table, told in about["tables"].items():
        kinds = [row for row in about["rows"] if row["table"] == table]
        for part, keys in {"": None, **told["keys"]}.items():
            for row, name in _rows(tables[table], part, keys):
                for kind in (each for each in kinds if each["part"] == part):
                    yield from _figures_of(tables[table], kind, row, name)


def row_name(part: str, keys: Sequence[str], row: Row) -> str:
    """What a row is called: the values that tell it from the others.

    >>> row_name("rows", ["diameter", "nominal_ft", "made_before"], {"diameter": "T8", "nominal_ft": "4-ft"})
    'T8 · 4-ft'
    """
    return BETWEEN.join(str(row[key]) for key in keys if key in row) or part


def _rows(table: Facet, part: str, keys: Sequence[str] | None) -> Iterator[tuple[Row, str]]:
    if keys is None:
        yield table, WHOLE_TABLE
        return
    part_of = table[part]
    for row in part_of if isinstance(part_of, list) else [part_of]:
        yield row, row_name(part, keys, row)


def _figures_of(table: Facet, kind: Row, row: Row, row_named: str) -> Iterator[Figure]:
    prefix = kind.get("known_by", "")
    for path, part_of, key in places(row, kind["figure"].split("/")):
        value = cast("Facet", part_of)[key]
        if value is None:
            continue
        source, edition, how_known = (
            _known(name, prefix, part_of, row, table) for name in ("source", "edition", "how_known")
        )
        what, limits = (
            (kind["title"], kind["unit"], value),
            (kind.get("least"), kind.get("most"), kind.get("whole", False)),
        )
        yield Figure(kind["table"], kind["part"], row_named, path, *what, source, edition, how_known, *limits)


def places(row: object, steps: Sequence[str], before: str = "") -> Iterator[tuple[str, object, str]]:
    """Where a figure's pattern leads in a row: path, what holds the value, and its key there.

    >>> [path for path, _, _ in places({"w": {"1": 31, "2": 59}}, ["w", "*"])]
    ['w/1', 'w/2']
    """
    step, rest = steps[0], steps[1:]
    for key, part_of in _steps(row, step):
        path = f"{before}/{key}" if before else key
        if rest:
            yield from places(part_of, rest, path)
        else:
            yield path, row, key


def _steps(part_of: object, step: str) -> Iterator[tuple[str, object]]:
    if isinstance(part_of, list):
        yield from ((each[NAMED_BY], each) for each in part_of if step in (EACH, each[NAMED_BY]))
    else:
        yield from ((key, value) for key, value in cast("Facet", part_of).items() if step in (EACH, key))


def _known(name: str, prefix: str, part_of: object, row: Row, table: Facet) -> str:
    """How a figure is known: by the word of its item in a list, else of its prefix, else of its row, else of its table."""
    if isinstance(part_of, Mapping) and NAMED_BY in part_of:
        own = part_of.get(name) or table[f"{prefix}_{name}"][part_of[NAMED_BY]]
        return f"{own}, row '{part_of['row']}'" if name == "source" else str(own)
    of_prefix = prefix and (row.get(f"{prefix}_{name}") or table.get(f"{prefix}_{name}"))
    return str(of_prefix or row.get(name) or table.get(name) or "")


# -- what a site sets


def why_not(figure: Figure | None, value: float) -> Said | None:
    """Why a value cannot stand in a figure's place: code and facts; None where it can.

    Parameters
    ----------
    figure : Figure or None
        None where the tables have no such figure.
    value : float
        What would stand there [the figure's unit].
    """
    if figure is None:
        return {"code": "figures.unknown", "facts": {}}
    facts: dict[str, object] = {"title": figure.title, "value": value, "unit": figure.unit}
    if figure.least is None or figure.most is None:
        return {"code": "figures.fixed", "facts": facts}
    if not figure.least <= value <= figure.most:
        return {
            "code": "figures.outside",
            "facts": facts
            | {"least": with_unit(figure.least, figure.unit), "most": with_unit(figure.most, figure.unit)},
        }
    if figure.whole and value != int(value):
        return {"code": "figures.not-whole", "facts": facts}
    return None


def with_site_values(tables: Tables, values: Iterable[SiteValue]) -> tuple[dict[str, Facet], list[NotUsed]]:
    """The tables with a site's own values laid over them, and those values that cannot be.

    Parameters
    ----------
    tables : mapping
        Reference tables; they stay as they are.
    values : iterable of SiteValue
        What the site set.

    Returns
    -------
    tuple
        Tables, in which a changed row (for figures of the whole table: the table) says under `site_values` what was
        set, by whom, when and why (see `told`); and for each value that was not used ``{"record", "row", "code", "facts"}``.
    """
    known = {figure.address: figure for figure in figures(tables)}
    laid: dict[str, Facet] = dict(tables)
    not_used: list[NotUsed] = []
    for each in sorted(values, key=lambda one: (one.table, one.row, one.name)):
        figure = known.get((each.table, each.row, each.name))
        wrong = why_not(figure, each.value)
        if figure is None or wrong is not None:
            assert wrong is not None
            not_used.append({"record": each.record, "row": f"{each.table}, {each.row}", **wrong})
        else:
            laid[each.table] = _laid_over(laid[each.table], tables, figure, each)
    return laid, not_used


def told(figure: Figure, own: SiteValue) -> dict[str, object]:
    """What is said of a site's value wherever it is used: the facts of one sentence."""
    return {
        "table": figure.table,
        "row": figure.row,
        "figure": figure.name,
        "title": figure.title,
        "value": with_unit(own.value, figure.unit),
        "usual": with_unit(figure.value, figure.unit),
        "by": own.by,
        "on": own.on,
        "reason": own.reason,
        "source": own.source,
    }


def with_unit(value: float, unit: str) -> str:
    """A figure to read, thousands apart; a share has no unit.

    Parameters
    ----------
    value : float
        The figure [unit].
    unit : str
        Its unit, 'share', or nothing.

    Examples
    --------
    >>> with_unit(2475, "h"), with_unit(0.85, "share")
    ('2,475 h', '0.85')
    """
    return f"{value:,}" if unit in ("", "share") else f"{value:,} {unit}"


def _laid_over(table: Facet, tables: Tables, figure: Figure, own: SiteValue) -> dict[str, object]:
    path, note = figure.name.split("/"), told(figure, own)
    if not figure.part:
        return {**cast("Facet", _changed(table, path, own.value)), MARK: [*table.get(MARK, ()), note]}
    keys = tables["figures"]["tables"][figure.table]["keys"][figure.part]
    rows = [
        {**cast("Facet", _changed(row, path, own.value)), MARK: [*row.get(MARK, ()), note]}
        if row_name(figure.part, keys, row) == figure.row
        else row
        for row in table[figure.part]
    ]
    return {**table, figure.part: rows}


def _changed(part_of: object, path: Sequence[str], value: float) -> object:
    """A copy in which the value at a path is another; what is not on the path is shared."""
    if not path:
        return value
    if isinstance(part_of, list):
        return [_changed(each, path[1:], value) if each[NAMED_BY] == path[0] else each for each in part_of]
    inside = cast("Facet", part_of)
    return {**inside, path[0]: _changed(inside[path[0]], path[1:], value)}


def set_in(part_of: Row, *names: str) -> list[Facet]:
    """What a site set in a row or a table, of the figures whose names begin with one of those; no names: all of it.

    >>> set_in({"site_values": [{"figure": "hours_year"}, {"figure": "w_ft2/2021"}]}, "w_ft2")
    [{'figure': 'w_ft2/2021'}]
    """
    found: Iterable[Facet] = part_of.get(MARK, ())
    return [note for note in found if not names or note["figure"].startswith(names)]
