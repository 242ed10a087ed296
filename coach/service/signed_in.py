"""Who is asking: put beside every call before it reaches its door, and asked there.

In a studio a device shows who uses it by a cookie (RFC 6265bis): random, kept from scripts, sent by pages of this
service only; the records know its digest. Over https its name begins with ``__Host-``, so that no other host can set
it. Who shows none, or one that was signed out, reaches what is open to all and nothing else; a page leads them to where
they sign in. In a service without a studio everybody is :data:`~coach.studio.people.ALONE`.

Every refusal is written to the log ``coach.refused``, by ids.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import re
from typing import TYPE_CHECKING, Protocol

from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from starlette.websockets import WebSocket

from coach.errors import ForbiddenError, NotSignedInError, RecordsError
from coach.service.guard import failure
from coach.service.protocol import SUBPROTOCOL
from coach.studio.people import ALONE, Person
from coach.studio.permissions import Action, allow, no_such_student

if TYPE_CHECKING:
    from coach.service.accounts import Accounts
    from coach.studio.devices import Device

__all__ = [
    "COOKIE_DAYS",
    "SIGN_IN",
    "Knows",
    "SignedIn",
    "cookie",
    "cookie_name",
    "device_of",
    "is_secure",
    "may_about",
    "origin_of",
    "permit",
    "person_of",
    "refused",
]

COOKIE_DAYS = 400
"""Days for which a browser may keep a cookie at most (RFC 6265bis, section 5.5)."""

MOST_LINES = 100
"""Websockets of one person at once: more than their session takes pages."""

SIGN_IN = "/sign-in.html"
"""The page where people sign in."""

_OPEN = frozenset(
    {
        "/healthz",
        "/who.json",
        "/asyncapi.json",
        "/shapes.json",
        SIGN_IN,
        "/join.html",
        "/people/sign-in",
        "/people/sign-out",
        "/people/invitation",
        "/people/join",
        "/people/passkey-sign-in-options",
        "/people/passkey-sign-in",
    }
)
_OPEN_FILES = re.compile(r"/sound/[^/]+|/[^/]+\.(?:js|css|svg)", re.ASCII)
"""Sounds, and what pages are made of; nothing of these is anybody's."""

_log = logging.getLogger("coach.refused")


class Knows(Protocol):
    """Whom one can ask about people."""

    async def person(self, id: str) -> Person | None:  # noqa: A002 - it is called so
        """Somebody by their id; None where there is nobody of that id."""
        ...


def person_of(connection: HTTPConnection) -> Person:
    """Who is asking.

    Raises:
        NotSignedInError: when nobody is signed in.
    """
    person = connection.scope.get("state", {}).get("person")
    if person is None:
        raise NotSignedInError("it is not known who is asking", cure="sign in first")
    assert isinstance(person, Person)
    return person


def device_of(connection: HTTPConnection) -> Device | None:
    """The device of the one who is asking; None without a studio, and where nobody is signed in."""
    device: Device | None = connection.scope.get("state", {}).get("device")
    return device


def permit(person: Person, action: Action, about: Person | None) -> None:
    """Let something pass, as :func:`~coach.studio.permissions.allow` does; what is refused is written to the log.

    Raises:
        ForbiddenError: when it may not be done.
    """
    try:
        allow(person, action, about)
    except ForbiddenError:
        refused(person, action, "the studio" if about is None else about.id)
        raise


async def may_about(knows: Knows, person: Person, action: Action, about: str) -> Person:
    """Let something about somebody pass who is named by their id; returns who that is.

    Raises:
        NotThereError: when there is nobody of that id in the studio.
        ForbiddenError: when it may not be done.
    """
    them = person if about == person.id else await knows.person(about)
    if them is None:
        refused(person, action, about)
        raise no_such_student()
    permit(person, action, them)
    return them


def refused(person: Person | None, action: str, about: str) -> None:
    """Write down that something was refused.

    Args:
        person: who asked; None for somebody who is not signed in.
        action: what was asked.
        about: the id of the one whom it is about, as it was asked for.
    """
    who = "nobody" if person is None else f"{person.id} ({person.role})"
    # It comes from outside: a line of the log stays a line.
    _log.warning("refused: %s %s about %s", who, action, ascii(about[:80])[1:-1])


def is_secure(connection: HTTPConnection) -> bool:
    """Whether browsers reach the service over https."""
    address = connection.app.state.address
    return address.is_secure if address is not None else connection.url.scheme in ("https", "wss")


def origin_of(connection: HTTPConnection) -> str:
    """The origin of the service's pages: of its public address, or as it was called."""
    address = connection.app.state.address
    if address is not None:
        return str(address.origin)
    return f"{'https' if is_secure(connection) else 'http'}://{connection.url.netloc}"


def cookie(name: str, token: str, *, secure: bool) -> str:
    """The header that has a browser keep a token; an empty one takes it away."""
    age = COOKIE_DAYS * 86_400 if token else 0
    return f"{name}={token}; Max-Age={age}; Path=/; HttpOnly; SameSite=Strict" + ("; Secure" if secure else "")


def cookie_name(*, secure: bool) -> str:
    """Its name (RFC 6265bis, section 4.1.3.2)."""
    return "__Host-coach" if secure else "coach"


