from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.listening import path
from coach.listening.path import Onset, Paths, Sounded, Step

SCALE = tuple(Onset(float(k), (60 + k,), entry=k % 4 == 0) for k in range(12))


def heard(*notes: tuple[float, int]) -> list[Sounded]:
    return [Sounded(seconds, pitch) for seconds, pitch in notes]


def followed(onsets: Sequence[Onset], notes: Sequence[Sounded], period: float = 0.5) -> Paths:
    paths = Paths(onsets)
    for note in notes:
        paths.step(note, period)
    return paths


def told(paths: Paths) -> list[tuple[int, int, str]]:
    return [(step.note, step.onset, step.how) for step in paths.trace()]


# A second reading of the module's text, one path after the other.


def extra_price(onsets: Sequence[Onset], note: Sounded, onset: int) -> float:
    if note.doubtful:
        return path.DOUBTFUL
    before = onsets[onset - 1].pitches if onset else ()
    return path.LATE_MEMBER if len(before) > 1 and note.pitch in before else path.EXTRA


def step_prices(
    onsets: Sequence[Onset], notes: Sequence[Sounded], period: float, a: tuple[int, int], b: tuple[int, int]
) -> Iterator[float]:
    """What each way costs from one sounded onset to the next; the extras between are not counted."""
    (i, j), (note, onset) = a, b
    beats = max(notes[note].seconds - notes[i].seconds, 1e-6) / period
    keeps_time = note - i < path.ROWS
    if 0 < onset - j <= path.REACH:
        passed = sum(path.PASSED_OPTIONAL if o.optional else path.MISSED for o in onsets[j + 1 : onset])
        gap = onsets[onset].at - onsets[j].at
        yield passed + path.TIME * (1 - (min(beats, gap) / max(beats, gap) if keeps_time else 0.0))
    chord = onsets[onset].pitches
    pitch = notes[note].pitch
    if j == onset and keeps_time and len(chord) > 1 and pitch in chord and pitch != notes[i].pitch:
        gap = onsets[onset + 1].at - onsets[onset].at if onset + 1 < len(onsets) else 1.0
        if onset + 1 == len(onsets) and onset:
            gap = onsets[onset].at - onsets[onset - 1].at
        yield path.TIME * beats / gap
    silence = notes[note].seconds - notes[note - 1].seconds
    stopped = silence >= min(path.SILENCE * period, path.SILENCE_SECONDS)
    landing = path.JUMP_TO_ENTRY if onsets[onset].entry else path.JUMP
    yield landing + path.NEAR * abs(onset - j) - (path.AFTER_SILENCE if stopped else 0.0)


def cost_of(onsets: Sequence[Onset], notes: Sequence[Sounded], period: float, ways: Sequence[tuple[int, int]]) -> float:
    """The cost of sounding these onsets with these notes, (note, onset) each, in order."""
    if not ways:
        return len(notes) * path.EXTRA
    note, onset = ways[0]
    opening = 0.0 if onset == 0 else path.START_AT_ENTRY if onsets[onset].entry else path.START
    cost = note * path.EXTRA + opening + path.NEAR * onset
    cost += 0.0 if notes[note].pitch in onsets[onset].pitches else path.WRONG
    for a, b in zip(ways, [*ways[1:], None], strict=True):
        until = len(notes) if b is None else b[0]
        cost += sum(extra_price(onsets, notes[i], a[1]) for i in range(a[0] + 1, until))
        if b is not None:
            cost += min(step_prices(onsets, notes, period, a, b))
            cost += 0.0 if notes[b[0]].pitch in onsets[b[1]].pitches else path.WRONG
    return cost


def least_by_trying_all(onsets: Sequence[Onset], notes: Sequence[Sounded], period: float) -> float:
    return min(
        cost_of(onsets, notes, period, [(i, j) for i, j in enumerate(choice) if j is not None])
        for choice in product([None, *range(len(onsets))], repeat=len(notes))
    )


PITCHES = st.integers(60, 62)


@st.composite
def written(draw: st.DrawFn) -> tuple[Onset, ...]:
    gaps = draw(st.lists(st.sampled_from([0.5, 1.0, 2.0]), min_size=1, max_size=4))
    return tuple(
        Onset(
            sum(gaps[: k + 1]),
            tuple(draw(st.lists(PITCHES, min_size=1, max_size=2))),
            optional=draw(st.booleans()),
            entry=draw(st.booleans()),
        )
        for k in range(len(gaps))
    )


@st.composite
def performed(draw: st.DrawFn) -> list[Sounded]:
    gaps = draw(st.lists(st.sampled_from([0.0, 0.03, 0.2, 0.25, 0.5, 3.0]), max_size=5))
    doubts = st.sampled_from([False, False, True])
    return [Sounded(sum(gaps[: k + 1]), draw(PITCHES), draw(doubts)) for k in range(len(gaps))]


