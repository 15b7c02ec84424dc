"""Messages of files brought in and of the copy of a site."""

from __future__ import annotations

from typing import TypedDict

from marshmallow import fields

from spanwalk.messages.forms import Flag, ListOf, Message, Object, Text, Whole, identifier

FILE_KINDS = ("rooms", "fixtures", "catalogue", "prices")


class FileQuery(Message):
    """What file is brought."""

    kind = Text(f"one of {', '.join(FILE_KINDS)}", "What its rows are")
    name = Text("a name of at most 200 letters", "What it is called", most=200, load_default="", required=False)


class FileAsked(TypedDict):
    """What file is brought. As read."""

    kind: str
    name: str


class TemplateQuery(Message):
    """Which template is wanted."""

    kind = Text(f"one of {', '.join(FILE_KINDS)}", "What its rows are", among=FILE_KINDS)


class TemplateAsked(TypedDict):
    """Which template is wanted. As read."""

    kind: str


class HeadSaid(Message):
    """What a head means."""

    column = Text("the name of a column, or nothing", "Empty: not taken", most=80, required=False)
    unit = Text("a unit", most=10, required=False)


class FileAnswerIn(Message):
    """What somebody says of a file; what is left out stays as it is."""

    sheet = Text("the name of a sheet", most=200, required=False)
    decimal = Text("a point or a comma", among=(".", ","), required=False)
    columns = Object(
        "an object: what each head means",
        keys=fields.String(),
        values=fields.Nested(HeadSaid),
        required=False,
    )


class FileColumn(Message):
    """A column that a file of a kind may have."""

    name = Text("a name")
    title = Text("a title")
    must = Flag(about="Whether a file without it cannot be brought in")
    measures = Text("a sort of unit", "Empty: it has none that is asked for")


class FileKind(Message):
    """A kind of file and its columns."""

    kind = Text("a kind of file", among=FILE_KINDS)
    columns = ListOf(fields.Nested(FileColumn), "columns")


class FileInShort(Message):
    """A file brought in, or being brought in."""

    id = identifier("the id of an import")
    kind = Text("a kind of file", among=FILE_KINDS)
    name = Text("a name")
    by = Text("a name", "Who brought it")
    state = Text("a state", "reading, looking, asking, ready, writing, done, undoing, undone, wrong or cancelled")
    made_at = Text("a time")
    row = Whole("a count", "Rows looked at, while it is looked at")
    rows = Whole("a count", "Rows in all")
    counts = Object("counts", "Rows that are new, changed and left")


class FilesOut(Message):
    """Kinds of file, and the last files of the site, the newest first."""

    kinds = ListOf(fields.Nested(FileKind), "kinds of file")
    imports = ListOf(fields.Nested(FileInShort), "files")


class FileStateOut(FileInShort):
    """A file with all that is known of it: columns, questions, problems by row and column, what would change."""

    columns = ListOf(Object("a column"), "columns", required=False)
    questions = ListOf(Object("a question"), "questions", required=False)
    problems = ListOf(Object("a problem"), "problems", required=False)
    lines = ListOf(Object("a line"), "lines", required=False)


class FileBegunOut(Message):
    """A file that is being read."""

    id = identifier("the id of an import")


class TableTitle(Message):
    """A table that can be taken away."""

    name = Text("a name")
    title = Text("a title")


class TablesOut(Message):
    """Tables that can be taken away."""

    tables = ListOf(fields.Nested(TableTitle), "tables")


class SiteBroughtOut(Message):
    """A site that was taken in."""

    id = identifier("a site's id")
