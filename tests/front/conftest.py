"""One server and one nginx in front of it for all of this folder: reached directly by strangers, and through the proxy."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.front.raw import Door
from tests.support.back_ends import there
from tests.support.installation import PASSWORD, Installation, installed
from tests.support.nginx import Nginx
from tests.support.server import Server

PROXY = "127.0.0.1"


@pytest.fixture(scope="session")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("front") / "data") as made:
        yield made


@pytest.fixture(scope="session")
def behind(home: Installation, page_served: dict[str, str]) -> Iterator[Server]:
    """`spanwalk serve` that believes a proxy of this machine; whoever comes from 127.0.0.2 and on is a stranger to it."""
    data: Path = home.app.extensions["spanwalk"].data
    env = {**page_served, "SPANWALK_TRUSTED_PROXY": PROXY}
    running = Server(data, command="serve", env=env).start()
    yield running
    running.stop()


@pytest.fixture(scope="session")
def direct(behind: Server) -> Door:
    return Door(behind.port)


@pytest.fixture(scope="session")
def proxy(behind: Server) -> Iterator[Nginx]:
    there(_nginx_is_here)
    running = Nginx(f"127.0.0.1:{behind.port}")
    yield running
    running.stop()


def _nginx_is_here() -> None:
    from tests.support import machine

    machine.nginx()


@pytest.fixture(scope="session")
def through(proxy: Nginx) -> Door:
    return Door(proxy.port, tls=True)


@pytest.fixture(params=["direct", "through"])
def door(request: pytest.FixtureRequest) -> Door:
    """Both ways in."""
    found: Door = request.getfixturevalue(request.param)
    return found


@pytest.fixture(scope="session")
def cookies(behind: Server, direct: Door) -> dict[str, str]:
    """The cookie of each person, signed in once."""
    told = {}
    for name in ("surveyor", "manager", "owner"):
        body = f'{{"name": "{name}", "password": "{PASSWORD}"}}'.encode()
        answer = direct.ask(
            "POST /api/session", body, source=f"127.0.1.{len(told) + 1}", Content_Type="application/json"
        )
        assert answer.status == 200, answer.body
        told[name] = "; ".join(answer.cookies)
    return told
