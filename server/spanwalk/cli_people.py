"""`spanwalk people`: for the day when nobody can sign in. Who may run it has the database in their hands anyway."""

from __future__ import annotations

import argparse
import getpass
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from spanwalk.cli_words import Worded, add_command

if TYPE_CHECKING:
    from flask import Flask
    from sqlalchemy.orm import Session

    from spanwalk.config import Settings
    from spanwalk.services.people.ranks import PersonOfFirm

ADDRESS = "http://127.0.0.1:8000"


def add_people(commands: argparse._SubParsersAction[Worded], opened: Callable[[argparse.Namespace], Flask]) -> None:
    """Add the command `people` with its actions.

    Parameters
    ----------
    commands : subparsers
        Those of `spanwalk`.
    opened : callable
        Opens the installation that the arguments name.
    """
    from spanwalk.terminal_words import say

    actions = add_command(commands, "people").add_subparsers(required=True, metavar="action")
    _action(actions, opened, "list", list_people, named=False)
    add = _action(actions, opened, "add", add_one)
    add.add_argument("--owner", action="store_true")
    add.add_argument("--site")
    add.add_argument("--role", choices=["surveyor", "crew", "manager", "owner"], default="surveyor")
    reset = _action(actions, opened, "reset", reset_one)
    for action in (add, reset):
        action.add_argument("--ask", action="store_true")
        action.add_argument("--address", help=say("command.people.address", {"address": ADDRESS}))
    _action(actions, opened, "disable", disable_one)
    _action(actions, opened, "enable", enable_one)
    _action(actions, opened, "factors-off", take_factors_off)
    _action(actions, opened, "owner", make_owner)


def _action(
    actions: argparse._SubParsersAction[Worded],
    opened: Callable[[argparse.Namespace], Flask],
    name: str,
    act: Callable[[Session, argparse.Namespace], list[str]],
    named: bool = True,
) -> Worded:
    made = add_command(actions, f"people.{name}")
    made.add_argument("--data", type=Path)
    if named:
        made.add_argument("name")
    made.set_defaults(run=lambda told: _run(opened(told), act, told))
    return made


def _run(app: Flask, act: Callable[[Session, argparse.Namespace], list[str]], told: argparse.Namespace) -> int:
    """Do it in one transaction and print what it says; 1 with a sentence where it is refused."""
    from spanwalk.services.refusals import Refusal
    from spanwalk.storage.database import writing
    from spanwalk.terminal_words import say

    told.password = _ask(told.name) if getattr(told, "ask", False) else None
    try:
        with app.app_context(), writing() as session:
            lines = act(session, told)
    except Refusal as refused:
        print(f"spanwalk: {say(refused.code, refused.facts)}", file=sys.stderr)
        return 1
    print("\n".join(lines))
    return 0


def _ask(name: str) -> str:
    from spanwalk.terminal_words import say

    return getpass.getpass(say("people.cli.ask-password", {"name": name}) + " ")


def _id_of(session: Session, name: str) -> str:
    from spanwalk.services.people.people import person_named
    from spanwalk.services.refusals import NotThere

    found = person_named(session, name)
    if found is None:
        raise NotThere("person-unknown", value=name)
    return found


def list_people(session: Session, told: argparse.Namespace) -> list[str]:
    """A line for each person: name, state, whether an owner, sites with roles."""
    from spanwalk.services.people.ranks import people_of_firm
    from spanwalk.terminal_words import say

    return [say("people.cli.line", _line_facts(person)) for person in people_of_firm(session)] or [
        say("people.cli.nobody")
    ]


def _line_facts(person: PersonOfFirm) -> dict[str, object]:
    from spanwalk.terminal_words import say

    roles = [
        say("people.site-role", {"site": site["name"], "role": say(f"people.role.{site['role']}")})
        for site in person["sites"]
    ]
    return {
        "name": person["name"],
        "state": say(f"people.state.{person['state']}"),
        "owner": say("people.cli.owner") if person["owner"] else "",
        "sites": roles or say("people.no-site"),
    }


def add_one(session: Session, told: argparse.Namespace) -> list[str]:
    """Make a person, on a site if one is named; with a password that was asked for, or a link."""
    from spanwalk.services.people.passwords import check_password, hash_password
    from spanwalk.services.people.people import new_person, set_role
    from spanwalk.terminal_words import say

    if told.password is not None:
        check_password(told.password, told.name)
    hashed = hash_password(told.password) if told.password is not None else None
    person_id = new_person(session, told.name, hashed, told.owner)
    if told.site:
        set_role(session, _site_of(session, told.site), person_id, told.role)
    return [say("people.cli.added", {"name": told.name}), *_link_lines(session, told, person_id)]


def _site_of(session: Session, wanted: str) -> str:
    from sqlalchemy import select

    from spanwalk.services.people.people import site_name
    from spanwalk.services.refusals import NotThere
    from spanwalk.storage.tables import Site

    for site_id in session.execute(select(Site.id)).scalars().all():
        if wanted in (site_id, site_name(session, site_id)):
            return site_id
    raise NotThere("people.cli.site-unknown", value=wanted)


def reset_one(session: Session, told: argparse.Namespace) -> list[str]:
    """A new password: the one that was asked for, or a link by which the person chooses it."""
    from spanwalk.services.people.noticed import PASSWORD_BY_COMMAND, enter_change
    from spanwalk.services.people.people import set_password
    from spanwalk.terminal_words import say

    person_id = _id_of(session, told.name)
    if told.password is None:
        return _link_lines(session, told, person_id)
    set_password(session, person_id, told.password)
    enter_change(session, PASSWORD_BY_COMMAND, person_id)
    return [say("people.cli.password-set", {"name": told.name})]


def _link_lines(session: Session, told: argparse.Namespace, person_id: str) -> list[str]:
    from flask import current_app

    from spanwalk.services.people.links import make_reset
    from spanwalk.terminal_words import say

    if told.password is not None:
        return []
    settings: Settings = current_app.extensions["spanwalk"]
    made = make_reset(session, person_id, told.address or settings.public_url or ADDRESS)
    return [say("people.cli.link", {"name": told.name}), made["address"]]


def disable_one(session: Session, told: argparse.Namespace) -> list[str]:
    """Let a person in no more."""
    return _set_state(session, told, "disabled")


def enable_one(session: Session, told: argparse.Namespace) -> list[str]:
    """Let a person in again."""
    return _set_state(session, told, "active")


def _set_state(session: Session, told: argparse.Namespace, state: str) -> list[str]:
    from spanwalk.services.people.ranks import set_state
    from spanwalk.terminal_words import say

    set_state(session, None, _id_of(session, told.name), state)
    return [say(f"people.cli.{state}", {"name": told.name})]


def make_owner(session: Session, told: argparse.Namespace) -> list[str]:
    """Make a person an owner of the firm."""
    from spanwalk.services.people.ranks import set_owner
    from spanwalk.terminal_words import say

    set_owner(session, _id_of(session, told.name), True)
    return [say("people.cli.owner-made", {"name": told.name})]


def take_factors_off(session: Session, told: argparse.Namespace) -> list[str]:
    """Take off a person's second factors, with their recovery codes."""
    from spanwalk.services.people.noticed import FACTORS_BY_COMMAND, enter_change
    from spanwalk.services.people.ranks import take_off_factors
    from spanwalk.terminal_words import say

    person_id = _id_of(session, told.name)
    take_off_factors(session, person_id)
    enter_change(session, FACTORS_BY_COMMAND, person_id)
    return [say("people.cli.factors-off", {"name": told.name})]
