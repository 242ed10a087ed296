"""What is played on the service's own inputs between passes is told to the pages that write it down."""

from __future__ import annotations

from typing import Any

from coach.service import protocol as wire
from coach.service.entering import NOTES_AT_ONCE
from coach.service.passes import CapturedNote


def strike(world: Any, data: bytes, stamp: float | None = None) -> None:
    """The instrument at the service's own port sends bytes."""
    at = world.clock() if stamp is None else stamp
    world.session.midi_in("midi", CapturedNote(0, at, data))
    world.settle()


def writing(world: Any, **options: Any) -> Any:
    """A page that wants to know."""
    world.midi.open = True
    page = world.page(**options)
    page.say(wire.Enter(on=True))
    return page


def test_a_note_is_told_on_the_clock_of_each_page_that_asked(world: Any) -> None:
    world.ready()
    here, there = writing(world, seat="here", theta=500.0), writing(world, seat="there", theta=-30.0)
    other = world.page("other")

    strike(world, bytes((0x90, 62, 81)), stamp=999.5)

    assert here.all(wire.Played) == [wire.Played(1499.5, 62, None, 81)]
    assert there.all(wire.Played) == [wire.Played(969.5, 62, None, 81)]
    assert other.all(wire.Played) == []


def test_the_string_is_told_where_the_channels_tell_it(world: Any) -> None:
    world.ready()
    page = writing(world)
    page.say(wire.Settings(string_channels="11-15"))

    for data in ((0x9A, 62, 80), (0x9E, 67, 80), (0x90, 55, 80)):
        strike(world, bytes(data))

    assert [(note.pitch, note.string) for note in page.all(wire.Played)] == [(62, 1), (67, 5), (55, None)]


def test_only_the_beginnings_of_notes_are_told(world: Any) -> None:
    world.ready()
    page = writing(world)

    for data in ((0x90, 62, 0), (0x80, 62, 64), (0xE0, 0, 70), (0xB0, 7, 90), (0xC0, 3)):
        strike(world, bytes(data))

    assert page.all(wire.Played) == []


def test_nothing_is_told_during_a_pass_nor_when_the_page_has_had_enough(world: Any) -> None:
    world.ready()
    page = writing(world)
    page.say(wire.Start())
    strike(world, bytes((0x90, 62, 80)))
    page.say(wire.Stop())
    world.run(4.0, marks=(page,))
    assert page.last(wire.State).state == "ready"
    strike(world, bytes((0x90, 64, 80)))
    page.say(wire.Enter(on=False))
    strike(world, bytes((0x90, 65, 80)))

    assert [note.pitch for note in page.all(wire.Played)] == [64]


def test_a_page_that_comes_anew_has_to_ask_again(world: Any) -> None:
    world.ready()
    page = writing(world)
    page.go()
    page.come()
    strike(world, bytes((0x90, 62, 80)))
    assert page.all(wire.Played) == []

    page.say(wire.Enter(on=True))
    strike(world, bytes((0x90, 64, 80)))

    assert [note.pitch for note in page.all(wire.Played)] == [64]


def test_an_input_that_floods_is_cut_off_until_it_is_quiet_again(world: Any) -> None:
    world.ready()
    page = writing(world)

    for _ in range(int(NOTES_AT_ONCE) + 50):
        strike(world, bytes((0x90, 62, 80)))
    assert len(page.all(wire.Played)) == NOTES_AT_ONCE

    world.clock.advance(1.0)
    strike(world, bytes((0x90, 64, 80)))
    assert page.last(wire.Played).pitch == 64
