"""What is known of a player, and how passes change it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.ladder.borrowed import expected, taught_by_others
from coach.ladder.curve import after_days, after_pass, begin_ready, ready, share
from coach.ladder.known import Known, curves, learned, places, ready_tempos
from coach.ladder.rungs import Course, MeasurePlan, PassSeen, TierPlan
from coach.ladder.spots import ready_whole
from coach.ladder.whole import clean_share

NUMBERS = range(1, 9)


def tier(name: str, harder: float) -> TierPlan:
    return TierPlan(name, tuple(MeasurePlan(n, harder + n / 10, 4.0) for n in NUMBERS), harder)


COURSE = Course("lamps", (tier("beginner", 1.0), tier("intermediate", 2.0)), {})


def seen(clean: Mapping[int, bool], tempo: float = 80.0, **more: object) -> PassSeen:
    fields = {"tier": "beginner", "day": 0.0, "minutes": 1.0, "faults": {}, "is_clean": all(clean.values())}
    return PassSeen(tempo=tempo, clean=clean, **{**fields, **more})  # type: ignore[arg-type]


ALL_CLEAN = dict.fromkeys(NUMBERS, True)


def test_each_measure_is_taught_of_itself() -> None:
    before = learned(Known(), COURSE, seen(ALL_CLEAN))
    known = learned(before, COURSE, seen(ALL_CLEAN | {3: False}))

    for number in NUMBERS:
        own = after_pass(before.curves["beginner"][number].curve, 80.0, clean=number != 3)
        assert np.allclose(known.curves["beginner"][number].curve.weights, own.weights)


def test_measures_that_are_played_for_the_first_time_are_taught_by_each_other() -> None:
    known = learned(Known(), COURSE, seen(ALL_CLEAN | {3: False}))

    thought = [expected(1 + number / 10, []) for number in NUMBERS]
    came = [(0.0, 1.0) if number == 3 else (1.0, 0.0) for number in NUMBERS]
    others = dict(zip(NUMBERS, taught_by_others(thought, 80.0, came), strict=True))
    for number in NUMBERS:
        own = after_pass(begin_ready(*others[number]), 80.0, clean=number != 3)
        assert np.allclose(known.curves["beginner"][number].curve.weights, own.weights)


@pytest.mark.parametrize("tempo", [160.0, 240.0])
def test_one_pass_shows_of_whom_it_is(tempo: float) -> None:
    """Of a player far above the usual one: most measures came clean, so the whole is thought ready not far below."""
    known = learned(Known(), COURSE, seen(ALL_CLEAN | {3: False}, tempo))

    assert ready_whole(curves(known, COURSE, "beginner", (), 0.0)) > 0.7 * tempo


def test_a_stopped_pass_teaches_of_the_measures_that_were_played() -> None:
    known = learned(Known(), COURSE, seen({1: True, 2: False}, whole=False))

    assert set(known.curves["beginner"]) == {1, 2}


def test_a_measure_of_a_mixed_solo_counts_for_its_own_tier() -> None:
    known = learned(Known(), COURSE, seen(ALL_CLEAN, mix=(2, 5)))

    assert set(known.curves["beginner"]) == {1, 3, 4, 6, 7, 8}
    assert set(known.curves["intermediate"]) == {2, 5}
    assert {number: name for number, (name, _) in places(COURSE, "beginner", (2, 5)).items() if name != "beginner"} == {
        2: "intermediate",
        5: "intermediate",
    }


def test_what_was_never_played_is_borrowed_by_its_difficulty() -> None:
    known = Known()
    for _ in range(12):
        known = learned(known, COURSE, seen(ALL_CLEAN, 150.0))
    usual = ready_tempos(Known(), COURSE, "intermediate", (), 0.0)
    borrowed = ready_tempos(known, COURSE, "intermediate", (), 0.0)

    assert all(curve.passes == 0 for curve in curves(known, COURSE, "intermediate", (), 0.0).values())
    # Someone quick in the easy tier is thought quicker in the next one, but slower than in the easy one.
    assert all(usual[n].tempo < borrowed[n].tempo for n in NUMBERS)
    easy = ready_tempos(known, COURSE, "beginner", (), 0.0)
    assert all(borrowed[n].tempo < easy[n].tempo for n in NUMBERS)
    assert borrowed[1].tempo > borrowed[8].tempo


def test_measures_that_repeat_share_a_curve_and_are_taught_each_time() -> None:
    course = replace(COURSE, repeats={5: 1, 6: 2})
    known = learned(Known(), course, seen(ALL_CLEAN | {5: False}))
    now = curves(known, course, "beginner", (), 0.0)

    assert set(known.curves["beginner"]) == {1, 2, 3, 4, 7, 8}
    assert now[5] is now[1]
    assert now[1].passes == 2
    assert now[3].passes == 1
    once = learned(Known(), COURSE, seen({n: True for n in NUMBERS if n not in (5, 6)})).curves["beginner"][1].curve
    assert np.allclose(now[1].weights, after_pass(once, 80.0, clean=False).weights)


def test_days_take_something_away_and_are_reckoned_from_the_last_pass() -> None:
    known = learned(Known(), COURSE, seen(ALL_CLEAN, day=10.0))
    known = learned(known, COURSE, seen({1: True}, day=30.0, whole=False))
    now = curves(known, COURSE, "beginner", (), 30.0)

    assert now[2].weights == pytest.approx(after_days(known.curves["beginner"][2].curve, 20.0).weights)
    assert now[1] is known.curves["beginner"][1].curve
    fresh, later = (ready_tempos(known, COURSE, "beginner", (), day)[1] for day in (30.0, 45.0))
    assert later.high / later.low > fresh.high / fresh.low


@settings(max_examples=20)
@given(st.lists(st.booleans(), min_size=1, max_size=4), st.floats(50, 130))
def test_a_marked_pass_tells_of_each_measure_what_bayes_says(marks: list[bool], tempo: float) -> None:
    """Of the first measure, against the sum over all ways in which the measures can come out (computed): by the mark,
    that it is likelier to be clean by as much as the mark is likelier with it."""
    known = learned(Known(), COURSE, seen({}, tempo, judged="marked", is_clean=True))
    for mark in marks[:-1]:
        known = learned(known, COURSE, seen({}, tempo, judged="marked", is_clean=mark))
    before = curves(known, COURSE, "beginner", (), 0.0)
    shares = [share(curve, tempo) for curve in before.values()]
    if_clean, if_not = clean_share([1.0, *shares[1:]]), clean_share([0.0, *shares[1:]])
    if not marks[-1]:
        if_clean, if_not = 1 - if_clean, 1 - if_not
    known = learned(known, COURSE, seen({}, tempo, judged="marked", is_clean=marks[-1]))

    clean, other = (after_pass(before[1], tempo, clean=each).weights for each in (True, False))
    odds_clean = if_clean * shares[0] / (if_clean * shares[0] + if_not * (1 - shares[0]))
    expected_weights = odds_clean * clean + (1 - odds_clean) * other
    assert known.curves["beginner"][1].curve.weights == pytest.approx(expected_weights, abs=1e-9)


@pytest.mark.parametrize("is_clean", [True, False])
def test_a_first_mark_tells_of_all_measures_alike(is_clean: bool) -> None:
    known = learned(Known(), COURSE, seen({}, 150.0, judged="marked", is_clean=is_clean))

    before = {number: expected(1 + number / 10, [])[0] for number in NUMBERS}
    moved = {n: ready(kept.curve).tempo / before[n] for n, kept in known.curves["beginner"].items()}
    assert min(moved.values()) > 1.2 if is_clean else max(moved.values()) < 1.0
    assert max(moved.values()) / min(moved.values()) < 1.05


def test_a_player_who_marks_passes_clean_far_above_the_usual_tempo_is_believed_soon() -> None:
    known = Known()
    for _ in range(4):
        known = learned(known, COURSE, seen({}, 150.0, judged="marked", is_clean=True))

    assert ready_whole(curves(known, COURSE, "beginner", (), 0.0)) > 0.85 * 150


def test_a_mark_on_some_measures_tells_of_those() -> None:
    some = seen({}, judged="marked", is_clean=False, first=3, last=4, all_measures=False, kind="part")

    assert set(learned(Known(), COURSE, some).curves["beginner"]) == {3, 4}


@pytest.mark.parametrize(
    "nothing",
    [
        seen(ALL_CLEAN, kind="jam"),
        seen({}, judged="marked", is_clean=True, whole=False),
        seen({}, whole=False, is_clean=False),
        seen({99: True}),
    ],
)
def test_what_tells_nothing_changes_nothing(nothing: PassSeen) -> None:
    known = learned(Known(), COURSE, seen(ALL_CLEAN))

    assert learned(known, COURSE, nothing) is known


def test_what_a_pass_left_alone_stays_the_same_object() -> None:
    known = learned(Known(), COURSE, seen(ALL_CLEAN))
    after = learned(known, COURSE, seen({4: True}, whole=False))

    assert all((after.curves["beginner"][n] is known.curves["beginner"][n]) == (n != 4) for n in NUMBERS)


@pytest.mark.parametrize(("name", "mix"), [("expert", ()), ("intermediate", (1,)), ("beginner", (99,))])
def test_what_no_course_has_is_refused(name: str, mix: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="tier"):
        curves(Known(), COURSE, name, mix, 0.0)
