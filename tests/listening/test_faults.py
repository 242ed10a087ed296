from __future__ import annotations

from statistics import fmean

import pytest
from habit_takes import Moved, faultless, habit_study, plain

from coach.arranging.arrangement import ArrangedMeasure, Pluck
from coach.listening.faults import faults_of, scatter_limit_ms, scatter_ms
from coach.listening.findings import Finding
from coach.listening.plan import PassPlan
from coach.listening.strokes import PassStrokes

STUDY = habit_study(2)
SEEDS = range(6)


def fault(heard: PassStrokes, name: str) -> Finding | None:
    return next((finding for finding in faults_of(heard) if finding.name == name), None)


def names(heard: PassStrokes) -> set[str]:
    return {finding.name for finding in faults_of(heard)}


def test_a_pass_without_a_fault_has_none() -> None:
    assert faults_of(faultless(STUDY)[0]) == ()


def kicked_off(seconds: float) -> Moved:
    def late(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float:
        """Late in the first beat, and caught up with over the second."""
        if measure.number > 1 or pluck.at >= 2:
            return 0.0
        return seconds * (1 - float(pluck.at) / 2)

    return late


def test_a_late_kick_off_is_found() -> None:
    found = [fault(plain(STUDY, seed, left_out=0.0, moved=kicked_off(0.15))[0], "kick-off late") for seed in SEEDS]

    assert all(each is not None and 90 < each.size < 210 and each.measures == (1,) for each in found)


def test_a_kick_off_within_the_tolerance_is_not_late() -> None:
    # A fifth of 375 ms.
    assert fault(plain(STUDY, 1, jitter=0.0, left_out=0.0, moved=kicked_off(0.076))[0], "kick-off late") is not None
    assert fault(plain(STUDY, 1, jitter=0.0, left_out=0.0, moved=kicked_off(0.074))[0], "kick-off late") is None


def drifting(seconds: float) -> Moved:
    def moved(pluck: Pluck, measure: ArrangedMeasure, _: PassPlan) -> float:
        return seconds * (measure.number - 8 + float(pluck.at) / 4) / 16

    return moved


@pytest.mark.parametrize(("seconds", "name"), [(-0.15, "gaining"), (0.15, "falling behind")])
def test_a_line_that_leaves_the_click_is_found(seconds: float, name: str) -> None:
    found = [fault(plain(STUDY, seed, moved=drifting(seconds))[0], name) for seed in SEEDS]

    # From the middle of the first of 16 measures to the middle of the last: 15/16 of it.
    assert all(each is not None and each.size == pytest.approx(141, abs=20) for each in found)


def test_scattered_notes_are_found_and_even_ones_are_not() -> None:
    loose = [fault(plain(STUDY, seed, jitter=0.05)[0], "scattered") for seed in SEEDS]

    assert all(each is not None and 35 < each.size < 65 for each in loose)
    assert not any(fault(plain(STUDY, seed, jitter=0.02)[0], "scattered") for seed in SEEDS)


def test_the_scatter_is_that_of_the_noise() -> None:
    scatters = [scatter_ms(plain(STUDY, seed, jitter=0.015)[0]) or 0.0 for seed in SEEDS]

    assert sum(scatters) / len(scatters) == pytest.approx(15, rel=0.15)


def test_the_limit_of_scatter_goes_with_the_tempo_and_what_was_told() -> None:
    def limit(tempo: float, told_ms: float | None = None) -> float:
        return scatter_limit_ms(plain(STUDY, 1, tempo=tempo, told_ms=told_ms)[0])

    # 4 % of a quarter, at least 30 ms.
    assert [limit(40.0), limit(60.0), limit(80.0), limit(120.0)] == [60.0, 40.0, 30.0, 30.0]
    assert [limit(120.0, 80.0), limit(120.0, 10.0)] == [80.0, 20.0]


@pytest.mark.parametrize("side", [-1, 1])
def test_a_steady_lead_or_lag_is_told_and_costs_nothing_as_far_as_it_is_taken_off(side: int) -> None:
    # What the player of this seed leans by already.
    own = fmean(stroke.offset_ms or 0.0 for stroke in plain(STUDY, 1, jitter=0.0, left_out=0.0)[0].onsets)

    def leaning(milliseconds: float) -> Finding | None:
        late = (side * milliseconds - own) / 1000
        heard = plain(STUDY, 1, jitter=0.0, left_out=0.0, moved=lambda *_: late)[0]
        return fault(heard, "leaning behind" if side > 0 else "leaning ahead")

    slight, steady, much = leaning(29.0), leaning(31.0), leaning(60.0)

    assert slight is None
    assert steady is not None
    assert (steady.size, steady.cost) == (31.0, 0.0)
    assert much is not None
    assert much.cost > 0


def test_a_melody_as_loud_as_the_fill_is_hidden() -> None:
    hidden = [fault(plain(STUDY, seed, loudness=lambda _: 75.0)[0], "melody hidden") for seed in SEEDS]

    assert all(each is not None and abs(each.size) < 1 for each in hidden)


@pytest.mark.parametrize(("melody", "hidden"), [(76.0, True), (81.0, False)])
def test_one_decibel_is_the_limit_of_a_hidden_melody(melody: float, hidden: bool) -> None:
    # Against 70: 0.7 and 1.3 dB.
    heard = plain(STUDY, 1, loudness=lambda pluck: melody if pluck.role == "melody" else 70.0)[0]

    assert ("melody hidden" in names(heard)) is hidden


def test_a_melody_that_stands_out_is_not_and_no_velocity_tells_nothing() -> None:
    assert not any("melody hidden" in names(plain(STUDY, seed)[0]) for seed in SEEDS)
    assert "melody hidden" not in names(plain(STUDY, 1, velocity=False)[0])
