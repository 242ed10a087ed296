"""A sitting: phases, rests, and the limit of the tempo."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ladder.rungs import PassSeen
from coach.ladder.sitting import (
    COUNTS,
    LEFT,
    REST,
    REST_EVERY,
    Sitting,
    asked_to_rest,
    begun,
    most_tempo,
    phase,
    played,
    rest_is_due,
)

MINUTE = 1 / 1440


def a_pass(minutes: float = 1.0, end: float = 0.0, tempo: float = 80.0) -> PassSeen:
    """A pass that ended at a minute."""
    return PassSeen("beginner", tempo, is_clean=True, day=100 + end * MINUTE, minutes=minutes, clean={}, faults={})


def after(sitting: Sitting, count: int, minutes: float = 1.0, tempo: float = 80.0) -> Sitting:
    """The sitting after passes without a gap."""
    start = 0.0 if sitting.ended is None else (sitting.ended - 100) / MINUTE
    for number in range(1, count + 1):
        sitting = played(sitting, a_pass(minutes, start + number * minutes, tempo))
    return sitting


def test_a_planned_sitting_goes_from_the_warm_up_through_practice_to_something_known() -> None:
    sitting = begun(30.0)
    phases = []
    for _ in range(31):
        phases.append(phase(sitting))
        sitting = after(sitting, 1)

    assert phases == ["warm-up"] * 5 + ["practice"] * 21 + ["known"] * 4 + ["over"]


@pytest.mark.parametrize(("minutes", "warm"), [(10.0, 1.5), (100.0, 5.0)])
def test_the_warm_up_is_a_share_of_the_minutes_and_no_more_than_five(minutes: float, warm: float) -> None:
    sitting = begun(minutes)

    assert phase(replace(sitting, elapsed=warm - 0.01)) == "warm-up"
    assert phase(replace(sitting, elapsed=warm)) == "practice"
    assert phase(replace(sitting, elapsed=minutes - warm - 0.01)) == "practice"
    assert phase(replace(sitting, elapsed=minutes - warm)) == "known"
    assert phase(replace(sitting, elapsed=minutes)) == "over"


@given(st.floats(0, 500))
def test_an_open_sitting_is_practice(elapsed: float) -> None:
    assert phase(replace(begun(None), elapsed=elapsed)) == "practice"


def test_it_keeps_when_it_began_how_long_was_played_and_the_highest_tempo() -> None:
    sitting = played(played(begun(20.0), a_pass(2.0, 2.0, 90.0)), a_pass(1.0, 4.0, 70.0))

    assert sitting.began == pytest.approx(100.0)
    assert sitting.ended == pytest.approx(100 + 4 * MINUTE)
    assert sitting.elapsed == 3.0
    assert sitting.top_tempo == 90.0


@pytest.mark.parametrize(
    ("minutes", "elapsed", "limit"),
    [
        (20.0, 0.0, None),
        (20.1, 0.0, 88.0),
        (15.0, 22.0, None),  # the pass that is being played then may run on
        (15.0, 22.1, 88.0),
        (None, 22.0, None),
        (None, 22.1, 88.0),
    ],
)
def test_a_sitting_that_is_or_gets_longer_than_the_last_keeps_its_tempo(
    minutes: float | None, elapsed: float, limit: float | None
) -> None:
    sitting = begun(minutes, last_minutes=20.0, last_tempo=88.0)

    assert most_tempo(replace(sitting, elapsed=elapsed)) == limit


def test_the_first_sitting_has_no_limit() -> None:
    assert most_tempo(replace(begun(200.0), elapsed=150.0)) is None


def test_the_limit_is_a_whole_tempo_that_was_reached() -> None:
    assert most_tempo(begun(20.0, last_minutes=10.0, last_tempo=85.9)) == 85.0


def test_a_rest_is_due_after_half_an_hour_and_again_half_an_hour_later() -> None:
    sitting = replace(begun(None), elapsed=REST_EVERY - 0.01)
    due = replace(sitting, elapsed=REST_EVERY)

    assert not rest_is_due(sitting)
    assert rest_is_due(due)
    asked = asked_to_rest(due)
    assert asked.is_asked
    assert not rest_is_due(asked)
    assert not rest_is_due(after(asked, 1, REST_EVERY - 0.01))
    assert rest_is_due(after(asked, 1, REST_EVERY))
    assert not after(asked, 1).is_asked


@pytest.mark.parametrize(("gap", "rests"), [(REST - 0.01, False), (REST + 0.01, True)])
def test_a_pause_is_a_rest(gap: float, rests: bool) -> None:
    sitting = after(begun(None), 1, 29.0)
    back = played(sitting, a_pass(1.0, 30.0 + gap))

    assert rest_is_due(back) == (not rests)


@pytest.mark.parametrize(("gap", "left"), [(LEFT - 0.01, False), (LEFT + 0.01, True)])
def test_who_was_away_for_long_begins_an_open_sitting(gap: float, left: bool) -> None:
    sitting = after(begun(20.0, last_minutes=9.0, last_tempo=60.0), 10, tempo=90.0)
    back = played(sitting, a_pass(1.0, 11.0 + gap, 70.0))

    if left:
        assert (back.minutes, back.elapsed, back.top_tempo) == (None, 1.0, 70.0)
        assert (back.last_minutes, back.last_tempo) == (10.0, 90.0)
        assert back.began == pytest.approx(100 + (10 + gap) * MINUTE)
    else:
        assert (back.minutes, back.elapsed, back.last_minutes) == (20.0, 11.0, 9.0)


def test_a_short_look_is_no_sitting_that_sets_a_limit() -> None:
    looked = after(begun(None, last_minutes=25.0, last_tempo=100.0), 1, COUNTS - 0.01, 60.0)
    practised = after(begun(None, last_minutes=25.0, last_tempo=100.0), 1, COUNTS, 60.0)

    assert played(looked, a_pass(1.0, 500.0)).last_minutes == 25.0
    assert played(practised, a_pass(1.0, 500.0)).last_minutes == COUNTS


@given(st.floats(1, 240) | st.none(), st.lists(st.tuples(st.floats(0.2, 6), st.floats(0, 20)), max_size=60))
def test_one_rest_is_asked_for_in_each_half_hour_of_playing(
    minutes: float | None, passes: list[tuple[float, float]]
) -> None:
    sitting = begun(minutes)
    since, clock = 0.0, 0.0
    for length, pause in passes:
        clock += pause + length
        since = (0.0 if pause >= REST and sitting.ended is not None else since) + length
        sitting = played(sitting, a_pass(length, clock))
        # On a clock of days the last digits of a pause are lost.
        if abs(since - REST_EVERY) > 1e-6 and abs(pause - REST) > 1e-6:
            assert rest_is_due(sitting) == (since >= REST_EVERY)
        if rest_is_due(sitting):
            sitting, since = asked_to_rest(sitting), 0.0
        else:
            since = sitting.elapsed - sitting.rested


@pytest.mark.parametrize("minutes", [0.0, -1.0, float("nan"), float("inf")])
def test_a_sitting_needs_minutes(minutes: float) -> None:
    with pytest.raises(ValueError, match="needs minutes"):
        begun(minutes)
