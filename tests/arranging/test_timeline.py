"""Positions, chords and beats of a finished solo."""

from fractions import Fraction

import pytest

from coach.arranging.timeline import Timeline, two_beats

HALF = Fraction(1, 2)


def test_plucks_and_melody_stand_at_their_place_from_the_start(solo):
    timeline = Timeline(solo("T30* -", "T30* - - - T32* - - -", first=0))

    assert [each.when for each in timeline.soundings] == [0, 1, 3]
    assert [each.when for each in timeline.melody] == [0, 1, 3]
    assert all(each.carries and each.melodic and each.picked for each in timeline.soundings)


def test_moments_gather_what_is_picked_at_once_and_leave_slurs_out(solo):
    moments = list(Timeline(solo("T30*&M10+ I20 T30*,h32 -")).moments())

    assert [(each.when, len(each.soundings)) for each in moments] == [(0, 2), (HALF, 1), (1, 1)]
    assert moments[0].runs_into(moments[1])
    assert not moments[0].runs_into(moments[2])


def test_a_chord_sounds_until_the_next_one(solo):
    timeline = Timeline(solo("T30* - - -", "T30* - - -", chords=("G", "C")))

    assert [timeline.chord_at(Fraction(at)).symbol for at in (0, 1, 2, 3)] == ["G", "G", "C", "C"]
    assert timeline.chord_at(Fraction(-1)) is None


@pytest.mark.parametrize(
    ("meter", "slot", "scale", "quarters"),
    # Two beats: common practice, no source.
    [
        ((4, 4), HALF, 1, 2),
        ((3, 4), HALF, 1, 2),
        ((2, 2), HALF, 2, 2),
        ((6, 8), HALF, 1, 3),
        ((6, 4), Fraction(1), 2, 6),
        ((6, 4), HALF, 1, 2),
        ((3, 8), Fraction(1, 4), 1, 1),
    ],
)
def test_two_beats_count_slots_but_in_compound_metres(solo, meter, slot, scale, quarters):
    (measure,) = solo("T30* -", meter=meter, slot=slot).measures

    assert two_beats(measure, slot, scale) == quarters
