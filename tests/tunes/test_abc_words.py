"""Words under notes: the rules of the ABC standard 2.1, section 5.1 (from memory), with its own kinds of examples."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.tunes.abc_words import align


@pytest.mark.parametrize(
    ("words", "bars", "syllables"),
    [
        ("one two", [0, 0], ["one", "two"]),
        ("syll-a-ble", [0, 0, 0], ["syll-", "a-", "ble"]),
        ("syll-a--ble", [0, 0, 0, 0], ["syll-", "a-", None, "ble"]),
        ("syll-a -ble", [0, 0, 0, 0], ["syll-", "a", None, "ble"]),
        ("time__ goes", [0, 0, 0, 0], ["time", None, None, "goes"]),
        ("a * b", [0, 0, 0], ["a", None, "b"]),
        ("of~the day", [0, 0], ["of the", "day"]),
        (r"two\-fold", [0], ["two-fold"]),
        ("gone", [0, 0, 0], ["gone", None, None]),
        ("too many words", [0, 0], ["too", "many"]),
        ("1. first verse", [0, 0], ["first", "verse"]),
        ("", [0], [None]),
    ],
)
def test_syllables_fall_on_notes(words: str, bars: list[int], syllables: list[str | None]) -> None:
    assert align(words, bars) == syllables


@pytest.mark.parametrize(
    ("words", "bars", "syllables"),
    [
        ("a | b", [0, 0, 1], ["a", None, "b"]),
        ("a b | c", [0, 0, 1], ["a", "b", "c"]),
        ("a b | | c", [0, 0, 1, 2], ["a", "b", None, "c"]),
        ("| a", [0, 0, 1], [None, None, "a"]),
        ("a | b | c", [0, 0, 1, 1, 2], ["a", None, "b", None, "c"]),
        ("a |", [0], ["a"]),
    ],
)
def test_a_bar_goes_on_to_the_next_measure_unless_this_one_is_full(
    words: str, bars: list[int], syllables: list[str | None]
) -> None:
    assert align(words, bars) == syllables


@given(st.text(alphabet="ab -_*~|\\1.", max_size=40), st.lists(st.integers(0, 2), max_size=12))
def test_there_is_one_entry_for_each_note_whatever_the_words(words: str, steps: list[int]) -> None:
    bars = [sum(steps[: index + 1]) for index in range(len(steps))]
    syllables = align(words, bars)
    assert len(syllables) == len(bars)
    assert all(syllable is None or syllable.strip() for syllable in syllables)
