"""Tunes and licks of a studio by their addresses: who may do what, and what is told."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
import pytest_asyncio
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.types import Receive, Scope, Send

from coach.errors import CoachError, ForbiddenError, NotThereError
from coach.service import protocol as wire
from coach.service import repertoire_doors
from coach.service.guard import failure
from coach.service.pieces import Piece
from coach.service.service import Service
from coach.studio.people import Person, StudioName

NORTH, SOUTH = StudioName("north", "North"), StudioName("south", "South")
PEOPLE = {
    "ruth": Person("ruth", "Ruth", "teacher", NORTH),
    "ann": Person("ann", "Ann", "student", NORTH),
    "ben": Person("ben", "Ben", "student", NORTH),
    "otto": Person("otto", "Otto", "teacher", SOUTH),
}
GATE = b'X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\n"G"GABc|dedB|"D7"AFAF|"G"G4|]\n'
STILE = GATE.replace(b"Gate", b"Stile")
LICK = {"name": "over the hill", "chord": "G", "slots": "T40,h42 I20 M10 T30", "use": "tag"}


class AtOnce:
    """Workers that do their work at once."""

    async def run(self, job: Any, deadline: float, what: str, /, *args: Any) -> Any:
        return job(*args)


@dataclass
class Doors:
    """The addresses of a service, asked by people."""

    service: Service
    client: httpx.AsyncClient

    async def ask(self, who: str, method: str, path: str, **more: Any) -> httpx.Response:
        return await self.client.request(method, path, headers={"x-person": who}, **more)

    async def bring(self, who: str, data: bytes) -> str:
        person = PEOPLE[who]
        lines, _ = await self.service.repertoire_of(person).add_file(person, data, "tune.abc")
        return lines[0].id


async def _refuse(_: Any, error: Exception) -> Any:
    if isinstance(error, HTTPException):
        return failure(error.detail, error.status_code)
    status = 404 if isinstance(error, NotThereError) else 403 if isinstance(error, ForbiddenError) else 422
    return failure(str(error), status)


@pytest_asyncio.fixture
async def doors(tmp_path: Path, make_driver: Any) -> AsyncIterator[Doors]:
    service = Service(tmp_path, driver=make_driver(), studio=True)
    service.workers.run = AtOnce().run  # type: ignore[method-assign]
    inner = Starlette(
        routes=repertoire_doors.routes(service), exception_handlers={CoachError: _refuse, HTTPException: _refuse}
    )

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        name = dict(scope["headers"])[b"x-person"].decode()
        await inner({**scope, "state": {"person": PEOPLE[name]}}, receive, send)

    async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://coach") as client:
        yield Doors(service, client)
    await asyncio.to_thread(service.workers.close)


async def test_the_list_tells_whose_each_tune_is(doors: Doors) -> None:
    await doors.bring("ruth", GATE)
    await doors.bring("ann", STILE)
    told = {}
    for who in PEOPLE:
        answer = (await doors.ask(who, "GET", "/tunes.json")).json()
        assert answer["format"] == "tunes/1"
        told[who] = [(line["title"], line["common"], line["shared"], line["students"]) for line in answer["tunes"]]
    gate, stile = ("Gate", False, True, []), ("Stile", False, False, ["ann"])
    assert told == {"ruth": [gate, stile], "ann": [gate, stile], "ben": [gate], "otto": []}


async def test_teachers_share_and_withdraw_and_others_do_not(doors: Doors, caplog: pytest.LogCaptureFixture) -> None:
    gate, stile = await doors.bring("ruth", GATE), await doors.bring("ann", STILE)
    for who, path, status in (
        ("ann", f"/tunes/{stile}/share", 403),
        ("otto", f"/tunes/{stile}/share", 404),
        ("ruth", f"/tunes/{stile}/share", 204),
        ("otto", f"/tunes/{gate}/withdraw", 404),
        ("ben", f"/tunes/{gate}/withdraw", 422),
        ("ruth", "/tunes/gone/withdraw", 404),
        ("ruth", f"/tunes/{gate}/withdraw", 204),
    ):
        answer = await doors.ask(who, "POST", path)
        assert (answer.status_code, path) == (status, path), answer.text
    assert "refused: ann (student) share tunes" in caplog.text
    told = (await doors.ask("ben", "GET", "/tunes.json")).json()["tunes"]
    assert [(line["title"], line["shared"]) for line in told] == [("Stile", True)]


async def test_a_student_is_not_told_who_else_brought_a_tune(doors: Doors) -> None:
    stile = await doors.bring("ann", STILE)
    assert await doors.bring("ben", STILE) == stile
    await doors.ask("ruth", "POST", f"/tunes/{stile}/share")

    async def told(who: str) -> list[str]:
        (line,) = (await doors.ask(who, "GET", "/tunes.json")).json()["tunes"]
        return list(line["students"])

    assert [await told(who) for who in ("ruth", "ann", "ben")] == [["ann", "ben"], ["ann"], ["ben"]]


async def test_a_lick_is_kept_by_a_teacher_seen_by_the_studio_and_withdrawn(doors: Doors) -> None:
    assert (await doors.ask("ann", "POST", "/licks", json=LICK)).status_code == 403
    answer = await doors.ask("ruth", "POST", "/licks", json=LICK)
    assert answer.status_code == 200
    name = answer.json()["id"]

    seen = (await doors.ask("ann", "GET", "/licks.json")).json()
    assert seen == {"format": "licks/1", "licks": [{**LICK, "id": name}]}
    assert (await doors.ask("otto", "GET", "/licks.json")).json()["licks"] == []

    assert (await doors.ask("ann", "POST", f"/licks/{name}/withdraw")).status_code == 403
    assert (await doors.ask("otto", "POST", f"/licks/{name}/withdraw")).status_code == 404
    assert (await doors.ask("ruth", "POST", f"/licks/{name}/withdraw")).status_code == 204
    assert (await doors.ask("ann", "GET", "/licks.json")).json()["licks"] == []


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"slots": "T30 T30"}, "lick “over the hill”: its fingers TT follow no named roll"),
        ({"slots": ""}, "'' is no note of a lick"),
        ({"name": ""}, "cannot be read"),
        ({"level": 3}, "cannot be read"),
        ({"speed": 1}, "cannot be read"),
        ({"chord": "H"}, "'H' is no chord"),
        ({"name": "sill"}, "there is a lick of this name already"),
    ],
)
async def test_what_is_no_lick_is_refused(doors: Doors, changes: dict[str, Any], words: str) -> None:
    answer = await doors.ask("ruth", "POST", "/licks", json={**LICK, **changes})
    assert answer.status_code == 422
    assert words in answer.json()["text"]
    assert (await doors.ask("ruth", "GET", "/licks.json")).json()["licks"] == []


async def test_a_measure_on_the_sheet_becomes_a_lick(doors: Doors) -> None:
    gate = await doors.bring("ruth", GATE)
    book = doors.service.repertoire_of(PEOPLE["ruth"]).book
    solo = await book.made(Piece(gate, "advanced"))
    other = {"name": "mine", "digest": solo.digest}
    kept = None
    for measure in range(1, 5):
        answer = await doors.ask("ruth", "POST", "/licks", json={**other, "measure": measure, "character": "plain"})
        if answer.status_code == 200:
            kept = answer.json()["id"]
            break
    assert kept is not None
    (lick,) = (await doors.ask("ann", "GET", "/licks.json")).json()["licks"]
    assert (lick["id"], lick["name"], lick["character"], len(lick["slots"].split())) == (kept, "mine", "plain", 8)

    for who, asked in (
        ("otto", {**other, "measure": 1}),
        ("ruth", {**other, "digest": "0" * 64, "measure": 1}),
        ("ruth", other),
    ):
        assert (await doors.ask(who, "POST", "/licks", json=asked)).status_code == 404
    beyond = await doors.ask("ruth", "POST", "/licks", json={**other, "name": "more", "measure": 4, "measures": 2})
    assert "measure 4: it is not there" in beyond.json()["text"]


async def test_who_practises_is_told_of_what_changes_in_their_studio(doors: Doors) -> None:
    service = doors.service
    gate = await doors.bring("ruth", GATE)
    told: dict[str, list[str]] = {}

    class Line:
        def __init__(self, name: str) -> None:
            self._said = told.setdefault(name, [])

        def send(self, message: Any) -> None:
            self._said.append(type(message).__name__ + getattr(message, "text", ""))

    for name in ("ann", "ben", "otto"):
        session = service.session(name, PEOPLE[name])
        page = session.join("pad", Line(name))  # type: ignore[arg-type]
        if name == "ann":
            session.take(page, wire.Settings(tune=gate))
    for said in told.values():
        said.clear()

    await doors.ask("ruth", "POST", f"/tunes/{gate}/withdraw")

    assert [text for text in told["ann"] if text.startswith("Failure")] == [
        "FailureRuth has withdrawn “Gate” from the tune book; you can go on with it until you choose another one."
    ]
    assert "Tunes" in told["ben"]
    assert not [text for text in (*told["ben"], *told["otto"]) if text.startswith("Failure")]
    assert service.sessions["ann"].plays(gate)


async def test_who_named_a_tune_of_somebody_else_is_not_let_go_on_with_it(doors: Doors) -> None:
    gate = await doors.bring("ann", GATE)
    said: list[str] = []
    refused = asyncio.Event()

    class Line:
        def send(self, message: Any) -> None:
            said.append(getattr(message, "text", ""))
            if "there is no tune" in said[-1]:
                refused.set()

    session = doors.service.session("ben", PEOPLE["ben"])
    session.take(session.join("pad", Line()), wire.Settings(tune=gate))
    await asyncio.wait_for(refused.wait(), 30)

    await doors.ask("ruth", "POST", f"/tunes/{gate}/withdraw")

    assert not any("Gate" in text for text in said)
    assert not doors.service.repertoire_of(PEOPLE["ben"]).sees_tune(PEOPLE["ben"], gate)


async def test_a_student_goes_on_with_the_solo_that_a_new_lick_makes(doors: Doors) -> None:
    gate = await doors.bring("ruth", GATE)
    digests: asyncio.Queue[str] = asyncio.Queue()

    class Line:
        def send(self, message: Any) -> None:
            if isinstance(message, wire.State) and message.digest and not message.waiting:
                digests.put_nowait(message.digest)

    session = doors.service.session("ann", PEOPLE["ann"])
    page = session.join("pad", Line())
    session.take(page, wire.Settings(tune=gate, tier="advanced"))
    before = await asyncio.wait_for(digests.get(), 30)

    assert (await doors.ask("ruth", "POST", "/licks", json=LICK)).status_code == 200
    after = before
    while after == before:
        after = await asyncio.wait_for(digests.get(), 30)

    repertoire = doors.service.repertoire_of(PEOPLE["ann"])
    assert after == (await repertoire.book.made(Piece(gate, "advanced"))).digest
    assert repertoire.sees(PEOPLE["ann"], after)
