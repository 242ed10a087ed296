"""A sitting that was on when the service ended goes on when it is begun anew a few minutes later."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from coach.ladder.sitting import begun
from coach.service import protocol as wire
from coach.service.kept_sitting import BACK_WITHIN, read_sitting, sitting_record
from coach.service.memory import Remembered, SittingKept

TEMPO = 120.0
DAY = 20_000.25
MINUTE = 1 / 1440
ON = replace(begun(20.0, last_minutes=30.0, last_tempo=90.0), began=DAY - 0.01, ended=DAY, elapsed=7.5, top_tempo=80.0)


def as_json(record: object) -> Any:
    """What comes back of what is kept, which is text in the records."""
    return json.loads(json.dumps(record))


@pytest.mark.parametrize(
    ("minutes", "is_on"), [(0.0, True), (BACK_WITHIN - 0.01, True), (BACK_WITHIN, False), (-1.0, False)]
)
def test_it_comes_back_whole_within_ten_minutes(minutes: float, is_on: bool) -> None:
    found = read_sitting(as_json(sitting_record(ON, DAY)), DAY + minutes * MINUTE)

    assert found == (ON if is_on else None)


@pytest.mark.parametrize(
    "record",
    [
        None,
        7,
        {},
        {"seen": DAY},
        {"seen": DAY, "sitting": {"minutes": "many"}},
        {"seen": DAY, "sitting": {"minutes": -5}},
        {"seen": DAY, "sitting": {"elapsed": -1.0}},
        {"seen": "today", "sitting": {}},
    ],
)
def test_what_is_no_sitting_is_none(record: object) -> None:
    assert read_sitting(record, DAY) is None


@pytest.fixture
def again(new_world: Callable[[], Any]) -> Callable[..., Any]:
    """A service begun anew, so many seconds after another world ended, with all that it kept."""

    def begin(before: Any, after: float) -> Any:
        world = new_world()
        world.clock.advance(before.clock() - world.clock() + after)
        kept = before.memory.passes[-1] if before.memory.passes else None
        world.memory.remembered = Remembered(
            as_json(before.memory.settings),
            {} if kept is None else {kept.tune: kept.standing},
            sitting=None if kept is None else kept.sitting,
        )
        world.ready()
        return world

    return begin


def play(world: Any, page: Any, as_written: Any, solos: Any) -> None:
    page.say(wire.Settings(tempo=TEMPO))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = float(begin.origin or page.now() + 0.2 + begin.lead)
    world.play(page, as_written(solos["beginner"], TEMPO), until=8.6, origin=origin)


def test_its_minutes_what_was_played_and_its_rung_are_there_again(
    world: Any, again: Callable[..., Any], as_written: Any, solos: Any
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Sitting(20.0))
    play(world, page, as_written, solos)
    before = page.last(wire.State)
    assert before.sitting.played == pytest.approx(0.2)

    later = again(world, 30.0)
    state = later.page().last(wire.State)

    assert (state.sitting, state.tune, state.tier) == (before.sitting, before.tune, before.tier)
    assert state.rung.use == before.rung.use == "warm-up"


def test_one_that_was_begun_and_not_played_yet_is_on_and_its_first_rung_is_offered(
    world: Any, again: Callable[..., Any]
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Sitting(20.0))

    state = again(world, 30.0).page().last(wire.State)

    assert state.sitting == page.last(wire.State).sitting == wire.SittingState(20.0, 0.0, rest=False)
    assert state.rung is not None
    assert state.rung.use == page.last(wire.State).rung.use


def test_it_is_the_same_one_for_the_records_when_it_goes_on(
    world: Any, again: Callable[..., Any], as_written: Any, solos: Any
) -> None:
    world.ready()
    play(world, world.page(), as_written, solos)

    later = again(world, 60.0)
    play(later, later.page(), as_written, solos)

    first, second = world.memory.passes[-1].sitting, later.memory.passes[-1].sitting
    assert isinstance(first, SittingKept)
    assert second.began == first.began
    assert second.minutes == pytest.approx(2 * first.minutes, abs=0.02)


@pytest.mark.parametrize("end", ["after a while", "by the player"])
def test_one_that_is_over_does_not(world: Any, again: Callable[..., Any], end: str) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Sitting(20.0))
    if end == "by the player":
        page.say(wire.Sitting(0.0))

    later = again(world, 30.0 if end == "by the player" else BACK_WITHIN * 60)

    assert later.page().last(wire.State).sitting is None


def test_a_pass_that_begins_is_a_sign_of_life(world: Any, again: Callable[..., Any]) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Sitting(20.0))
    world.run(BACK_WITHIN * 60 - 30, beat=5.0, marks=(page,))
    page.say(wire.Start())
    world.settle()

    assert again(world, 60.0).page().last(wire.State).sitting is not None


def test_a_pass_that_the_end_of_the_service_cuts_off_wins_nothing_and_counts_as_long_as_it_was_played(
    world: Any, as_written: Any, solos: Any
) -> None:
    world.ready()
    page = world.page()
    play(world, page, as_written, solos)
    whole = world.memory.passes[-1]
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = float(begin.origin or page.now() + 0.2 + begin.lead)
    world.play(page, as_written(solos["beginner"], TEMPO), until=3.0, origin=origin)
    world.session.close()
    world.settle()

    cut = world.memory.passes[-1]
    assert cut.seconds == pytest.approx(3.0, abs=0.1)
    assert cut.sitting.minutes == pytest.approx(whole.sitting.minutes + 5.0 / 60, abs=0.02)  # with its count-in
    assert (cut.whole, cut.clean) == (False, False)
    assert cut.standing["won"] == whole.standing["won"]