class SignedIn:
    """Puts the person who is asking, and their device, into the state of a call.

    Args:
        app: what comes behind it.
        accounts: of a studio's people; None without a studio.
    """

    def __init__(self, app: ASGIApp, accounts: Accounts | None) -> None:
        self._app = app
        self._accounts = accounts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a call through, or send whoever asks to where they sign in."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        state = scope.setdefault("state", {})
        state["person"], state["device"] = ALONE, None
        if self._accounts is not None:
            connection = HTTPConnection(scope)
            secure = is_secure(connection)
            token = connection.cookies.get(cookie_name(secure=secure), "")
            try:
                device = await self._accounts.device(token) if token else None
            except RecordsError as error:
                await _break_off(str(error), scope, receive, send)
                return
            state["device"] = device
            state["person"] = None if device is None else device.person
            if device is None and not _is_open(scope["path"]):
                await _turn_away(scope, receive, send)
                return
            if scope["type"] == "http" and _is_foreign(connection, scope["method"]):
                refused(state["person"], scope["method"], scope["path"])
                await failure("This was not sent by a page of this service; load the page anew.", 403)(
                    scope, receive, send
                )
                return
            if device is not None and scope["type"] == "http" and not _is_open(scope["path"]):
                is_new_day = False
                with contextlib.suppress(RecordsError):  # it is noted another day
                    is_new_day = await self._accounts.saw(device, token)
                send = _for_one(send, cookie(cookie_name(secure=secure), token, secure=secure) if is_new_day else "")
            if device is not None and scope["type"] == "websocket":
                await self._until_signed_out(device, scope, receive, send)
                return
        await self._app(scope, receive, send)

    async def _until_signed_out(self, device: Device, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a websocket through until its device is signed out, unless its owner has too many."""
        assert self._accounts is not None
        if self._accounts.lines_of(device.person.id) >= MOST_LINES:
            await _let_go(scope, receive, send, 1013, "too many pages are open")
            return
        task, ended = asyncio.current_task(), False
        assert task is not None

        def end() -> None:
            nonlocal ended
            ended = True
            task.cancel()

        with self._accounts.connected(device, end):
            try:
                await self._app(scope, receive, send)
            except asyncio.CancelledError:
                if not ended or task.uncancel():
                    raise  # the service ends
        if ended:
            with contextlib.suppress(RuntimeError, OSError):  # it was closed in this moment
                await send({"type": "websocket.close", "code": 1008, "reason": "signed out"})


def _is_open(path: str) -> bool:
    return path in _OPEN or _OPEN_FILES.fullmatch(path) is not None


def _is_foreign(connection: HTTPConnection, method: str) -> bool:
    """Whether a change is asked for by what is no page of this service. That an origin which is told is the service's
    own was seen by the guard; one that is not told is told by the other header of every browser of today
    (https://www.w3.org/TR/fetch-metadata/)."""
    headers = connection.headers
    if method in ("GET", "HEAD"):
        return False
    return "origin" not in headers and headers.get("sec-fetch-site") != "same-origin"


async def _let_go(scope: Scope, receive: Receive, send: Send, code: int, reason: str) -> None:
    """Close a websocket. It is accepted first: a page does not learn otherwise why it is let go."""
    socket = WebSocket(scope, receive, send)
    await socket.accept(subprotocol=SUBPROTOCOL if SUBPROTOCOL in scope["subprotocols"] else None)
    await socket.close(code=code, reason=reason)


async def _break_off(sentence: str, scope: Scope, receive: Receive, send: Send) -> None:
    """Answer that nobody can be told who is asking."""
    if scope["type"] == "websocket":
        await WebSocket(scope, receive, send).close(code=1013, reason="the records cannot be used")
    else:
        await failure(sentence, 503)(scope, receive, send)


async def _turn_away(scope: Scope, receive: Receive, send: Send) -> None:
    """Send somebody who is not signed in to where they sign in: a page to another one, all others in a sentence."""
    path = scope["path"]
    if scope["type"] == "websocket":
        refused(None, "websocket", path)
        await _let_go(scope, receive, send, 1008, "signed out")
        return
    answer: Response
    if scope["method"] in ("GET", "HEAD") and (path == "/" or path.endswith(".html")):
        answer = RedirectResponse(SIGN_IN, status_code=303, headers={"Cache-Control": "no-store"})
    else:
        refused(None, scope["method"], path)
        answer = failure("It is not known who is asking; sign in first.", 401)
    await answer(scope, receive, send)


def _for_one(send: Send, value: str) -> Send:
    """Has no cache keep the answer but that of the one who asked (RFC 9111, section 5.2.2.7), and puts a cookie there
    unless it is empty. What is open to all goes without: many may be given one answer."""

    async def for_one(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(raw=list(message["headers"]))
            kept = headers.get("cache-control", "")
            if "private" not in kept and "no-store" not in kept:
                headers["cache-control"] = f"private, {kept}" if kept else "private"
            if value and "set-cookie" not in headers:
                headers.append("set-cookie", value)
            message["headers"] = headers.raw
        await send(message)

    return for_one
