"""Where phrases begin in tunes whose lines do not tell."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from coach.tunes.phrases import mark_phrases
from coach.tunes.tune import Measure, Meter, Note


def measure(*lengths: float, number: int = 1, words: str = "", **signs: object) -> Measure:
    """A measure of notes of these lengths in quarters; a negative length is a rest."""
    notes: list[Note] = []
    at = Fraction(0)
    syllables = iter(words.split())
    for length in map(Fraction, lengths):
        if length > 0:
            notes.append(Note(at, length, 60, next(syllables, None)))
        at += abs(length)
    return Measure(number, Meter(4, 4), at, tuple(notes), **signs)  # type: ignore[arg-type]


def starts(*measures: Measure) -> list[tuple[int, Fraction]]:
    marked = mark_phrases(measures)
    return [(place, note.at) for place, one in enumerate(marked) for note in one.notes if note.phrase_start]


def test_the_first_note_begins_a_phrase() -> None:
    assert starts(measure(-1, 1, 1, 1)) == [(0, 1)]


def test_a_rest_ends_a_phrase_of_a_measure_or_more() -> None:
    assert starts(measure(1, 1, 1, -1), measure(1, 1, 1, 1)) == [(0, 0), (1, 0)]
    assert starts(measure(1, -1, 1, 1), measure(1, 1, 1, 1)) == [(0, 0)]


def test_a_long_note_ends_a_phrase_of_two_measures_or_more() -> None:
    assert starts(measure(1, 1, 1, 1), measure(1, 1, 2), measure(1, 1, 2), measure(4)) == [(0, 0), (2, 0)]


def test_a_note_just_under_two_beats_ends_none() -> None:
    assert starts(measure(1, 1, 1, 1), measure(1, 1.25, 1.75), measure(1, 1, 2)) == [(0, 0)]


def test_a_note_shorter_than_another_of_its_phrase_ends_none() -> None:
    assert starts(measure(3, 1), measure(1, 1, 2), measure(1, 1, 1, 1)) == [(0, 0)]


def test_punctuation_ends_a_phrase() -> None:
    assert starts(measure(1, 1, 1, 1, words="a b c d,"), measure(1, 1, 1, 1)) == [(0, 0), (1, 0)]
    assert starts(measure(1, 1, 1, 1, words="a b c d"), measure(1, 1, 1, 1)) == [(0, 0)]


def test_double_bars_and_repeat_signs_end_phrases_of_any_length() -> None:
    assert starts(measure(1, double_bar=True), measure(1), measure(1, repeat_start=True)) == [(0, 0), (1, 0), (2, 0)]
    assert starts(measure(1, repeat_end=2), measure(1)) == [(0, 0), (1, 0)]


def test_a_sign_over_a_measure_of_rest_is_not_lost() -> None:
    assert starts(measure(4), measure(-4, double_bar=True), measure(4)) == [(0, 0), (2, 0)]


def test_a_long_note_is_two_dotted_beats_in_a_compound_metre() -> None:
    jig = Measure(1, Meter(6, 8), Fraction(3), tuple(Note(Fraction(at) / 2, Fraction(1, 2), 60) for at in range(6)))
    held = Measure(2, Meter(6, 8), Fraction(3), (Note(Fraction(0), Fraction(3), 60),))
    assert starts(jig, held, jig) == [(0, 0), (2, 0)]


@given(st.lists(st.lists(st.sampled_from([1, 2, -1]), min_size=1, max_size=4), min_size=1, max_size=6))
def test_marking_changes_nothing_else(rows: list[list[int]]) -> None:
    measures = [measure(*row) for row in rows]
    for before, after in zip(measures, mark_phrases(measures), strict=True):
        assert [(n.at, n.length, n.pitch) for n in before.notes] == [(n.at, n.length, n.pitch) for n in after.notes]
        assert (before.number, before.meter, before.length) == (after.number, after.meter, after.length)
