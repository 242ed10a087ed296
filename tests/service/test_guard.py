from __future__ import annotations

from typing import Any

import httpx
import pytest
from starlette.types import Message, Receive, Scope, Send

from coach.service.address import PublicAddress
from coach.service.guard import Guard

PUBLIC = PublicAddress("banjo.example", "https://banjo.example")
HERE = frozenset({"127.0.0.1"})


async def behind(scope: Scope, receive: Receive, send: Send) -> None:
    """What is guarded: it answers, and takes whom it is let through to."""
    if scope["type"] == "websocket":
        await send({"type": "websocket.accept"})
        return
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"in"})


async def post(guard: Guard, host: str, origin: str | None) -> int:
    headers = {"Host": host} | ({} if origin is None else {"Origin": origin})
    async with httpx.AsyncClient(transport=httpx.ASGITransport(guard), base_url="http://any") as client:
        return (await client.post("/tunes", headers=headers)).status_code


async def connect(guard: Guard, host: str, origin: str) -> str:
    """The kind of the first answer to a websocket."""
    told: list[Message] = []

    async def receive() -> Message:
        return {"type": "websocket.connect"}

    async def send(message: Message) -> None:
        told.append(message)

    headers = [(b"host", host.encode()), (b"origin", origin.encode())]
    scope: dict[str, Any] = {"type": "websocket", "path": "/ws", "headers": headers, "query_string": b""}
    await guard(scope, receive, send)
    return str(told[0]["type"])


@pytest.mark.parametrize(
    ("host", "origin", "status"),
    [
        ("banjo.example", "https://banjo.example", 200),  # through a proxy that hands the name on
        ("banjo.example", None, 200),
        ("127.0.0.1:8765", "https://banjo.example", 200),  # through one that does not
        ("127.0.0.1:8765", "http://127.0.0.1:8765", 200),  # on the computer itself
        ("banjo.example", "http://banjo.example", 403),
        ("banjo.example", "https://banjo.example:8443", 403),
        ("banjo.example", "https://banjo.example.evil.example", 403),
        ("banjo.example", "null", 403),
        ("127.0.0.1:8765", "https://evil.example", 403),
        ("127.0.0.1:8765", "http://127.0.0.1:9999", 403),
        ("evil.example", "https://evil.example", 403),
        ("evil.example", "https://banjo.example", 403),
    ],
)
async def test_with_a_public_address_its_pages_alone_may_change_things(
    host: str, origin: str | None, status: int
) -> None:
    guard = Guard(behind, HERE, PUBLIC)

    assert await post(guard, host, origin) == status
    if origin is not None:
        taken = await connect(guard, host, origin)
        assert taken == ("websocket.accept" if status == 200 else "websocket.close")


async def test_without_one_a_page_of_the_name_that_is_called_may() -> None:
    guard = Guard(behind, None)

    assert await post(guard, "192.0.2.7:8765", "http://192.0.2.7:8765") == 200
    assert await post(guard, "192.0.2.7:8765", "http://192.0.2.7:8766") == 403
    assert await connect(guard, "192.0.2.7:8765", "http://192.0.2.8:8765") == "websocket.close"
