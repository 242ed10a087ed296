"""A teacher offers tempo, tier or measures; the student agrees, declines, or says so as long as that one looks on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec import Struct

from coach.errors import InputError
from coach.service import protocol as wire
from coach.service.bus import LocalBus
from coach.service.looking import Answered, Leave, Look, Propose, at_desk, pack, to, to_desk
from coach.service.steering import check, in_words
from coach.studio.people import Person, StudioName

ANN = Person("ann-1", "Ann", "student", StudioName("mill", "The Mill"))
NONE = wire.Offer(0, "", "")


def steer(**what: Any) -> wire.Steer:
    return wire.Steer("ann-1", **what)


class Room:
    """A student's session, and what desks are answered."""

    def __init__(self, world: Any, bus: LocalBus) -> None:
        self.world, self.bus = world, bus
        self.answers: list[tuple[str, str, str]] = []
        for desk in ("ruth", "ruth-too", "sam"):
            bus.subscribe(at_desk(desk), self._taker(desk))

    def _taker(self, desk: str) -> Callable[[bytes], None]:
        def take(data: bytes) -> None:
            answered = to_desk(data)
            assert isinstance(answered, Answered)
            assert answered.student == "ann-1"
            self.answers.append((desk, answered.answer, answered.words))

        return take

    def say(self, message: Struct) -> None:
        self.bus.publish(to(ANN.id), pack(message))

    def look(self, desk: str = "ruth") -> None:
        self.say(Look(desk, desk.removesuffix("-too"), desk.removesuffix("-too").title()))

    def propose(self, desk: str = "ruth", **what: Any) -> None:
        name = desk.removesuffix("-too")
        self.say(Propose(desk, name, name.title(), steer(**what)))


@pytest.fixture
def room(new_world: Callable[..., Any]) -> Room:
    bus = LocalBus()
    world = new_world(ANN, bus)
    world.ready()
    return Room(world, bus)


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ({"tempo": 80.0}, "tempo 80"),
        ({"tempo": 72.5, "tier": "advanced"}, "tempo 72.5, advanced tier"),
        ({"first": 2, "last": 3}, "measures 2 to 3"),
        ({"first": 2, "last": 2}, "measure 2"),
        ({"whole": True}, "the whole solo"),
        ({"tempo": 60.0, "tier": "beginner", "whole": True}, "tempo 60, beginner tier, the whole solo"),
    ],
)
def test_what_would_be_set_is_said_in_words(what: dict[str, Any], words: str) -> None:
    check(steer(**what))
    assert in_words(steer(**what)) == words


@pytest.mark.parametrize(
    ("what", "trouble"),
    [
        ({}, "nothing is to be set"),
        ({"first": 2}, "one end of the measures"),
        ({"last": 2}, "one end of the measures"),
        ({"first": 3, "last": 2}, "run backwards"),
        ({"first": 1, "last": 2, "whole": True}, "cannot both be set"),
    ],
)
def test_what_contradicts_itself_cannot_be_offered(what: dict[str, Any], trouble: str) -> None:
    with pytest.raises(InputError, match=trouble):
        check(steer(**what))


def test_who_agrees_has_it_set_at_once_between_passes(room: Room) -> None:
    page, other = room.world.page(), room.world.page("other", 3.0)
    room.propose(tempo=80.0, tier="intermediate", first=2, last=3)

    offer = page.last(wire.Offer)
    assert offer == other.last(wire.Offer) == wire.Offer(1, "Ruth", "tempo 80, intermediate tier, measures 2 to 3")
    assert room.answers == [("ruth", "waits", "")]
    assert page.last(wire.State).tempo == 60

    page.say(wire.Answer(offer.id, yes=True))

    state = page.last(wire.State)
    assert (state.tempo, state.tier, state.first, state.last) == (80, "intermediate", 2, 3)
    assert room.answers[1:] == [("ruth", "agreed", "")]
    assert page.last(wire.Offer) == other.last(wire.Offer) == NONE


def test_during_a_pass_it_holds_for_the_next(room: Room) -> None:
    page = room.world.page()
    room.world.run(1.0)
    page.say(wire.Start())
    room.propose(tempo=80.0)
    page.say(wire.Answer(1, yes=True))

    assert page.last(wire.Begin).tempo == 60
    assert page.last(wire.State).state in ("counting in", "playing")
    assert page.last(wire.State).tempo == 80


def test_who_declines_keeps_everything(room: Room) -> None:
    page = room.world.page()
    before = page.last(wire.State)
    room.propose(tempo=80.0)
    page.say(wire.Answer(1, yes=False))

    assert page.last(wire.State) == before
    assert room.answers[1:] == [("ruth", "declined", "")]
    assert page.last(wire.Offer) == NONE


