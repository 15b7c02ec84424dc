"""The page as a wheel serves it, in a real browser: little to fetch, all of it without a signal, the scanner for who scans."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import scanner_kept, sign_in_on_the_screen
from tests.phone.conftest import controlled, ready, save_note, until, with_the_site
from tests.support.counting_proxy import CountingProxy
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.packed import as_installed, packed_page_of_the_run
from tests.support.server import Server

REQUESTS_MOST = 12
BYTES_MOST = 120_000
SCANNER = ("zxing", "scan_worker")
STORE = "import('#main').then(({ $m }) => $m['store/store.js'].store)"
"""The store of a packed page; its modules have no addresses of their own."""


@pytest.fixture(scope="module")
def packed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The environment of a server that serves the packed page."""
    return as_installed(tmp_path_factory.mktemp("installed"), packed_page_of_the_run(tmp_path_factory))


@pytest.fixture(scope="module")
def server(packed: dict[str, str], demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    data = tmp_path_factory.mktemp("server") / "data"
    shutil.copytree(demo_data, data)
    running = Server(data, env=packed).start()
    yield running
    running.stop()


@pytest.fixture
def asked(new_phone: Callable[..., BrowserContext]) -> tuple[Page, list[str]]:
    """A phone's page, and every path that it or its service worker asks for."""
    phone = new_phone()
    paths: list[str] = []
    phone.on("request", lambda request: paths.append("/" + request.url.split("/", 3)[3]))
    return phone.new_page(), paths


def kept(page: Page) -> set[str]:
    """The addresses in the page's caches."""
    found: list[str] = page.evaluate(
        """async () => {
          const caches_ = await Promise.all((await caches.keys()).map((name) => caches.open(name)));
          const requests = await Promise.all(caches_.map((cache) => cache.keys()));
          return requests.flat().map(({ url }) => new URL(url).pathname);
        }"""
    )
    return set(found)


def has_scanner(paths: set[str] | list[str]) -> bool:
    return any(part in path for path in paths for part in SCANNER)


# -- the first screen


def test_sign_in_can_be_typed_in_after_few_requests_and_bytes(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    with CountingProxy(server.port) as wire:
        # What a phone keeps for later is fetched after that, and waits for nobody.
        page = new_phone(service_workers="block").new_page()
        page.goto(wire.url + "/sign-in")
        page.get_by_label("Name", exact=True).wait_for()
        carried = wire.carried
    assert 0 < carried.requests <= REQUESTS_MOST
    assert 0 < carried.down <= BYTES_MOST


def test_the_first_screen_asks_for_no_screen_of_the_desk_or_the_crew(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = new_phone(service_workers="block").new_page()
    paths: list[str] = []
    page.on("request", lambda request: paths.append("/" + request.url.split("/", 3)[3]))
    page.goto(server.url + "/sign-in")
    ready(page)
    assert any(path.startswith("/app/main-") for path in paths)
    assert not [path for path in paths if path.startswith(("/app/desk-", "/app/crew-", "/app/reference/"))]


# -- without a signal


def test_a_packed_page_opens_without_a_signal_and_all_its_parts_are_there(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = sign_in_on_the_screen(new_phone().new_page(), server.url, "manager")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    walk = page.url
    controlled(page)
    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    for path, shows in (
        ("/desk", "Completeness"),
        ("/scan", "Scan a label"),
        ("/open-points", "Open points"),
        ("/find", "Find"),
    ):
        page.goto(walk + path)
        expect(page.get_by_role("heading", level=1)).to_contain_text(shows)
    group = page.evaluate(f"{STORE}.then(async (store) => (await [...store.opened.values()][0].all('group'))[0].id)")
    page.goto(f"{walk}/group/{group}")
    expect(page.get_by_role("main")).to_contain_text("fixture")


# -- the scanner


def test_a_surveyors_phone_never_fetches_the_scanner(server: Server, asked: tuple[Page, list[str]]) -> None:
    page, paths = asked
    sign_in_on_the_screen(page, server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    controlled(page)
    page.reload()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    page.wait_for_load_state("networkidle")
    assert "/app/tables.json" in kept(page)
    assert not has_scanner(kept(page))
    assert not has_scanner(paths)


def test_a_crews_phone_fetches_the_scanner_after_signing_in(server: Server, asked: tuple[Page, list[str]]) -> None:
    page, paths = asked
    page.goto(server.url + "/sign-in")
    ready(page)
    controlled(page)
    assert not has_scanner(paths), "nobody is signed in yet"
    sign_in_on_the_screen(page, server.url, "crew")
    scanner_kept(page)
    assert has_scanner(paths)


def test_who_opens_the_scanner_first_keeps_it(server: Server, new_phone: Callable[..., BrowserContext]) -> None:
    page = sign_in_on_the_screen(new_phone().new_page(), server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    controlled(page)
    assert not has_scanner(kept(page))
    page.goto(page.url + "/scan")
    scanner_kept(page)


READS_A_CODE = """([width, bytes]) => new Promise((done, failed) => {
  const worker = new Worker('/app/views/scanning/scan_worker.js', { type: 'module' });
  const pixels = new Uint8ClampedArray(width * width * 4).fill(255);
  for (const [place, value] of [...atob(bytes)].entries()) pixels.fill(value.charCodeAt(0), place * 4, place * 4 + 3);
  worker.onmessage = ({ data }) => done(data);
  worker.onerror = () => done({ failed: true });
  worker.postMessage(new ImageData(pixels, width, width));
})"""


def picture(text: str) -> list[Any]:
    """A QR code as its width and its pixels' bytes, one each."""
    import base64

    import qrcode
    from PIL import Image

    made = qrcode.make(text, box_size=6, border=4).get_image()
    grey: Image.Image = made.convert("L")
    return [grey.width, base64.b64encode(grey.tobytes()).decode()]


def test_the_packed_scanner_reads_a_code_without_a_signal(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = sign_in_on_the_screen(new_phone().new_page(), server.url, "crew")
    controlled(page)
    scanner_kept(page)
    page.context.set_offline(True)
    assert page.evaluate(READS_A_CODE, picture("HTTP://X/F/2YMAV64G")) == {"texts": ["HTTP://X/F/2YMAV64G"]}


def test_a_scanner_that_is_not_on_the_phone_says_so_instead_of_looking_for_ever(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = sign_in_on_the_screen(new_phone().new_page(), server.url, "surveyor")
    controlled(page)
    page.context.set_offline(True)
    assert page.evaluate(READS_A_CODE, picture("X"))["failed"]


# -- what goes wrong, and what is renewed


def test_an_error_names_the_function_it_comes_from(server: Server, new_phone: Callable[..., BrowserContext]) -> None:
    page = new_phone().new_page()
    page.goto(server.url + "/sign-in")
    ready(page)
    stack = page.evaluate(
        "import('#main').then(({ $m }) => $m['views/words.js'].say('x', { y: { toString() { throw new Error('planted') } } }))"
        ".catch((error) => error.stack)"
    )
    assert "planted" in stack
    assert "factText" in stack
    assert "/app/main-" in stack


def test_a_part_that_does_not_come_is_said_and_the_page_can_be_loaded_again(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = new_phone(service_workers="block").new_page()
    sign_in_on_the_screen(page, server.url, "manager")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    page.route("**/app/desk-*.js", lambda route: route.fulfill(status=404, body=""))
    page.get_by_role("link", name="desk").first.click()
    expect(page.get_by_role("alert")).to_contain_text("did not arrive")
    page.unroute("**/app/desk-*.js")
    page.get_by_role("button", name="Load again").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Completeness")


def test_a_phone_with_the_loose_page_gets_the_packed_one_with_consent_and_keeps_what_is_not_sent(
    packed: dict[str, str], demo_data: Path, tmp_path: Path, new_phone: Callable[..., BrowserContext]
) -> None:
    data = tmp_path / "data"
    shutil.copytree(demo_data, data)
    loose = Server(data).start()
    page = with_the_site(new_phone(), loose.url)
    page.context.route("**/push", lambda route: route.abort())
    save_note(page, "Loft")
    before = page.evaluate("site.unsent().then(u => u.operations)")
    assert len(before) == 1
    loose.stop()
    renewed = Server(data, port=loose.port, env=packed).start()
    try:
        page.evaluate("navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => null)")
        until(page, "store.update !== null")
        assert page.evaluate("document.querySelector('script[src]').getAttribute('src')") == "/app/main.js"
        with page.expect_navigation():
            page.evaluate("store.update.activate()")
        ready(page)
        assert "/app/main-" in page.evaluate("document.querySelector('script[src]').getAttribute('src')")
        unsent = page.evaluate(f"{STORE}.then(store => [...store.opened.values()][0].unsent()).then(u => u.operations)")
        assert unsent == before
        assert page.evaluate("caches.keys().then(keys => keys.length)") == 1
    finally:
        renewed.stop()


# -- how it stands


SHIFTS = """window.shifts = []; new PerformanceObserver((seen) => window.shifts.push(...seen.getEntries().map(({ value }) => value)))
  .observe({ type: 'layout-shift', buffered: true });"""


@pytest.fixture
def measured(server: Server, new_phone: Callable[..., BrowserContext]) -> tuple[Page, str, str]:
    """A surveyor's phone with the building on it; the address of its walk, and a group with readings."""
    page = new_phone(service_workers="block").new_page()
    sign_in_on_the_screen(page, server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    group: dict[str, str] = page.evaluate(
        f"{STORE}.then(async (store) => {{ const site = [...store.opened.values()][0];"
        " const read = await site.all('cavity_reading'); return site.get(read[0].parent); })"
    )
    walk = page.url
    page.add_init_script(SHIFTS)
    return page, walk, f"{group['parent']} {group['id']}"


def test_nothing_is_pushed_about_while_a_screen_opens(measured: tuple[Page, str, str]) -> None:
    page, walk, ids = measured
    room, group = ids.split()
    shown = {
        walk: page.get_by_role("heading", name="Undercroft"),
        f"{walk}/room/{room}": page.get_by_role("navigation", name="Rooms of this floor"),
        f"{walk}/group/{group}": page.get_by_role("link", name="Read a cavity").first,
        f"{walk}/group/{group}/read": page.get_by_label("Cavity length"),
    }
    moved = {}
    for address, last in shown.items():
        page.goto(address)
        expect(last).to_be_visible()
        page.wait_for_load_state("networkidle")
        moved[address] = page.evaluate("window.shifts")
    assert moved == {address: [] for address in shown}


def test_the_tape_pad_has_no_fault_that_axe_knows_empty_read_asked_and_wrong(measured: tuple[Page, str, str]) -> None:
    page, walk, ids = measured
    page.goto(f"{walk}/group/{ids.split()[1]}/read")
    length = page.get_by_label("Cavity length")
    expect(length).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    length.fill("48 1/4")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_role("alert")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=())
    length.fill("x")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_role("alert")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=())
