from __future__ import annotations

import statistics
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import HeardNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult, lean_of, summarise

MELODY = {"role": "melody"}


def hear(plan: PassPlan, notes: list[HeardNote], **finish: float) -> PassResult:
    listener = Listener(plan)
    for note in notes:
        listener.hear(note)
    listener.finish(**finish)
    assert listener.result is not None
    return listener.result


@pytest.fixture
def take(roll: Arrangement, play: Callable[..., list[HeardNote]]) -> Callable[..., PassResult]:
    """A roll of two measures (notes 1 and 5 of each are melody), with some notes left out, wrong or moved."""

    def make(
        *, missed: tuple[int, ...] = (), wrong: tuple[int, ...] = (), late: tuple[int, ...] = (), extra: int = 0
    ) -> PassResult:
        plan = PassPlan(roll, 60.0)
        notes = []
        for k, note in enumerate(play(plan), 1):
            if k in missed:
                continue
            note = replace(note, pitch=note.pitch + 1) if k in wrong else note
            notes.append(replace(note, seconds=note.seconds + 0.09) if k in late else note)
        notes += [HeardNote(3.1 + k / 20, 60, 80, 2, 2, 100 + k) for k in range(extra)]
        return hear(plan, notes)

    return make


@pytest.mark.parametrize(
    ("how", "clean"),
    [
        ({}, True),
        ({"missed": (2,)}, True),
        ({"wrong": (2,)}, True),
        ({"extra": 1}, True),
        ({"missed": (1,)}, False),  # a melody note
        ({"wrong": (5,)}, False),
        ({"missed": (2, 3)}, False),
        ({"missed": (2,), "wrong": (3,)}, False),
        ({"missed": (2,), "extra": 1}, False),
        ({"late": (2,)}, True),
        ({"late": (2, 3)}, False),  # 20 % of 8 is less than 2
        ({"late": (1,), "missed": (2,)}, True),
    ],
)
def test_a_measure_is_clean_by_the_rule(
    how: dict[str, tuple[int, ...]], clean: bool, take: Callable[..., PassResult]
) -> None:
    first, second = take(**how).measures

    assert first.clean == clean
    assert second.clean


@pytest.mark.parametrize(
    ("plucks", "late", "clean"), [(10, 2, True), (10, 3, False), (9, 2, False), (4, 1, True), (4, 2, False)]
)
def test_one_pluck_or_a_fifth_of_them_may_be_off_time(
    plucks: int, late: int, clean: bool, solo: Callable[..., Arrangement], play: Callable[..., list[HeardNote]]
) -> None:
    even = solo([(f"{4 * k}/10", 1 + k % 4, 0) for k in range(plucks)])
    plan = PassPlan(even, 60.0, lean_ms=0.0)
    notes = [replace(note, seconds=note.seconds + (0.085 if k < late else 0.0)) for k, note in enumerate(play(plan))]
    (score,) = hear(plan, notes).measures

    assert (score.off_time, score.clean) == (late, clean)


def test_counts_go_by_the_verdicts(take: Callable[..., PassResult]) -> None:
    first, second = take(missed=(2,), wrong=(3,), late=(4,), extra=2).measures

    assert (first.expected, first.played, first.missed, first.wrong, first.extra, first.off_time) == (8, 6, 1, 1, 2, 1)
    assert (second.expected, second.played, second.extra) == (8, 8, 0)


def test_a_pinch_or_a_slur_is_one_fault(mixed: Arrangement, play: Callable[..., list[HeardNote]]) -> None:
    plan = PassPlan(mixed, 60.0, last=1, slurs_shown=True)
    notes = play(plan)
    pinch_gone = hear(plan, [note for k, note in enumerate(notes, 1) if k not in (3, 4)])
    # The slide and the note it comes in with are one group with the melody pick, which was played.
    slur_gone = hear(plan, [note for k, note in enumerate(notes, 1) if k not in (6, 7)])
    both_gone = hear(plan, [note for k, note in enumerate(notes, 1) if k not in (3, 4, 6, 7)])

    assert pinch_gone.measures[0].clean
    assert slur_gone.measures[0].clean
    assert not both_gone.measures[0].clean