def test_nobody_is_asked_who_is_not_here(room: Room) -> None:
    room.propose(tempo=80.0)
    page = room.world.page()

    assert room.answers == [("ruth", "not here", "")]
    assert page.all(wire.Offer) == []


@pytest.mark.parametrize("number", [0, 1, 3])
def test_another_offer_than_the_open_one_cannot_be_answered(room: Room, number: int) -> None:
    page = room.world.page()
    room.propose(tempo=70.0)
    room.propose(tempo=80.0)

    with pytest.raises(InputError, match="does not stand"):
        page.say(wire.Answer(number, yes=True))
    assert page.last(wire.State).tempo == 60
    page.say(wire.Answer(2, yes=True))
    assert page.last(wire.State).tempo == 80
    with pytest.raises(InputError, match="does not stand"):
        page.say(wire.Answer(2, yes=True))


def test_where_nobody_teaches_there_is_nothing_to_answer(world: Any) -> None:
    world.ready()
    page = world.page()

    with pytest.raises(InputError, match="nothing was offered"):
        page.say(wire.Answer(1, yes=True))


def test_another_teachers_offer_takes_the_place_of_the_first(room: Room) -> None:
    page = room.world.page()
    room.propose("ruth", tempo=70.0)
    room.propose("sam", tempo=80.0)

    assert page.last(wire.Offer) == wire.Offer(2, "Sam", "tempo 80")
    assert room.answers == [
        *(("ruth", "waits", ""), ("ruth", "declined", "Another offer has taken its place."), ("sam", "waits", "")),
    ]


def test_a_page_that_comes_back_is_offered_again(room: Room) -> None:
    page = room.world.page()
    room.propose(tempo=80.0)
    page.go()
    page.come()

    assert page.last(wire.Offer) == wire.Offer(1, "Ruth", "tempo 80")


def test_an_offer_goes_with_the_desk_that_made_it_and_stays_when_its_teacher_looks_elsewhere(room: Room) -> None:
    page = room.world.page()
    room.look()
    room.propose(tempo=80.0)
    room.say(Leave("sam", gone=True))
    room.say(Leave("ruth"))
    assert page.last(wire.Offer).id == 1
    room.say(Leave("ruth", gone=True))

    assert page.last(wire.Offer) == NONE
    with pytest.raises(InputError, match="does not stand"):
        page.say(wire.Answer(1, yes=True))


@pytest.mark.parametrize(("yes", "answer", "tempo"), [(True, "agreed", 90), (False, "declined", 60)])
def test_always_holds_while_that_teacher_looks_on(room: Room, yes: bool, answer: str, tempo: float) -> None:
    page = room.world.page()
    room.look()
    room.propose(tempo=80.0)
    page.say(wire.Answer(1, yes=yes, always=True))
    room.propose(tempo=90.0)

    assert room.answers[-1] == ("ruth", answer, "")
    assert page.last(wire.State).tempo == tempo
    assert page.last(wire.Offer) == NONE

    room.propose("sam", tempo=100.0)
    assert page.last(wire.Offer) == wire.Offer(2, "Sam", "tempo 100")
    page.say(wire.Answer(2, yes=False))

    room.say(Leave("ruth"))
    room.look()
    room.propose(tempo=70.0)
    assert room.answers[-1] == ("ruth", "waits", "")
    assert page.last(wire.State).tempo == tempo


def test_always_holds_until_the_last_desk_of_that_teacher_looks_away(room: Room) -> None:
    page = room.world.page()
    room.look()
    room.look("ruth-too")
    room.propose(tempo=80.0)
    page.say(wire.Answer(1, yes=True, always=True))
    room.say(Leave("ruth", gone=True))
    room.propose("ruth-too", tempo=90.0)

    assert page.last(wire.State).tempo == 90


def test_always_to_one_who_does_not_look_on_is_this_once(room: Room) -> None:
    page = room.world.page()
    room.propose(tempo=80.0)
    page.say(wire.Answer(1, yes=True, always=True))
    room.propose(tempo=90.0)

    assert room.answers[-1] == ("ruth", "waits", "")
    assert page.last(wire.State).tempo == 80


def test_what_cannot_be_set_is_told_to_both(room: Room) -> None:
    page = room.world.page()
    page.say(wire.Settings(first=1, last=2))

    def refuse(_: wire.Settings) -> None:
        raise InputError("it cannot be set")

    room.world.session._showing._steering.choose = refuse
    room.propose(tempo=80.0)
    with pytest.raises(InputError, match="it cannot be set"):
        page.say(wire.Answer(1, yes=True))

    assert room.answers[-1] == ("ruth", "agreed", "it cannot be set.")
    assert page.last(wire.Offer) == NONE
