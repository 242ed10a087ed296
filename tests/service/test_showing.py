"""A student's session shows itself: cards to the studio, all that is played to those who look on, and a sign of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from msgspec import Struct

from coach.service import protocol as wire
from coach.service.bus import LocalBus
from coach.service.looking import Ask, Leave, Look, Overheard, Reread, Shown, cards, live, pack, to, to_desk
from coach.service.showing import CARD_GAP, NOTES_AT_ONCE
from coach.studio.people import Person, StudioName

MILL = StudioName("mill", "The Mill")
ANN = Person("ann-1", "Ann", "student", MILL)
LOOK = Look("desk-1", "ruth-1", "Ruth")


class Bus(LocalBus):
    """A bus that counts what is said on it."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []

    def publish(self, topic: str, data: bytes) -> None:
        self.said.append(topic)
        super().publish(topic, data)


class Room:
    """A student's session, and what comes of it over the bus."""

    def __init__(self, bus: Bus, world: Any) -> None:
        self.bus, self.world = bus, world
        self.cards: list[dict[str, Any]] = []
        self.live: list[Any] = []

    def watch(self) -> None:
        self.bus.subscribe(cards(MILL), lambda data: self.cards.append(json.loads(data)))

    def look(self, look: Look = LOOK) -> None:
        self.bus.subscribe(live(ANN.id), lambda data: self.live.append(to_desk(data)))
        self.say(look)

    def say(self, message: Struct) -> None:
        self.bus.publish(to(ANN.id), pack(message))

    def shown(self, desk: str | None = None) -> list[str]:
        return [each.of for each in self.live if isinstance(each, Shown) and desk in (None, each.desk)]


@pytest.fixture
def room(new_world: Callable[..., Any]) -> Room:
    bus = Bus()
    world = new_world(ANN, bus)
    world.ready()
    return Room(bus, world)


def begun(room: Room, page: Any) -> wire.Begin:
    room.world.run(1.0)
    page.say(wire.Settings(tempo=120, click_level=0.0))
    page.say(wire.Start())
    begin: wire.Begin = page.last(wire.Begin)
    return begin


# ------------------------------------------------------------------------------------------ cards


def test_where_no_desk_is_open_nothing_is_written(room: Room, as_written: Any) -> None:
    page = room.world.page()
    begin = begun(room, page)
    room.world.play(page, as_written(room.world.session._choice.solo, 120), 9.0, page.now() + 0.2 + begin.lead)

    assert page.all(wire.MeasureScored)
    assert room.bus.said == []


def test_a_teacher_and_a_player_alone_are_not_shown(new_world: Callable[..., Any]) -> None:
    for person in (Person("ruth-1", "Ruth", "teacher", MILL), Person("home", "", "alone", StudioName("", ""))):
        bus = Bus()
        world = new_world(person, bus)
        bus.subscribe(cards(person.studio), lambda _: None)
        world.ready()
        world.page()
        bus.publish(to(person.id), pack(Ask()))
        assert bus.said == [to(person.id)]


def test_who_asks_is_shown_the_card_at_once(room: Room) -> None:
    room.world.page()
    room.watch()
    room.say(Ask())
    room.say(Ask())

    assert len(room.cards) == 2
    assert room.cards[0] == room.cards[1]
    assert (room.cards[0]["student"], room.cards[0]["name"], room.cards[0]["here"]) == ("ann-1", "Ann", True)
    assert (room.cards[0]["state"], room.cards[0]["title"], room.cards[0]["watched"]) == ("ready", "Test Lane", False)


def test_cards_come_at_most_four_times_a_second_and_the_last_word_comes(room: Room) -> None:
    page = room.world.page()
    room.world.run(1.0)
    room.watch()
    for tempo in range(60, 80):
        page.say(wire.Settings(tempo=tempo))
    assert [card["tempo"] for card in room.cards] == [60]

    room.world.clock.advance(CARD_GAP - 0.01)
    room.world.session.tick()
    assert len(room.cards) == 1
    room.world.clock.advance(0.01)
    room.world.session.tick()
    assert [card["tempo"] for card in room.cards] == [60, 79]

    room.world.run(2.0)
    assert len(room.cards) == 2


def test_time_goes_on_in_a_session_when_its_card_is_due(room: Room) -> None:
    page = room.world.page()
    room.world.midi.reserved = frozenset()  # as in a studio: no ports whose time it is
    room.world.run(20.0)
    room.watch()
    session = room.world.session
    page.say(wire.Settings(tempo=61))
    page.go()
    session.tick()
    assert room.cards[-1]["here"]
    assert session.tick_at == room.world.clock() + CARD_GAP
    room.world.clock.advance(CARD_GAP)
    session.tick()

    assert not room.cards[-1]["here"]
    assert session.tick_at > room.world.clock() + CARD_GAP


