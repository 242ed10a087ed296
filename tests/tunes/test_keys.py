"""Keys and note names."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.tunes.keys import MODES, Key, pitch_class, spell


@pytest.mark.parametrize(("name", "pc"), [("C", 0), ("B#", 0), ("F#", 6), ("Gb", 6), ("Bb", 10), ("Cb", 11), ("g", 7)])
def test_note_names_have_pitch_classes(name: str, pc: int) -> None:
    assert pitch_class(name) == pc


@pytest.mark.parametrize("name", ["", "H", "#", "Gx", "G-"])
def test_what_is_no_note_name_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="is no note name"):
        pitch_class(name)


@given(st.integers(-30, 30), st.integers(-6, 6))
def test_spelling_names_the_pitch_class_in_the_way_of_the_signature(pc: int, fifths: int) -> None:
    name = spell(pc, fifths)
    assert pitch_class(name) == pc % 12
    assert ("#" if fifths < 0 else "b") not in name


@pytest.mark.parametrize("tonic", ["C", "G", "D", "A", "E", "B", "F#", "F", "Bb", "Eb", "Ab", "Db"])
@pytest.mark.parametrize("mode", sorted(MODES))
def test_signatures_are_those_of_music21(tonic: str, mode: str) -> None:
    # Source: music21.key.Key (music21 10.5); signatures of more than six signs are the same pitches spelt anew.
    from music21.key import Key as Music21Key

    sharps = Music21Key(tonic.replace("b", "-"), mode).sharps
    fifths = Key(tonic, mode).fifths
    assert (fifths - sharps) % 12 == 0
    assert fifths == sharps or abs(sharps) >= 6


@pytest.mark.parametrize(
    ("mode", "minor"), [("major", False), ("mixolydian", False), ("dorian", True), ("minor", True)]
)
def test_modes_have_a_minor_or_a_major_home_chord(mode: str, minor: bool) -> None:
    assert Key("D", mode).minor is minor


def test_a_key_is_written_with_its_mode() -> None:
    assert str(Key("Bb", "dorian")) == "Bb dorian"
