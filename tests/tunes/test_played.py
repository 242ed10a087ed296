"""Tunes written out as they are played."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import TuneError
from coach.tunes.keys import Key
from coach.tunes.played import MOST_PLAYED, written_out
from coach.tunes.tune import Measure, Meter, Note, Tune

Read = Callable[..., Tune]


def names(tune: Tune) -> str:
    """The first note of each played measure as a letter, a rest as a dash."""
    return "".join(
        "CDEFGAB"[[0, 2, 4, 5, 7, 9, 11].index(played.measure.notes[0].pitch % 12)] if played.measure.notes else "-"
        for played in written_out(tune)
    )


@pytest.mark.parametrize(
    ("music", "order"),
    [
        ("C4|D4|E4|", "CDE"),
        ("|: C4|D4 :| E4 |", "CDCDE"),
        ("C4|D4 :| E4 |", "CDCDE"),
        ("C4|D4 :| E4|F4 :|", "CDCDEFEF"),
        ("C4 || D4 :| E4 |", "CDDE"),
        ("|: C4 || D4 :| E4 |", "CDCDE"),
        ("C4 |: D4 :: E4 :| F4 |", "CDDEEF"),
        ("|:: C4 ::| D4 |", "CCCD"),
        ("|: C4 |1 D4 :|2 E4 || F4 |", "CDCEF"),
        ("C4 |1 D4 :|2 E4 || F4 |", "CDCEF"),
        ("|: C4 |1 D4 :|2 E4 :|: F4 :|", "CDCEFF"),
        ("|: C4 |1 D4 :|2 E4 |: F4 :|", "CDCEFF"),
        ("|: C4 |1 D4 :|2 E4 || F4 :| G4 |", "CDCEFFG"),
        ("|: C4 |[1-2 D4 :|[3 E4 |]", "CDCDCE"),
        ("|: C4 |[1,3 D4 :|[2 E4 :| F4 |", "CDCECDF"),
        ("|: C4 |[1,3 D4 :|[2,4 E4 :| F4 |", "CDCECDCEF"),
        ("|: C4 |1 D4|E4 :|2 F4|G4 |]", "CDECFG"),
        ("|: C4 :| |: D4 |: E4 :|", "CCDEE"),
        ("|: C4 |1 D4 |2 E4 || F4 |", "CDCEF"),
        ("C4 |2 D4 || E4 |", "CDE"),
        ("|: C4 |1 D4 :| E4 |", "CDE"),
    ],
)
def test_order_of_playing(abc: Read, music: str, order: str) -> None:
    assert names(abc(music)) == order


def test_numbers_run_on_and_say_where_they_come_from(abc: Read) -> None:
    played = written_out(abc("|: C4|D4 :| E4 |"))
    assert [one.number for one in played] == [1, 2, 3, 4, 5]
    assert [one.measure.number for one in played] == [1, 2, 3, 4, 5]
    assert [one.source_measure for one in played] == [1, 2, 1, 2, 3]
    assert [one.same_as for one in played] == [None, None, 1, 2, None]


def test_signs_of_repeats_are_gone(abc: Read) -> None:
    for one in written_out(abc("|: C4 |1 D4 :|2 E4 |]")):
        assert (one.measure.repeat_start, one.measure.repeat_end, one.measure.endings) == (False, 1, ())


def test_short_measures_around_a_repeat_sign_are_joined(abc: Read) -> None:
    tune = abc("G | C D E F | G A B :| c | d c B A | G3 |]")
    played = written_out(tune)
    assert [one.number for one in played] == [0, 1, 2, 3, 4, 5, 6]
    assert [one.measure.length for one in played] == [1, 4, 4, 4, 4, 4, 3]
    # The third beat of the second measure is followed by the pickup, the second time by the next part's.
    assert [note.pitch for note in played[2].measure.notes] == [67, 69, 71, 67]
    assert [note.pitch for note in played[4].measure.notes] == [67, 69, 71, 72]
    assert [note.at for note in played[4].measure.notes] == [0, 1, 2, 3]
    assert [one.same_as for one in played] == [None, None, None, 1, None, None, None]
    assert played[2].source_measure == 2


def test_three_short_measures_are_joined_where_they_fill_one_together(abc: Read) -> None:
    played = written_out(abc("C D E F | G | A2 || B | c4 |"))
    assert [one.measure.length for one in played] == [4, 4, 4]
    assert [note.at for note in played[1].measure.notes] == [0, 1, 3]
    assert played[1].source_measure == 3


def test_short_measures_that_fill_none_stay_as_they_are(abc: Read) -> None:
    assert [one.measure.length for one in written_out(abc("C4 | D2 | E | F4 | G | A4 |"))] == [4, 2, 1, 4, 1, 4]


def test_a_pickup_takes_its_time_from_the_held_note_before_it(abc: Read) -> None:
    played = written_out(abc("G | C D E F | G4 :|"))
    assert [one.measure.length for one in played] == [1, 4, 4, 4, 4]
    joined = played[2].measure
    assert [(note.at, note.length, note.pitch) for note in joined.notes] == [(0, 3, 67), (3, 1, 67)]
    assert played[4].measure.notes[0].length == 4


def test_a_pickup_is_left_out_where_there_is_no_time_for_it(abc: Read) -> None:
    played = written_out(abc('G | "C"C D E F | "G"G A B c :|'))
    assert [one.number for one in played] == [0, 1, 2, 3, 4]
    assert [one.source_measure for one in played] == [0, 1, 2, 1, 2]
    assert [one.measure.length for one in played] == [1, 4, 4, 4, 4]


def test_a_short_second_ending_is_played_and_joined_with_the_pickup_of_the_next_part(abc: Read) -> None:
    played = written_out(abc("G |: C4 |1 D3 G :|2 E3 || A |: F4 :|"))

    assert [each.source_measure for each in played] == [0, 1, 2, 1, 3, 5, 5]
    assert [str(note.length) for note in played[4].measure.notes] == ["3", "1"]


def test_a_pickup_takes_its_time_from_a_note_tied_over_the_barline(abc: Read) -> None:
    played = written_out(abc("G | C D E2- | E4 :|"))
    assert played[1].measure.notes[-1].length == 5
    assert [(note.at, note.pitch) for note in played[2].measure.notes] == [(3, 67)]
    assert played[-2].measure.notes[-1].length == 6


def test_a_note_is_cut_at_a_jump_and_whole_where_none_is(abc: Read) -> None:
    played = written_out(abc("|: C4 | D4- :| D4 |]"))
    assert [note.length for one in played for note in one.measure.notes] == [4, 4, 4, 8]


def test_the_chord_that_holds_is_said_again_after_a_jump(abc: Read) -> None:
    played = written_out(abc('"C"C4 |: D4 | "G"E4 :| F4 |'))
    chords = [[change.chord.symbol for change in one.measure.chords] for one in played]
    assert chords == [["C"], [], ["G"], ["C"], ["G"], []]


def test_the_key_that_holds_is_said_again_after_a_jump(abc: Read) -> None:
    played = written_out(abc("|: C4 | [K:G] D4 :| E4 |"))
    assert [one.measure.key for one in played] == [None, Key("G"), Key("C"), Key("G"), None]


def test_too_many_measures_are_refused() -> None:
    measure = Measure(1, Meter(4, 4), Fraction(4), (Note(Fraction(0), Fraction(4), 60),), repeat_end=9)
    tune = Tune("T", "", Key("C"), tuple(replace(measure, number=number) for number in range(1, 113)))
    with pytest.raises(TuneError, match=f"more than {MOST_PLAYED} measures"):
        written_out(tune)
    assert len(written_out(replace(tune, measures=tune.measures[:111]))) == 999


NOTES = st.lists(st.integers(48, 72), min_size=0, max_size=4)


@st.composite
def tunes(draw: st.DrawFn, *, signs: bool) -> Tune:
    measures = []
    count = draw(st.integers(1, 8))
    for number in range(1, count + 1):
        pitches = draw(NOTES)
        notes = tuple(Note(Fraction(at), Fraction(1), pitch) for at, pitch in enumerate(pitches))
        measures.append(
            Measure(
                number,
                Meter(4, 4),
                Fraction(4),
                notes,
                repeat_start=signs and draw(st.booleans()),
                repeat_end=draw(st.sampled_from([1, 1, 2, 3])) if signs else 1,
                endings=draw(st.sampled_from([(), (), (1,), (2,), (1, 2)])) if signs else (),
                double_bar=signs and draw(st.booleans()),
            )
        )
    return Tune("T", "", Key("C"), tuple(measures))


@given(tunes(signs=False))
def test_a_tune_without_repeats_is_played_as_it_stands(tune: Tune) -> None:
    played = written_out(tune)
    assert tuple(one.measure for one in played) == tune.measures
    assert all(one.same_as is None and one.source_measure == one.number for one in played)


@given(tunes(signs=True))
def test_whatever_the_signs_every_played_measure_comes_from_one_on_paper(tune: Tune) -> None:
    played = written_out(tune)
    assert [one.number for one in played] == list(range(1, len(played) + 1))
    for one in played:
        paper = tune.measures[one.source_measure - 1]
        assert one.measure.notes == paper.notes
        assert one.measure.length == paper.length
        if one.same_as is not None:
            assert played[one.same_as - 1].source_measure == one.source_measure
            assert one.same_as < one.number


def words(tune: Tune) -> str:
    return " ".join(note.lyric or "-" for played in written_out(tune) for note in played.measure.notes)


@pytest.mark.parametrize(
    ("music", "sung"),
    [
        ("|: C2 D2 :|\nw: one two\nw: three four\n", "one two three four"),
        ("|: C2 D2 :|\nw: one two\n", "one two one two"),
        ("|: C2 D2 :|\nw: one two\nw: three *\n", "one two three -"),
        ("C2 D2 |\nw: one two\nw: three four\n", "one two"),
        ("|:: C2 D2 ::|\nw: one two\nw: three four\n", "one two three four one two"),
        ("|: C4 |1 D4 :|2 E4 |]\nw: one two end\nw: three\n", "one two three end"),
        ("|: C4 :||: D4 :|\nw: one two\nw: three four\n", "one three two four"),
    ],
)
def test_each_time_through_has_the_words_of_its_verse(abc: Read, music: str, sung: str) -> None:
    assert words(abc(music)) == sung
