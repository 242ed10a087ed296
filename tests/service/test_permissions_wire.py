"""Who may send which message about whom: all kinds, all roles, about oneself, one's own student and others'.

What is forbidden is refused in a sentence and written to the log; nothing is changed by it, and nothing of others sent.
"""

from __future__ import annotations

import asyncio
import json
import logging
from collections.abc import AsyncIterator, Sequence
from pathlib import Path
from typing import Any, cast

import pytest
import pytest_asyncio

from coach.service import protocol as wire
from coach.service.frames import FrameProtocol
from coach.service.looking import to
from coach.service.service import Service
from coach.service.session import Session
from coach.service.talk import MOST_FAULTS, Talk
from coach.studio.members import add_person, open_studio
from coach.studio.people import ALONE, Person, StudioName

pytestmark = pytest.mark.asyncio(loop_scope="module")

WHEN = "2026-11-26T08:00:00Z"
MILL, BARN = StudioName("the-mill", "The Mill"), StudioName("the-barn", "The Barn")
PEOPLE = {
    "ruth": Person("ruth-1", "Ruth", "teacher", MILL),
    "sam": Person("sam-1", "Sam", "teacher", MILL),
    "ann": Person("ann-1", "Ann", "student", MILL),
    "ben": Person("ben-1", "Ben", "student", MILL),
    "tom": Person("tom-1", "Tom", "teacher", BARN),
    "cat": Person("cat-1", "Cat", "student", BARN),
}
NAMES = [person.name for person in PEOPLE.values()]

# What is sent of each kind; of those about somebody, without whom.
MESSAGES: dict[str, dict[str, Any]] = {
    "join": {"seat": "other"},
    "pong": {"id": 1, "t1": 1.0, "t2": 1.0, "t3": 1.0},
    "settings": {"tempo": 91},
    "sitting": {"minutes": 20},
    "start": {},
    "stop": {},
    "again": {},
    "next_rung": {},
    "calibrate": {},
    "learn_foot": {"does": "start"},
    "mark": {"clean": True},
    "sounding": {"number": 1, "origin": 1.0},
    "notes": {"seat": "pad", "items": [{"seq": 1, "stamp": 1.0, "data": [144, 62, 90]}]},
    "input": {"name": "Cedar"},
    "enter": {"on": True},
    "edit": {"digest": "d", "measure": 1, "does": "lock"},
    "undo": {},
    "redo": {},
    "answer": {"offer": 1, "yes": True},
    "desk": {},
    "look_on": {},
    "steer": {"tempo": 91},
}
ABOUT_OTHERS = {"join": "session", "look_on": "student", "steer": "student"}
EDITS = {"edit", "undo", "redo"}


class Line:
    """A page's end of a connection in memory."""

    is_free = True
    take = freed = None

    def __init__(self) -> None:
        self.got: list[dict[str, Any]] = []

    def write(self, messages: Sequence[bytes]) -> None:
        self.got += [json.loads(message) for message in messages]


class Page:
    """A connection of somebody."""

    def __init__(self, service: Service, person: Person) -> None:
        self.line = Line()
        self.person = person
        self.talk = Talk(service, person, cast(FrameProtocol, self.line))

    async def say(self, kind: str, **fields: Any) -> list[dict[str, Any]]:
        """Send a message; what is sent back meanwhile, pings aside."""
        before = len(self.line.got)
        self.talk.hear(json.dumps({"kind": kind, **fields}))
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        return [message for message in self.line.got[before:] if message["kind"] != "ping"]


class Studios:
    """A service with two studios, each student at practice, each with a page."""

    def __init__(self, service: Service) -> None:
        self.service = service
        self.pages: list[Page] = []
        self.students: dict[str, Page] = {}

    async def page(self, person: Person, *, desk: bool = False) -> Page:
        """Somebody's connection, of which the first message was taken."""
        page = Page(self.service, person)
        self.pages.append(page)
        if desk:
            await page.say("desk")
            ready = asyncio.Event()
            assert page.talk._desk is not None
            page.talk._desk.when_open(ready.set)
            await asyncio.wait_for(ready.wait(), 20)
        else:
            await page.say("join")
        await asyncio.sleep(0)
        return page

    async def leave(self) -> None:
        """All but the students at practice go."""
        for page in self.pages:
            await page.talk.leave()
        self.pages.clear()

    def state(self) -> list[Any]:
        """How all sessions stand."""
        return [(name, _told(session)) for name, session in sorted(self.service.sessions.items())]

    def sent(self) -> list[int]:
        """How much the pages of students were sent."""
        return [len([each for each in page.line.got if each["kind"] != "ping"]) for page in self.students.values()]


