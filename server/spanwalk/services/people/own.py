"""What a person chooses for themselves: name, language and units."""

from __future__ import annotations

from dataclasses import replace
from typing import TypedDict

from sqlalchemy import update
from sqlalchemy.orm import Session as Transaction

from spanwalk.services.people.names import check_name
from spanwalk.services.people.people import rename
from spanwalk.services.people.signing_in import SignedIn
from spanwalk.services.refusals import WrongInput
from spanwalk.storage.tables import Person
from spanwalk.words import languages


class Choices(TypedDict, total=False):
    """What a person chooses for themselves."""

    name: str
    language: str | None
    units: str | None


def choose(session: Transaction, person: SignedIn, wanted: Choices) -> SignedIn:
    """Write down what a person chose of `name`, `language` and `units`; what is not named stays.

    Raises
    ------
    WrongInput
        A name that cannot be taken, or a language that is not here.
    """
    name = wanted.get("name")
    if name is not None:
        rename(session, person.id, name)
        person = replace(person, name=check_name(name, ()))
    language = wanted.get("language", person.language)
    if language is not None and language not in languages():
        raise WrongInput("language-unknown", field="language", value=language, right=list(languages()))
    person = replace(person, language=language, units=wanted.get("units", person.units))
    session.execute(update(Person).where(Person.id == person.id).values(language=person.language, units=person.units))
    return person
