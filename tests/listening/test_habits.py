"""Habits that are planted are found at their stated size, and where there are none, none is found."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import pytest
from habit_takes import erring_only, habit_study, plain, strained

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.listening.findings import Finding, audible_ms, tolerance_ms
from coach.listening.habits import fisher_tail, habits_of
from coach.listening.plan import PassPlan
from coach.listening.saying import findings_of
from coach.listening.strokes import PassStrokes

SEEDS = range(3)
FEW_SEEDS = range(2)
STUDY = habit_study()
LONG_STUDY = habit_study(6)

# What the virtual player's touch does at full strain, whatever else it errs in.
TOUCH = {"middle soft"}


def found(passes: Sequence[PassStrokes], name: str) -> Finding | None:
    return next((finding for finding in findings_of(passes) if finding.name == name), None)


@pytest.mark.parametrize(
    ("error", "name", "solo"),
    [
        ("DRONE_EARLY", "fifth string early", STUDY),
        ("CHANGE_LATE", "change late", STUDY),
        ("RUSH", "open roll rushed", STUDY),
        ("MISSED_BY_MIDDLE", "middle missed", STUDY),
        ("SWALLOWED", "swallowed", STUDY),
        ("CRUSHED", "crushed", STUDY),
        ("WRONG_STRING", "neighbour string", STUDY),
        # Three fills in ten are cut short: it takes a dozen of them for one to be.
        ("CUT_SHORT", "fill cut short", LONG_STUDY),
    ],
)
def test_an_error_of_the_virtual_player_is_found_and_no_other(error: str, name: str, solo: Arrangement) -> None:
    with erring_only(error):
        names = [{finding.name for finding in findings_of(strained(solo, seed))} for seed in SEEDS]

    assert all(name in each for each in names)
    assert set().union(*names) <= {name, *TOUCH}


def test_the_touch_of_a_strained_player_is_found_and_that_of_a_calm_one_is_not() -> None:
    with erring_only():
        assert all(found(strained(STUDY, seed), "middle soft") for seed in FEW_SEEDS)
        assert not any(findings_of(strained(STUDY, seed, ability=1000.0)) for seed in FEW_SEEDS)


def test_slides_that_arrive_late_are_found() -> None:
    def late(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return 0.06 if pluck.technique == "slide" else 0.0

    sizes = [found(plain(STUDY, seed, passes=2, moved=late), "slide late") for seed in FEW_SEEDS]

    assert all(size is not None and 40 < size.size < 80 for size in sizes)


@pytest.mark.parametrize(("seconds", "name"), [(0.03, "off-beats late"), (-0.03, "off-beats early")])
def test_off_beats_that_swing_are_found(seconds: float, name: str) -> None:
    def swung(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return seconds if pluck.at.denominator == 2 else 0.0

    names = [{finding.name for finding in findings_of(plain(STUDY, seed, moved=swung))} for seed in FEW_SEEDS]

    assert all(name in each for each in names)


@pytest.mark.parametrize(("seconds", "name"), [(0.04, "slot late"), (-0.04, "slot early")])
def test_a_note_of_the_roll_that_stands_apart_is_found(seconds: float, name: str) -> None:
    def sixth(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return seconds if pluck.at == Fraction(5, 2) else 0.0

    sixths = [found(plain(STUDY, seed, passes=2, moved=sixth), name) for seed in FEW_SEEDS]

    assert [each and each.slot for each in sixths] == [6] * len(FEW_SEEDS)


@pytest.mark.parametrize("milliseconds", [18, 50])
def test_a_habit_tells_its_size_and_its_measures(milliseconds: int) -> None:
    with_drone = {measure.number for measure in STUDY.measures if any(p.string == 5 for p in measure.plucks)}

    def early(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return -milliseconds / 1000 if pluck.string == 5 else 0.0

    for seed in FEW_SEEDS:
        habit = found(plain(STUDY, seed, passes=2, left_out=0.0, moved=early), "fifth string early")

        assert habit is not None
        assert habit.size == pytest.approx(milliseconds, abs=7)
        assert set(habit.measures) <= with_drone
        assert (habit.count, habit.of) == (len(habit.measures), len(with_drone))
        assert habit.before


def test_what_cannot_be_heard_is_no_habit_however_steady() -> None:
    # At 80 quarters a minute eighths are 375 ms apart, of which 2.5 % are 9.4 ms.
    def early(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return -0.009 if pluck.string == 5 else 0.0

    steady = plain(STUDY, 1, passes=3, jitter=0.0005, moved=early)

    assert habits_of(steady) == ()


def test_what_may_be_heard_is_no_habit_until_it_is_sure_to_be() -> None:
    def early(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return -0.009 if pluck.string == 5 else 0.0

    told = [found(plain(STUDY, seed, passes=3, moved=early), "fifth string early") for seed in FEW_SEEDS]

    assert told == [None] * len(FEW_SEEDS)


def test_a_teacher_can_make_it_wider_and_narrower() -> None:
    def early(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return -0.018 if pluck.string == 5 else 0.0

    def steady(told_ms: float | None) -> Finding | None:
        return found(plain(STUDY, 1, passes=2, jitter=0.003, moved=early, told_ms=told_ms), "fifth string early")

    wide, usual, narrow = steady(200.0), steady(None), steady(20.0)

    assert wide is None
    assert usual is not None
    assert narrow is not None
    assert narrow.cost > usual.cost


def test_a_habit_that_was_there_in_the_pass_before_is_said_to_be() -> None:
    def early(since: int) -> list[PassStrokes]:
        def moved(pluck: Pluck, _: ArrangedMeasure, plan: PassPlan) -> float:
            return -0.04 if pluck.string == 5 and plan.number >= since else 0.0

        return plain(STUDY, 3, passes=2, moved=moved)

    again, new = found(early(1), "fifth string early"), found(early(2), "fifth string early")

    assert again is not None
    assert again.before
    assert new is not None
    assert not new.before


def test_a_habit_that_is_gone_in_the_last_pass_is_not_told_any_more() -> None:
    def moved(pluck: Pluck, _: ArrangedMeasure, plan: PassPlan) -> float:
        return -0.05 if pluck.string == 5 and plan.number < 3 else 0.0

    assert found(plain(STUDY, 5, passes=3, moved=moved), "fifth string early") is None


def test_a_plain_player_has_no_habits() -> None:
    for seed in range(12):
        passes = plain(
            STUDY,
            seed,
            tempo=(60.0, 80.0, 100.0, 140.0, 200.0, 280.0)[seed % 6],
            passes=1 + seed % 3,
            jitter=(0.008, 0.015, 0.02)[seed // 2 % 3],
            heavy=seed % 4 > 1,
            strings=seed % 5 > 0,
            velocity=seed % 7 > 0,
        )

        assert [finding for finding in findings_of(passes) if not finding.name.startswith("leaning")] == []


def test_what_can_be_heard_is_six_milliseconds_or_a_fortieth_of_the_gap() -> None:
    # Friberg & Sundberg 1995: 6 ms below about 240 ms between onsets, 2.5 % above.
    assert [audible_ms(gap) for gap in (100, 239, 240, 400, 1000)] == [6, 6, 6, 10, 25]
    assert [audible_ms(400, told) for told in (0, 80, 160)] == [10, 10, 20]


def test_what_is_on_time_is_a_fifth_of_the_gap_or_what_was_told() -> None:
    assert [tolerance_ms(gap) for gap in (100, 150, 300, 400, 1000)] == [30, 30, 60, 80, 80]
    assert tolerance_ms(300, 45.0) == 45


def test_the_chance_of_faults_by_fishers_test_by_hand() -> None:
    # Two faults among 2 + 2 notes: both on one side in 1 of 6 ways.
    assert fisher_tail(2, 2, 0, 2) == pytest.approx(1 / 6)
    assert fisher_tail(0, 2, 2, 2) == pytest.approx(1.0)
