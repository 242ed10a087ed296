"""People of studios as the service knows them: who is signed in on which device, and which of these are connected.

What the records say of a device is remembered, since it is asked with every call; all changes of devices go through
here, so that what is remembered is right. Whoever is signed out is let go at once.
"""

from __future__ import annotations

import asyncio
import secrets
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, Protocol, TypeVar

from coach.errors import NotSignedInError, RecordsError
from coach.studio.tokens import TOKEN_BYTES, digest_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from coach.studio.devices import Device
    from coach.studio.people import Person

__all__ = ["Accounts", "Records", "new_id", "now_in_utc"]

MOST_REMEMBERED = 10_000
"""Devices that are remembered; of others the records are asked again."""

DAY = 86_400.0
"""Seconds between looks at what is over."""

TOKEN_LENGTH = len(secrets.token_urlsafe(TOKEN_BYTES))

T = TypeVar("T")


class Records(Protocol):
    """The records, as they are reached from the event loop."""

    async def ask(self, question: Callable[[Connection], T]) -> T:
        """Ask something."""
        ...

    async def change(self, change: Callable[[Connection], T]) -> T:
        """Change something, in one transaction."""
        ...


def new_id() -> str:
    """An id that nobody has: of people, devices, invitations and passkeys."""
    return secrets.token_hex(8)


def now_in_utc() -> datetime:
    """The time of day."""
    return datetime.now(UTC)


class Accounts:
    """Who is signed in.

    Args:
        records: where people and devices are kept.
        wall: the time of day.
    """

    def __init__(self, records: Records, wall: Callable[[], datetime] = now_in_utc) -> None:
        self.records = records
        self.wall = wall
        self._devices: OrderedDict[str, Device] = OrderedDict()  # by the digest of their token
        self._changes = 0
        self._connected: dict[Callable[[], object], Device] = {}

    async def device(self, token: str) -> Device | None:
        """The device that shows a token; None where it is signed in no more, or never was."""
        from coach.studio.devices import UNSEEN_DAYS, device_of_digest

        if len(token) != TOKEN_LENGTH:
            return None
        digest = digest_of(token)
        while digest not in self._devices:
            changes = self._changes
            found = await self.records.ask(partial(device_of_digest, digest=digest, when=self.wall()))
            if changes != self._changes:
                continue  # somebody was signed out meanwhile: perhaps this one
            if found is None:
                return None
            self._remember(digest, found)
        self._devices.move_to_end(digest)
        device = self._devices[digest]
        if self.wall() - datetime.fromisoformat(device.seen) > timedelta(days=UNSEEN_DAYS):
            del self._devices[digest]
            return None
        return device

    async def saw(self, device: Device, token: str) -> bool:
        """Note that a device was seen; True where that was the first time in a day, and is in the records now."""
        from coach.records.played import moment
        from coach.studio.devices import note_seen

        now = self.wall()
        if now - datetime.fromisoformat(device.seen) < timedelta(days=1):
            return False
        digest = digest_of(token)
        if digest in self._devices:
            self._devices[digest] = replace(device, seen=moment(now))
        await self.records.change(partial(note_seen, id=device.id, when=now))
        return True

    async def person(self, id: str) -> Person | None:  # noqa: A002 - it is called so
        """Somebody by their id; None where there is nobody of that id."""
        from coach.studio.members import person_of_id

        return await self.records.ask(partial(person_of_id, id=id))

    async def sign_in(
        self, person: Person, user_agent: str, still: Callable[[Connection], bool] = lambda _: True
    ) -> str:
        """Sign somebody in on a device that is new; returns the token that it is to show.

        Args:
            person: who.
            user_agent: what their browser calls itself.
            still: whether they may be, asked together with it: what they came by may be taken away meanwhile.

        Raises:
            NotSignedInError: when they may not.
        """
        from coach.studio.devices import add_device, device_name

        token = secrets.token_urlsafe(TOKEN_BYTES)

        def made(connection: Connection) -> tuple[Device, list[str]]:
            if not still(connection):
                raise NotSignedInError("what you signed in by holds no more", cure="ask your teacher to let you in")
            return add_device(connection, new_id(), person, digest_of(token), device_name(user_agent), self.wall())

        device, gone = await self.records.change(made)
        self._remember(digest_of(token), device)
        self.let_go(lambda other: other.id in gone)
        return token

    async def sign_out(self, person: str, device: str) -> bool:
        """Sign a device of somebody out; False where they have none of that id."""
        from coach.studio.devices import sign_out

        was_there = await self.records.change(partial(sign_out, person=person, id=device))
        self.let_go(lambda other: other.id == device and other.person.id == person)
        return was_there

    async def sign_out_everywhere(self, person: str) -> None:
        """Sign all devices of somebody out."""
        from coach.studio.devices import sign_out_everywhere

        await self.records.change(partial(sign_out_everywhere, person=person))
        self.let_go(lambda device: device.person.id == person)

    async def sweep(self) -> None:
        """Take out of the records what is over: devices that were not seen for long, old invitations."""
        from coach.studio.devices import sweep_devices
        from coach.studio.invitations import sweep_invitations

        def sweep(connection: Connection) -> None:
            now = self.wall()
            sweep_devices(connection, now)
            sweep_invitations(connection, now)

        await self.records.change(sweep)

    async def keep_swept(self) -> None:
        """Do so once a day, until this is cancelled."""
        while True:
            with suppress(RecordsError):  # whoever comes in is told
                await self.sweep()
            await asyncio.sleep(DAY)

    @contextmanager
    def connected(self, device: Device, end: Callable[[], object]) -> Iterator[None]:
        """While a connection of a device is open; ``end`` is called when the device is signed out."""
        self._connected[end] = device
        try:
            yield
        finally:
            self._connected.pop(end, None)

    def lines_of(self, person: str) -> int:
        """How many connections of somebody are open, by their id."""
        return sum(device.person.id == person for device in self._connected.values())

    def let_go(self, gone: Callable[[Device], bool]) -> None:
        """Forget devices that the records have no more, and end their connections."""
        self._changes += 1
        for digest in [digest for digest, device in self._devices.items() if gone(device)]:
            del self._devices[digest]
        for end in [end for end, device in self._connected.items() if gone(device)]:
            self._connected.pop(end)
            end()

    def _remember(self, digest: str, device: Device) -> None:
        self._devices[digest] = device
        while len(self._devices) > MOST_REMEMBERED:
            self._devices.popitem(last=False)
