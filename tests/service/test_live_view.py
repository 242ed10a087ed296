"""The live view over real sockets: a teacher sees and hears who practises, who sees a sign of it; studios are apart."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, suppress
from functools import partial
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
import websockets
from websockets.asyncio.client import ClientConnection

from coach.cli.serve import _listen, _server
from coach.service.app import create_app
from coach.service.service import Service
from coach.service.showing import CARD_GAP
from coach.studio.members import add_person, open_studio
from coach.studio.people import Person

pytestmark = pytest.mark.asyncio(loop_scope="module")

TUNE = "X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\nGABc|d2B2|cBAG|G4|]\n"
WHEN = "2026-11-26T08:00:00Z"


class Line:
    """Somebody's end of a websocket; answers pings by itself."""

    def __init__(self, socket: ClientConnection) -> None:
        self.socket = socket
        self.heard: list[dict[str, Any]] = []

    async def say(self, kind: str, **message: Any) -> None:
        await self.socket.send(json.dumps({"kind": kind, **message}))

    async def next(self) -> dict[str, Any]:
        while True:
            message: dict[str, Any] = json.loads(await asyncio.wait_for(self.socket.recv(), 30))
            if message["kind"] != "ping":
                self.heard.append(message)
                return message
            now = time.monotonic()
            await self.say("pong", id=message["id"], t1=message["t1"], t2=now, t3=now)

    async def until(self, kind: str, **fields: Any) -> dict[str, Any]:
        while True:
            message = await self.next()
            if message["kind"] == kind and all(message[name] == value for name, value in fields.items()):
                return message

    async def live(self, kind: str) -> dict[str, Any]:
        """What the student was told next of a kind."""
        while True:
            message = await self.until("live")
            if message["message"]["kind"] == kind:
                return dict(message["message"])

    async def card(self, student: Person, **fields: Any) -> dict[str, Any]:
        return await self.until("card", student=student.id, **fields)

    async def closed(self) -> tuple[int | None, str | None]:
        """Why the service closes it."""
        with suppress(websockets.ConnectionClosed):
            while True:
                await self.next()
        return self.socket.close_code, self.socket.close_reason


