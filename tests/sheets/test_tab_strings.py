"""Strings of a tablature: tuning, capo, places, and what the pitches besides tell."""

from __future__ import annotations

from fractions import Fraction

import pytest

from coach.errors import TuneError
from coach.instrument.tuning import DOUBLE_C, OPEN_G
from coach.sheets.staff_reading import Bar, Staff, StaffNote
from coach.sheets.tab_strings import TabStrings
from coach.tunes.tune import Meter

BARS = [Bar("7", Meter(4, 4), Fraction(4))]
NONE: frozenset[str] = frozenset()


def note(string: int | None, fret: int | None, pitch: int | None = None, at: int = 0) -> StaffNote:
    return StaffNote(Fraction(at), Fraction(1), pitch, string, fret, "", "", NONE, NONE, False, None, True, False)


def strings(*notes: StaffNote, **told: object) -> TabStrings:
    staff = Staff(0, 1, notes=[list(notes)], tab=True, lines=5, **told)  # type: ignore[arg-type]
    return TabStrings(staff, BARS, "lick")


def lines(pitches: tuple[int, ...]) -> dict[int, int]:
    return {6 - string: pitch for string, pitch in enumerate(pitches, 1)}


@pytest.mark.parametrize("octaves", [-1, 0, 1, 2])
def test_a_tuning_that_is_known_has_its_name_in_any_octave_above(octaves: int) -> None:
    told = lines(tuple(pitch + 12 * octaves for pitch in DOUBLE_C.strings))
    found = strings(note(3, 0), tuning=told)
    assert (found.tuning == DOUBLE_C) == (octaves >= 0)
    assert bool(found.remarks) == (octaves > 0)


@pytest.mark.parametrize(
    ("capo", "transpose", "pitch", "shape"),
    [
        (0, 0, 57, 0),  # as it sounds
        (0, 0, 69, 0),  # an octave above
        (2, 2, 57, 0),  # in the shape, with its transposition
        (2, 0, 57, 0),  # in the shape, without a word
        (2, 0, 59, -2),  # as it sounds
        (0, 0, 58, 0),  # wrong: strings and frets are followed
    ],
)
def test_whether_key_and_chords_are_those_of_the_shape(capo: int, transpose: int, pitch: int, shape: int) -> None:
    found = strings(note(3, 2, pitch), capo=capo, transpose=transpose, tuning=lines(OPEN_G.strings))
    assert found.to_shape == shape
    assert any("do not fit" in remark for remark in found.remarks) == (pitch == 58)


@pytest.mark.parametrize(("capo", "pitch", "fret"), [(0, 69, 7), (5, 69, 7), (5, 74, 7), (0, 74, 12), (0, None, 7)])
def test_frets_of_the_fifth_string_are_counted_from_the_neck_s_nut(capo: int, pitch: int | None, fret: int) -> None:
    """Fret 7 of the neck sounds A over the open G; counted from its own nut it would sound D."""
    other = [] if pitch is None else [note(3, 0, 55 + (capo if pitch == 74 and capo else 0), at=1)]
    found = strings(note(5, 7, pitch), *other, capo=capo, tuning=lines(OPEN_G.strings))
    assert found.fretted[0][0].fret == fret


@pytest.mark.parametrize(
    ("notes", "sentence"),
    [
        ([note(None, 2)], "has no string"),
        ([note(2, None)], "has no fret"),
        ([note(0, 2)], "on string 0"),
        ([note(2, 23)], "string 2 has no fret 23"),
        ([note(5, 3, 65)], "string 5 has no fret 3"),
        ([note(2, 1), note(2, 3)], "two frets at once"),
    ],
)
def test_a_note_without_a_place_is_named_by_its_measure(notes: list[StaffNote], sentence: str) -> None:
    with pytest.raises(TuneError) as caught:
        strings(*notes)
    assert str(caught.value).startswith("lick, measure 7: ")
    assert sentence in str(caught.value)


def test_the_same_place_twice_is_one_note() -> None:
    assert [(each.string, each.fret) for each in strings(note(2, 1), note(2, 1)).fretted[0]] == [(2, 1)]
