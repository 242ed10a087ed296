from __future__ import annotations

import random
from fractions import Fraction

import pytest
from free_player import Kind, performance
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.arrange import arrange
from coach.listening.alignment import align, note_pairs
from coach.listening.follower import Decided, Follower
from coach.listening.path import Onset, Sounded
from coach.tunes.demo import DEMO_TUNES, demo_tune

SCALE = tuple(Onset(float(k), (60 + k,), entry=k % 4 == 0) for k in range(12))


@pytest.fixture(scope="module")
def solos() -> list[tuple[Onset, ...]]:
    """The onsets of some demo solos."""
    made = []
    for name in sorted(DEMO_TUNES)[:2]:
        for tier in ("intermediate", "advanced"):
            start, onsets = Fraction(0), []
            for measure in arrange(demo_tune(name), tier).measures:
                ats = sorted({pluck.at for pluck in measure.plucks})
                onsets += [
                    Onset(float(start + at), tuple(p.pitch for p in measure.plucks if p.at == at), entry=at == ats[0])
                    for at in ats
                ]
                start += measure.length
            made.append(tuple(onsets))
    return made


def shares(solos: list[tuple[Onset, ...]], kind: Kind, takes: int = 2) -> tuple[float, float]:
    """The shares of right notes put to the onset they were meant for: when all is heard, and while following."""
    asked = aligned = decided = 0
    for k, onsets in enumerate(solos):
        for take in range(takes):
            true = performance(onsets, random.Random(1000 * k + take), kind)
            notes = [each.note for each in true]
            said = {step.note: step.onset for step in align(onsets, notes).steps}
            follower = Follower(onsets)
            for seq, note in enumerate(notes):
                follower.hear(note, seq)
            live = {event.note: event.onset for event in follower.finish() if isinstance(event, Decided)}
            for i, each in enumerate(true):
                if each.right:
                    asked += 1
                    aligned += said.get(i) == each.onset
                    decided += live[i] == each.onset
    return aligned / asked, decided / asked


MISTAKES = {"missed": 0.03, "extra": 0.03, "wrong": 0.02}


@pytest.mark.parametrize(
    ("kind", "least"),
    [
        (Kind(steady=True), 0.999),
        (Kind(), 0.99),
        (Kind(stops=0.02), 0.99),
        (Kind(**MISTAKES), 0.97),
        (Kind(stops=0.02, **MISTAKES), 0.97),
        (Kind(stops=0.02, again=0.15), 0.97),
        (Kind(stops=0.02, again=0.15, **MISTAKES), 0.97),
    ],
)
def test_a_player_of_any_tempo_is_followed(solos: list[tuple[Onset, ...]], kind: Kind, least: float) -> None:
    aligned, decided = shares(solos, kind)

    assert aligned >= least
    assert decided >= least - 0.02


def test_a_measure_played_again_parts_the_steps() -> None:
    pitches = [60, 61, 62, 63, 64, 65, 66, 67, 64, 65, 66, 67, 68, 69]
    aligned = align(SCALE, [Sounded(k * 0.4, pitch) for k, pitch in enumerate(pitches)])

    assert [(stretch.first, stretch.last) for stretch in aligned.stretches] == [(0, 7), (4, 9)]


def test_the_curve_of_tempo_follows_the_player() -> None:
    notes = [Sounded(k * 0.4, 60 + k) for k in range(6)] + [Sounded(2.0 + k * 1.0, 65 + k) for k in range(1, 7)]
    quarters = align(SCALE, notes).quarters

    assert quarters[:4] == pytest.approx([0.4] * 4)
    assert quarters[-4:] == pytest.approx([1.0] * 4)


def test_nothing_heard_and_nothing_written_align_with_nothing() -> None:
    assert align(SCALE, []).steps == ()
    assert align((), [Sounded(0.0, 60)]).steps == ()
    assert align((), [Sounded(0.0, 60)]).quarters == (0.75,)


def test_each_note_of_a_chord_is_paired_with_its_own() -> None:
    onsets = [Onset(0.0, (55,)), Onset(1.0, (60, 67)), Onset(2.0, (59,))]
    notes = [Sounded(0.0, 55), Sounded(0.5, 67), Sounded(0.53, 60), Sounded(1.0, 59)]

    assert note_pairs(onsets, notes, align(onsets, notes)) == [(0, 0, 0), (1, 1, 1), (2, 1, 0), (3, 2, 0)]


def test_a_wrong_note_is_no_pair() -> None:
    notes = [Sounded(0.0, 60), Sounded(0.5, 50), Sounded(1.0, 62)]

    assert note_pairs(SCALE, notes, align(SCALE, notes)) == [(0, 0, 0), (2, 2, 0)]


def test_a_note_of_a_hand_that_comes_behind_is_paired_after_the_next() -> None:
    onsets = [Onset(0.0, (72,)), Onset(0.25, (40, 74)), Onset(0.5, (76,)), Onset(0.75, (77,))]
    notes = [Sounded(0.0, 72), Sounded(0.12, 74), Sounded(0.24, 76), Sounded(0.25, 40), Sounded(0.36, 77)]

    assert note_pairs(onsets, notes, align(onsets, notes)) == [(0, 0, 0), (1, 1, 1), (2, 2, 0), (3, 1, 0), (4, 3, 0)]


@settings(max_examples=40)
@given(seed=st.integers(0, 10_000), shift=st.sampled_from([-64.0, 0.5, 1024.0]))
def test_when_the_player_begins_changes_nothing(seed: int, shift: float) -> None:
    true = performance(SCALE, random.Random(seed), Kind(0.1, 0.1, 0.1, 0.1, 0.2))
    # Whole 1024ths of a second, so that a shift leaves all gaps as they are.
    notes = [Sounded(round(each.note.seconds * 1024) / 1024, each.note.pitch) for each in true]
    moved = [Sounded(note.seconds + shift, note.pitch) for note in notes]

    assert align(SCALE, moved) == align(SCALE, notes)
