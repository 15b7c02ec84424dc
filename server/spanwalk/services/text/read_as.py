"""Numbers, units and titles as who reads them has them: what a paper says goes through here, or through `say`."""

from __future__ import annotations

from spanwalk.coded_text import code_of
from spanwalk.records import spec
from spanwalk.words import reading_language, say, title_text, words


def marked(english: str) -> str:
    """A number as English has it, 1,147.8, with the marks of the language that is read.

    `number.long` and `number.four-digits` among its words show how it writes thousands and decimals.

    >>> marked("1,234,567.5"), marked("-0.25")
    ('1,234,567.5', '-0.25')
    """
    language = reading_language()
    long, four = (say(f"number.{name}", language=language) for name in ("long", "four-digits"))
    thousands, decimal = long[1], long[-2]
    whole, point, rest = english.partition(".")
    if len(four) == 4 and len(whole.strip("-")) <= len("1,234"):
        whole = whole.replace(",", "")
    return whole.replace(",", thousands) + (decimal if point else "") + rest


def unit_text(unit: str) -> str:
    """A unit of the spec or the tables: 'per hour', 'years'; signs as 'W' and 'mm' are the same everywhere.

    >>> unit_text("per kWh"), unit_text("W")
    ('per kWh', 'W')
    """
    return words(reading_language()).get(f"unit.{code_of(unit)}", unit)


def figure_title(title: str) -> str:
    """The title of a figure or a table of figures; the tables have it in English.

    >>> figure_title("Ballast factor"), figure_title("not a title")
    ('Ballast factor', 'not a title')
    """
    return words(reading_language()).get(f"figure-title.{code_of(title)}", title)


def column_head(type_name: str, facet: str, field: str, unit: str) -> str:
    """The heading of a column of an export: type, facet and field, with the unit.

    >>> column_head("room", "size", "height_ticks", "mm")
    'Room: Size: Ceiling height [mm]'
    """
    record = spec().types[type_name]
    english = (record.title, record.facets[facet].title, record.facets[facet].fields[field].title)
    codes = (f"spec.{type_name}", f"spec.{type_name}.{facet}", f"spec.{type_name}.{facet}.{field}")
    return ": ".join(map(title_text, codes, english)) + (f" [{unit_text(unit)}]" if unit else "")


__all__ = ["column_head", "figure_title", "marked", "unit_text"]
