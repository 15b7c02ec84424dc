"""Files to be filled in: the heads of a kind of file as they are understood, and one invented row."""

from __future__ import annotations

from spanwalk.services.files.kinds import Column, columns_of, unit_called
from spanwalk.services.files.sheets_out import OutTable, as_csv, as_workbook
from spanwalk.words import choice_text, say


def template(kind: str, form: str) -> bytes:
    """A template as `xlsx` or `csv`.

    Parameters
    ----------
    kind : str
        Kind of file.
    form : {'xlsx', 'csv'}
        Which form.
    """
    columns = columns_of(kind).values()
    heads = [head_of(each) for each in columns]
    table = OutTable(kind, say(f"files.kind.{kind}"), heads, [[_example(each) for each in columns]])
    return as_csv(table) if form == "csv" else as_workbook([table])


def head_of(column: Column) -> str:
    """A column's head, its unit in brackets where it has one; lengths say their unit in each cell."""
    unit = column.unit
    if column.measures == "length":
        return column.title
    return f"{column.title} [{unit}]" if unit and unit == unit_called(unit) else column.title


def _example(column: Column) -> str | int | float:
    text = column.example
    field = column.field
    if field is not None and field.of.json in ("integer", "number") and not field.of.ticks and text:
        return float(text) if "." in text else int(text)
    return choice_text(text)
