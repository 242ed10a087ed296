"""Open strings against letter names, by equal temperament (General MIDI numbers middle C 60)."""

import pytest

from coach.instrument.tuning import OPEN_G, TUNINGS

LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "F#": 6, "G": 7, "A": 9, "B": 11}

# Strings 5 4 3 2 1 as names with octave: common practice, no source.
NAMES = {
    "open G": ("G4", "D3", "G3", "B3", "D4"),
    "double C": ("G4", "C3", "G3", "C4", "D4"),
    "drop C": ("G4", "C3", "G3", "B3", "D4"),
    "G modal": ("G4", "D3", "G3", "C4", "D4"),
    "open D": ("F#4", "D3", "F#3", "A3", "D4"),
}


@pytest.mark.parametrize("name", NAMES)
def test_open_strings_follow_from_their_letter_names(name):
    midi = tuple(12 * (int(each[-1]) + 1) + LETTERS[each[:-1]] for each in NAMES[name])

    assert tuple(TUNINGS[name].open_pitch(string) for string in (5, 4, 3, 2, 1)) == midi


def test_every_tuning_of_the_table_is_listed():
    assert set(TUNINGS) == set(NAMES)


def test_strings_are_kept_from_first_to_fifth():
    assert OPEN_G.strings == (62, 59, 55, 50, 67)
