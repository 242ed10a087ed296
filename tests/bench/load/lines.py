"""A client's end of a websocket that costs next to nothing: RFC 6455 by hand, so that who asks is no bottleneck.

Frames of the service are not masked; those of a client are, here with a key of zeros, which leaves the text as it is
(section 5.3). Text frames in one piece are all that is spoken, beside pings and the close.
"""

from __future__ import annotations

import asyncio
import struct
from typing import cast

__all__ = ["Line", "frame"]

_PING, _PONG, _CLOSE = 9, 10, 8
_NO_MASK = b"\0\0\0\0"


def frame(text: bytes, opcode: int = 1) -> bytes:
    """A frame of a client, in one piece."""
    head, size = 0x80 | opcode, len(text)
    if size < 126:
        return bytes((head, 0x80 | size)) + _NO_MASK + text
    return struct.pack("!BBH", head, 0x80 | 126, size) + _NO_MASK + text


class Line(asyncio.Protocol):
    """A connection; who has messages to take overrides :meth:`take`.

    Attributes:
        host: whom it calls.
        opened: done when the handshake is.
        lost: whether the connection is gone.
        frames, octets: that came, of messages.
    """

    def __init__(self, host: str, path: str, subprotocol: str = "", cookie: str = "") -> None:
        self.host = host
        self.opened: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self.lost = False
        self.frames = 0
        self.octets = 0
        self._ask = (
            f"GET {path} HTTP/1.1\r\nHost: {host}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n"
            + (f"Sec-WebSocket-Protocol: {subprotocol}\r\n" if subprotocol else "")
            + (f"Cookie: {cookie}\r\nOrigin: http://{host}\r\n" if cookie else "")
            + "\r\n"
        ).encode()
        self._rest = b""
        self._transport: asyncio.Transport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self._transport = cast(asyncio.Transport, transport)
        self._transport.write(self._ask)

    def connection_lost(self, exc: Exception | None) -> None:
        self._transport = None
        self.lost = True
        if not self.opened.done():
            self.opened.set_exception(ConnectionError("the handshake failed"))

    def say(self, text: bytes) -> None:
        """Send a message."""
        if self._transport is not None:
            self._transport.write(frame(text))

    def hang_up(self) -> None:
        """Close the connection."""
        if self._transport is not None:
            self._transport.write(frame(b"", _CLOSE))
            self._transport.close()
            self._transport = None

    def take(self, text: bytes) -> None:
        """A message has come."""

    def data_received(self, data: bytes) -> None:
        if self._rest:
            data = self._rest + data
        at, size = 0, len(data)
        if not self.opened.done():
            end = data.find(b"\r\n\r\n")
            if end < 0:
                self._rest = data
                return
            if not data.startswith(b"HTTP/1.1 101"):
                self.opened.set_exception(ConnectionError(data[:end].decode("latin-1")))
                return
            self.opened.set_result(None)
            at = end + 4
        while at + 2 <= size:
            length, body = data[at + 1], at + 2
            if length == 126:
                if at + 4 > size:
                    break
                length, body = (data[at + 2] << 8) | data[at + 3], at + 4
            elif length == 127:
                if at + 10 > size:
                    break
                length, body = int.from_bytes(data[at + 2 : at + 10], "big"), at + 10
            if body + length > size:
                break
            opcode = data[at] & 0x0F
            at = body + length
            if opcode == 1:
                self.frames += 1
                self.octets += length
                self.take(data[body:at])
            elif opcode == _PING and self._transport is not None:
                self._transport.write(frame(data[body:at], _PONG))
        self._rest = data[at:]
