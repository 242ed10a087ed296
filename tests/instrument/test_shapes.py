"""Chord shapes against the pitch classes of ``music21.harmony.ChordSymbol`` (music21's chord tables)."""

import pytest
from music21 import harmony

from coach.instrument.shapes import OPEN_G_SHAPES, closed_shape, shape, shapes
from coach.instrument.tuning import DOUBLE_C, OPEN_D, OPEN_G, TUNINGS

NAMES = ("C", "C#", "D", "E-", "E", "F", "F#", "G", "A-", "A", "B-", "B")
LONG = (4, 3, 2, 1)


def outside(root_pc, quality):
    return {pitch.pitchClass for pitch in harmony.ChordSymbol(NAMES[root_pc] + quality).pitches}


def sounding(frets, tuning=OPEN_G):
    return {
        (tuning.open_pitch(string) + fret) % 12 for string, fret in zip(LONG, frets, strict=True) if fret is not None
    }


@pytest.mark.parametrize(("root_pc", "quality", "frets"), OPEN_G_SHAPES)
def test_a_listed_shape_sounds_its_chord(root_pc, quality, frets):
    tones = outside(root_pc, quality)
    heard = sounding(frets)

    assert heard <= tones
    # Players leave one tone out of a seventh chord: D7 its third, B7 its fifth, A7 its root. A triad is whole.
    assert len(tones - heard) <= (1 if quality == "7" else 0)
    assert root_pc in heard or (root_pc, quality) == (9, "7")


@pytest.mark.parametrize(("root_pc", "quality", "frets"), OPEN_G_SHAPES)
def test_a_listed_shape_lies_within_four_frets(root_pc, quality, frets):
    fretted = [fret for fret in frets if fret]

    assert not fretted or max(fretted) - min(fretted) <= 3


@pytest.mark.parametrize(
    ("root_pc", "quality", "frets"),
    # Common practice, no source.
    [(7, "", (0, 0, 0, 0)), (0, "", (2, 0, 1, 2)), (2, "7", (0, 2, 1, 0)), (4, "m", (2, 0, 0, 2))],
)
def test_the_usual_shape_comes_first(root_pc, quality, frets):
    assert shape(root_pc, outside(root_pc, quality)).frets == frets


def test_d7_has_a_second_shape_with_its_third():
    assert [each.frets for each in shapes(2, outside(2, "7"))] == [(0, 2, 1, 0), (0, 2, 1, 4)]


@pytest.mark.parametrize("name", sorted(TUNINGS))
@pytest.mark.parametrize("quality", ["", "m", "7", "m7", "dim", "sus4"])
@pytest.mark.parametrize("root_pc", range(12))
def test_any_chord_in_any_tuning_gets_its_own_tones_within_reach(name, quality, root_pc):
    tones = outside(root_pc, quality)
    for each in (*shapes(root_pc, tones, TUNINGS[name]), closed_shape(root_pc, tones, TUNINGS[name])):
        fretted = [fret for fret in each.frets if fret]

        assert sounding(each.frets, TUNINGS[name]) <= tones
        assert each.frets.count(None) <= 1
        assert not fretted or max(fretted) - min(fretted) <= 3


@pytest.mark.parametrize("root_pc", range(12))
@pytest.mark.parametrize("quality", ["", "m"])
def test_closed_triads_are_whole_and_have_no_open_string(root_pc, quality):
    tones = outside(root_pc, quality)
    each = closed_shape(root_pc, tones)

    assert all(fret for fret in each.frets)
    assert sounding(each.frets) == tones


@pytest.mark.parametrize(
    ("root_pc", "quality", "near", "frets"),
    # The F form, the D form and the barre: common practice, no source.
    [(5, "", 1, (3, 2, 1, 3)), (2, "", 2, (4, 2, 3, 4)), (9, "", 2, (2, 2, 2, 2)), (7, "m", 4, (5, 3, 3, 5))],
)
def test_closed_shapes_are_those_that_move_along_the_neck(root_pc, quality, near, frets):
    assert closed_shape(root_pc, outside(root_pc, quality), near=near).frets == frets


def test_a_closed_shape_moves_with_the_chord():
    low = closed_shape(5, outside(5, ""), near=1).frets
    high = closed_shape(7, outside(7, ""), near=3).frets

    assert tuple(fret + 2 for fret in low) == high


@pytest.mark.parametrize(("tuning", "root_pc", "frets"), [(DOUBLE_C, 0, (0, 0, 0, 2)), (OPEN_D, 2, (0, 0, 0, 0))])
def test_the_home_chord_of_another_tuning_lies_open(tuning, root_pc, frets):
    assert shape(root_pc, outside(root_pc, ""), tuning).frets == frets


def test_a_string_is_looked_up_by_its_number():
    each = shape(0, {0, 4, 7})

    assert [each.fret(string) for string in (4, 3, 2, 1)] == [2, 0, 1, 2]
