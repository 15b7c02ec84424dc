"""What people read stands in `spec/words.<language>/` only: a word in a template, in an attribute or in a label is found."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.quality.visible_text import PARSER, flat, pieces, walk

from spanwalk.page_files import COMMAND_WORDS, SITE_WORDS
from spanwalk.words import areas, words

PAGE = Path(__file__).resolve().parents[2] / "pwa"
SAID = re.compile(r"""\bsay\(\s*'([\w.-]+)'""")
FILLED_IN = re.compile(r"\{(\w+)\}")


def modules() -> list[Path]:
    """Every module that may show something; index.html has two sentences for when no module came, and stays as it is."""
    found = [path for folder in ("views", "store", "storage", "sync") for path in (PAGE / folder).rglob("*.js")]
    return sorted([*found, *(path for path in PAGE.glob("*.js") if path.name != "service-worker.js")])


def codes_of_rules() -> frozenset[str]:
    """Values that rules give, as 'cannot tell': they are codes, shown by `choiceText` and never as they stand."""
    roots = [PARSER.parse(path.read_bytes()).root_node for path in (PAGE / "rules").rglob("*.js")]
    return frozenset(flat(node) for root in roots for node in walk(root) if node.type == "string")


CODES = codes_of_rules() | {"too short", "from memory", "common practice"}
"""The last two are how `how_known` begins in reference tables; the first is a result of an emergency test."""


@pytest.mark.parametrize("module", modules(), ids=lambda path: path.relative_to(PAGE).as_posix())
def test_a_module_of_the_page_has_no_words_of_its_own(module: Path) -> None:
    found = [piece for piece in pieces(module.read_text(encoding="utf-8")) if piece.text not in CODES]
    assert not found, "\n".join(f"{module.relative_to(PAGE)}:{each.line} {each.where}: {each.text}" for each in found)


PLANTED = [
    "html`<p>Nothing here</p>`",
    "html`<p>\n  ${count} left\n</p>`",
    'html`<button aria-label="Back">←</button>`',
    "html`<input placeholder=${empty ? 'number or name' : ''} />`",
    'html`<${Page} title="Sites" />`',
    "html`<${Page} title=${`Room ${number}`} />`",
    "html`<p>${done ? 'yes' : undone && 'no'}</p>`",
    "html`<ul>${rows.map((row) => html`<li>Row ${row}</li>`)}</ul>`",
    "const HEADS = ['Floor', 'Rooms'];",
    "const NAMES = { gone: 'no longer here' };",
    "setSaid(`${name} is settled.`);",
    "const text = count ? `${count} more` : '';",
]


@pytest.mark.parametrize("source", PLANTED)
def test_a_planted_word_is_found(source: str) -> None:
    assert pieces(source)


SILENT = [
    "import { say } from './words.js';",
    'html`<p class="button main" id="floor">${say(\'page.save\')}</p>`',
    "html`<span class=${gone ? 'quiet small' : 'strong'}>${number} mm</span>`",
    "html`<${PhotoButton} purpose=\"whole-fixture\" label=${say('page.add')} />`",
    "html`<a href=${`/s/${site.id}/desk/labels`}>${name}</a>`",
    "if (event.key === 'Enter') element.addEventListener('Custom', go);",
    "throw new Error(`${address}: no answer came`);",
    "const key = `spanwalk:draft:${id}`;",
    "html`<p>${counted(rooms, 'room')} · 12 W</p>`",
]


@pytest.mark.parametrize("source", SILENT)
def test_what_nobody_reads_is_left_alone(source: str) -> None:
    assert pieces(source) == []


def test_every_sentence_that_the_page_says_has_its_words() -> None:
    said = {code for module in modules() for code in SAID.findall(module.read_text(encoding="utf-8"))}
    assert len(said) > 300
    assert said - set(words()) == set()


WITHOUT_A_SITE = [
    "main.js",
    "views/sign_in.js",
    "views/sites.js",
    "views/not_found.js",
    "views/words.js",
    "views/scanning/label_address.js",
    "store/desk.js",
    *(f"views/parts/{part}.js" for part in ("page", "parts", "sync_line", "sign_out", "this_phone")),
    *(f"views/people/{part}.js" for part in ("join", "me", "firm", "link_card", "asked", "new_password")),
    *(f"views/people/{part}.js" for part in ("own_phones", "second_phone", "enrol", "firm_phones", "phone_text")),
]
"""Modules that show something before a site is opened."""


@pytest.mark.parametrize("module", WITHOUT_A_SITE)
def test_what_is_said_without_a_site_comes_before_the_first_screen(module: str) -> None:
    said = set(re.findall(r"'([a-z-]+\.[a-z-]+)'", (PAGE / module).read_text(encoding="utf-8"))) & set(words())
    later = {code for area in SITE_WORDS | COMMAND_WORDS for code in areas()[area]}
    assert said & later == set()


def test_an_area_that_comes_later_is_one_that_there_is() -> None:
    assert set(areas()) >= SITE_WORDS | COMMAND_WORDS


def test_a_count_is_said_in_one_and_in_many() -> None:
    things = {code.split(".")[1] for code in words() if code.startswith("counted.")}
    assert "fixture" in things
    for thing in things:
        both = [words()[f"counted.{thing}.{number}"] for number in ("one", "other")]
        assert all(FILLED_IN.findall(each) == ["count"] for each in both)
        assert both[0] != both[1]


def test_every_thing_that_the_page_counts_has_its_words() -> None:
    calls = re.compile(r"""\bcounted\([^;`]*?,\s*'([\w-]+)'""")
    counted = {thing for module in modules() for thing in calls.findall(module.read_text(encoding="utf-8"))}
    assert counted
    assert {f"counted.{thing}.one" for thing in counted} - set(words()) == set()
