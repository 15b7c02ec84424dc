"""Behind nginx, as `spanwalk proxy-config` configures it, with TLS: what the server believes of whom, what people get."""

from __future__ import annotations

import json
import re
import ssl
import subprocess
from collections.abc import Iterator
from contextlib import closing

import pytest
from playwright.sync_api import Playwright, expect
from tests.conftest import PHONE
from tests.front.raw import Door
from tests.support import machine
from tests.support.installation import PASSWORD, Installation
from tests.support.nginx import Nginx, proxy_config
from tests.support.server import Server, free_port

from spanwalk.app import create_app
from spanwalk.cli import main
from spanwalk.config import SettingWrong, read_settings
from spanwalk.rules.codes import LENGTH, make_code
from spanwalk.services.doctor import Report, examine_front
from spanwalk.web.request.auth import Right
from spanwalk.web.request.limits import HEAVY
from spanwalk.web.server.proxy_config import OPEN, PROOFS

JSON = {"Content_Type": "application/json"}


def no_label(number: int) -> str:
    """A code that is one, of a label that nobody printed."""
    code = make_code([0] * (LENGTH - 2) + [number // 32, number % 32])
    return code or no_label(number + 1)


def misses(door: Door, count: int, source: str, **headers: str) -> list[int]:
    """Look for labels that nobody printed."""
    return [door.ask(f"GET /api/labels/{no_label(each)}", source=source, **headers).status for each in range(count)]


# -- what is handed on


def test_it_is_served_over_tls_with_http_2(through: Door) -> None:
    with closing(through.connect(alpn="h2")) as to:
        assert isinstance(to, ssl.SSLSocket)
        assert to.selected_alpn_protocol() == "h2"
        assert to.version() in ("TLSv1.2", "TLSv1.3")


def test_plain_http_only_leads_to_https(proxy: Nginx) -> None:
    answer = Door(proxy.http_port).ask("GET /s/some?where=yes")
    assert (answer.status, answer.headers["location"]) == (301, "https://localhost/s/some?where=yes")


def test_browsers_are_told_to_come_over_https_only_and_the_cookie_goes_no_other_way(through: Door) -> None:
    body = json.dumps({"name": "crew", "password": PASSWORD}).encode()
    answer = through.ask("POST /api/session", body, source="127.0.4.1", **JSON)
    assert answer.status == 200, answer.body
    assert re.search(r"max-age=\d{7,}", answer.headers["strict-transport-security"])
    assert {"secure", "httponly", "samesite=lax"} <= set(answer.headers["set-cookie"].lower().split("; "))


def test_the_page_comes_compressed_and_is_asked_about_by_its_tag(through: Door) -> None:
    page = through.ask("GET /", Accept_Encoding="gzip")
    assert (page.status, page.headers["content-encoding"]) == (200, "gzip")
    again = through.ask("GET /", Accept_Encoding="gzip", If_None_Match=page.headers["etag"])
    assert again.status == 304


def test_a_client_that_says_of_itself_who_it_is_is_not_believed(through: Door, direct: Door) -> None:
    """Through the proxy what it says is overwritten; past the proxy it is struck out."""
    forged = {"X_Forwarded_For": "203.0.113.9", "X_Forwarded_Proto": "https", "Forwarded": "for=203.0.113.9"}
    for door, source in ((through, "127.0.4.2"), (direct, "127.0.4.3")):
        changing = [
            door.ask(
                f"GET /api/labels/{no_label(each)}",
                source=source,
                **(forged | {"X_Forwarded_For": f"203.0.113.{each}"}),
            ).status
            for each in range(11)
        ]
        assert changing == [404] * 10 + [429], "they all count as the address that they come from"
    assert "strict-transport-security" not in direct.ask("GET /api/health", source="127.0.4.3", **forged).headers


def test_each_address_behind_the_proxy_counts_for_itself(through: Door) -> None:
    assert misses(through, 11, "127.0.4.4") == [404] * 10 + [429]
    assert misses(through, 1, "127.0.4.5") == [404]


def test_behind_a_proxy_that_is_not_believed_all_are_one_and_it_is_said_once(direct: Door, behind: Server) -> None:
    one, other = {"X_Forwarded_For": "203.0.113.1"}, {"X_Forwarded_For": "203.0.113.2"}
    assert misses(direct, 11, "127.0.4.6", **one) == [404] * 10 + [429]
    assert misses(direct, 1, "127.0.4.6", **other) == [429]
    assert behind.log(None).count("SPANWALK_TRUSTED_PROXY is 127.0.0.1: it is not believed") == 1


@pytest.mark.parametrize(("way", "source"), [("through", "127.0.6.1"), ("direct", "127.0.6.2")])
def test_the_log_has_the_address_of_who_asks_and_neither_the_proxys_nor_what_somebody_says_of_themselves(
    request: pytest.FixtureRequest, behind: Server, way: str, source: str
) -> None:
    door: Door = request.getfixturevalue(way)
    told = f"203.0.113.{source[-1]}7"
    answer = door.ask("GET /api/session", source=source, X_Forwarded_For=told, Forwarded=f"for={told}")
    assert answer.status == 401
    lines = behind.logged(f"request={answer.headers['x-request-id']}")
    assert [f"address={source} " in f"{line} " for line in lines] == [True]
    assert told not in behind.log(None)


def test_doctor_says_that_a_proxy_is_not_believed() -> None:
    def codes(**settings: str) -> list[str]:
        report = Report()
        examine_front(read_settings(settings), report)
        return [each.code for each in report.findings]

    https = {"SPANWALK_PUBLIC_URL": "https://walk.example.org"}
    assert codes(**https) == ["doctor.proxy-untrusted"]
    assert codes(**https, SPANWALK_TRUSTED_PROXY="127.0.0.1") == []
    assert codes() == []


# -- what it answers by itself


def problem(answer_body: bytes) -> tuple[str, str]:
    told = json.loads(answer_body)
    assert told["type"] == f"urn:spanwalk:problem:{told['code']}"
    return told["code"], told["detail"]


def test_too_long_a_body_is_refused_by_its_head_as_the_server_would(home: Installation, through: Door) -> None:
    answer = through.ask(f"POST /api/sites/{home.site}/push", Content_Length="4100001")
    assert (answer.status, answer.headers["content-type"]) == (413, "application/problem+json")
    assert problem(answer.body)[0] == "proxy-413"


def test_too_many_tries_to_sign_in_at_once_are_slowed_down_before_the_server(through: Door) -> None:
    answers = [through.ask("POST /api/session", b"{}", source="127.0.4.8", **JSON) for _ in range(60)]
    slowed = [each for each in answers if each.status == 429]
    by_proxy = [each for each in slowed if problem(each.body)[0] == "proxy-429"]
    assert by_proxy
    assert {each.headers["retry-after"] for each in by_proxy} == {"5"}


@pytest.mark.parametrize(
    ("number", "what"),
    list(
        enumerate(
            [
                "POST /api/session/entered",
                "PUT /api/session/password",
                "POST /api/links/accept",
                "POST /api/enrolments/open",
                "POST /api/me/enrolments",
                "PUT /api/me/factors/authenticator",
                "POST /api/sites/0a-1b/resets",
            ]
        )
    ),
)
def test_whatever_takes_a_password_a_factor_or_a_secret_is_slowed_down_before_the_server_too(
    through: Door, number: int, what: str
) -> None:
    """Only signing in was."""
    answers = [through.ask(what, b"{}", source=f"127.0.5.{number + 1}", **JSON) for _ in range(40)]
    assert "proxy-429" in {problem(each.body)[0] for each in answers if each.status == 429}


def test_who_looks_up_many_labels_is_slowed_down_before_the_server(through: Door) -> None:
    one = f"GET /api/labels/nonsense HTTP/1.1\r\nHost: localhost:{through.port}\r\n\r\n".encode()
    got = through.answers(one * 300 + one.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n"), source="127.0.5.40")
    assert b"proxy-429" in got


def test_fifty_phones_behind_one_address_ask_at_once_who_is_signed_in(through: Door) -> None:
    """At seven in the morning, on the wireless network of one building."""
    assert {through.ask("GET /api/session", source="127.0.5.50").status for _ in range(50)} == {401}


def test_ten_people_at_one_gate_are_not_slowed_down_by_the_proxy(through: Door) -> None:
    body = json.dumps({"name": "nobody", "password": "no such person"}).encode()
    answers = [through.ask("POST /api/session", body, source="127.0.5.60", **JSON) for _ in range(10)]
    assert "proxy-429" not in {problem(each.body)[0] for each in answers}


def test_every_address_that_is_open_or_proves_somebody_has_its_rate() -> None:
    """What takes a password, a code or a secret of somebody, by its message; what anyone may ask, by its right."""
    app = create_app(read_settings({}))
    document = app.test_client().get("/api/openapi.json").json
    open_to_anyone, proving = set(), set()
    for rule in app.url_map.iter_rules():
        view = app.view_functions[rule.endpoint]
        plain = re.sub(r"<[^>]*>", "0a-1b", str(rule))
        if not plain.startswith("/api/"):
            continue
        if getattr(view, "right", Right.OPEN) is Right.OPEN:
            open_to_anyone.add(plain)
        told = document["paths"].get(re.sub(r"<(?:[^:>]*:)?([^>]*)>", r"{\1}", str(rule)), {})
        bodies = json.dumps([each.get("requestBody") for name, each in told.items() if isinstance(each, dict)])
        for schema in re.findall(r"#/components/schemas/(\w+)", bodies):
            if {"password", "code", "secret", "passkey"} & set(document["components"]["schemas"][schema]["properties"]):
                proving.add(plain)
    said_by_machines = {"/api/health", "/api/ready", "/api/metrics", "/api/openapi.json"}
    limited = [*PROOFS, *OPEN]
    assert {"/api/session", "/api/links/accept", "/api/me/factors/passkey", "/api/session/password"} <= proving
    assert "/api/labels/0a-1b" in open_to_anyone
    wanted = (open_to_anyone | proving) - said_by_machines
    assert {each for each in wanted if not any(re.fullmatch(path, each) for path in limited)} == set()


def test_while_the_server_is_away_people_are_told_to_try_again() -> None:
    front = Nginx(f"127.0.0.1:{free_port()}")
    try:
        answer = Door(front.port, tls=True).ask("GET /api/health")
        assert (answer.status, answer.headers["retry-after"]) == (502, "5")
        assert problem(answer.body)[0] == "proxy-502"
    finally:
        front.stop()


# -- a phone


@pytest.fixture
def phone_over_tls(playwright: Playwright, proxy: Nginx) -> Iterator[object]:
    """A browser that trusts this one certificate, as one trusts a real one: service workers run."""
    trusts = f"--ignore-certificate-errors-spki-list={proxy.spki()}"
    browser = playwright.chromium.launch(executable_path=machine.chromium(), args=[*machine.CHROMIUM_ARGS, trusts])
    context = browser.new_context(**PHONE)
    yield context.new_page()
    browser.close()


def test_a_phone_signs_in_over_tls_keeps_the_page_and_opens_it_without_a_signal(
    phone_over_tls: object, proxy: Nginx
) -> None:
    page = phone_over_tls
    page.goto(proxy.url + "/sign-in")  # type: ignore[attr-defined]
    page.get_by_label("Name", exact=True).fill("surveyor")  # type: ignore[attr-defined]
    page.get_by_label("Password", exact=True).fill(PASSWORD)  # type: ignore[attr-defined]
    page.get_by_role("button", name="Sign in", exact=True).click()  # type: ignore[attr-defined]
    expect(page.get_by_text("Test building").first).to_be_visible()  # type: ignore[attr-defined]
    (entry,) = page.evaluate("performance.getEntriesByType('navigation').map(each => each.nextHopProtocol)")  # type: ignore[attr-defined]
    assert entry == "h2"
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")  # type: ignore[attr-defined]
    page.context.set_offline(True)  # type: ignore[attr-defined]
    page.reload()  # type: ignore[attr-defined]
    expect(page.get_by_text("Test building").first).to_be_visible()  # type: ignore[attr-defined]


# -- the command and the settings


def test_the_configuration_has_the_servers_own_limits(tmp_path: object) -> None:
    told = proxy_config(tmp_path, "127.0.0.1:8000", 443, 80)  # type: ignore[arg-type]
    named = [each.path for each in HEAVY if f'location ~ "^{each.path}$"' in told]
    assert named == [each.path for each in HEAVY]
    assert [str(each.bytes_most) for each in HEAVY if str(each.bytes_most) not in told] == []
    assert "listen 127.0.0.1:443 ssl http2;" in told


def test_the_name_is_that_of_the_public_address(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SPANWALK_PUBLIC_URL", "https://walk.example.org")
    assert main(["proxy-config"]) == 0
    out = capsys.readouterr().out
    assert "server_name walk.example.org;" in out
    assert "ssl_certificate /etc/ssl/walk.example.org.pem;" in out


@pytest.mark.parametrize("words", [["--name", "a; }"], ["--name", "a.example", "--key", "x y"], []])
def test_what_would_be_more_than_a_name_in_the_configuration_is_refused(
    words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("SPANWALK_PUBLIC_URL", raising=False)
    assert main(["proxy-config", *words]) == 2
    assert "--name" in capsys.readouterr().err


def test_a_trusted_proxy_makes_cookies_secure_unless_that_is_said_otherwise() -> None:
    assert read_settings({"SPANWALK_TRUSTED_PROXY": "127.0.0.1"}).secure_cookies
    assert not read_settings({"SPANWALK_TRUSTED_PROXY": "127.0.0.1", "SPANWALK_SECURE_COOKIES": "no"}).secure_cookies
    assert not read_settings({}).secure_cookies


@pytest.mark.parametrize("text", ["*", "0.0.0.0/0", "proxy", "127.0.0.1, 10.0.0.1"])
def test_a_proxy_is_one_address(text: str) -> None:
    with pytest.raises(SettingWrong, match="SPANWALK_TRUSTED_PROXY"):
        read_settings({"SPANWALK_TRUSTED_PROXY": text})


def test_an_app_without_a_proxy_in_front_says_nothing_of_https() -> None:
    answer = create_app(read_settings({})).test_client().get("/api/nowhere", headers={"X-Forwarded-Proto": "https"})
    assert "Strict-Transport-Security" not in answer.headers


def test_nginx_finds_nothing_wrong_with_it(proxy: Nginx) -> None:
    told = subprocess.run(
        [machine.nginx(), "-t", "-p", str(proxy.folder), "-c", "nginx.conf", "-e", "stderr"],
        capture_output=True, text=True, timeout=30,
    )  # fmt: skip
    assert "syntax is ok" in told.stderr
    assert "[warn]" not in told.stderr.replace('the "user" directive', "")