def test_a_page_that_comes_or_goes_is_seen(room: Room) -> None:
    room.watch()
    room.world.run(1.0)
    page = room.world.page()
    room.world.run(1.0)
    page.go()
    room.world.run(1.0)

    assert [card["here"] for card in room.cards if "here" in card][-2:] == [True, False]
    assert room.cards[-1]["state"] == ""


def test_a_pass_is_seen_measure_by_measure_and_as_a_strip(room: Room, as_written: Any) -> None:
    page = room.world.page()
    room.watch()
    begin = begun(room, page)
    room.world.play(page, as_written(room.world.session._choice.solo, 120), 9.0, page.now() + 0.2 + begin.lead)
    room.world.run(1.0)

    measures = [card["measure"] for card in room.cards if card["measure"] is not None]
    assert sorted(set(measures)) == [1, 2, 3, 4]
    assert measures == sorted(measures)
    assert room.cards[-1]["marks"] is None
    assert room.cards[-1]["strips"] == [
        {
            "tune": room.world.tune.id,
            "tier": "beginner",
            "tempo": 120.0,
            "first": 1,
            "clean": [True, True, True, True],
            "whole": True,
            "marked": False,
        }
    ]
    assert room.cards[-1]["practised"].startswith("2026-01-01T00:")


def test_a_card_is_shown_within_a_second_of_its_measure(room: Room, as_written: Any) -> None:
    page = room.world.page()
    seen: dict[int, float] = {}
    told: dict[int, float] = {}

    def note_card(data: bytes) -> None:
        seen.setdefault(json.loads(data)["measure"] or 0, room.world.clock())

    room.bus.subscribe(cards(MILL), note_card)
    begin = begun(room, page)
    send = page.send

    def note(message: Any) -> None:
        if isinstance(message, wire.MeasureScored):
            told.setdefault(int(message.score["number"] or 0), room.world.clock())
        send(message)

    page.send = note
    room.world.play(page, as_written(room.world.session._choice.solo, 120), 9.0, page.now() + 0.2 + begin.lead)

    assert sorted(told) == [1, 2, 3, 4]
    for measure, at in told.items():
        assert 0.0 <= seen[measure] - at <= CARD_GAP + 0.011


# ------------------------------------------------------------------------------------------ looking on


def test_the_sign_is_on_the_page_before_anything_is_shown(room: Room) -> None:
    page = room.world.page()
    before: list[int] = []
    room.bus.subscribe(live(ANN.id), lambda _: before.append(len(page.all(wire.Watched))))
    room.look()

    assert page.last(wire.Watched) == wire.Watched(["Ruth"])
    assert before
    assert min(before) == 1


def test_who_begins_to_look_on_is_shown_all_that_is_seen_now_and_nobody_else_is(room: Room, as_written: Any) -> None:
    page = room.world.page()
    begin = begun(room, page)
    room.look(Look("desk-2", "sam-1", "Sam"))
    room.world.play(page, as_written(room.world.session._choice.solo, 120), 4.0, page.now() + 0.2 + begin.lead)
    first = len(room.live)
    room.say(LOOK)

    replayed = [each for each in room.live[first:] if isinstance(each, Shown)]
    assert {each.desk for each in replayed} == {"desk-1"}
    kinds = [each.of for each in replayed]
    assert kinds[:2] == ["state", "begin"]
    assert {"verdict", "measure"} <= set(kinds[2:])
    told = [each for each in room.live[:first] if isinstance(each, Shown) and each.of in ("verdict", "measure")]
    assert [bytes(each.message) for each in replayed[2:]] == [bytes(each.message) for each in told]
    assert page.last(wire.Watched) == wire.Watched(["Sam", "Ruth"])


def test_the_origin_of_a_pass_is_on_the_services_clock(room: Room) -> None:
    page = room.world.page(theta=500.0)
    room.look()
    begun(room, page)
    origin = page.world.session._runner._running.live.reference.origin

    begins = [json.loads(bytes(each.message)) for each in room.live if isinstance(each, Shown) and each.of == "begin"]
    assert begins[0]["origin"] is None
    assert begins[-1]["origin"] == pytest.approx(origin - 500.0, abs=0.001)
    assert not begins[-1]["sounds"]
    assert begins[-1]["cues"] == []


def test_all_that_a_page_is_told_of_a_pass_is_shown_as_it_comes(room: Room, as_written: Any) -> None:
    page = room.world.page()
    room.look()
    begin = begun(room, page)
    room.world.play(page, as_written(room.world.session._choice.solo, 120), 9.0, page.now() + 0.2 + begin.lead)

    for kind, told in (("heard", wire.HeardMark), ("verdict", wire.VerdictMark), ("measure", wire.MeasureScored)):
        assert room.shown().count(kind) == len(page.all(told)) > 0
    assert room.shown().count("report") == 1
    assert not {"tunes", "ports", "hello", "ack", "ping"} & set(room.shown())


def test_clicks_to_learn_the_instrument_are_not_shown_as_a_pass(room: Room) -> None:
    page = room.world.page()
    room.world.run(1.0)
    room.look()
    page.say(wire.Calibrate())

    assert page.last(wire.Begin).learning
    assert "begin" not in room.shown()


