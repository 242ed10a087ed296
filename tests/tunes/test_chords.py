"""Chord symbols."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import TuneError
from coach.tunes.chords import QUALITIES, Chord, nearest_chord, read_chord
from coach.tunes.keys import pitch_class

ROOTS = ("C", "C#", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B")
CHORDS = st.builds(Chord, st.sampled_from(ROOTS), st.sampled_from(sorted(QUALITIES)), st.sampled_from(("", "B", "F#")))

# How music21 writes a quality where that differs from ours; these it does not read by a symbol of their own.
IN_MUSIC21 = {"5": "power", "7#5": "7+"}


@pytest.mark.parametrize("quality", sorted(QUALITIES))
@pytest.mark.parametrize("root", ["C", "F#", "Bb", "G"])
def test_pitch_classes_are_those_of_music21(root: str, quality: str) -> None:
    # Source: music21.harmony.ChordSymbol (music21 10.5), by figure.
    from music21.harmony import ChordSymbol

    theirs = ChordSymbol(root.replace("b", "-") + IN_MUSIC21.get(quality, quality))
    assert {pitch.pitchClass for pitch in theirs.pitches} == set(Chord(root, quality).pitch_classes)


@pytest.mark.parametrize(
    ("written", "symbol"),
    [
        ("G", "G"),
        (" Am7 ", "Am7"),
        ("Amin7", "Am7"),
        ("A-7", "Am7"),
        ("Cmaj7", "Cmaj7"),
        ("CM7", "Cmaj7"),
        ("G(7)", "G7"),
        ("(D7)", "D7"),
        ("F#m", "F#m"),
        ("B♭", "Bb"),
        ("e", "E"),
        ("Gsus", "Gsus4"),
        ("Bo7", "Bdim7"),
        ("D/F#", "D/F#"),
        ("D/f+", "D/F#"),
        ("C/bb", "C/Bb"),
        ("A+", "Aaug"),
    ],
)
def test_symbols_are_read(written: str, symbol: str) -> None:
    assert read_chord(written).symbol == symbol


@pytest.mark.parametrize("written", ["", "H", "Gx", "G7b", "G//B", "7", "N.C.", "G/H"])
def test_what_is_no_chord_is_refused(written: str) -> None:
    with pytest.raises(TuneError, match=r"^here: .* is no chord name that is known; write it like G, D7, Em or F#m7\."):
        read_chord(written, where="here")


@given(CHORDS)
def test_a_symbol_is_read_back_as_the_chord(chord: Chord) -> None:
    assert read_chord(chord.symbol) == chord


@given(CHORDS, st.integers(-12, 12), st.integers(-6, 6))
def test_transposing_moves_every_tone(chord: Chord, semitones: int, fifths: int) -> None:
    moved = chord.transposed(semitones, fifths)
    assert moved.pitch_classes == {(pc + semitones) % 12 for pc in chord.pitch_classes}
    assert moved.quality == chord.quality


def test_the_bass_counts_as_a_tone() -> None:
    assert Chord("C", "", "Bb").pitch_classes == {0, 4, 7, 10}
    assert Chord("C", "", "G").pitch_classes == Chord("C").pitch_classes
    assert Chord("F#").root_pc == pitch_class("F#") == 6


@pytest.mark.parametrize(
    ("written", "symbol"),
    [
        ("Gsus4/X", "Gsus4"),
        ("Gmaj13#", "Gmaj7"),
        ("G13", "G9"),
        ("G7b9", "G7"),
        ("Am11", "Am9"),
        ("Gd", "Gdim"),
        ("Fa7", "F7#5"),
        ("Bbxyz", "Bb"),
        ("Gdx", "G"),
        ("G7alt/B", "G7/B"),
        ("(C6/9)", "C6"),
        ("F♯m7b5b9", "F#m7b5"),
    ],
)
def test_the_nearest_chord_keeps_the_root_and_what_can_be_read_of_the_rest(written: str, symbol: str) -> None:
    found = nearest_chord(written)
    assert found is not None
    assert found.symbol == symbol


@pytest.mark.parametrize("written", ["Hmaj13#", "N.C.", "", "7", "xG", "(x)"])
def test_what_names_no_root_has_no_nearest_chord(written: str) -> None:
    assert nearest_chord(written) is None


@given(st.text(max_size=8))
def test_any_text_is_a_known_chord_or_none(text: str) -> None:
    chord = nearest_chord(text)
    assert chord is None or read_chord(chord.symbol) == chord
