"""A sitting, from the warm-up to something known."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ladder.sitting import LOOPS, REST_EVERY, Rung, Sitting, Stand, next_rung, played, rest_is_due
from coach.ladder.spots import Spot

SPOTS = (Spot(6, 6, 5, 70.0, 1.2), Spot(10, 11, 9, 80.0, 1.1))
STAND = Stand(ready=90.0, goal=120.0, next_tempo=94.0, spots=SPOTS, has_known=True)


def whole_sitting(sitting: Sitting, stand: Stand, minutes: float = 1.0) -> list[Rung]:
    """All that is played."""
    rungs = []
    while sitting.elapsed < sitting.minutes:
        rungs.append(next_rung(sitting, stand))
        sitting = played(sitting, rungs[-1], minutes)
    return rungs


def test_it_begins_with_a_slow_roll_and_ends_with_something_known() -> None:
    rungs = whole_sitting(Sitting(30.0), STAND)

    assert [rung.kind for rung in rungs[:6]] == ["warm-up"] * 5 + ["whole"]
    assert rungs[0].tempo < STAND.ready
    assert {rung.kind for rung in rungs[-4:]} == {"known"}


def test_spots_come_by_turns_between_whole_passes_with_their_lead_in() -> None:
    middle = [rung for rung in whole_sitting(Sitting(30.0), STAND) if rung.kind in ("whole", "spot")]

    assert [(rung.kind, rung.first, rung.last) for rung in middle[:9]] == [
        ("whole", None, None),
        *[("spot", 5, 6)] * LOOPS,
        ("whole", None, None),
        *[("spot", 9, 11)] * LOOPS,
        ("whole", None, None),
    ]
    assert middle[1].why == "Measure 6 holds the tempo back: alone, with a lead-in, at 70."
    assert middle[5].why == "Measures 10 to 11 hold the tempo back: alone, with a lead-in, at 80."


def test_without_spots_and_known_tunes_the_whole_is_played() -> None:
    rungs = whole_sitting(Sitting(10.0), replace(STAND, spots=(), has_known=False))

    assert {rung.kind for rung in rungs} == {"warm-up", "whole"}


@pytest.mark.parametrize(("minutes", "limited"), [(20.0, False), (20.1, True), (15.0, False)])
def test_tempo_and_minutes_are_not_raised_in_one_sitting(minutes: float, limited: bool) -> None:
    sitting = Sitting.begun(minutes, last_minutes=20.0, last_tempo=88.0)
    whole = next(rung for rung in whole_sitting(sitting, STAND) if rung.kind == "whole")

    assert whole.tempo == (88.0 if limited else 94.0)
    assert ("the tempo stays" in whole.why) == limited


@given(st.floats(1, 240), st.floats(0.2, 6), st.floats(40, 200))
def test_no_tempo_of_a_longer_sitting_is_above_that_of_the_last(minutes: float, each: float, last: float) -> None:
    sitting = Sitting.begun(minutes, last_minutes=minutes / 2, last_tempo=last)

    assert all(rung.tempo <= last or rung.kind == "known" for rung in whole_sitting(sitting, STAND, each))


def test_a_rest_is_due_after_half_an_hour_and_again_half_an_hour_later() -> None:
    sitting = Sitting(90.0, elapsed=REST_EVERY - 0.01)
    due = replace(sitting, elapsed=REST_EVERY)

    assert not rest_is_due(sitting)
    assert rest_is_due(due)
    assert not rest_is_due(replace(due, rested=due.elapsed))
    assert rest_is_due(replace(due, rested=due.elapsed, elapsed=2 * REST_EVERY))


@pytest.mark.parametrize("minutes", [0.0, -1.0, float("nan")])
def test_a_sitting_needs_minutes(minutes: float) -> None:
    with pytest.raises(ValueError, match="needs minutes"):
        Sitting.begun(minutes, last_minutes=None, last_tempo=None)