def _told(session: Session) -> Any:
    pages = {seat: (page.taken.seq, page.instrument, page.link is None) for seat, page in session.pages.items()}
    return session._state(), pages, session._showing and dict(session._showing._looking)


@pytest_asyncio.fixture(loop_scope="module", scope="module")
async def studios(tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[Studios]:
    service = Service(tmp_path_factory.mktemp("studios"), studio=True)

    def fill(connection: Any) -> None:
        assert (open_studio(connection, MILL.name, WHEN), open_studio(connection, BARN.name, WHEN)) == (MILL, BARN)
        for person in PEOPLE.values():
            add_person(connection, person.id, person.name, cast(Any, person.role), person.studio, WHEN)

    await service.archive.change(fill)
    studios = Studios(service)
    for name in ("ann", "ben", "cat"):
        studios.students[name] = Page(service, PEOPLE[name])
        await studios.students[name].say("join", seat="stays")
    yield studios
    for page in studios.students.values():
        await page.talk.leave()
    await _close(service)


@pytest_asyncio.fixture(loop_scope="module", scope="module")
async def alone(tmp_path_factory: pytest.TempPathFactory, make_driver: Any) -> AsyncIterator[Service]:
    service = Service(tmp_path_factory.mktemp("alone"), driver=make_driver())
    yield service
    await _close(service)


async def _close(service: Service) -> None:
    for session in service.sessions.values():
        session.close()
    await asyncio.sleep(0)
    for task in tuple(service._tasks):
        task.cancel()
    await asyncio.gather(*service._tasks, return_exceptions=True)
    for repertoire in service.repertoires.values():
        await repertoire.close()
    await asyncio.to_thread(service.workers.close)
    await asyncio.to_thread(service.archive.close)


def _is_refused(messages: list[dict[str, Any]]) -> bool:
    return any(message["kind"] == "failure" and message["about"] == "refused" for message in messages)


async def refused(studios: Studios, page: Page, kind: str, log: pytest.LogCaptureFixture, **about: str) -> None:
    """Send what is forbidden, and see that nothing comes of it but a sentence and a line of the log."""
    said: list[str] = []

    def publish(topic: str, data: bytes) -> None:
        said.append(topic)

    before, sent = studios.state(), studios.sent()
    log.clear()
    with log.at_level(logging.WARNING, "coach.refused"), pytest.MonkeyPatch.context() as patch:
        patch.setattr(studios.service.bus, "publish", publish)
        answer = await page.say(kind, **(MESSAGES[kind] | about))

    assert [message["kind"] for message in answer] == ["failure"]
    assert answer[0]["about"] == "refused"
    assert not [name for name in NAMES if name in answer[0]["text"]]
    assert (studios.state(), studios.sent(), said) == (before, sent, [])
    [line] = [record.getMessage() for record in log.records if record.name == "coach.refused"]
    person = page.person
    assert line.startswith(f"refused: {person.id} ({person.role}) {kind} about ")
    assert line.endswith(next(iter(about.values()), "the studio" if kind == "desk" else person.id))


async def test_every_kind_is_in_the_list() -> None:
    kinds = {str(kind.__struct_config__.tag) for kind in wire.FromPage.__args__}

    assert kinds == set(MESSAGES)


# ------------------------------------------------------------------------------------------ about oneself


@pytest.mark.parametrize("kind", sorted(set(MESSAGES) - {"desk", "look_on", "steer"}))
@pytest.mark.parametrize("name", ["ann", "ruth"])
async def test_what_is_about_oneself(studios: Studios, name: str, kind: str, caplog: pytest.LogCaptureFixture) -> None:
    page = await studios.page(PEOPLE[name])
    try:
        if name == "ann" and kind in EDITS:
            await refused(studios, page, kind, caplog)
        else:
            assert not _is_refused(await page.say(kind, **MESSAGES[kind]))
    finally:
        await studios.leave()


@pytest.mark.parametrize("kind", sorted(set(MESSAGES) - {"desk", "look_on", "steer"}))
@pytest.mark.parametrize("session", ["home", "attic"])
async def test_alone_all_of_practice_is_allowed_in_a_session_of_any_name(
    alone: Service, kind: str, session: str
) -> None:
    page = Page(alone, ALONE)
    joined = await page.say("join", session=session)
    assert [message["kind"] for message in joined][:2] == ["hello", "tunes"]
    assert (joined[0]["person"], joined[0]["role"], joined[0]["studio"]) == ("", "alone", "")

    assert not _is_refused(await page.say(kind, **MESSAGES[kind]))
    await page.talk.leave()


@pytest.mark.parametrize("kind", ["desk", "look_on", "steer"])
async def test_alone_there_is_no_desk(alone: Service, kind: str, caplog: pytest.LogCaptureFixture) -> None:
    page = Page(alone, ALONE)
    studios = Studios(alone)
    await page.say("join")

    await refused(studios, page, kind, caplog, **({} if kind == "desk" else {"student": "ann-1"}))
    await page.talk.leave()


# ------------------------------------------------------------------------------------------ about others


@pytest.mark.parametrize("name", ["ann", "ruth"])
@pytest.mark.parametrize("about", ["own", "home"])
async def test_to_join_is_to_join_ones_own_session(studios: Studios, name: str, about: str) -> None:
    page = Page(studios.service, PEOPLE[name])
    joined = await page.say("join", session="home" if about == "home" else PEOPLE[name].id)
    studios.pages.append(page)
    try:
        assert (joined[0]["kind"], joined[0]["session"]) == ("hello", PEOPLE[name].id)
        assert (joined[0]["person"], joined[0]["role"]) == (PEOPLE[name].name, PEOPLE[name].role)
        assert joined[0]["studio"] == "The Mill"
    finally:
        await studios.leave()


@pytest.mark.parametrize("about", ["ben-1", "ruth-1", "sam-1", "cat-1", "tom-1", "nobody-1"])
@pytest.mark.parametrize("name", ["ann", "ruth"])
async def test_nobody_joins_the_session_of_another(
    studios: Studios, name: str, about: str, caplog: pytest.LogCaptureFixture
) -> None:
    if about == PEOPLE[name].id:
        about = "ann-1"  # a teacher's own student
    page = Page(studios.service, PEOPLE[name])
    await refused(studios, page, "join", caplog, session=about)
    await page.talk.leave()


@pytest.mark.parametrize("about", ["ann-1", "ben-1", "ruth-1", "cat-1", "nobody-1"])
@pytest.mark.parametrize("kind", ["desk", "look_on", "steer"])
async def test_a_student_has_no_desk(studios: Studios, kind: str, about: str, caplog: pytest.LogCaptureFixture) -> None:
    for page in (await studios.page(PEOPLE["ann"]), Page(studios.service, PEOPLE["ann"])):
        await refused(studios, page, kind, caplog, **({} if kind == "desk" else {"student": about}))
    await studios.leave()


@pytest.mark.parametrize("kind", ["look_on", "steer"])
@pytest.mark.parametrize("about", ["ruth-1", "sam-1", "cat-1", "tom-1", "nobody-1"])
async def test_a_teacher_reaches_only_students_and_only_of_their_studio(
    studios: Studios, kind: str, about: str, caplog: pytest.LogCaptureFixture
) -> None:
    page = await studios.page(PEOPLE["ruth"], desk=True)
    await refused(studios, page, kind, caplog, student=about)
    await studios.leave()


async def test_another_studios_student_looks_exactly_like_one_who_is_not_there(studios: Studios) -> None:
    page = await studios.page(PEOPLE["ruth"], desk=True)
    answers = [await page.say("look_on", student=about) for about in ("cat-1", "nobody-1", "tom-1")]

    assert answers[0] == answers[1] == answers[2]
    await studios.leave()


@pytest.mark.parametrize("kind", ["look_on", "steer"])
@pytest.mark.parametrize(("teacher", "about"), [("ruth", "ann"), ("sam", "ben"), ("tom", "cat")])
async def test_a_teacher_looks_on_at_and_offers_to_their_own_students(
    studios: Studios, kind: str, teacher: str, about: str, caplog: pytest.LogCaptureFixture
) -> None:
    page = await studios.page(PEOPLE[teacher], desk=True)
    student = studios.students[about]
    before = len(student.line.got)
    answer = await page.say(kind, **MESSAGES[kind], student=PEOPLE[about].id)

    assert not _is_refused(answer)
    assert "refused" not in caplog.text
    if kind == "look_on":
        assert [message["student"] for message in answer if message["kind"] == "live"] == [PEOPLE[about].id]
    else:
        assert answer == [{"kind": "steered", "student": PEOPLE[about].id, "answer": "waits", "words": ""}]
    await asyncio.sleep(0)
    kinds = [message["kind"] for message in student.line.got[before:] if message["kind"] != "ping"]
    assert kinds == (["watched"] if kind == "look_on" else ["offer"])
    await studios.leave()


async def test_at_a_desk_only_students_of_the_studio_are_shown(studios: Studios) -> None:
    for teacher, students in (("ruth", {"ann-1", "ben-1"}), ("tom", {"cat-1"})):
        page = await studios.page(PEOPLE[teacher], desk=True)
        await asyncio.sleep(0)
        assert page.line.got[0]["kind"] == "desk_hello"
        assert (page.line.got[0]["person"], page.line.got[0]["studio"]) == (
            PEOPLE[teacher].name,
            PEOPLE[teacher].studio.name,
        )
        cards = [message for message in page.line.got if message["kind"] == "card"]
        assert {card["student"] for card in cards} == students
        assert all(card["here"] for card in cards)
        await studios.leave()


async def test_to_look_at_nobody_is_always_allowed_at_a_desk_and_to_offer_to_nobody_is_not(
    studios: Studios, caplog: pytest.LogCaptureFixture
) -> None:
    page = await studios.page(PEOPLE["ruth"], desk=True)
    assert await page.say("look_on", student="") == []
    await refused(studios, page, "steer", caplog, student="")
    await studios.leave()


@pytest.mark.parametrize("kind", sorted(set(MESSAGES) - {"desk", "look_on", "steer", "pong", "join"}))
async def test_at_a_desk_nothing_is_played(studios: Studios, kind: str) -> None:
    page = await studios.page(PEOPLE["ruth"], desk=True)
    [answer] = await page.say(kind, **MESSAGES[kind])

    assert answer["text"] == "nothing is played at a desk; practise on the practice page."
    await studios.leave()


@pytest.mark.parametrize("kind", ["join", "desk"])
@pytest.mark.parametrize("desk", [True, False])
async def test_a_connection_is_one_thing(studios: Studios, kind: str, desk: bool) -> None:
    page = await studios.page(PEOPLE["ruth"], desk=desk)
    [answer] = await page.say(kind)

    assert answer["text"] == "the page has joined already."
    await studios.leave()


@pytest.mark.parametrize("kind", ["look_on", "steer"])
async def test_a_teacher_without_a_desk_has_to_open_one(studios: Studios, kind: str) -> None:
    page = await studios.page(PEOPLE["ruth"])
    [answer] = await page.say(kind, **MESSAGES[kind], student="ann-1")

    assert answer["text"] == "no desk is open here; begin with desk in place of join."
    await studios.leave()


@pytest.mark.parametrize("count", [MOST_FAULTS - 1, MOST_FAULTS])
async def test_who_asks_again_and_again_for_what_is_forbidden_is_let_go(studios: Studios, count: int) -> None:
    page = await studios.page(PEOPLE["ann"])
    for _ in range(count):
        await page.say("steer", student="ben-1", tempo=91)

    assert page.talk._over.done() == (count == MOST_FAULTS)
    await studios.leave()


async def test_a_session_that_gives_way_to_another_is_shown_no_more(tmp_path: Path) -> None:
    service = Service(tmp_path, studio=True, most_sessions=1)
    ann, ben = PEOPLE["ann"], PEOPLE["ben"]
    service.session(ann.id, ann)
    assert service.bus.is_wanted(to(ann.id))
    service.session(ben.id, ben)

    assert not service.bus.is_wanted(to(ann.id))
    assert service.bus.is_wanted(to(ben.id))
    await _close(service)
