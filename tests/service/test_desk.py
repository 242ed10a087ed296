"""A teacher's desk: cards of all students, one who is looked at on the desk's own clock, and offers."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Coroutine
from typing import Any

import msgspec
import pytest
from msgspec import Struct

from coach.errors import InputError, RecordsError
from coach.service import protocol as wire
from coach.service.bus import LocalBus
from coach.service.clock import FakeClock
from coach.service.desk import AGAIN, MOST_WAITING, Desk
from coach.service.looking import (
    Answered,
    Ask,
    Leave,
    Look,
    Overheard,
    Propose,
    at_desk,
    cards,
    live,
    of_people,
    pack,
    shown,
    to,
    to_student,
)
from coach.studio.people import Person, StudioName

MILL = StudioName("mill", "The Mill")
RUTH = Person("ruth-1", "Ruth", "teacher", MILL)
ANN = Person("ann-1", "Ann", "student", MILL)
BEN = Person("ben-1", "Ben", "student", MILL)
WHEN = "2026-11-20T18:00:00Z"
THETA = 300.0
HELLO = wire.DeskHello("0", "digest", "Ruth", "The Mill")


class Room:
    """A desk with its teacher's page in memory, which answers pings where it is let to."""

    def __init__(self) -> None:
        self.bus = LocalBus()
        self.clock = FakeClock(1000.0)
        self.students: dict[str, tuple[Person, str]] = {ANN.id: (ANN, WHEN), BEN.id: (BEN, "")}
        self.fails: RecordsError | None = None
        self.is_slow = False
        self.works: list[Coroutine[Any, Any, None]] = []
        self.asked = 0
        self.got: list[Any] = []
        self.said: list[tuple[str, Any]] = []
        self.desk: Desk | None = None
        for person in (ANN, BEN):
            self.bus.subscribe(to(person.id), self._taker(person.id))

    def _taker(self, person: str) -> Callable[[bytes], None]:
        return lambda data: self.said.append((person, to_student(data)))

    def send(self, message: wire.FromService) -> None:
        self.got.append(message)

    async def _ask(self) -> dict[str, tuple[Person, str]]:
        self.asked += 1
        if self.fails is not None:
            raise self.fails
        return dict(self.students)

    def begin(self, work: Coroutine[Any, Any, None]) -> None:
        self.works.append(work)
        if not self.is_slow:
            self.work()

    def work(self) -> None:
        while self.works:
            asyncio.run(self.works.pop(0))

    def open(self) -> Desk:
        self.desk = Desk("desk-1", RUTH, self, self.bus, self._ask, begin=self.begin, hello=HELLO, now=self.clock)
        return self.desk

    def pong(self) -> None:
        """Answer the last ping."""
        assert self.desk is not None
        ping = next(each for each in reversed(self.got) if isinstance(each, wire.Ping))
        self.desk.take_pong(wire.Pong(ping.id, ping.t1, self.clock() + THETA, self.clock() + THETA))

    def card(self, person: Person, **changes: Any) -> None:
        plain: dict[str, Any] = {"here": True, "state": "ready", "watched": True}
        self.bus.publish(cards(MILL), pack(wire.Card(person.id, person.name, **(plain | changes))))

    def live(self, message: wire.FromService, desk: str = "", of: Person = ANN) -> None:
        self.bus.publish(live(of.id), shown(message, desk))

    def all(self, kind: type[Struct]) -> list[Any]:
        return [each for each in self.got if isinstance(each, kind)]

    def lives(self) -> list[dict[str, Any]]:
        return [json.loads(bytes(each.message)) for each in self.all(wire.Live)]


@pytest.fixture
def room() -> Room:
    return Room()


def begin(origin: float | None) -> wire.Begin:
    return wire.Begin(1, "d", 60.0, 1, 4, False, origin, 2.0, 16.0, [], [])


STATE_OF_A_PASS = wire.Place(1, 2, 60.0)


