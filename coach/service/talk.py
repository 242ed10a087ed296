"""What one connection has to say: a page that practises, or a teacher's desk.

For every message it is asked whether the one who is signed in may send it about the one whom it is about; what is
refused is answered in a sentence and written to the log, and changes nothing.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
from typing import get_args

import msgspec
from starlette.websockets import WebSocket

from coach.errors import CoachError, ForbiddenError, ProtocolError
from coach.service import protocol as wire
from coach.service.desk import Desk
from coach.service.frames import FrameProtocol
from coach.service.link import Link, TokenBucket
from coach.service.pages import Page
from coach.service.service import HOME, Service
from coach.service.session import Session
from coach.service.signed_in import permit
from coach.studio.people import Person, StudioName
from coach.studio.permissions import Action

__all__ = ["Talk"]

MESSAGES_A_SECOND = 200.0
MESSAGES_AT_ONCE = 600.0
MOST_FAULTS = 20
"""Messages that cannot be read, or are refused, before a page is let go."""

_KINDS: dict[str, Action] = {action: action for action in get_args(Action)}

_log = logging.getLogger(__name__)


class Talk:
    """A connection.

    Args:
        service: what it reaches.
        person: who is signed in.
        line: of the server, where that has one of ours.
    """

    def __init__(self, service: Service, person: Person, line: FrameProtocol | None) -> None:
        self._service = service
        self._person = person
        self._line = line
        self._over: asyncio.Future[tuple[int, str]] = asyncio.get_running_loop().create_future()
        self._link = Link(service.now, line, lambda: self.end(1013, "the page does not read"))
        self._moving: list[asyncio.Task[None]] = []
        self._bucket = TokenBucket(MESSAGES_A_SECOND, MESSAGES_AT_ONCE, service.now)
        self._session: Session | None = None
        self._page: Page | None = None
        self._desk: Desk | None = None
        self._faults = 0

    async def until_the_end(self, websocket: WebSocket) -> tuple[int, str]:
        """Take messages until the page goes or is let go; returns code and reason of the close."""
        loop = asyncio.get_running_loop()
        if self._line is None:
            self._moving.append(loop.create_task(_drain(self._link, websocket)))
        else:
            self._line.take, self._line.freed = self.hear, self._link.flush
        self._moving.append(loop.create_task(self._read(websocket)))
        return await self._over

    def hear(self, text: str | None) -> None:
        """Take a message; None is one that is no text."""
        if self._over.done():
            return
        if not self._bucket.take():
            self.end(1008, "too many messages")
            return
        try:
            self._take(text)
        except CoachError as error:
            self._fail(error)
        except Exception:  # noqa: BLE001 - whatever one page sends, the others go on
            _log.exception("A message could not be taken")
            self._link.send(wire.Failure("Something went wrong in the service; its log has the details."))

    def end(self, code: int, reason: str) -> None:
        """Let the page go."""
        if not self._over.done():
            self._over.set_result((code, reason))

    async def leave(self) -> None:
        """The connection is gone."""
        if self._line is not None:
            self._line.take = self._line.freed = None
        if self._session is not None and self._page is not None:
            self._session.pages.leave(self._page, self._link)
        if self._desk is not None:
            self._service.close_desk(self._desk)
        self._link.flush()  # the last word
        self._link.close()
        for task in self._moving:
            task.cancel()  # a page that does not read would hold it for ever
        await asyncio.gather(*self._moving, return_exceptions=True)

    async def _read(self, websocket: WebSocket) -> None:
        """Take what comes by the server's queue: all, or what is no text, and the end."""
        while (event := await websocket.receive())["type"] != "websocket.disconnect":
            self.hear(event.get("text"))
        self.end(1000, "")

    def _fail(self, error: CoachError) -> None:
        refused = isinstance(error, ForbiddenError)
        self._link.send(wire.Failure(str(error), "refused" if refused else ""))
        self._faults += refused or isinstance(error, ProtocolError)
        if self._faults >= MOST_FAULTS:
            self.end(1008, "too many messages that cannot be read")

    def _take(self, text: str | None) -> None:
        if text is None:
            raise ProtocolError("binary messages are not spoken here", cure="send JSON text")
        try:
            message = wire.decode_from_page(text)
        except (msgspec.MsgspecError, RecursionError, UnicodeError) as error:
            raise ProtocolError(f"the message cannot be read: {error}", cure="send what coach.1 allows") from error
        match message:
            case wire.Join():
                self._join(message)
            case wire.Desk():
                self._open_desk()
            case wire.LookOn() | wire.Steer():
                self._about_student(message)
            case _:
                self._about_own(message)

    def _join(self, message: wire.Join) -> None:
        own = message.session in (HOME, self._person.id)
        permit(self._person, "join", self._person if own else _by_id(message.session, self._person))
        self._refuse_if_begun()
        alone = self._person.role == "alone"
        session = self._service.session(message.session if alone else self._person.id, self._person)
        self._page = session.join(message.seat, self._link)
        self._session = session

    def _open_desk(self) -> None:
        permit(self._person, "desk", None)
        self._refuse_if_begun()
        self._desk = self._service.open_desk(self._person, self._link)

    def _refuse_if_begun(self) -> None:
        if self._session is not None or self._desk is not None:
            raise ProtocolError("the page has joined already")

    def _about_own(self, message: wire.FromPage) -> None:
        """What is about the one who is signed in."""
        permit(self._person, _KINDS[str(message.__struct_config__.tag)], self._person)
        if self._desk is not None:
            if not isinstance(message, wire.Pong):
                raise ProtocolError("nothing is played at a desk", cure="practise on the practice page")
            self._desk.take_pong(message)
        elif self._session is None or self._page is None:
            raise ProtocolError("the first message must be a join")
        else:
            self._session.take(self._page, message)

    def _about_student(self, message: wire.LookOn | wire.Steer) -> None:
        """What a teacher does at a desk about a student."""
        desk, kind = self._desk, _KINDS[str(message.__struct_config__.tag)]
        if desk is None:
            if self._person.role == "teacher":
                raise ProtocolError("no desk is open here", cure="begin with desk in place of join")
            permit(self._person, kind, _by_id(message.student, self._person))
            return

        def take() -> None:
            try:
                if isinstance(message, wire.LookOn) and not message.student:
                    permit(self._person, "desk", None)  # nobody is looked at any more
                else:
                    them = desk.student(message.student) or _by_id(message.student, self._person)
                    permit(self._person, kind, them)
                desk.take(message)
            except CoachError as error:
                self._fail(error)

        desk.when_open(take)


def _by_id(id_: str, person: Person) -> Person:
    """Somebody of whom only the id is known: the one who asks, else nobody of their studio. In a service without a
    studio a session of any name is the player's own."""
    return person if id_ == person.id else Person(id_, "", "alone", StudioName("", ""))


async def _drain(link: Link, websocket: WebSocket) -> None:
    """Send what waits; a page that is gone takes nothing more."""
    with contextlib.suppress(RuntimeError):
        await link.drain(websocket.send_text)
