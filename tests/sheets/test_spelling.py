import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.sheets.spelling import Accidentals, Spelt, spelt

NATURALS = {"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 11}
SEMITONES = {"ff": -2, "f": -1, "n": 0, "s": 1, "x": 2}

# Order of sharps and flats in a key signature: common knowledge, F C G D A E B and back.
SIGNATURES = {0: "", 1: "f", 2: "fc", 3: "fcg", 4: "fcgd", -1: "b", -2: "be", -3: "bea", -4: "bead"}


@given(st.integers(36, 96), st.integers(-6, 6))
def test_a_spelt_pitch_sounds_as_it_should(pitch: int, fifths: int) -> None:
    note = spelt(pitch, fifths)

    # Middle C is octave 4 and MIDI note 60.
    assert 12 * (note.octave + 1) + NATURALS[note.letter] + SEMITONES[note.sign] == pitch


@pytest.mark.parametrize(
    ("pitch", "fifths", "expected"),
    [
        (59, 1, Spelt("b", 3, "n")),
        (54, 1, Spelt("f", 3, "s")),
        (58, 1, Spelt("b", 3, "f")),  # the blue third of G
        (53, 1, Spelt("f", 3, "n")),  # its lowered seventh
        (61, 1, Spelt("c", 4, "s")),  # the raised fourth
        (56, 0, Spelt("g", 3, "s")),  # the leading note of A minor
        (60, -6, Spelt("c", 4, "n")),
        (59, -6, Spelt("c", 4, "f")),  # C flat belongs to the octave of its letter
        (60, 6, Spelt("b", 3, "s")),
    ],
)
def test_notes_outside_the_key_are_spelt_as_players_name_them(pitch: int, fifths: int, expected: Spelt) -> None:
    assert spelt(pitch, fifths) == expected


@pytest.mark.parametrize("fifths", SIGNATURES)
def test_notes_of_the_key_need_no_sign(fifths: int) -> None:
    sign = "s" if fifths > 0 else "f"
    for letter in "abcdefg":
        note = Spelt(letter, 4, sign if letter in SIGNATURES[fifths] else "n")
        assert Accidentals(fifths).printed(note) is None


def test_a_sign_holds_for_its_line_to_the_end_of_the_measure() -> None:
    signs = Accidentals(1)

    assert signs.printed(Spelt("f", 4, "n")) == "n"
    assert signs.printed(Spelt("f", 4, "n")) is None
    assert signs.printed(Spelt("f", 5, "s")) is None
    assert signs.printed(Spelt("f", 4, "s")) == "s"