# ------------------------------------------------------------------------------------------ cards


def test_a_desk_is_greeted_and_sees_all_students_at_once(room: Room) -> None:
    room.open()

    assert room.got[0] == HELLO
    assert room.all(wire.Card) == [
        wire.Card("ann-1", "Ann", here=False, practised=WHEN),
        wire.Card("ben-1", "Ben", here=False),
    ]
    assert room.said == [("ann-1", Ask()), ("ben-1", Ask())]


def test_students_who_are_here_answer_and_are_shown_once(room: Room) -> None:
    room.bus.subscribe(to(ANN.id), lambda _: room.card(ANN, state="playing", watched=False))
    room.open()

    assert room.all(wire.Card) == [
        wire.Card("ann-1", "Ann", here=True, state="playing", practised=WHEN),
        wire.Card("ben-1", "Ben", here=False),
    ]


def test_when_a_student_practised_last_is_theirs_to_say(room: Room) -> None:
    room.open()
    room.card(ANN, practised="2026-11-26T08:00:00Z")
    room.card(BEN)

    assert [card.practised for card in room.all(wire.Card)[2:]] == ["2026-11-26T08:00:00Z", ""]


def test_cards_of_another_studio_are_not_seen(room: Room) -> None:
    room.open()
    other = StudioName("barn", "The Barn")
    room.bus.publish(cards(other), pack(wire.Card("cat-1", "Cat", here=True)))

    assert len(room.all(wire.Card)) == 2


def test_somebody_who_came_into_the_studio_is_seen_and_one_who_left_is_gone(room: Room) -> None:
    room.open()
    cat = Person("cat-1", "Cat", "student", MILL)
    room.students = {ANN.id: (ANN, WHEN), cat.id: (cat, "")}
    room.bus.publish(of_people(MILL), b"{}")

    new = room.all(wire.Card)[2:]
    assert new == [wire.Card("ben-1", "", here=False, gone=True), wire.Card("cat-1", "Cat", here=False)]
    assert room.desk is not None
    assert room.desk.student("ben-1") is None
    assert room.desk.student("cat-1") == cat


def test_a_card_of_an_unknown_student_has_the_list_read_anew_and_is_never_shown_by_itself(room: Room) -> None:
    room.open()
    cat = Person("cat-1", "Cat", "student", MILL)
    room.card(cat)
    assert room.asked == 2
    assert len(room.all(wire.Card)) == 2


def test_what_changes_while_the_list_is_read_is_read_too(room: Room) -> None:
    room.is_slow = True
    room.open()
    room.bus.publish(of_people(MILL), b"{}")
    assert len(room.works) == 1
    room.work()
    room.bus.publish(of_people(MILL), b"{}")
    room.bus.publish(of_people(MILL), b"{}")
    assert len(room.works) == 1
    room.work()

    assert room.asked == 2


def test_records_that_cannot_be_read_are_told_and_asked_again(room: Room) -> None:
    room.fails = RecordsError("the records cannot be reached")
    desk = room.open()
    assert room.all(wire.Failure) == [wire.Failure("the records cannot be reached.", "desk")]
    room.fails = None
    room.clock.advance(AGAIN - 0.01)
    desk.tick()
    assert room.asked == 1
    room.clock.advance(0.01)
    desk.tick()
    desk.tick()

    assert room.asked == 2
    assert len(room.all(wire.Card)) == 2


def test_what_is_asked_before_students_are_known_is_done_then_and_not_more_than_so_much(room: Room) -> None:
    room.is_slow = True
    desk = room.open()
    done: list[int] = []
    for number in range(MOST_WAITING):
        desk.when_open(lambda number=number: done.append(number))  # type: ignore[misc]
    with pytest.raises(InputError, match="not known yet"):
        desk.when_open(lambda: done.append(-1))
    assert done == []
    room.work()
    assert done == list(range(MOST_WAITING))
    desk.when_open(lambda: done.append(99))
    assert done[-1] == 99


