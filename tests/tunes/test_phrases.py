"""Where phrases begin in tunes whose lines do not tell."""

from fractions import Fraction
from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from coach.tunes import phrases
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


def test_a_rest_ends_a_phrase() -> None:
    full, short = measure(1, 1, 1, 1), measure(1, 1, 1, -1)
    assert starts(full, short, full, short) == [(0, 0), (2, 0)]
    assert starts(full, full, full, measure(1, 1, 1, 1)) == [(0, 0), (2, 0)]


def test_a_long_note_ends_a_phrase_and_no_phrase_ends_on_its_first_notes() -> None:
    assert starts(measure(1, 1, 1, 1), measure(1, 1, 2), measure(1, 1, 1, 1), measure(1, 1, 2)) == [(0, 0), (2, 0)]
    assert starts(measure(2, 1, 1), measure(1, 1, 1, 1)) == [(0, 0)]


def test_phrases_begin_where_the_first_began_in_the_measure() -> None:
    up, even, last = measure(1, number=0), measure(1, 1, 1, 1), measure(3)
    assert starts(up, even, measure(1, 1, 1, 1), even, last) == [(0, 0), (2, 3)]


def test_punctuation_ends_a_phrase_and_a_word_is_not_broken() -> None:
    four = measure(1, 1, 1, 1)
    assert starts(four, measure(1, 1, 1, 1, words="a b c d,"), four, four, four) == [(0, 0), (2, 0)]
    assert starts(four, four, measure(1, 1, 2, words="a b c-"), measure(1, 1, 1, 1, words="d e f g")) != [
        (0, 0),
        (3, 0),
    ]


def test_a_break_within_a_word_costs_more() -> None:
    whole, split = (phrases._onsets([measure(1, 1, words=words)])[1].price for words in ("a b", "a- b"))
    assert split - whole == phrases.WITHIN_WORD


def test_a_passage_that_returns_speaks_for_a_phrase() -> None:
    def tune(*rows: list[int]) -> list[Measure]:
        return [
            Measure(1, Meter(4, 4), Fraction(4), tuple(Note(Fraction(at), Fraction(1), p) for at, p in enumerate(row)))
            for row in rows
        ]

    a, b, c, d, e = [60, 62, 64, 65], [67, 65, 64, 62], [71, 72, 74, 71], [62, 67, 60, 69], [69, 60, 67, 61]
    first = [onset.price for onset in phrases._onsets(tune(a, b, c, a, d, e))][::4]
    assert first[1] - first[3] == phrases.RETURN
    assert first[2] == first[1] == first[4]


def test_no_row_of_phrases_costs_less_than_the_one_found() -> None:
    tune = [measure(1, 0.5, 0.5, 2), measure(1, -1, 1, 1), measure(2, 1, 1)]
    onsets = phrases._onsets(tune)

    def price(begins: tuple[int, ...]) -> int:
        bounds = [0, *begins, len(onsets)]
        lengths = sum(phrases._LENGTHS[stop - begin] for begin, stop in pairwise(bounds))
        return lengths + sum(
            onsets[stop].price + phrases.OTHER_PLACE * (onsets[stop].place != onsets[begin].place)
            for begin, stop in pairwise(bounds[:-1])
        )

    every = [row for count in range(len(onsets)) for row in combinations(range(1, len(onsets)), count)]
    found = phrases._part(onsets)
    assert found[0] == 0
    assert price(tuple(found[1:])) == min(map(price, every))


def test_double_bars_and_repeat_signs_end_phrases_of_any_length() -> None:
    assert starts(measure(1, double_bar=True), measure(1), measure(1, repeat_start=True)) == [(0, 0), (1, 0), (2, 0)]
    assert starts(measure(1, repeat_end=2), measure(1)) == [(0, 0), (1, 0)]


def test_a_sign_over_a_measure_of_rest_is_not_lost() -> None:
    assert starts(measure(4), measure(-4, double_bar=True), measure(4)) == [(0, 0), (2, 0)]


@given(st.lists(st.lists(st.sampled_from([1, 2, -1]), min_size=1, max_size=4), min_size=1, max_size=6))
def test_marking_changes_nothing_else(rows: list[list[int]]) -> None:
    measures = [measure(*row) for row in rows]
    for before, after in zip(measures, mark_phrases(measures), strict=True):
        assert [(n.at, n.length, n.pitch) for n in before.notes] == [(n.at, n.length, n.pitch) for n in after.notes]
        assert (before.number, before.meter, before.length) == (after.number, after.meter, after.length)
