from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import InputError
from coach.sheets.notation import Piece, Tuplet, beams, pieces
from coach.tunes.tune import Meter

FOUR, CUT, THREE, TWO, SIX, NINE = Meter(4, 4), Meter(2, 2), Meter(3, 4), Meter(2, 4), Meter(6, 8), Meter(9, 8)


def spelt_out(written) -> str:
    """``4 8. r2``: note values with dots, ``~`` before one that is tied on, ``r`` before a rest."""
    words = []
    for item in written:
        if isinstance(item, Tuplet):
            words.append(f"{item.num}:{item.numbase}({spelt_out(item.pieces)})")
        else:
            sign = "r" if item.what is None else "" if item.first else "~"
            words.append(f"{sign}{item.dur}{'.' * item.dots}")
    return " ".join(words)


def read(text: str) -> list[tuple[Fraction, Fraction, str]]:
    return [(Fraction(at), Fraction(length), "x") for at, length in (word.split("+") for word in text.split())]


# Worked by hand after common practice, no source.
CASES = [
    (FOUR, "0+4", "1"),
    (FOUR, "0+3 3+1", "2. 4"),
    (FOUR, "0+3/2 3/2+1/2 2+2", "4. 8 2"),
    (FOUR, "1+2", "r4 2 r4"),
    (FOUR, "1+3", "r4 2."),
    (FOUR, "3/2+1 5/2+3/2", "r4 r8 8 ~8 4."),
    (FOUR, "1/2+1 3/2+1/2 2+1", "r8 4 8 4 r4"),
    (FOUR, "0+5/2", "2 ~8 r8 r4"),
    (FOUR, "3/4+1/2", "r8 r16 16 ~16 r16 r8 r2"),
    (FOUR, "0+1", "4 r4 r2"),
    (CUT, "0+2 2+1", "2 4 r4"),
    (THREE, "0+3", "2."),
    (THREE, "1/2+1 3/2+3/2", "r8 4 4."),
    (TWO, "0+1/2 1/2+1 3/2+1/2", "8 4 8"),
    (SIX, "0+3", "2."),
    (SIX, "0+1 1+1/2 3/2+3/2", "4 8 4."),
    (SIX, "1+1 2+1", "r4 8 ~8 4"),
    (NINE, "0+9/2", "2. ~4."),
    (FOUR, "0+1/3 1/3+1/3 2/3+1/3 1+3", "3:2(8 8 8) 2."),
    (FOUR, "0+2/3 2/3+1/3 1+1", "3:2(4 8) 4 r2"),
    (FOUR, "0+4/3 4/3+4/3 8/3+4/3", "3:2(2 2 2)"),
    (TWO, "0+1/5 1/5+4/5 1+1", "5:4(16 4) 4"),
]


@pytest.mark.parametrize(("meter", "events", "expected"), CASES)
def test_lengths_are_written_as_a_musician_would(meter: Meter, events: str, expected: str) -> None:
    assert spelt_out(pieces(read(events), meter, meter.length)) == expected


def test_a_pickup_is_written_as_the_end_of_a_full_measure() -> None:
    # Five sixteenths before the barline: the first of them is the last of its beat.
    events, length = read("0+1/2 1/2+3/4"), Fraction(5, 4)

    assert spelt_out(pieces(events, FOUR, length, pickup=True)) == "16 ~16 8."
    assert spelt_out(pieces(events, FOUR, length)) == "8 8."


def test_notes_of_a_tablature_hide_any_beat_but_rests_do_not() -> None:
    assert spelt_out(pieces(read("3/2+3/2"), FOUR, FOUR.length, across=True)) == "r4 r8 4. r4"
    assert spelt_out(pieces(read("0+5/2"), FOUR, FOUR.length, across=True)) == "2 ~8 r8 r4"


def test_a_length_that_no_note_has_is_refused_in_a_sentence() -> None:
    with pytest.raises(InputError, match="cannot be written"):
        pieces(read("0+1/1024"), FOUR, FOUR.length)


@given(
    st.lists(st.tuples(st.integers(1, 12), st.booleans()), min_size=1, max_size=8), st.sampled_from([FOUR, THREE, SIX])
)
def test_written_values_fill_the_measure_and_keep_each_note_whole(lengths, meter) -> None:
    events, now = [], Fraction(0)
    for index, (quarters, sounds) in enumerate(lengths):
        length = min(Fraction(quarters, 4), meter.length - now)
        if length > 0 and sounds:
            events.append((now, length, index))
        now += max(length, Fraction(0))
    written = pieces(events, meter, meter.length)

    assert sum(item.length for item in written) == meter.length
    assert all(item.length == Fraction(4, item.dur) * (Fraction(3, 2) if item.dots else 1) for item in written)
    for at, length, index in events:
        own = [item for item in written if item.what == index]
        assert (own[0].at, sum(item.length for item in own)) == (at, length)
        assert [item.first for item in own] == [True] + [False] * (len(own) - 1)
        assert [item.last for item in own] == [False] * (len(own) - 1) + [True]


def grouped(events: str, meter: Meter, window: str, offset: str = "0") -> list[int]:
    length = meter.length - Fraction(offset)
    written = pieces(read(events), meter, length, pickup=offset != "0")
    return [len(group) for group in beams(written, Fraction(window), Fraction(offset)) if isinstance(group, list)]


def test_beams_keep_to_their_window_and_stop_at_longer_notes_and_rests() -> None:
    eighths = " ".join(f"{k}/2+1/2" for k in range(8))

    assert grouped(eighths, FOUR, "2") == [4, 4]
    assert grouped(eighths, FOUR, "1") == [2, 2, 2, 2]
    assert grouped("0+1/2 1/2+1/2 1+1 2+1/2 3+1/2 7/2+1/2", FOUR, "2") == [2, 1, 1, 1, 2]


def test_beams_of_a_pickup_count_from_the_barline() -> None:
    assert grouped("0+1/2 1/2+1/2 1+1/2", FOUR, "1", offset="5/2") == [1, 2]


def test_a_tuplet_is_a_group_of_its_own() -> None:
    written = pieces(read("0+1/3 1/3+1/3 2/3+1/3 1+1/2 3/2+1/2"), TWO, TWO.length)
    groups = beams(written, Fraction(2))

    assert isinstance(groups[0], Tuplet)
    assert [isinstance(item, Piece) for item in groups[1]] == [True, True]