# ------------------------------------------------------------------------------------------ looking on


def test_to_look_on_is_said_to_the_student_and_to_look_away_too(room: Room) -> None:
    desk = room.open()
    desk.take(wire.LookOn("ann-1"))
    desk.take(wire.LookOn("ben-1"))
    desk.take(wire.LookOn(""))

    assert room.said[2:] == [
        ("ann-1", Look("desk-1", "ruth-1", "Ruth")),
        ("ann-1", Leave("desk-1")),
        ("ben-1", Look("desk-1", "ruth-1", "Ruth")),
        ("ben-1", Leave("desk-1")),
    ]


def test_what_is_shown_comes_to_the_desk_as_it_is(room: Room) -> None:
    desk = room.open()
    desk.take(wire.LookOn("ann-1"))
    message = wire.VerdictMark(1, 2, "p-3", "late", 41.5, 62, 1)
    room.live(message)

    [told] = room.all(wire.Live)
    assert told.student == "ann-1"
    assert bytes(told.message) == msgspec.json.encode(message)
    assert json.loads(wire.encode(told))["message"]["kind"] == "verdict"


def test_only_the_one_who_is_looked_at_is_shown_and_not_what_is_for_another_desk(room: Room) -> None:
    desk = room.open()
    room.live(STATE_OF_A_PASS)
    desk.take(wire.LookOn("ann-1"))
    room.live(STATE_OF_A_PASS, of=BEN)
    room.live(STATE_OF_A_PASS, desk="desk-2")
    assert room.lives() == []
    room.live(STATE_OF_A_PASS, desk="desk-1")
    assert len(room.lives()) == 1
    desk.take(wire.LookOn("ben-1"))
    room.live(STATE_OF_A_PASS)
    desk.take(wire.LookOn(""))
    room.live(STATE_OF_A_PASS, of=BEN)

    assert len(room.lives()) == 1


def test_a_pass_begins_on_the_desks_clock(room: Room) -> None:
    desk = room.open()
    room.pong()
    desk.take(wire.LookOn("ann-1"))
    room.live(begin(None))
    room.live(begin(1003.5))

    assert [each["origin"] for each in room.lives()] == [None, pytest.approx(1303.5)]
    assert room.lives()[1]["tempo"] == 60.0


def test_a_pass_is_told_again_when_the_desks_clock_becomes_known(room: Room) -> None:
    desk = room.open()
    desk.take(wire.LookOn("ann-1"))
    room.live(begin(1003.5))
    assert [each["origin"] for each in room.lives()] == [None]
    room.pong()

    assert [each["origin"] for each in room.lives()] == [None, pytest.approx(1303.5)]


def test_a_pass_of_one_who_is_not_looked_at_any_more_is_not_told_again(room: Room) -> None:
    desk = room.open()
    desk.take(wire.LookOn("ann-1"))
    room.live(begin(1003.5))
    desk.take(wire.LookOn("ben-1"))
    room.pong()

    assert len(room.lives()) == 1


def test_notes_sound_on_the_desks_clock_as_soon_as_that_is_known(room: Room) -> None:
    desk = room.open()
    desk.take(wire.LookOn("ann-1"))
    note = pack(Overheard(1002.0, [0x90, 62, 90], 3))
    room.bus.publish(live(ANN.id), note)
    assert room.all(wire.Sounded) == []
    room.pong()
    room.bus.publish(live(ANN.id), note)

    [sounded] = room.all(wire.Sounded)
    assert (sounded.student, sounded.data, sounded.string) == ("ann-1", [0x90, 62, 90], 3)
    assert sounded.stamp == pytest.approx(1302.0)


