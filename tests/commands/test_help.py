"""`--help` of every command and argument stands in the words, in each language; none is said without them."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

import pytest

from spanwalk import cli
from spanwalk.words import areas, languages

AREA = "command-help"
SAID_ELSEWHERE = "serving."
"""How codes of the area begin that are printed when a server starts."""


def parsers(above: argparse.ArgumentParser) -> Iterator[argparse.ArgumentParser]:
    yield above
    for action in above._actions:
        if isinstance(action, argparse._SubParsersAction):
            for each in action.choices.values():
                yield from parsers(each)


def texts(top: argparse.ArgumentParser) -> Iterator[tuple[str, str]]:
    """What stands in help: where, and the text as it is printed."""
    for parser in parsers(top):
        yield parser.prog, parser.description or ""
        for action in parser._actions:
            if isinstance(action, argparse._SubParsersAction):
                yield from ((f"{parser.prog} {each.dest}", each.help or "") for each in action._choices_actions)
            else:
                yield f"{parser.prog} {action.dest}", (action.help or "") % {}


def without_facts(text: str) -> str:
    return text.replace("http://127.0.0.1:8000", "{address}")


@pytest.mark.parametrize("language", sorted(each for each in languages() if "-" not in each))
def test_all_help_is_said_by_the_words(language: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LC_ALL", f"{language}.UTF-8")
    said = list(texts(cli._parser()))
    assert len(said) > 150
    told = set(areas(language)[AREA].values())
    assert [where for where, text in said if without_facts(text).replace("%%", "%") not in told] == []


def test_no_sentence_of_help_is_left_over() -> None:
    shown = {without_facts(text).replace("%%", "%") for _, text in texts(cli._parser())}
    told = {code: text for code, text in areas()[AREA].items() if not code.startswith(SAID_ELSEWHERE)}
    assert [code for code, text in told.items() if text not in shown] == []


def test_a_share_is_printed_with_its_sign(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["best-order", "--help"])
    assert "no group gets less of today's light [%]" in " ".join(capsys.readouterr().out.split())
