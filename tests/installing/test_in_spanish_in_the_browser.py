"""A crew that reads Spanish: chosen at signing in, kept without a signal, and no English left on the card but what people wrote."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import go, sign_in
from tests.installing.conftest import Fixture, records
from tests.support.kept_page import page_is_kept
from tests.support.looks import BEYOND, BROKEN, found_at_rest
from tests.support.server import PASSWORD, Client, Server

from spanwalk.words import say

ENGLISH = re.compile(
    r"\b(?:the|and|of|with|not|is|are|this|to|from|what|which|by|for|have|was|(?<!\d\s)in|at|on|here)\b"
)
"""Words that English cannot do without and that Spanish has not; behind a number 'in' is the inch."""
LETTERS = re.compile("[A-Za-z]{3}")
"""A text without such is a number or a length: what stands beside it is not taken for its writer's."""
SHOWN = """() => [document.body.innerText, ...[...document.querySelectorAll('[aria-label]')].map((each) => each.getAttribute('aria-label'))].join('\\n')"""


def texts(value: Any) -> Iterator[str]:
    """Every text that people wrote into records."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for each in value.values():
            yield from texts(each)
    elif isinstance(value, list):
        for each in value:
            yield from texts(each)


def written_by_people(server: Server) -> list[str]:
    """Texts of records, the longest first: names, notes and titles stay as they were written."""
    found = {text.strip() for record in records(server) for facet in record["facets"].values() for text in texts(facet)}
    return sorted((text for text in found if LETTERS.search(text)), key=len, reverse=True)


def english_on(page: Page, written: list[str]) -> list[str]:
    """Lines of a screen that hold an English word, without what people wrote."""
    found = []
    for line in page.evaluate(SHOWN).split("\n"):
        rest = line
        for text in written:
            rest = rest.replace(text, "")
        if ENGLISH.search(rest):
            found.append(line)
    return found


def test_a_crew_chooses_spanish_and_reads_no_english_on_its_card_also_without_a_signal(
    server: Server, labelled: dict[str, list[Fixture]], new_phone: Callable[..., BrowserContext]
) -> None:
    page = new_phone().new_page()
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(server.url + "/sign-in")
    page.get_by_label("Language").select_option("es")
    expect(page.get_by_role("heading", name="Iniciar sesión")).to_be_visible()
    expect(page.get_by_role("note").get_by_text(say("language.not-reviewed", language="es"))).to_be_visible()
    page.get_by_label("Nombre", exact=True).fill("crew")
    page.get_by_label("Contraseña", exact=True).fill("no es esta")
    page.get_by_role("button", name="Iniciar sesión", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text(say("sign-in-refused", language="es"))
    page.get_by_label("Contraseña", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Iniciar sesión", exact=True).click()
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("Todo enviado.")).to_be_visible()
    page_is_kept(page)
    page.wait_for_function("caches.match('/app/words/es.json').then((found) => found !== undefined)")
    page.context.set_offline(True)
    page.reload()
    page.wait_for_selector("body[data-ready]", state="attached")
    assert page.evaluate("document.documentElement.lang") == "es"
    written = written_by_people(server)
    for fixture in (labelled["released"][0], labelled["waiting"][0]):
        go(page, fixture.path)
        expect(page.get_by_role("region", name=say("crew.outcome", language="es"))).to_be_visible()
        assert english_on(page, written) == [], fixture.path
        assert page.evaluate(BEYOND) == []
        assert page.evaluate(BROKEN) == []
    go(page, labelled["released"][0].path)
    steps = page.get_by_role("region", name=say("crew.steps", language="es"))
    expect(steps).to_contain_text(say("crew.defers", language="es"))
    expect(steps).to_contain_text("ausencia de tensión")
    expect(steps.get_by_role("note").first).to_have_text(say("language.not-reviewed", language="es"))
    chooses_english_and_is_believed_once_there_is_a_signal(page, server)


def chooses_english_and_is_believed_once_there_is_a_signal(page: Page, server: Server) -> None:
    go(page, "/me")
    page.get_by_label("Idioma").select_option("en")
    expect(page.get_by_role("form", name="Your name")).to_be_visible()
    assert page.evaluate("document.documentElement.lang") == "en"
    page.context.set_offline(False)
    page.evaluate("import('/app/store/store.js').then(({ store }) => store.refresh())")
    assert Client(server.url, "crew").get("/api/session")["person"]["language"] == "en"


def test_a_crew_reads_its_day_in_spanish_on_the_narrowest_phone_and_with_large_letters(
    server: Server, labelled: dict[str, list[Fixture]], new_phone: Callable[..., BrowserContext]
) -> None:
    """Spanish needs more room than English: marks, parts and steps go on in a second line instead of beyond the edge."""
    assert Client(server.url, "crew").call("PUT", "/api/me", {"language": "es"})[0] == 200
    page = sign_in(new_phone().new_page(), server.url, "crew")
    fixture = labelled["released"][0]
    for path in ("today", "today/picking", "today/circuits", "today/access", f"today/room/{fixture.room}"):
        go(page, f"/s/{fixture.site}/{path}")
        assert_nothing_sticks_out(page, path)
    go(page, fixture.path)
    assert_nothing_sticks_out(page, "card")


def assert_nothing_sticks_out(page: Page, name: str) -> None:
    expect(page.locator("main > *").first).to_be_visible()
    expect(page.locator("main .mark, main .check-line, main .facts, main .row").first).to_be_visible()
    for width, size in ((320, ""), (360, "225%")):
        page.set_viewport_size({"width": width, "height": 740})
        page.evaluate("size => { document.documentElement.style.fontSize = size; }", size)
        assert found_at_rest(page, BEYOND) == [], f"{name} at {width} px, letters {size or 'as they are'}"
        assert found_at_rest(page, OUT_OF_ITS_BOX) == [], f"{name} at {width} px, letters {size or 'as they are'}"
    page.evaluate("() => { document.documentElement.style.fontSize = ''; }")


OUT_OF_ITS_BOX = """() => [...document.querySelectorAll('main .mark')].filter((mark) => {
  const [own, around] = [mark, mark.closest('.row, .card, li, section, main')].map((each) => each.getBoundingClientRect());
  return own.width && (own.left < around.left - 1 || own.right > around.right + 1);
}).map((mark) => mark.textContent)"""


def test_a_reading_stands_whole_in_its_field_with_large_letters(
    server: Server, labelled: dict[str, list[Fixture]], new_phone: Callable[..., BrowserContext]
) -> None:
    fixture = labelled["released"][0]
    assert Client(server.url, "surveyor").call("PUT", "/api/me", {"language": "es"})[0] == 200
    page = sign_in(new_phone().new_page(), server.url, "surveyor")
    page.set_viewport_size({"width": 320, "height": 740})
    go(page, f"/s/{fixture.site}/group/{fixture.group}/read")
    reading = page.locator("input.reading")
    reading.fill("47 13/16")
    assert page.evaluate(BROKEN) == []
    for size in ("", "225%"):
        page.evaluate("size => { document.documentElement.style.fontSize = size; }", size)
        assert reading.evaluate("field => field.scrollWidth - field.clientWidth") <= 0, size or "as it is"
