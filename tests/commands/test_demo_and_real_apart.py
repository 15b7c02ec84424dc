"""The demo and a real installation never share a data folder or a database."""

from __future__ import annotations

import io
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from tests.support.server import PASSWORD, Client, Server

from spanwalk import cli
from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.bootstrap import prepare_database
from spanwalk.services.demo.own_folder import MARK
from spanwalk.services.demo.people import add_demo_people
from spanwalk.storage.database import writing
from spanwalk.storage.tables import db

OWNER_PASSWORD = "fourteen ladders"


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Data folders that a command would have served; nothing listens."""
    folders: list[Path] = []
    monkeypatch.setattr(cli, "_listen", lambda app, told: folders.append(app.extensions["spanwalk"].data))
    return folders


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder in which commands run without --data."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SPANWALK_DATA", raising=False)
    return tmp_path


@pytest.fixture
def make_owner(monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    """`spanwalk init` with its options; its exit status."""

    def init(*more: str) -> int:
        monkeypatch.setattr("sys.stdin", io.StringIO(OWNER_PASSWORD + "\n"))
        return cli.main(["init", "--owner", "Ada Field", "--password-from", "-", *more])

    return init


def test_the_demo_has_a_folder_of_its_own_and_marks_it(here: Path, served: list[Path]) -> None:
    assert cli.main(["demo"]) == 0
    assert served == [here / "spanwalk-demo"]
    assert "invented" in (here / "spanwalk-demo" / MARK).read_text()
    assert not (here / "spanwalk-data").exists()


def test_the_readmes_first_line_then_init_and_serve_leave_no_public_password(
    here: Path, served: list[Path], make_owner: Callable[..., int]
) -> None:
    cli.main(["demo"])
    assert make_owner() == 0
    server = Server(here / "spanwalk-data", command="serve").start()
    try:
        status, _ = Client(server.url).call("POST", "/api/session", {"name": "owner", "password": PASSWORD})
        assert status == 401
        assert Client(server.url, "Ada Field", OWNER_PASSWORD).get("/api/session")["person"]["owner"] is True
    finally:
        server.stop()


@pytest.mark.parametrize("command", ["serve", "init"])
def test_serve_and_init_refuse_the_demos_folder(
    command: str, here: Path, served: list[Path], make_owner: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    cli.main(["demo"])
    served.clear()
    there = ["--data", "spanwalk-demo"]
    status = make_owner(*there) if command == "init" else cli.main(["serve", *there])
    assert (status, served) == (2, [])
    told = capsys.readouterr().err
    assert "spanwalk-demo" in told
    assert "demo" in told
    assert "--data" in told


def test_serve_refuses_a_demo_that_was_made_before_demos_were_marked(
    here: Path, served: list[Path], capsys: pytest.CaptureFixture[str]
) -> None:
    app = create_app(read_settings({}, here / "old"))
    (here / "old").mkdir()
    with app.app_context():
        prepare_database()
        with writing() as session:
            add_demo_people(session)
        db.engine.dispose()
    assert cli.main(["serve", "--data", "old"]) == 2
    assert served == []
    assert "public password" in capsys.readouterr().err


def test_serve_refuses_a_database_that_a_demo_elsewhere_has_made(
    here: Path, served: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SPANWALK_DATABASE_URL", f"sqlite:///{here}/shared.db")
    cli.main(["demo"])
    served.clear()
    assert cli.main(["serve"]) == 2
    assert served == []


@pytest.mark.parametrize("fresh", [[], ["--fresh"]], ids=["demo", "demo --fresh"])
def test_the_demo_refuses_a_real_installation_and_leaves_it_as_it_was(
    fresh: list[str],
    here: Path,
    served: list[Path],
    make_owner: Callable[..., int],
    capsys: pytest.CaptureFixture[str],
) -> None:
    make_owner()
    photo = here / "spanwalk-data" / "photos" / "aa" / "aa00"
    photo.parent.mkdir(parents=True)
    photo.write_bytes(b"a photo")
    before = (here / "spanwalk-data" / "spanwalk.db").read_bytes()
    capsys.readouterr()
    assert cli.main(["demo", *fresh, "--data", "spanwalk-data"]) == 2
    assert served == []
    assert "not marked as the demo's" in capsys.readouterr().err
    assert photo.read_bytes() == b"a photo"
    assert (here / "spanwalk-data" / "spanwalk.db").read_bytes() == before


def test_the_demo_refuses_a_real_database_that_the_environment_names(
    here: Path, served: list[Path], make_owner: Callable[..., int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SPANWALK_DATABASE_URL", f"sqlite:///{here}/real.db")
    make_owner()
    assert cli.main(["demo"]) == 2
    assert cli.main(["demo", "--fresh"]) == 2
    assert served == []
    assert (here / "real.db").exists()


def test_fresh_takes_a_marked_folder_whose_database_is_real_for_no_demo(
    here: Path, served: list[Path], make_owner: Callable[..., int]
) -> None:
    """A backup of a real installation that was put back in the wrong place."""
    make_owner()
    cli.main(["demo"])
    served.clear()
    for left in (here / "spanwalk-demo").glob("spanwalk.db*"):
        left.unlink()
    real, copy = (sqlite3.connect(here / name / "spanwalk.db") for name in ("spanwalk-data", "spanwalk-demo"))
    with closing(real), closing(copy):
        real.backup(copy)
    before = (here / "spanwalk-demo" / "spanwalk.db").read_bytes()
    assert cli.main(["demo", "--fresh"]) == 2
    assert served == []
    assert (here / "spanwalk-demo" / "spanwalk.db").read_bytes() == before


def test_fresh_makes_a_new_building_and_leaves_what_is_not_the_demos(here: Path, served: list[Path]) -> None:
    cli.main(["demo"])
    (here / "spanwalk-demo" / "own-notes.txt").write_text("not the demo's")
    first = _sites(here / "spanwalk-demo")
    assert cli.main(["demo", "--fresh"]) == 0
    assert len(first) == 1
    assert _sites(here / "spanwalk-demo") != first
    assert (here / "spanwalk-demo" / "own-notes.txt").read_text() == "not the demo's"


def _sites(folder: Path) -> list[str]:
    with closing(sqlite3.connect(folder / "spanwalk.db")) as database:
        return [row[0] for row in database.execute("SELECT id FROM site WHERE kind = 'building'")]


def test_init_asks_for_what_no_option_said_and_says_what_comes_next(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("builtins.input", lambda prompt: "Ada Field")
    monkeypatch.setattr("getpass.getpass", lambda prompt: OWNER_PASSWORD)
    assert cli.main(["init"]) == 0
    told = capsys.readouterr().out
    assert "Ada Field can sign in" in told
    assert "spanwalk serve" in told
    assert "http://127.0.0.1:8000/" in told
    assert "site" in told


def test_init_names_the_data_folder_in_what_comes_next_where_one_was_named(
    here: Path, make_owner: Callable[..., int], capsys: pytest.CaptureFixture[str]
) -> None:
    assert make_owner("--data", "firm") == 0
    assert "spanwalk serve --data firm" in capsys.readouterr().out