def test_notes_are_heard_on_the_services_clock_also_between_passes(room: Room) -> None:
    page = room.world.page(theta=500.0)
    room.world.run(1.0)
    page.pluck(bytes((0x90, 62, 90)))
    room.look()
    at = page.now()
    page.pluck(bytes((0x91, 59, 80)), at)
    page.pluck(bytes((0x80, 62, 0)), at + 0.1)

    heard = [each for each in room.live if isinstance(each, Overheard)]
    assert [each.data for each in heard] == [[0x91, 59, 80], [0x80, 62, 0]]
    assert [each.string for each in heard] == [2, 1]
    assert heard[0].stamp == pytest.approx(at - 500.0, abs=0.001)
    assert heard[1].stamp == pytest.approx(at - 499.9, abs=0.001)


@pytest.mark.parametrize("more", [-1, 0, 1])
def test_more_than_hands_can_play_is_not_let_through(room: Room, more: int) -> None:
    page = room.world.page()
    room.world.run(1.0)
    room.look()
    for _ in range(int(NOTES_AT_ONCE) + more):
        page.pluck(bytes((0x90, 62, 90)))

    assert len([each for each in room.live if isinstance(each, Overheard)]) == NOTES_AT_ONCE + min(more, 0)


def test_who_looks_away_takes_the_sign_along_and_nothing_more_is_shown(room: Room) -> None:
    page = room.world.page()
    room.world.run(1.0)
    room.watch()
    room.look()
    room.world.run(1.0)
    assert room.cards[-1]["watched"]
    room.say(Leave("desk-1"))
    seen = len(room.live)
    page.say(wire.Settings(tempo=90))
    page.pluck(bytes((0x90, 62, 90)))
    room.world.run(1.0)

    assert page.last(wire.Watched) == wire.Watched([])
    assert len(room.live) == seen
    assert not room.cards[-1]["watched"]


def test_two_desks_of_one_teacher_are_one_name_until_both_are_gone(room: Room) -> None:
    page = room.world.page()
    room.look()
    room.say(Look("desk-3", "ruth-1", "Ruth"))
    assert page.last(wire.Watched) == wire.Watched(["Ruth"])
    room.say(Leave("desk-1"))
    assert page.last(wire.Watched) == wire.Watched(["Ruth"])
    room.say(Leave("desk-3", gone=True))
    assert page.last(wire.Watched) == wire.Watched([])


def test_to_look_twice_by_one_desk_changes_nothing(room: Room) -> None:
    page = room.world.page()
    room.look()
    seen, signs = len(room.live), len(page.all(wire.Watched))
    room.say(LOOK)

    assert (len(room.live), len(page.all(wire.Watched))) == (seen, signs)


def test_a_page_that_comes_later_has_the_sign_and_one_that_nobody_looks_at_has_none(room: Room) -> None:
    first = room.world.page()
    assert first.all(wire.Watched) == []
    room.look()
    second = room.world.page("other", 3.0)

    assert second.all(wire.Watched) == [wire.Watched(["Ruth"])]


def test_what_is_set_is_read_anew_when_that_is_said(room: Room) -> None:
    reread: list[int] = []
    room.world.session.lesson.reread = lambda: reread.append(1)
    room.say(Reread())

    assert reread == [1]


# ------------------------------------------------------------------------------------------ trouble


def test_trouble_of_those_who_look_on_is_none_of_the_player(room: Room, as_written: Any) -> None:
    page = room.world.page()

    def stumble(_: bytes) -> None:
        raise RuntimeError("no")

    room.bus.subscribe(live(ANN.id), stumble)
    room.bus.subscribe(cards(MILL), stumble)
    room.look()
    begin = begun(room, page)
    room.world.play(page, as_written(room.world.session._choice.solo, 120), 9.0, page.now() + 0.2 + begin.lead)

    assert page.last(wire.PracticeReport).clean


def test_an_observer_that_raises_hurts_nobody(room: Room, caplog: pytest.LogCaptureFixture) -> None:
    class Bad:
        def told(self, message: wire.FromService) -> None:
            raise RuntimeError("no")

        def pages_changed(self) -> None:
            raise RuntimeError("no")

    room.world.session.pages.observer = Bad()
    page = room.world.page()
    page.say(wire.Settings(tempo=90))

    assert page.last(wire.State).tempo == 90
    assert "could not be shown" in caplog.text


def test_a_message_that_cannot_be_read_changes_nothing(room: Room) -> None:
    page = room.world.page()
    room.bus.publish(to(ANN.id), b'{"kind":"dance"}')
    room.look()

    assert page.last(wire.Watched) == wire.Watched(["Ruth"])


def test_a_session_that_is_closed_says_nothing_more(room: Room) -> None:
    room.watch()
    room.world.session.close()
    room.say(Ask())

    assert room.cards == []
