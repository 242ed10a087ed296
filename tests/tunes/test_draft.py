"""Filling measures."""

from fractions import Fraction

from coach.tunes.chords import Chord
from coach.tunes.draft import MeasureWriter, remarks_on
from coach.tunes.keys import Key
from coach.tunes.tune import Meter, Note


def note(length: int, pitch: int = 60, lyric: str | None = None) -> Note:
    return Note(Fraction(99), Fraction(length), pitch, lyric)


def test_notes_stand_one_behind_another() -> None:
    writer = MeasureWriter(Meter(4, 4))
    writer.add_note(note(1))
    writer.add_rest(Fraction(1))
    writer.add_note(note(2))
    writer.bar()
    assert [one.at for one in writer.measures[0].notes] == [0, 2]
    assert writer.measures[0].length == 4


def test_a_tie_reaches_back_over_measures_and_takes_the_first_word_there_is() -> None:
    writer = MeasureWriter(Meter(2, 4))
    writer.add_note(note(2))
    writer.bar()
    writer.add_note(note(2, lyric="now"), tied=True)
    writer.bar()
    writer.add_note(note(1), tied=True)
    writer.bar()
    assert [len(measure.notes) for measure in writer.measures] == [1, 0, 0]
    assert (writer.measures[0].notes[0].length, writer.measures[0].notes[0].lyric) == (5, "now")


def test_a_tie_over_a_rest_joins_nothing() -> None:
    writer = MeasureWriter(Meter(4, 4))
    writer.add_note(note(1))
    writer.add_rest(Fraction(1))
    writer.add_note(note(2), tied=True)
    writer.bar()
    assert [one.length for one in writer.measures[0].notes] == [1, 2]


def test_a_tie_with_nothing_before_it_joins_nothing() -> None:
    writer = MeasureWriter(Meter(4, 4))
    writer.add_note(note(4), tied=True)
    writer.bar()
    assert len(writer.measures[0].notes) == 1


def test_a_bar_behind_a_bar_only_adds_its_signs() -> None:
    writer = MeasureWriter(Meter(4, 4))
    writer.bar(ends=2)
    writer.add_note(note(4))
    writer.bar()
    writer.bar(ends=3, double=True)
    assert [(measure.repeat_end, measure.double_bar) for measure in writer.measures] == [(3, True)]


def test_of_two_chords_at_one_place_the_last_counts() -> None:
    writer = MeasureWriter(Meter(4, 4))
    writer.add_chord(Chord("C"))
    writer.add_chord(Chord("D"))
    writer.add_rest(Fraction(4))
    writer.bar()
    assert [change.chord.symbol for change in writer.measures[0].chords] == ["D"]


def test_a_change_of_key_is_kept_with_its_measure_but_not_with_the_first() -> None:
    writer = MeasureWriter(Meter(4, 4))
    for key in ("G", "D"):
        writer.change_key(Key(key))
        writer.add_rest(Fraction(4))
        writer.bar()
    assert [measure.key for measure in writer.measures] == [None, Key("D")]


def test_a_line_may_end_in_the_middle_of_a_measure() -> None:
    writer = MeasureWriter(Meter(4, 4))
    writer.end_line()
    writer.add_note(note(2))
    writer.end_line()
    writer.add_note(note(2))
    writer.bar()
    writer.add_note(note(4))
    writer.bar()
    assert [measure.line_end for measure in writer.measures] == [True, False]


def test_what_is_longer_than_the_metre_is_cut_where_a_line_ends() -> None:
    writer = MeasureWriter(Meter(4, 4))
    writer.start_repeat()
    writer.add_note(note(2))
    writer.end_line()
    writer.add_chord(Chord("G"))
    writer.add_note(note(1))
    writer.add_note(note(3))
    writer.bar(ends=2)
    first, second = writer.measures
    assert (first.length, first.repeat_start, first.repeat_end, first.line_end) == (2, True, 1, True)
    assert (second.length, second.repeat_start, second.repeat_end, second.line_end) == (4, False, 2, False)
    assert [one.at for one in second.notes] == [0, 1]
    assert [change.at for change in second.chords] == [0]


def test_remarks_stand_in_one_order() -> None:
    assert remarks_on(["voices", "graces"]) == remarks_on({"graces", "voices"})
    assert remarks_on([]) == ()
