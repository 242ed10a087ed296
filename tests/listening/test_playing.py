from __future__ import annotations

import math

import pytest
from habit_takes import faultless, habit_study, nothing_moved, plain
from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.arrangement import ArrangedMeasure, Pluck
from coach.listening.plan import PassPlan
from coach.listening.playing import PassPlaying, evenness, playing_of, swing

STUDY = habit_study(1)


def played(moved: object = nothing_moved, **more: object) -> PassPlaying:
    return playing_of(plain(STUDY, 1, jitter=0.0, left_out=0.0, moved=moved, **more)[0])  # type: ignore[arg-type]


def test_playing_without_a_fault_is_even_and_straight() -> None:
    playing = playing_of(faultless(STUDY)[0])

    assert playing.evenness_ms == pytest.approx(0.0, abs=0.001)
    assert playing.swing == pytest.approx(1.0, abs=0.001)
    assert playing.spread_ms == pytest.approx(0.0, abs=0.001)
    assert playing.melody_heard == 1.0
    assert [position.slot for position in playing.positions] == [1, 2, 3, 4, 5, 6, 7, 8]
    assert all(abs(position.offset_ms) < 0.001 for position in playing.positions)


def test_neither_a_lead_nor_a_drift_is_uneven() -> None:
    def faster(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float:
        return -0.002 * float(measure.number * 4 + pluck.at)

    playing = played(faster)

    assert playing.evenness_ms == pytest.approx(0.0, abs=0.01)
    assert playing.spread_ms is not None
    assert playing.spread_ms > 15


def test_evenness_by_hand() -> None:
    # One note of many comes 30 ms late: u is -15, 30 and -15 around it, 0 elsewhere.
    assert evenness([0.0, -15.0, 30.0, -15.0, 0.0]) == pytest.approx(math.sqrt(1350 / 5 / 1.5), abs=0.001)
    assert evenness([]) is None


@given(st.lists(st.floats(-100, 100), min_size=1), st.floats(0.1, 10))
def test_evenness_grows_with_what_is_uneven(unevens: list[float], times: float) -> None:
    once, more = evenness(unevens), evenness([times * uneven for uneven in unevens])

    assert once is not None
    assert more == pytest.approx(times * once, abs=0.01)


def test_swing_is_long_to_short() -> None:
    def swung(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return 0.075 if pluck.at.denominator == 2 else 0.0

    # Eighths of 375 ms: 450 to 300.
    assert played(swung).swing == pytest.approx(1.5, abs=0.001)
    assert swing([(450.0, 300.0), (400.0, 200.0)]) == 1.7
    assert swing([]) is None
    assert swing([(100.0, -150.0)]) is None


def test_a_position_of_the_roll_stands_against_the_others() -> None:
    def third(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return 0.02 if pluck.at == 1 else 0.0

    by_slot = {position.slot: position.offset_ms for position in played(third).positions}

    assert by_slot[3] == pytest.approx(20.0, abs=0.01)
    # Each of the others is early against seven of which one is 20 ms late; in measures with slurs against fewer.
    assert all(-20 / 4 <= by_slot[slot] <= -20 / 7 + 0.01 for slot in (1, 2, 4, 5, 6, 7, 8))


def test_the_melody_in_decibels_by_hand() -> None:
    # Twice the velocity is 20 log10 2 = 6.02 dB of squared velocity; a few units of noise blur it.
    playing = played(loudness=lambda pluck: 100.0 if pluck.role == "melody" else 50.0)

    assert playing.melody_db == pytest.approx(6.02, abs=0.3)
    assert {measure.melody_db is not None for measure in playing.measures} == {True}


def test_an_instrument_that_does_not_send_velocity_says_nothing_of_levels() -> None:
    playing = played(velocity=False)

    assert playing.melody_db is None
    assert {measure.melody_db for measure in playing.measures} == {None}


def test_measures_are_told_apart() -> None:
    def in_the_second(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float:
        return 0.03 * (-1) ** int(2 * pluck.at) if measure.number == 2 else 0.0

    by_number = {measure.number: measure for measure in played(in_the_second).measures}

    assert (by_number[2].evenness_ms or 0) > 40
    assert (by_number[5].evenness_ms or 0) < 0.01
    assert (by_number[2].swing or 2) < 0.8


def test_a_silent_pass_has_no_numbers() -> None:
    def nothing(_: Pluck, __: ArrangedMeasure, ___: PassPlan) -> None:
        return None

    playing = played(nothing)

    assert (playing.evenness_ms, playing.swing, playing.melody_db, playing.positions) == (None, None, None, ())
    assert playing.melody_heard == 0.0