def test_an_extra_that_fits_is_no_fault(roll: Arrangement, solo: Callable[..., Arrangement]) -> None:
    sparse = solo([("0", 3, 0, MELODY), ("2", 2, 0), ("3", 1, 0)])
    notes = [HeardNote(0.0, 55, 80), HeardNote(3.0, 62, 80)]  # string 2 is missed
    fits = hear(PassPlan(sparse, 60.0), [*notes, HeardNote(1.0, 59, 80)])
    jars = hear(PassPlan(sparse, 60.0), [*notes, HeardNote(1.0, 60, 80)])

    assert (fits.measures[0].extra, fits.measures[0].clean) == (1, True)
    assert (jars.measures[0].extra, jars.measures[0].clean) == (1, False)


def test_a_measure_with_nothing_played_is_not_clean_and_one_with_nothing_to_play_is(
    solo: Callable[..., Arrangement],
) -> None:
    (silent, rest, _) = hear(PassPlan(solo([("0", 3, 0)], [], [("0", 3, 0)]), 60.0), [HeardNote(8.0, 55, 80)]).measures

    # One fault alone would leave the first measure clean.
    assert (silent.missed, silent.clean) == (1, False)
    assert (rest.expected, rest.melody_heard, rest.mean_offset_ms, rest.clean) == (0, None, None, True)


