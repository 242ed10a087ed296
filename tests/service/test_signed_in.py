"""Who is signed in, over real sockets: the line of a page ends with the device that it is on."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest
import pytest_asyncio
import websockets
from studio_people import REED, RUTH, WREN, a_studio
from websockets.asyncio.client import ClientConnection

from coach.cli.serve import _listen, _server
from coach.service.app import create_app
from coach.service.service import Service
from coach.studio.people import Person

pytestmark = pytest.mark.asyncio(loop_scope="module")


class Running:
    """A studio's service that runs."""

    def __init__(self, service: Service, port: int) -> None:
        self.service, self.origin = service, f"http://localhost:{port}"
        self.address = f"ws://localhost:{port}/ws"

    async def token(self, person: Person) -> str:
        assert self.service.accounts is not None
        return await self.service.accounts.sign_in(person, "")

    async def line(self, token: str) -> ClientConnection:
        headers = {"Cookie": f"coach={token}"}
        return await websockets.connect(
            self.address, subprotocols=["coach.1"], origin=self.origin, additional_headers=headers
        )

    async def asks(self, token: str, path: str, body: Any) -> httpx.Response:
        headers = {"Cookie": f"coach={token}", "Origin": self.origin}
        async with httpx.AsyncClient(base_url=self.origin, headers=headers, timeout=30) as client:
            return await client.post(path, json=body)


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def running(tmp_path_factory: pytest.TempPathFactory, make_driver: Any) -> AsyncIterator[Running]:
    driver = make_driver(("banjo",), ())
    service = Service(tmp_path_factory.mktemp("data"), driver=driver, studio=True)
    listening = _listen("127.0.0.1", 0)
    ready = asyncio.Event()
    server = _server(create_app(service, hosts=frozenset({"localhost"})), service.given_read, ready.set)
    serving = asyncio.ensure_future(server.serve(sockets=[listening]))
    await asyncio.wait_for(ready.wait(), 30)
    await service.archive.change(a_studio)
    yield Running(service, listening.getsockname()[1])
    server.should_exit = True
    await serving
    listening.close()
    assert driver.open_in is None  # a studio takes no ports of the computer that it runs on


async def said(line: ClientConnection, kind: str) -> dict[str, Any]:
    while True:
        message: dict[str, Any] = json.loads(await asyncio.wait_for(line.recv(), 30))
        if message["kind"] == kind:
            return message


async def ended(line: ClientConnection) -> tuple[int | None, str | None]:
    with contextlib.suppress(websockets.ConnectionClosed):
        while True:
            await asyncio.wait_for(line.recv(), 30)
    return line.close_code, line.close_reason


async def test_a_page_practises_as_who_is_signed_in(running: Running) -> None:
    line = await running.line(await running.token(WREN))
    await line.send(json.dumps({"kind": "join"}))

    hello = await said(line, "hello")

    assert (hello["session"], hello["person"], hello["role"], hello["studio"]) == (
        "wren",
        "Wren",
        "student",
        "Oak Lane",
    )
    await line.close()
    assert "home" not in running.service.sessions


@pytest.mark.parametrize("token", ["", "x" * 43])
async def test_nobody_is_told_why_there_is_no_line(running: Running, token: str) -> None:
    assert await ended(await running.line(token)) == (1008, "signed out")


async def test_signing_out_ends_the_lines_of_that_device_at_once(running: Running) -> None:
    here, there = await running.token(WREN), await running.token(WREN)
    lines = [await running.line(each) for each in (here, here, there)]
    for line in lines:
        await line.send(json.dumps({"kind": "join", "seat": "pad"}))
        await said(line, "hello")

    assert (await running.asks(here, "/people/sign-out", {})).status_code == 200
    assert [await ended(line) for line in lines[:2]] == [(1008, "signed out")] * 2
    await lines[2].send(json.dumps({"kind": "settings", "tempo": 61}))
    while (await said(lines[2], "state"))["tempo"] != 61:
        pass

    await running.asks(await running.token(RUTH), "/studio/people/wren/sign-out", {})
    assert await ended(lines[2]) == (1008, "signed out")


async def test_who_is_deleted_has_no_session_any_more(running: Running) -> None:
    token = await running.token(REED)
    line = await running.line(token)
    await line.send(json.dumps({"kind": "join"}))
    await said(line, "hello")

    answer = await running.asks(token, "/people/reed/forget", {"name": "Reed"})

    assert answer.status_code == 200, answer.text
    assert await ended(line) == (1008, "signed out")
    assert "reed" not in running.service.sessions
    assert await ended(await running.line(token)) == (1008, "signed out")
