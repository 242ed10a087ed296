"""What stands before every address of the service: who may call it, and the security headers of its answers."""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.requests import HTTPConnection
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from starlette.websockets import WebSocket

from coach.service.address import PublicAddress

__all__ = ["Guard", "failure"]

_HEADERS = {
    "Content-Security-Policy": "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
}


def failure(text: str, status: int) -> Response:
    """An answer that says in a sentence what is wrong."""
    return JSONResponse({"text": text}, status_code=status)


class Guard:
    """Adds the security headers, and refuses calls by another name or from another site.

    Args:
        app: what is guarded.
        hosts: the host names by which it may be called, without port; None for any.
        address: by which it is reached over the internet, which is one of these names then.
    """

    def __init__(self, app: ASGIApp, hosts: frozenset[str] | None, address: PublicAddress | None = None) -> None:
        self._app = app
        self._hosts = hosts if hosts is None or address is None else hosts | {address.host}
        self._address = address

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a call through, or refuse it in a sentence."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        sentence = self._wrong(HTTPConnection(scope), scope)
        if sentence and scope["type"] == "websocket":
            await WebSocket(scope, receive, send).close(code=1008, reason=sentence)
            return
        if sentence:
            await failure(sentence, 403)(scope, receive, self._with_headers(send))
            return
        await self._app(scope, receive, self._with_headers(send) if scope["type"] == "http" else send)

    def _wrong(self, connection: HTTPConnection, scope: Scope) -> str:
        host = connection.headers.get("host", "")
        try:
            name = urlsplit(f"//{host}").hostname or ""
        except ValueError:  # brackets that hold no address
            return "The name by which this service is called cannot be read."
        if self._hosts is not None and name not in self._hosts:
            return f"This service is not called {name!r}."
        changes = scope["type"] == "websocket" or scope["method"] not in ("GET", "HEAD")
        origin = connection.headers.get("origin")
        if changes and origin is not None and not self._is_own(origin, host, name):
            return "A page of another site may not use this service."
        return ""

    def _is_own(self, origin: str, host: str, name: str) -> bool:
        """Whether a page of this origin is the service's own. Of the public name that is one origin alone: a page that
        came without https may be of anybody on the way."""
        address = self._address
        if address is not None and origin == address.origin:
            return True
        return (address is None or name != address.host) and origin.partition("://")[2] == host

    @staticmethod
    def _with_headers(send: Send) -> Send:
        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                present = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [
                    *message["headers"],
                    *(
                        (name.lower().encode(), value.encode())
                        for name, value in _HEADERS.items()
                        if name.lower().encode() not in present
                    ),
                ]
            await send(message)

        return with_headers