def test_averages_are_over_picked_notes_that_were_played(
    mixed: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(mixed, 60.0, last=1)
    offsets = [5, 300, -10, 15, 20, 40, 0, 10, -5, 30, 90]  # of the plucks in order; 2, 6 and 11 are slurred
    notes = [
        replace(note, seconds=note.seconds + min(ms, 120) / 1000) for note, ms in zip(play(plan), offsets, strict=True)
    ]
    notes[6] = replace(notes[6], pitch=63)
    (score,) = hear(plan, notes).measures
    picked = [ms for k, ms in enumerate(offsets, 1) if k not in (2, 6, 7, 11)]

    assert score.wrong == 1
    assert score.mean_offset_ms == pytest.approx(statistics.fmean(picked), abs=1e-3)
    assert score.spread_ms == pytest.approx(float(np.std(picked)), abs=1e-3)


def test_melody_heard_is_the_share_of_melody_plucks_that_were_played(take: Callable[..., PassResult]) -> None:
    first, second = take(missed=(1,), wrong=(9, 13)).measures

    assert (first.melody_heard, second.melody_heard) == (0.5, 0.0)


@pytest.mark.parametrize(
    ("measures", "unclean", "clean"),
    [
        (7, 0, True),
        (7, 1, False),
        (8, 1, True),
        (8, 2, False),
        (15, 1, True),
        (15, 2, False),
        (16, 2, True),
        (16, 3, False),
    ],
)
def test_a_pass_is_clean_when_at_most_one_measure_in_eight_is_not(
    measures: int, unclean: int, clean: bool, solo: Callable[..., Arrangement], play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(solo(*[[("0", 3, 0, MELODY), ("2", 1, 0)]] * measures), 120.0)
    result = hear(plan, play(plan)[: 2 * measures][2 * unclean :])

    assert [score.clean for score in result.measures] == [False] * unclean + [True] * (measures - unclean)
    assert result.clean == clean


@pytest.mark.parametrize(
    ("end", "expected", "whole"), [(4.9, 2, False), (5.0, 3, True), (5.1, 3, True), (100.0, 3, True)]
)
def test_plucks_after_the_end_of_the_take_are_not_expected(
    end: float, expected: int, whole: bool, solo: Callable[..., Arrangement]
) -> None:
    plan = PassPlan(solo([("0", 3, 0), ("2", 1, 0)], [("1", 3, 0)]), 60.0)
    notes = [HeardNote(seconds, pitch, 80) for seconds, pitch in ((0.0, 55), (2.0, 62), (4.98, 55)) if seconds <= end]
    result = hear(plan, notes, end=end)

    assert len(result.notes) == expected
    assert (result.whole, result.clean) == (whole, whole)
    assert [score.number for score in result.measures] == [1, 2]


def test_a_last_note_played_early_counts_though_the_take_ends_with_it(solo: Callable[..., Arrangement]) -> None:
    plan = PassPlan(solo([("0", 3, 0)], [("0", 3, 0)]), 60.0)
    result = hear(plan, [HeardNote(0.0, 55, 80), HeardNote(3.98, 55, 80, seq=1)], end=3.98)

    assert [note.offset_ms for note in result.notes] == [0.0, -20.0]
    assert [score.number for score in result.measures] == [1, 2]
    assert (result.whole, result.clean) == (True, True)


def test_measures_that_the_take_does_not_reach_are_left_out(solo: Callable[..., Arrangement]) -> None:
    plan = PassPlan(solo([("0", 3, 0)], [("0", 3, 0)], [("0", 3, 0)]), 60.0)
    result = hear(plan, [HeardNote(0.0, 55, 80)], end=5.0)

    assert [(score.number, score.expected) for score in result.measures] == [(1, 1), (2, 1)]


def test_a_pass_whose_last_measure_was_not_played_is_not_whole(
    roll: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(roll, 60.0)
    notes = play(plan)

    assert not hear(plan, notes[:8]).whole
    assert hear(plan, notes[:9]).whole


def test_the_lean_is_the_median_offset_limited_to_40_ms(
    roll: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(roll, 60.0)

    def leaning(ms: list[float]) -> float:
        notes = play(plan)[: len(ms)]
        moved = [replace(note, seconds=note.seconds + each / 1000) for note, each in zip(notes, ms, strict=True)]
        return lean_of([hear(plan, moved)])

    assert leaning([-10.0, 5.0, 30.0]) == 5.0
    assert leaning([-10.0, 5.0]) == -2.5
    assert leaning([39.9] * 3) == 39.9
    assert leaning([40.1] * 3) == 40.0
    assert leaning([-90.0] * 3) == -40.0
    assert leaning([]) == 0.0


@pytest.mark.parametrize("percent", [-2.0, 0.0, 1.5])
def test_the_drift_is_the_slope_of_a_line_through_the_offsets(
    percent: float, roll: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(roll, 60.0, origin=3.0)
    rng = np.random.default_rng(5)
    notes = [
        replace(note, seconds=3.0 + (note.seconds - 3.0) / (1 + percent / 100) + rng.normal(0, 0.002))
        for note in play(plan)
    ]
    result = hear(plan, notes)
    # The same line by an outside hand: numpy.polyfit of heard times over click times.
    clicks = np.array([note.pluck.time / 1e6 for note in result.notes])
    heard = clicks + np.array([note.offset for note in result.notes]) / 1e6
    slope = np.polyfit(clicks, heard, 1)[0]

    drift = summarise([result]).tempo_drift_percent
    assert drift == pytest.approx((1 / slope - 1) * 100, abs=2e-3)
    assert drift == pytest.approx(percent, abs=0.2)


def test_the_drift_of_several_passes_does_not_mistake_their_leans_for_a_drift(
    roll: Arrangement, play: Callable[..., list[HeardNote]]
) -> None:
    plan = PassPlan(roll, 60.0)
    results = [
        hear(plan, [replace(note, seconds=note.seconds + lag) for note in play(plan)]) for lag in (-0.05, 0.0, 0.05)
    ]
    summary = summarise(results)

    assert summary.tempo_drift_percent == 0.0
    assert (summary.mean_offset_ms, summary.played_share) == (0.0, 1.0)
    assert summary.spread_ms == pytest.approx(40.825, abs=1e-3)


def test_a_silent_take_has_no_averages(roll: Arrangement) -> None:
    summary = summarise([hear(PassPlan(roll, 60.0), [])])

    assert (summary.played_share, summary.mean_offset_ms, summary.spread_ms, summary.tempo_drift_percent) == (
        0.0,
        None,
        None,
        None,
    )
