"""Parts of a solo."""

from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.files import from_json, to_json
from coach.arranging.part import part_of
from coach.arranging.rules import broken_rules
from coach.errors import InputError

HELD = "T30* - - - - - - -"
SUNG = "T30* - I20* - T32* - T30* -"


def marked(solo, *places):
    """A solo whose melody notes begin a phrase at these places: (number of the measure, position)."""
    measures = tuple(
        replace(m, melody=tuple(replace(note, phrase_start=(m.number, note.at) in places) for note in m.melody))
        for m in solo.measures
    )
    return replace(solo, measures=measures)


def test_a_part_is_counted_from_one_and_says_where_it_comes_from(solo):
    part = part_of(solo(SUNG, HELD, SUNG, SUNG), 2, 3)

    assert [(m.number, m.source_measure) for m in part.measures] == [(1, 2), (2, 3)]
    assert [pluck.id for pluck in part.measures[1].plucks] == ["m2e1", "m2e2", "m2e3", "m2e4"]
    assert [note.pluck for note in part.measures[1].melody] == ["m2e1", "m2e2", "m2e3", "m2e4"]
    assert part.remarks == ("Measures 2 to 3 of the solo.",)
    assert broken_rules(part) == ()
    assert from_json(to_json(part), "part.json") == part


def test_all_of_a_solo_is_the_solo(solo):
    whole = solo(SUNG, HELD)

    assert part_of(whole, None, None) is whole
    assert part_of(whole, 1, 2) is whole


def test_a_repeat_points_to_the_first_time_that_is_left(solo):
    whole = solo(SUNG, HELD, SUNG, SUNG)
    measures = tuple(replace(m, same_as=1) if m.number in {3, 4} else m for m in whole.measures)

    assert [m.same_as for m in part_of(replace(whole, measures=measures), 2, 4).measures] == [None, None, 2]
    assert [m.same_as for m in part_of(replace(whole, measures=measures), 1, 3).measures] == [None, None, 1]


def test_a_chord_that_rings_into_the_part_is_named(solo):
    whole = solo(SUNG, HELD, SUNG, chords=("C", "G", "G"))
    bare = replace(whole, measures=(whole.measures[0], *(replace(m, chords=()) for m in whole.measures[1:])))

    assert [c.chord.symbol for c in part_of(bare, 2, 3).measures[0].chords] == ["C"]


def test_a_part_begins_with_the_pickup_of_its_phrase(solo):
    whole = marked(solo(SUNG, SUNG, HELD), (1, 0), (2, 3))
    part = part_of(whole, 3, 3)

    assert [(m.number, m.length, m.source_measure) for m in part.measures] == [(0, 1, 2), (1, 4, 3)]
    assert [(p.id, p.at, p.string) for p in part.measures[0].plucks] == [("m0e1", 0, 3)]
    assert part.measures[0].chords[0].at == 0
    assert part.remarks == ("Measure 3 of the solo, with the pickup of the phrase.",)
    assert broken_rules(part) == ()


def test_the_pickup_of_the_tune_comes_with_its_first_measure(solo):
    part = part_of(solo("T30* -", SUNG, HELD, first=0), 1, 1)

    assert [m.number for m in part.measures] == [0, 1]


@pytest.mark.parametrize("places", [((1, 0), (2, 1)), ((2, 3), (3, 0)), ()])
def test_what_begins_in_the_first_half_or_with_the_part_itself_is_no_pickup(solo, places):
    assert [m.number for m in part_of(marked(solo(SUNG, SUNG, HELD), *places), 3, 3).measures] == [1]


def test_a_pickup_of_what_does_not_follow_is_left_out(solo):
    part = part_of(marked(solo(HELD, SUNG, HELD), (1, 0), (2, 3)), 1, 2)
    last = part.measures[-1]

    assert last.length == 4
    assert [note.at for note in last.melody] == [0, 1, 2]
    assert [(pluck.at, pluck.length) for pluck in last.plucks] == [(0, 1), (1, 1), (2, 2)]


def test_no_note_of_the_tune_reaches_over_the_end(solo):
    whole = solo(HELD, HELD)
    long = replace(whole.measures[0].melody[0], length=Fraction(6))
    tied = replace(whole, measures=(replace(whole.measures[0], melody=(long,)), whole.measures[1]))

    assert part_of(tied, 1, 1).measures[0].melody[0].length == 4


def test_what_was_slurred_from_the_measure_before_is_picked(solo):
    whole = solo("I20* - - - - - - T30", "h32* - - - I20* - - -")
    part = part_of(whole, 2, 2)
    first = part.measures[0].plucks[0]

    assert (first.technique, first.finger, first.from_fret) == ("pick", "T", None)
    assert broken_rules(part) == ()


@pytest.mark.parametrize(("first", "last"), [(0, 2), (2, 4), (3, 2)])
def test_measures_that_are_not_there_are_told(solo, first, last):
    with pytest.raises(InputError, match=f"measures {first} to {last} are no part of the solo"):
        part_of(solo(SUNG, HELD, SUNG), first, last)


def test_a_part_in_which_nothing_is_played_is_told(solo):
    whole = solo(HELD, SUNG)
    silent = replace(whole, measures=(replace(whole.measures[0], plucks=(), melody=()), whole.measures[1]))

    with pytest.raises(InputError, match="nothing is played"):
        part_of(silent, 1, 1)