class Studios:
    """A service with two studios, on a port."""

    def __init__(self, service: Service, port: int, people: dict[str, Person]) -> None:
        self.service, self.port, self.people = service, port, people
        self.lines = AsyncExitStack()

    async def line(self, name: str) -> Line:
        assert self.service.accounts is not None
        token = await self.service.accounts.sign_in(self.people[name], "a test")
        socket = await self.lines.enter_async_context(
            websockets.connect(
                f"ws://127.0.0.1:{self.port}/ws",
                subprotocols=[websockets.Subprotocol("coach.1")],
                additional_headers={"Cookie": f"coach={token}"},
                max_queue=None,  # what is not asked for does not hold up the end
            )
        )
        return Line(socket)

    async def student(self, name: str) -> Line:
        """A student at practice, whose solo is there, and whose clock is known."""
        line = await self.line(name)
        await line.say("join")
        shown = await line.until("state")
        while not shown["digest"]:
            shown = await line.until("state")
        return line

    async def desk(self, name: str) -> Line:
        line = await self.line(name)
        await line.say("desk")
        await line.until("desk_hello")
        return line


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def served(tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[Studios]:
    data: Path = tmp_path_factory.mktemp("data")
    (data / "gate.abc").write_text(TUNE)
    service = Service(data, given=[data / "gate.abc"], studio=True)
    listening = _listen("127.0.0.1", 0)
    ready = asyncio.Event()
    server = _server(create_app(service, hosts=frozenset({"127.0.0.1"})), service.given_read, ready.set)
    serving = asyncio.ensure_future(server.serve(sockets=[listening]))
    await asyncio.wait_for(ready.wait(), 60)

    def fill(connection: Any) -> dict[str, Person]:
        mill, barn = open_studio(connection, "The Mill", WHEN), open_studio(connection, "The Barn", WHEN)
        add = partial(add_person, connection, when=WHEN)
        return {
            "ruth": add("ruth-1", "Ruth", "teacher", mill),
            "sam": add("sam-1", "Sam", "teacher", mill),
            "ann": add("ann-1", "Ann", "student", mill),
            "ben": add("ben-1", "Ben", "student", mill),
            "tom": add("tom-1", "Tom", "teacher", barn),
            "cat": add("cat-1", "Cat", "student", barn),
        }

    people = await service.archive.change(fill)
    yield Studios(service, listening.getsockname()[1], people)
    server.should_exit = True
    await serving
    listening.close()


@pytest_asyncio.fixture(loop_scope="module")
async def studios(served: Studios) -> AsyncIterator[Studios]:
    yield served
    await served.lines.aclose()


async def begin(line: Line) -> float:
    """Begin a pass of which the count-in is over; when its position 0 is heard, on the clock of all in this test."""
    await line.say("settings", tempo=60)
    await line.say("start")
    told = await line.until("begin")
    origin = time.monotonic() - 8.0
    await line.say("sounding", number=told["number"], origin=origin)
    return origin


async def play(line: Line, origin: float) -> None:
    """Play something in the first measure, and go on to the second."""
    [hello] = [message for message in line.heard if message["kind"] == "hello"]
    note = {"seq": hello["acknowledged"] + 1, "stamp": origin + 0.01, "data": [0x90, 55, 90]}
    await line.say("notes", seat="pad", items=[note], watermark=origin + 5.0)


async def stop(line: Line) -> None:
    await line.say("stop")
    await line.say("notes", seat="pad", watermark=time.monotonic())
    await line.until("state", state="paused")


def _strings(value: Any) -> list[str]:
    """All strings in a message."""
    if isinstance(value, dict):
        return [text for each in value.values() for text in _strings(each)]
    if isinstance(value, list):
        return [text for each in value for text in _strings(each)]
    return [value] if isinstance(value, str) else []


async def test_a_teacher_sees_and_hears_a_student_who_sees_a_sign(studios: Studios) -> None:
    ann, ben = studios.people["ann"], studios.people["ben"]
    page, desk = await studios.student("ann"), await studios.desk("ruth")
    assert (await desk.card(ann))["here"]
    assert not (await desk.card(ben))["here"]
    await desk.say("look_on", student=ann.id)
    assert (await page.until("watched"))["by"] == ["Ruth"]
    assert (await desk.live("state"))["title"] == "Gate"
    origin = await begin(page)
    await play(page, origin)
    await page.until("measure")
    told = time.monotonic()
    card = await desk.card(ann, measure=1)

    assert time.monotonic() - told < 20 * CARD_GAP
    assert (card["marks"]["first"], len(card["marks"]["clean"])) == (1, 1)
    lives = [message["message"] for message in desk.heard if message["kind"] == "live"]
    begins = [message for message in lives if message["kind"] == "begin"]
    assert begins[-1]["origin"] == pytest.approx(origin, abs=0.5)  # one clock, found out by pings
    for kind in ("heard", "verdict", "measure"):
        own = [message for message in page.heard if message["kind"] == kind]
        assert [message for message in lives if message["kind"] == kind][: len(own)] == own
    [sounded] = [message for message in desk.heard if message["kind"] == "sounded"]
    assert (sounded["student"], sounded["data"]) == (ann.id, [0x90, 55, 90])
    assert sounded["stamp"] == pytest.approx(origin + 0.01, abs=0.1)
    await stop(page)


async def test_two_studios_see_nothing_of_each_other(studios: Studios) -> None:
    page, other, desk = await studios.student("ann"), await studios.student("cat"), await studios.desk("tom")
    await desk.card(studios.people["cat"], here=True)
    for student in ("ann-1", "ben-1"):
        await desk.say("look_on", student=student)
        assert (await desk.until("failure"))["about"] == "refused"
        await desk.say("steer", student=student, tempo=90)
        assert (await desk.until("failure"))["about"] == "refused"
    await play(page, await begin(page))
    await page.until("measure")
    await stop(page)
    await desk.say("look_on", student="cat-1")
    assert (await other.until("watched"))["by"] == ["Tom"]
    await desk.live("state")

    assert not [message for message in desk.heard if {"ann-1", "Ann", "ruth-1"} & set(_strings(message))]
    assert not [message for message in page.heard if message["kind"] in ("watched", "offer", "card", "live")]


@pytest.mark.parametrize("how", ["looks away", "goes", "is cut off", "is signed out", "looks at another"])
async def test_a_teacher_who_is_not_there_any_more_takes_the_sign_away(studios: Studios, how: str) -> None:
    page, desk = await studios.student("ann"), await studios.desk("ruth")
    await desk.say("look_on", student="ann-1")
    assert (await page.until("watched"))["by"] == ["Ruth"]
    if how == "looks away":
        await desk.say("look_on", student="")
    elif how == "looks at another":
        await desk.say("look_on", student="ben-1")
    elif how == "goes":
        await desk.socket.close()
    elif how == "is cut off":
        desk.socket.transport.abort()
    else:
        assert studios.service.accounts is not None
        await studios.service.accounts.sign_out_everywhere("ruth-1")
        assert await desk.closed() == (1008, "signed out")

    assert (await page.until("watched"))["by"] == []


async def test_a_student_who_is_signed_out_is_let_go_and_seen_to_be_away(studios: Studios) -> None:
    page, desk = await studios.student("ann"), await studios.desk("ruth")
    await desk.card(studios.people["ann"], here=True)
    assert studios.service.accounts is not None
    await studios.service.accounts.sign_out_everywhere("ann-1")

    assert await page.closed() == (1008, "signed out")
    assert (await desk.card(studios.people["ann"], here=False))["state"] == ""


async def test_a_desk_that_comes_back_sees_all_again(studios: Studios) -> None:
    page, desk = await studios.student("ann"), await studios.desk("ruth")
    await desk.say("look_on", student="ann-1")
    origin = await begin(page)
    await play(page, origin)
    await page.until("measure")
    await desk.live("measure")
    before = [message["message"] for message in desk.heard if message["kind"] == "live"]
    desk.socket.transport.abort()
    await page.until("watched", by=[])
    again = await studios.desk("ruth")
    card = await again.card(studios.people["ann"], here=True)
    await again.say("look_on", student="ann-1")
    await again.live("measure")
    after = [message["message"] for message in again.heard if message["kind"] == "live"]

    assert len(card["marks"]["clean"]) == 1
    assert [message["kind"] for message in after][:2] == ["state", "begin"]
    kept = [message for message in before if message["kind"] in ("verdict", "measure")]
    assert [message for message in after if message["kind"] in ("verdict", "measure")] == kept
    await stop(page)


async def test_a_student_who_comes_while_somebody_looks_on_has_the_sign_at_once(studios: Studios) -> None:
    desk = await studios.desk("ruth")
    ben = studios.people["ben"]
    studios.service.sessions.pop(ben.id, None)
    await desk.card(ben, here=False)
    await desk.say("look_on", student=ben.id)
    page = await studios.line("ben")
    await page.say("join")

    assert (await page.until("watched"))["by"] == ["Ruth"]
    await desk.card(ben, here=True, watched=True)


async def test_an_offer_is_made_and_agreed_to(studios: Studios) -> None:
    page, desk = await studios.student("ann"), await studios.desk("ruth")
    await desk.card(studios.people["ann"], here=True)
    await desk.say("steer", student="ann-1", tempo=84)
    assert (await desk.until("steered"))["answer"] == "waits"
    offer = await page.until("offer")
    assert (offer["by"], offer["words"]) == ("Ruth", "tempo 84")
    await page.say("answer", offer=offer["id"], yes=True)
    await page.until("state", tempo=84.0)

    assert (await desk.until("steered"))["answer"] == "agreed"
    assert {"kind": "offer", "id": 0, "by": "", "words": ""} in page.heard


async def test_somebody_new_is_on_the_desk_at_once(studios: Studios) -> None:
    desk = await studios.desk("ruth")
    await desk.card(studios.people["ben"])
    mill = studios.people["ruth"].studio
    dan = await studios.service.archive.change(
        lambda connection: add_person(connection, "dan-1", "Dan", "student", mill, WHEN)
    )
    studios.service.people_changed(mill)

    assert (await desk.card(dan))["name"] == "Dan"


async def test_nobody_joins_or_looks_who_is_not_signed_in(studios: Studios) -> None:
    async with websockets.connect(
        f"ws://127.0.0.1:{studios.port}/ws", subprotocols=[websockets.Subprotocol("coach.1")]
    ) as socket:
        assert await Line(socket).closed() == (1008, "signed out")