def test_a_session_that_begins_anew_is_told_who_looks_on(room: Room) -> None:
    desk = room.open()
    desk.take(wire.LookOn("ann-1"))
    room.card(ANN, watched=True)
    room.card(BEN, watched=False)
    assert len([each for _, each in room.said if isinstance(each, Look)]) == 1
    room.card(ANN, watched=False)

    assert [each for each in room.said if isinstance(each[1], Look)] == [
        ("ann-1", Look("desk-1", "ruth-1", "Ruth")),
        ("ann-1", Look("desk-1", "ruth-1", "Ruth")),
    ]


def test_one_who_leaves_the_studio_is_looked_at_no_more(room: Room) -> None:
    desk = room.open()
    desk.take(wire.LookOn("ann-1"))
    room.students = {BEN.id: (BEN, "")}
    room.bus.publish(of_people(MILL), b"{}")
    room.live(STATE_OF_A_PASS)

    assert room.said[-1] == ("ann-1", Leave("desk-1"))
    assert room.lives() == []


def test_a_desk_is_pinged_for_its_clock(room: Room) -> None:
    desk = room.open()
    assert len(room.all(wire.Ping)) == 1
    room.clock.advance(0.1)
    desk.tick()
    assert len(room.all(wire.Ping)) == 1
    room.clock.advance(0.1)
    desk.tick()
    assert len(room.all(wire.Ping)) == 2


# ------------------------------------------------------------------------------------------ offers and the end


def test_an_offer_goes_to_a_student_who_is_here_and_its_answer_comes_back(room: Room) -> None:
    desk = room.open()
    room.card(ANN)
    steer = wire.Steer("ann-1", tempo=80.0)
    desk.take(steer)
    room.bus.publish(at_desk("desk-1"), pack(Answered("ann-1", "agreed", "")))
    room.bus.publish(at_desk("desk-2"), pack(Answered("ann-1", "declined", "")))

    assert room.said[-1] == ("ann-1", Propose("desk-1", "ruth-1", "Ruth", steer))
    assert room.all(wire.Steered) == [wire.Steered("ann-1", "agreed")]


def test_one_who_is_not_here_is_offered_nothing(room: Room) -> None:
    desk = room.open()
    before = len(room.said)
    desk.take(wire.Steer("ann-1", tempo=80.0))

    assert room.all(wire.Steered) == [wire.Steered("ann-1", "not here")]
    assert len(room.said) == before


def test_an_offer_that_contradicts_itself_goes_nowhere(room: Room) -> None:
    desk = room.open()
    room.card(ANN)
    before = len(room.said)
    with pytest.raises(InputError, match="backwards"):
        desk.take(wire.Steer("ann-1", first=4, last=2))

    assert len(room.said) == before


def test_a_desk_that_is_closed_leaves_those_it_looked_at_or_has_open_offers_to(room: Room) -> None:
    desk = room.open()
    for person in (ANN, BEN):
        room.card(person)
        desk.take(wire.Steer(person.id, tempo=80.0))
    room.bus.publish(at_desk("desk-1"), pack(Answered("ben-1", "waits", "")))
    room.bus.publish(at_desk("desk-1"), pack(Answered("ann-1", "declined", "")))
    desk.take(wire.LookOn("ann-1"))
    before, got = len(room.said), len(room.got)
    desk.close()
    room.card(ANN)
    room.live(STATE_OF_A_PASS)
    room.bus.publish(at_desk("desk-1"), pack(Answered("ann-1", "agreed", "")))
    room.bus.publish(of_people(MILL), b"{}")

    assert sorted(room.said[before:], key=lambda each: each[0]) == [
        ("ann-1", Leave("desk-1", gone=True)),
        ("ben-1", Leave("desk-1", gone=True)),
    ]
    assert len(room.got) == got


def test_a_desk_that_is_closed_before_its_students_are_known_stays_silent(room: Room) -> None:
    room.is_slow = True
    desk = room.open()
    desk.close()
    got = len(room.got)
    room.work()

    assert len(room.got) == got
    assert room.said == []
