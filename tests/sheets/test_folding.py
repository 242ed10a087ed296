"""Paper order: what a reader of the paper plays is what the solo plays."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from demo_solos import demo_solos
from hypothesis import given
from hypothesis import strategies as st

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.sheets.folding import PaperMeasure, folded, played_order, written_out
from coach.tunes.demo import DEMO_TUNES
from coach.tunes.tune import Meter

COMMON = Meter(4, 4)


def signs(paper: tuple[PaperMeasure, ...]) -> str:
    """The paper as text: ``|: 1 2 [1 3 :| [2 6``."""
    words = []
    for each in paper:
        words += ["|:"] if each.repeat_start else []
        words += [f"[{each.ending}"] if each.ending else []
        words += [str(each.measure.number)]
        words += [":|"] if each.repeat_end else []
    return " ".join(words)


@pytest.fixture(scope="module")
def played(make):
    """``played("abac", sources)``: a solo whose measures with the same letter look alike; capitals are slurred into."""

    def solo(letters: str, sources: str | None = None, *, pickup: bool = False) -> Arrangement:
        measures = []
        for number, letter in enumerate(letters, 0 if pickup else 1):
            fret = ord(letter.lower()) - ord("a")
            rows = [("0", 3, fret, "T", "melody"), ("2", 1, 0, "M", "fill")]
            if letter.isupper():
                rows = [("0", 1, fret, None, "melody", "hammer-on", 0), ("2", 1, 0, "M", "fill")]
            measure = make.measure(number, COMMON, rows, [("0", "4", 55 + fret, f"word{number}", True)])
            source = ord(sources[len(measures)]) - ord("a") + 1 if sources else number
            measures.append(replace(measure, source_measure=source))
        if pickup:
            measures[0] = replace(measures[0], length=Fraction(4))
        return make.solo(measures)

    return solo


@pytest.mark.parametrize(
    ("letters", "sources", "expected"),
    [
        # The tune goes back by itself: any number of measures.
        ("abcabc", "abcabc", "|: 1 2 3 :|"),
        ("abcabd", "abcabd", "|: 1 2 [1 3 :| [2 6"),
        ("abcdabce", "abcdabce", "|: 1 2 3 [1 4 :| [2 8"),
        ("abcdeabcfg", "abcdeabcfg", "|: 1 2 3 [1 4 [1 5 :| [2 9 [2 10"),
        ("xabcabcyy", "xabcabcyz", "1 |: 2 3 4 :| 8 9"),
        ("abababab", "abababab", "|: 1 2 3 4 :|"),
        ("ababab", "ababab", "|: 1 2 :| 5 6"),
        # One measure is no passage; two that look alike but come from elsewhere are none either.
        ("aab", "aab", "1 2 3"),
        ("abab", "abcd", "1 2 3 4"),
        # Written out in full: groups of four from the first of four.
        ("abcdabcd", None, "|: 1 2 3 4 :|"),
        ("abcdefghabcdefgx", None, "|: 1 2 3 4 5 6 7 [1 8 :| [2 16"),
        ("xabcdabcd", None, "1 2 3 4 5 6 7 8 9"),
        # Where something differs in the middle the ending would be longer than the body.
        ("abcdaxcd", "abcdabcd", "1 2 3 4 5 6 7 8"),
        # A first time that ends the tune has no second ending.
        ("abcdabc", "abcdabc", "1 2 3 4 5 6 7"),
        # Slurs over the place of a sign keep it away: into the repeat, and into the first ending.
        ("AbcdAbcd", "abcdabcd", "1 2 3 4 5 6 7 8"),
        ("abcDabcx", "abcdabce", "|: 1 2 [1 3 [1 4 :| [2 7 [2 8"),
    ],
)
def test_repeats_are_folded_where_they_look_alike(played, letters: str, sources: str | None, expected: str) -> None:
    solo = played(letters, sources)
    paper = folded(solo)

    assert signs(paper) == expected
    assert list(played_order(paper)) == list(solo.measures)


def test_a_pickup_stays_outside(played) -> None:
    assert signs(folded(played("pabcabc", "aabcabc", pickup=True))) == "0 |: 1 2 3 :|"


def test_other_words_become_a_second_line_and_the_same_words_do_not(played) -> None:
    solo = played("abcabc", "abcabc")
    same = tuple(
        replace(each, melody=tuple(replace(note, lyric="la") for note in each.melody)) for each in solo.measures
    )

    assert [each.new_words for each in folded(solo)] == [True] * 3
    assert [each.new_words for each in folded(replace(solo, measures=same))] == [False] * 3
    assert folded(solo)[1].again == solo.measures[4]


def test_a_second_ending_has_its_words_in_the_second_line_where_there_is_one(played) -> None:
    solo = played("abcdabce", "abcdabce")
    same = tuple(
        replace(each, melody=tuple(replace(note, lyric="la") for note in each.melody)) for each in solo.measures
    )

    assert [each.lower_words for each in folded(solo)] == [False] * 4 + [True]
    assert [each.lower_words for each in folded(replace(solo, measures=same))] == [False] * 5


@pytest.mark.parametrize("change", ["fret", "left", "finger", "chord", "melody", "metre"])
def test_what_looks_otherwise_is_written_anew(played, make, change: str) -> None:
    solo = played("abcabc", "abcabc")
    fifth = solo.measures[4]
    first, *others = fifth.plucks
    changed: dict[str, ArrangedMeasure] = {
        "fret": replace(fifth, plucks=(replace(first, fret=7, pitch=62), *others)),
        "left": replace(fifth, plucks=(replace(first, left=3), *others)),
        "finger": replace(fifth, plucks=(replace(first, finger="I"), *others)),
        "chord": replace(fifth, chords=make.measure(5, COMMON, (), (), [("0", "C")]).chords),
        "melody": replace(fifth, melody=(replace(fifth.melody[0], pitch=60),)),
        "metre": replace(fifth, meter=Meter(2, 2)),
    }
    measures = tuple(changed[change] if each is fifth else each for each in solo.measures)

    assert signs(folded(replace(solo, measures=measures))) == "1 2 3 4 5 6"


def test_a_chord_that_still_sounds_the_first_time_only_keeps_a_repeat_away(played, make) -> None:
    solo = played("xabab", "xabab")
    chords = make.measure(1, COMMON, (), (), [("0", "C")]).chords
    ending = make.measure(1, COMMON, (), (), [("2", "G")]).chords
    measures = [replace(solo.measures[0], chords=chords), *solo.measures[1:]]
    assert signs(folded(replace(solo, measures=tuple(measures)))) == "1 |: 2 3 :|"

    for index in (2, 4):
        measures[index] = replace(measures[index], chords=ending)
    assert signs(folded(replace(solo, measures=tuple(measures)))) == "1 2 3 4 5"


def test_a_note_tied_into_the_second_time_keeps_a_repeat_away(played) -> None:
    solo = played("abab", "abab")
    measures = [
        replace(each, melody=(replace(each.melody[0], length=Fraction(5)),)) if each.number in {2, 4} else each
        for each in solo.measures
    ]

    assert signs(folded(replace(solo, measures=tuple(measures)))) == "1 2 3 4"


def test_solos_under_one_another_are_folded_where_all_of_them_look_alike(played) -> None:
    alike, otherwise = played("abcabc", "abcabc"), played("abcabx", "abcabc")

    assert signs(folded(alike, alike)) == "|: 1 2 3 :|"
    assert signs(folded(alike, otherwise)) == "|: 1 2 [1 3 :| [2 6"


@given(
    letters=st.text("ab", min_size=1, max_size=24).flatmap(
        lambda text: st.tuples(st.just(text), st.lists(st.integers(0, 3), min_size=len(text), max_size=len(text)))
    ),
    copies=st.integers(1, 4),
    pickup=st.booleans(),
    slurred=st.sets(st.integers(0, 95), max_size=4),
)
def test_paper_unfolds_to_what_is_played(
    played, letters: tuple[str, list[int]], copies: int, pickup: bool, slurred: set[int]
) -> None:
    text, jumps = letters
    written = "".join(letter.upper() if index in slurred else letter for index, letter in enumerate(text * copies))
    sources = "".join(chr(ord("a") + max(index - jump, 0) % 26) for index, jump in enumerate(jumps)) * copies
    solo = played(written, sources, pickup=pickup)
    paper = folded(solo)

    assert list(played_order(paper)) == list(solo.measures)
    assert len(paper) <= len(solo.measures)
    names = [each.measure.number for each in paper]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("name", DEMO_TUNES)
def test_demo_tunes_unfold_to_what_is_played(name: str) -> None:
    for solo in demo_solos(name).values():
        assert list(played_order(folded(solo))) == list(solo.measures)


def test_written_out_folds_nothing(played) -> None:
    solo = played("abcabc", "abcabc")

    assert [each.measure for each in written_out(solo)] == list(solo.measures)
    assert signs(written_out(solo)) == "1 2 3 4 5 6"
