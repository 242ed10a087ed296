"""Real sockets that do not read, and what the server may do for those that do: proxies, frames, the end."""

from __future__ import annotations

import asyncio
import contextlib
import json
import socket
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
import websockets
from websockets.frames import Frame, Opcode

from coach.cli.serve import _listen, _server
from coach.service import frames
from coach.service.app import create_app
from coach.service.frames import FrameProtocol
from coach.service.link import FULL_BYTES
from coach.service.protocol import Failure
from coach.service.service import Service

HELLO = (
    b"GET /ws HTTP/1.1\r\nHost: 127.0.0.1\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
    b"Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n"
    b"Sec-WebSocket-Protocol: coach.1\r\n\r\n"
)


class Served:
    """A service on a port, and its server."""

    def __init__(self, service: Service, server: Any, port: int) -> None:
        self.service, self.server, self.port = service, server, port

    @property
    def lines(self) -> list[FrameProtocol]:
        return [each for each in self.server.server_state.connections if isinstance(each, FrameProtocol)]

    async def until(self, what: Any) -> None:
        """Wait until something is so; what happens on the loop makes it so."""
        async with asyncio.timeout(20):
            while not what():  # noqa: ASYNC110 - of what happens in uvicorn nobody else is told
                await asyncio.sleep(0)


@pytest_asyncio.fixture
async def served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, make_driver: Any) -> AsyncIterator[Served]:
    monkeypatch.setattr(frames, "LAST_WORDS", 0.01)
    listening = _listen("127.0.0.1", 0)
    ready = asyncio.Event()
    service = Service(tmp_path, driver=make_driver())

    async def nothing() -> None: ...

    monkeypatch.setattr(service, "_fill_book", nothing)  # no tune is needed, and no worker
    server = _server(create_app(service), service.given_read, ready.set)
    serving = asyncio.ensure_future(server.serve(sockets=[listening]))
    await asyncio.wait_for(ready.wait(), 20)
    yield Served(service, server, listening.getsockname()[1])
    server.should_exit = True
    await serving
    listening.close()


@contextlib.asynccontextmanager
async def unread(served: Served) -> AsyncIterator[None]:
    """A socket that joins and never reads more, and whose system keeps little for it."""
    loop = asyncio.get_running_loop()
    with socket.socket() as client:
        client.setblocking(False)
        client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        await loop.sock_connect(client, ("127.0.0.1", served.port))
        await loop.sock_sendall(client, HELLO)
        assert (await loop.sock_recv(client, 12)) == b"HTTP/1.1 101"
        join = b'{"kind":"join","session":"still","seat":"pad"}'
        await loop.sock_sendall(client, Frame(Opcode.TEXT, join).serialize(mask=True))
        await served.until(lambda: "still" in served.service.sessions and served.service.sessions["still"].pages.here)
        yield


async def test_a_page_that_does_not_read_is_let_go_in_bounded_memory(served: Served) -> None:
    async with unread(served):
        (line,) = served.lines
        pages = served.service.sessions["still"].pages
        most = sent = 0
        while pages.here:
            pages.broadcast(Failure("x" * 10_000))
            sent += 10_000
            assert sent < 10 * FULL_BYTES
            await asyncio.sleep(0)
            most = max(most, line.transport.get_write_buffer_size())

        assert most < FULL_BYTES + 100_000  # beside what the link holds, no more than that once
        await served.until(lambda: not served.lines)


async def test_one_that_does_not_read_keeps_no_one_else_waiting(served: Served) -> None:
    async with unread(served):
        url = f"ws://127.0.0.1:{served.port}/ws"
        async with websockets.connect(url, subprotocols=["coach.1"]) as reads:  # type: ignore[list-item]
            await reads.send('{"kind":"join","session":"still","seat":"other"}')
            pages = served.service.sessions["still"].pages
            await served.until(lambda: len(pages.here) == 2)
            words = [f"{number} {'x' * 10_000}" for number in range(300)]
            read = 0
            for word in words:
                pages.broadcast(Failure(word))
                while True:
                    message = json.loads(await reads.recv())
                    if message["kind"] == "failure":
                        break
                assert message["text"] == word
                read += 1
        assert read == len(words)


async def test_a_silent_page_that_does_not_read_is_cut_off(served: Served) -> None:
    async with unread(served):
        (line,) = served.lines
        while line.is_free:
            line.write([b"x" * 10_000])
        line.keepalive_timeout()

        await served.until(lambda: not served.lines)
        await served.until(lambda: not served.service.sessions["still"].pages.here)


async def test_the_last_word_comes_before_the_close(served: Served) -> None:
    async with websockets.connect(f"ws://127.0.0.1:{served.port}/ws", subprotocols=["coach.1"]) as page:  # type: ignore[list-item]
        for _ in range(25):
            await page.send("no JSON")
        said = []
        with contextlib.suppress(websockets.ConnectionClosed):
            while True:
                said.append(json.loads(await page.recv()))

        assert [message["kind"] for message in said] == ["failure"] * 20
        assert page.close_code == 1008
        assert page.close_reason == "too many messages that cannot be read"


async def test_messages_in_pieces_and_in_no_text_are_told_apart(served: Served) -> None:
    async with websockets.connect(f"ws://127.0.0.1:{served.port}/ws", subprotocols=["coach.1"]) as page:  # type: ignore[list-item]
        await page.send(b"bytes")
        assert "binary messages" in json.loads(await page.recv())["text"]
        await page.send(['{"kind":"join",', '"session":"pieces","seat":"pad"}'])
        assert json.loads(await page.recv())["session"] == "pieces"


async def test_a_line_is_kept_alive_and_its_frames_are_not_packed(served: Served) -> None:
    config = served.server.config
    assert 0 < config.ws_ping_interval <= 30
    assert 0 < config.ws_ping_timeout <= 30
    async with websockets.connect(f"ws://127.0.0.1:{served.port}/ws", subprotocols=["coach.1"]) as page:  # type: ignore[list-item]
        await served.until(lambda: served.lines)
        (line,) = served.lines
        assert page.response is not None
        assert "Sec-WebSocket-Extensions" not in page.response.headers
        line.send_keepalive_ping()  # the page's library answers by itself
        await served.until(lambda: line.pending_ping_payload is None)
        assert line.last_ping_rtt > 0
