"""Devices on which people are signed in: each shows a token, of which the records have the digest."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, RowMapping, delete, insert, select, update

from coach.records.played import moment
from coach.records.studio_tables import devices, people
from coach.studio.members import PERSON, WITH_STUDIO, to_person
from coach.studio.people import Person

__all__ = [
    "MOST_DEVICES",
    "UNSEEN_DAYS",
    "Device",
    "add_device",
    "device_name",
    "device_of_digest",
    "devices_of",
    "note_seen",
    "sign_out",
    "sign_out_everywhere",
    "sweep_devices",
]

UNSEEN_DAYS = 90
"""Days after which a device that was not seen is signed out."""

MOST_DEVICES = 20
"""Devices of one person; one more signs out the one that was seen longest ago."""


@dataclass(frozen=True, slots=True)
class Device:
    """A device on which somebody is signed in.

    Attributes:
        id: of the device.
        person: who.
        name: what it calls itself: ``Firefox on Android``.
        began: when they signed in there.
        seen: on which day it was seen last, or a day before.
    """

    id: str
    person: Person
    name: str
    began: str
    seen: str


_DEVICE = (*PERSON, devices.c.id.label("device"), devices.c.name.label("device_name"), devices.c.began, devices.c.seen)
_BESIDE = devices.join(WITH_STUDIO, devices.c.person == people.c.id)


def add_device(
    connection: Connection,
    id: str,  # noqa: A002 - it is called so
    person: Person,
    digest: str,
    name: str,
    when: datetime,
) -> tuple[Device, list[str]]:
    """Sign somebody in on a device.

    Args:
        connection: of the store.
        id: of the device, as no other has it.
        person: who.
        digest: of the token that it shows.
        name: what it calls itself.
        when: now.

    Returns:
        the device, and the ids of those that are signed out for it.
    """
    now = moment(when)
    mine = select(devices.c.id).where(devices.c.person == person.id)
    others = connection.execute(mine.order_by(devices.c.seen.desc(), devices.c.began.desc())).scalars().all()
    gone = list(others[MOST_DEVICES - 1 :])
    for each in gone:
        sign_out(connection, person.id, each)
    row = {"id": id, "person": person.id, "digest": digest, "name": name, "began": now, "seen": now}
    connection.execute(insert(devices).values(row))
    return Device(id, person, name, now, now), gone


def device_of_digest(connection: Connection, digest: str, when: datetime) -> Device | None:
    """The device that shows a token of this digest; None where none does, or it was not seen for too long."""
    query = select(*_DEVICE).select_from(_BESIDE).where(devices.c.digest == digest, devices.c.seen >= _oldest(when))
    row = connection.execute(query).mappings().one_or_none()
    return None if row is None else _device(row)


def devices_of(connection: Connection, person: str) -> list[Device]:
    """The devices of somebody, the one that was seen last first."""
    query = select(*_DEVICE).select_from(_BESIDE).where(devices.c.person == person)
    rows = connection.execute(query.order_by(devices.c.seen.desc(), devices.c.began.desc(), devices.c.id))
    return [_device(row) for row in rows.mappings()]


def note_seen(connection: Connection, id: str, when: datetime) -> None:  # noqa: A002
    """Note that a device was seen."""
    connection.execute(update(devices).where(devices.c.id == id).values(seen=moment(when)))


def sign_out(connection: Connection, person: str, id: str) -> bool:  # noqa: A002
    """Sign a device of somebody out; False where they have none of that id."""
    gone = connection.execute(delete(devices).where(devices.c.id == id, devices.c.person == person))
    return gone.rowcount > 0


def sign_out_everywhere(connection: Connection, person: str) -> None:
    """Sign all devices of somebody out."""
    connection.execute(delete(devices).where(devices.c.person == person))


def sweep_devices(connection: Connection, when: datetime) -> None:
    """Sign out what was not seen for too long."""
    connection.execute(delete(devices).where(devices.c.seen < _oldest(when)))


def _device(row: RowMapping) -> Device:
    return Device(row["device"], to_person(row), row["device_name"], row["began"], row["seen"])


def _oldest(when: datetime) -> str:
    return moment(when - timedelta(days=UNSEEN_DAYS))


# In the order in which they are looked for: most browsers call themselves others too.
_BROWSERS = {
    "Edg": "Edge",
    "OPR/": "Opera",
    "Firefox/": "Firefox",
    "FxiOS/": "Firefox",
    "CriOS/": "Chrome",
    "Chrome/": "Chrome",
    "Safari/": "Safari",
}
_SYSTEMS = {
    "Android": "Android",
    "iPhone": "iPhone",
    "iPad": "iPad",
    "CrOS": "ChromeOS",
    "Windows": "Windows",
    "Macintosh": "macOS",
    "Linux": "Linux",
}


def device_name(user_agent: str) -> str:
    """What a browser calls itself, in a few words, by its User-Agent (RFC 9110, section 10.1.5); for people only."""
    browser = next((said for sign, said in _BROWSERS.items() if sign in user_agent), "")
    system = next((said for sign, said in _SYSTEMS.items() if sign in user_agent), "")
    if browser and system:
        return f"{browser} on {system}"
    first = re.match(r"[A-Za-z][A-Za-z0-9_-]{0,29}", user_agent)
    return browser or system or (first[0] if first else "a device")
