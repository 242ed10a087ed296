"""Kick-offs: common practice, no source; pitches by arithmetic."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.kickoffs import beats, lead_ins, step_of
from coach.instrument.hands import pinch_is_legal
from coach.instrument.tuning import DOUBLE_C, OPEN_G
from coach.tunes.chords import read_chord
from coach.tunes.keys import Key
from coach.tunes.tune import Meter

G, HALF = read_chord("G"), Fraction(1, 2)


def first_way(target, count=3, key="G", chord="G", tuning=OPEN_G):
    way = next(lead_ins(target, count, Key(key), read_chord(chord), tuning, Fraction(1)))
    return [(touch.string, touch.fret, touch.finger) for touch in way]


@pytest.mark.parametrize(
    ("target", "expected"),
    [
        (55, [(4, 0, "T"), (4, 2, "T"), (4, 4, "T")]),  # D E F# into the open third string
        (59, [(4, 4, "T"), (3, 0, "T"), (3, 2, "T")]),  # F# G A into B
        (50, [(3, 0, "T"), (4, 4, "T"), (4, 2, "T")]),  # nothing lies under the open fourth string: G F# E into D
    ],
)
def test_three_notes_walk_into_the_first_melody_note(target, expected):
    assert first_way(target) == expected


def test_the_walk_goes_by_the_scale_of_the_key_and_the_tones_of_the_chord():
    assert [fret for _, fret, _ in first_way(60, key="C", chord="C")] == [0, 2, 0]  # G A B
    # Over A7 in G the note under D is C sharp.
    way = next(lead_ins(62, 1, Key("G"), read_chord("A7"), OPEN_G, Fraction(1)))
    assert OPEN_G.open_pitch(way[0].string) + way[0].fret == 61


@given(st.integers(50, 72), st.integers(1, 3), st.sampled_from([OPEN_G, DOUBLE_C]))
def test_every_way_steps_towards_the_melody_and_is_played_as_melody(target, count, tuning):
    for way in lead_ins(target, count, Key("G"), G, tuning, HALF):
        pitches = [tuning.open_pitch(touch.string) + touch.fret for touch in way] + [target]
        steps = [after - before for before, after in pairwise(pitches)]
        assert len(way) == count
        assert all(1 <= step <= 2 for step in steps) or all(-2 <= step <= -1 for step in steps)
        assert [touch.at for touch in way] == [index * HALF for index in range(count)]
        assert {touch.role for touch in way} == {"melody"}


@pytest.mark.parametrize(
    ("meter", "step"), [((4, 4), 1), ((2, 2), 1), ((3, 4), 1), ((2, 4), HALF), ((6, 8), HALF), ((9, 8), HALF)]
)
def test_lead_in_notes_are_quarters_or_in_short_values_eighths(meter, step):
    assert step_of(Meter(*meter)) == step


@pytest.mark.parametrize(
    ("meter", "expected"),
    [
        ((4, 4), ["0 3", "1 3+1", "2 3", "3 3+1"]),
        ((2, 2), ["0 3", "1 3+1", "2 3", "3 3+1"]),
        ((3, 4), ["0 3", "1 3+1", "2 3+1"]),
        ((2, 4), ["0 3", "1 3+1"]),
        ((6, 8), ["0 3", "3/2 3+1"]),
        ((9, 8), ["0 3", "3/2 3+1", "3 3+1"]),
        ((12, 8), ["0 3", "3/2 3+1", "3 3", "9/2 3+1"]),
        ((3, 2), ["0 3", "1 3+1", "2 3", "3 3+1", "4 3", "5 3"]),
    ],
)
def test_beats_are_the_root_and_pinches_by_turns(meter, expected):
    touches = beats(Meter(*meter), Meter(*meter).length, G, OPEN_G, HALF)
    rows = {}
    for touch in touches:
        rows.setdefault(str(touch.at), []).append(touch)

    assert [f"{at} {'+'.join(str(touch.string) for touch in here)}" for at, here in rows.items()] == expected
    for here in rows.values():
        assert len(here) == 1 or pinch_is_legal({touch.string: touch.finger for touch in here})
        assert {touch.role for touch in here} == ({"melody"} if len(here) == 1 else {"pinch"})


def test_beats_leave_the_hand_free_before_a_pickup():
    assert {touch.at for touch in beats(Meter(4, 4), Fraction(7, 2), G, OPEN_G, HALF)} == {0, 1, 2}
    assert {touch.at for touch in beats(Meter(4, 4), Fraction(3), G, OPEN_G, HALF)} == {0, 1, 2}
    assert beats(Meter(4, 4), HALF, G, OPEN_G, HALF) == ()
