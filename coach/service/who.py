"""Who is signed in, as pages are told (format ``who/1``)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from coach.service.accounts import Accounts
from coach.studio.people import Person, Role

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from coach.studio.devices import Device

__all__ = ["Who", "who_is"]


class StudioTold(Struct, frozen=True):
    """A studio: its id, as people type it when they come back, and its name."""

    id: str
    name: str


class PersonTold(Struct, frozen=True):
    """Who is signed in."""

    id: str
    name: str
    role: Role
    studio: StudioTold


class PasskeyTold(Struct, frozen=True):
    """A passkey, and when it was added."""

    id: str
    name: str
    added: str


class DeviceTold(Struct, frozen=True):
    """A device: since when they are signed in there, when it was seen, and whether it is this one."""

    id: str
    name: str
    began: str
    seen: str
    here: bool


class ConsentTold(Struct, frozen=True):
    """To which words they agreed, when, and whether a parent or guardian did too."""

    version: str
    given: str
    guardian: bool


class Who(Struct, frozen=True):
    """The whole of it; without a studio, and where nobody is signed in, there is nothing to tell.

    Attributes:
        studio: whether people sign in at this service.
    """

    studio: bool
    format: str = "who/1"
    person: PersonTold | None = None
    has_password: bool = False
    passkeys: list[PasskeyTold] = []
    devices: list[DeviceTold] = []
    consent: ConsentTold | None = None


async def who_is(accounts: Accounts, person: Person | None, here: Device | None) -> Who:
    """What is told of somebody, or of nobody, on a device."""
    if person is None:
        return Who(studio=True)
    return await accounts.records.ask(lambda connection: _who(connection, person, here))


def _who(connection: Connection, person: Person, here: Device | None) -> Who:
    from coach.studio.consents import consent_of
    from coach.studio.devices import devices_of
    from coach.studio.passkeys import passkeys_of
    from coach.studio.passwords import hash_kept

    consent = consent_of(connection, person.id)
    return Who(
        studio=True,
        person=PersonTold(person.id, person.name, person.role, StudioTold(person.studio.id, person.studio.name)),
        has_password=hash_kept(connection, person.id) is not None,
        passkeys=[PasskeyTold(each.id, each.name, each.added) for each in passkeys_of(connection, person.id)],
        devices=[
            DeviceTold(each.id, each.name, each.began, each.seen, here is not None and each.id == here.id)
            for each in devices_of(connection, person.id)
        ],
        consent=None if consent is None else ConsentTold(consent.version, consent.given, consent.guardian),
    )
