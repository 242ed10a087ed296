import pytest

from coach.tunes.chords import read_chord
from coach.tunes.keys import pitch_class, spell_near

# Common practice, no source: chords that songs borrow, as song books name them.
NAMES = [
    (1, "F"),
    (1, "Bb"),
    (1, "Eb"),
    (1, "C#"),
    (0, "Bb"),
    (0, "Ab"),
    (0, "F#"),
    (2, "C"),
    (2, "F"),
    (2, "Bb"),
    (2, "G#"),
    (3, "C#"),
    (-1, "Eb"),
    (-1, "Db"),
    (-1, "B"),
]


@pytest.mark.parametrize(("fifths", "name"), NAMES)
def test_a_root_is_named_as_lies_near_the_key(fifths: int, name: str) -> None:
    assert spell_near(pitch_class(name), fifths) == name


@pytest.mark.parametrize("fifths", range(-6, 7))
def test_the_name_is_of_the_pitch_class(fifths: int) -> None:
    assert [pitch_class(spell_near(pc, fifths)) for pc in range(12)] == list(range(12))


def test_a_chord_that_is_not_moved_keeps_its_name() -> None:
    assert read_chord("Bb/F").transposed(0, 1).symbol == "Bb/F"
    assert read_chord("F#m7").transposed(0, 1).symbol == "F#m7"