def check_against_all(onsets: tuple[Onset, ...], notes: list[Sounded], period: float) -> None:
    paths = followed(onsets, notes, period)
    found = [(step.note, step.onset) for step in paths.trace()]

    assert paths.least == pytest.approx(least_by_trying_all(onsets, notes, period), abs=1e-7)
    assert cost_of(onsets, notes, period, found) == pytest.approx(paths.least, abs=1e-6)


@settings(max_examples=40)
@given(onsets=written(), notes=performed(), period=st.sampled_from([0.4, 1.0]))
def test_no_path_costs_less_than_the_one_found(onsets: tuple[Onset, ...], notes: list[Sounded], period: float) -> None:
    check_against_all(onsets, notes, period)


@settings(max_examples=40)
@given(onsets=written(), notes=performed())
def test_no_path_costs_less_where_jumps_are_cheap(onsets: tuple[Onset, ...], notes: list[Sounded]) -> None:
    # At their real prices jumps are seldom best in inputs so short that all paths can be tried.
    with pytest.MonkeyPatch.context() as prices:
        for name, price in {"JUMP": 0.5, "JUMP_TO_ENTRY": 0.35, "NEAR": 0.07, "AFTER_SILENCE": 0.2}.items():
            prices.setattr(path, name, price)
        check_against_all(onsets, notes, 0.5)


@given(onsets=written(), notes=performed())
def test_every_step_tells_how_it_came(onsets: tuple[Onset, ...], notes: list[Sounded]) -> None:
    steps = followed(onsets, notes).trace()
    before: Step | None = None
    for step in steps:
        if step.how == "start":
            assert before is None
        elif step.how == "step":
            assert before is not None
            assert 0 < step.onset - before.onset <= path.REACH
        elif step.how == "stay":
            assert before is not None
            assert step.onset == before.onset
        before = step


def test_what_is_played_as_written_costs_nothing() -> None:
    paths = followed(SCALE, heard(*((k * 0.5, 60 + k) for k in range(12))))

    assert paths.least == pytest.approx(0.0)
    assert [step.onset for step in paths.trace()] == list(range(12))


def test_a_missed_onset_is_passed_over() -> None:
    steps = told(followed(SCALE, heard((0.0, 60), (0.5, 61), (1.5, 63), (2.0, 64))))

    assert steps == [(0, 0, "start"), (1, 1, "step"), (2, 3, "step"), (3, 4, "step")]


def test_an_extra_note_keeps_the_time_of_what_is_around_it() -> None:
    paths = followed(SCALE, heard((0.0, 60), (0.2, 50), (0.5, 61), (1.0, 62)))

    assert told(paths) == [(0, 0, "start"), (2, 1, "step"), (3, 2, "step")]
    assert paths.least == pytest.approx(path.EXTRA)


def test_a_wrong_note_in_its_time_stands_for_what_is_written() -> None:
    paths = followed(SCALE, heard((0.0, 60), (0.5, 50), (1.0, 62)))

    assert told(paths) == [(0, 0, "start"), (1, 1, "step"), (2, 2, "step")]
    assert paths.least == pytest.approx(path.WRONG)


def test_a_stop_to_think_is_no_jump() -> None:
    paths = followed(SCALE, heard((0.0, 60), (0.5, 61), (9.0, 62), (9.5, 63)))

    assert [step.onset for step in paths.trace()] == [0, 1, 2, 3]
    assert paths.least < path.TIME


def test_a_measure_begun_again_is_a_jump() -> None:
    again = [60, 61, 62, 63, 64, 65, 60, 61, 62, 63, 64, 65, 66, 67]
    steps = told(followed(SCALE, heard(*((k * 0.5, pitch) for k, pitch in enumerate(again)))))

    assert [how for _, _, how in steps].count("jump") == 1
    assert [onset for _, onset, _ in steps] == [pitch - 60 for pitch in again]


def test_which_of_equal_notes_was_missed_is_told_by_time() -> None:
    onsets = [Onset(float(k), (60,)) for k in range(5)] + [Onset(5.0, (62,))]
    steps = followed(onsets, heard((0.0, 60), (0.5, 60), (1.5, 60), (2.0, 60), (2.5, 62))).trace()

    assert [step.onset for step in steps] == [0, 1, 3, 4, 5]


def test_the_notes_of_a_chord_come_in_any_order() -> None:
    onsets = [Onset(0.0, (55,)), Onset(1.0, (60, 67)), Onset(2.0, (59,))]
    steps = told(followed(onsets, heard((0.0, 55), (0.5, 67), (0.54, 60), (1.0, 59))))

    assert steps == [(0, 0, "start"), (1, 1, "step"), (2, 1, "stay"), (3, 2, "step")]


def test_only_the_notes_that_are_kept_can_be_traced() -> None:
    paths = Paths(SCALE, keep=3)
    for note in heard(*((k * 0.5, 60 + k) for k in range(6))):
        paths.step(note, 0.5)

    assert paths.head() == (5, 5)
    assert paths.before(5, 5) == ("step", (4, 4))
    with pytest.raises(IndexError, match="note 2 is no longer kept"):
        paths.before(2, 2)
