"""The accompaniment: common practice, no source; chord tones by ``music21.harmony.ChordSymbol``."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import harmony

from coach.arranging.accompaniment import HIGHEST_BASS, LOWEST_BASS, accompaniment
from coach.arranging.arrangement import ChordAt
from coach.tunes.chords import read_chord
from coach.tunes.keys import pitch_class
from coach.tunes.tune import Meter


def row(slots=8):
    return " ".join(["T30*"] + ["-"] * (slots - 1))


def told(backing):
    return [(each.part, str(each.at)) for each in backing]


def basses(backing):
    return [each.pitches[0] for each in backing if each.part == "bass"]


def test_bass_and_chop_take_turns_in_four_four(solo):
    assert told(accompaniment(solo(row()))) == [("bass", "0"), ("chop", "1"), ("bass", "2"), ("chop", "3")]


@pytest.mark.parametrize(
    ("meter", "slots", "expected"),
    [
        ((3, 4), 6, [("bass", "0"), ("chop", "1"), ("chop", "2")]),
        ((2, 4), 4, [("bass", "0"), ("chop", "1/2"), ("bass", "1"), ("chop", "3/2")]),
        ((2, 2), 8, [("bass", "0"), ("chop", "1"), ("bass", "2"), ("chop", "3")]),
        ((6, 8), 6, [("bass", "0"), ("chop", "1"), ("bass", "3/2"), ("chop", "5/2")]),
        ((6, 4), 12, [("bass", "0"), ("chop", "2"), ("bass", "3"), ("chop", "5")]),
        ((5, 4), 10, [("bass", "0"), ("chop", "1"), ("chop", "2"), ("chop", "3"), ("chop", "4")]),
    ],
)
def test_the_pattern_follows_the_metre(solo, meter, slots, expected):
    assert told(accompaniment(solo(row(slots), meter=meter))) == expected


@pytest.mark.parametrize(
    ("meter", "slots", "expected"),
    [
        ((4, 4), 8, [("bass", "0"), ("chop", "2")]),
        ((2, 2), 8, [("bass", "0"), ("chop", "2")]),
        ((2, 4), 4, [("bass", "0"), ("chop", "1")]),
        ((3, 4), 6, [("bass", "0"), ("chop", "2")]),
        ((6, 8), 6, [("bass", "0"), ("chop", "3/2")]),
        ((9, 8), 9, [("bass", "0"), ("chop", "3/2"), ("chop", "3")]),
        ((12, 8), 12, [("bass", "0"), ("chop", "3/2"), ("bass", "3"), ("chop", "9/2")]),
        ((5, 4), 10, [("bass", "0"), ("chop", "3")]),
        ((7, 8), 7, [("bass", "0"), ("chop", "1"), ("chop", "2")]),
    ],
)
def test_the_plain_style_has_half_as_many_strokes(solo, meter, slots, expected):
    assert told(accompaniment(solo(row(slots), meter=meter), style="plain")) == expected


def test_below_a_hundred_quarters_a_minute_the_plain_style_is_played(solo):
    arrangement = solo(row(), row(), chords=("G", "C"))

    assert accompaniment(arrangement, tempo=99.9) == accompaniment(arrangement, style="plain")
    assert accompaniment(arrangement, tempo=100) == accompaniment(arrangement, style="full") != ()
    assert accompaniment(arrangement, tempo=60, style="full") == accompaniment(arrangement)


def test_the_bass_goes_from_root_to_fifth_and_starts_anew_with_a_chord(solo):
    # G D, G C, C G: common practice, no source.
    chords = ("G", "C", "D7")

    assert basses(accompaniment(solo(row(), row(), row(), chords=chords), style="plain")) == [43, 36, 38]
    assert basses(accompaniment(solo(row(), row(), row(), chords=("G",)))) == [43, 38] * 3


def test_the_bass_walks_into_a_chord(solo):
    # One measure of G: its fifth, then the half step over C. Two measures of G: E and F sharp under G, down to D.
    assert basses(accompaniment(solo(row(), row(), chords=("G", "C")))) == [43, 38, 37, 36, 31]
    assert basses(accompaniment(solo(row(), row(), row(), chords=("G", "G", "D7"))))[2:] == [43, 42, 40, 38, 33]
    assert basses(accompaniment(solo(row(), row(), row(), chords=("D7", "D7", "G"))))[2:] == [38, 40, 42, 43, 38]


def test_a_walk_has_the_tones_of_the_chord_that_it_leaves(solo):
    # Over A7 the way to D leads by C sharp, which G major does not have.
    walk = basses(accompaniment(solo(row(), row(), row(), chords=("A7", "A7", "D"))))[3:5]

    assert [pitch % 12 for pitch in walk] == [11, 1]


def test_there_is_no_walk_out_of_a_passage_or_between_chords_that_come_fast(solo):
    arrangement = solo(row(), row(), chords=("G", "C"))
    (measure, _) = arrangement.measures
    quick = replace(measure, chords=tuple(ChordAt(Fraction(at), read_chord(s)) for at, s in ((0, "G"), (2, "C"))))

    assert basses(accompaniment(arrangement, last=1)) == [43, 38]
    assert basses(accompaniment(replace(arrangement, measures=(quick,)))) == [43, 36]


@pytest.mark.parametrize("symbol", ["G7", "Gm", "G"])
def test_there_is_no_walk_where_the_root_stays(solo, symbol):
    assert basses(accompaniment(solo(row(), row(), chords=("G", symbol)))) == [43, 38, 43, 38]


def test_a_walk_leaves_the_first_beat_to_the_root(solo):
    backing = accompaniment(solo(*[row(6)] * 3, meter=(3, 4), chords=("C", "C", "G")))

    assert [each.pitches[0] % 12 for each in backing if each.accent] == [0, 7, 7]
    assert basses(backing)[2:4] == [40, 42]


def test_in_a_waltz_root_and_fifth_change_by_measures(solo):
    assert basses(accompaniment(solo(row(6), row(6), row(6), meter=(3, 4)))) == [43, 38, 43]


def test_the_note_under_a_slash_is_the_bass(solo):
    pitch = basses(accompaniment(solo(row(), chords=("G/B",))))[0]

    assert pitch % 12 == 11


@pytest.mark.parametrize("capo", [0, 2, 5])
@pytest.mark.parametrize("symbol", ["G", "C", "D7", "Em", "F#m", "Bb", "Bdim", "Caug", "E7", "Am7"])
def test_everything_sounds_tones_of_the_chord_with_the_capo(solo, symbol, capo):
    tones = {(pitch.pitchClass + capo) % 12 for pitch in harmony.ChordSymbol(symbol.replace("Bb", "B-")).pitches}
    backing = accompaniment(solo(row(), row(), chords=(symbol,), capo=capo))

    assert {pitch % 12 for each in backing for pitch in each.pitches} == tones or len(tones) > 3
    assert {pitch % 12 for each in backing for pitch in each.pitches} <= tones
    assert all(LOWEST_BASS <= pitch <= HIGHEST_BASS for pitch in basses(backing))
    assert all(len(each.pitches) == (1 if each.part == "bass" else 3) for each in backing)


def test_nothing_overlaps_the_next_of_its_part_or_the_end(solo):
    backing = accompaniment(solo(row(), row()))
    for before, after in pairwise(backing):
        assert before.at + before.length <= after.at
    assert backing[-1].at + backing[-1].length <= 8


def test_a_pickup_is_left_to_the_player(solo):
    backing = accompaniment(solo(row(2), row(), first=0))

    assert backing[0].at == 1
    assert backing[0].accent


def test_a_chord_lasts_over_barlines_and_into_a_passage(solo):
    arrangement = solo(row(), row(), row(), chords=("C", "G", "G"))
    bare = replace(
        arrangement, measures=tuple(replace(m, chords=m.chords if m.number == 1 else ()) for m in arrangement.measures)
    )

    assert {each.pitches for each in accompaniment(bare, first=3)} == {
        each.pitches for each in accompaniment(bare, last=1)
    }


def test_a_chord_that_changes_within_the_measure_is_heard_from_there(solo):
    arrangement = solo(row())
    (measure,) = arrangement.measures
    chords = (ChordAt(Fraction(0), read_chord("G")), ChordAt(Fraction(2), read_chord("C")))
    backing = accompaniment(replace(arrangement, measures=(replace(measure, chords=chords),)))

    assert basses(backing) == [43, 36]


def test_before_the_first_chord_nothing_sounds(solo):
    arrangement = solo(row())
    (measure,) = arrangement.measures

    assert accompaniment(replace(arrangement, measures=(replace(measure, chords=()),))) == ()


def test_a_passage_counts_from_its_own_start(solo):
    assert accompaniment(solo(row(), row()), first=2)[0].at == 0


METERS = [(2, 4), (3, 4), (4, 4), (5, 4), (2, 2), (3, 2), (3, 8), (6, 8), (9, 8), (12, 8), (7, 8), (6, 4)]
SYMBOLS = ("G", "C", "D7", "Em", "A7", "F#m", "Bb", "Bdim", "G/B", "D7/F#", "Csus4", "E5")


@st.composite
def songs(draw):
    """Some measures in changing metres, the first a pickup at times, with chords anywhere on a grid of eighths."""
    count = draw(st.integers(1, 5))
    first = draw(st.integers(0, 1))
    measures = []
    for number in range(first, first + count):
        meter = Meter(*draw(st.sampled_from(METERS)))
        length = meter.length if number else draw(st.sampled_from([Fraction(1, 2), Fraction(1)]))
        places = draw(st.sets(st.integers(0, int(2 * length) - 1), max_size=3))
        chords = tuple(ChordAt(Fraction(at, 2), read_chord(draw(st.sampled_from(SYMBOLS)))) for at in sorted(places))
        measures.append((number, meter, length, chords))
    return measures, draw(st.integers(0, 11)), draw(st.sampled_from([None, 60.0, 99.0, 100.0, 240.0]))


@settings(max_examples=40)
@given(songs())
def test_no_note_overlaps_the_bass_stays_in_range_and_has_the_root_of_every_chord_that_comes(solo, song):
    rows, capo, tempo = song
    plain = solo(row(), capo=capo)
    measures = tuple(
        replace(plain.measures[0], number=number, meter=meter, length=length, chords=chords, plucks=(), melody=())
        for number, meter, length, chords in rows
    )
    arrangement = replace(plain, measures=measures)
    backing = accompaniment(arrangement, tempo=tempo)
    whole = sum(length for _, _, length, _ in rows)

    assert all(each.length > 0 for each in backing)
    assert all(before.at + before.length <= after.at for before, after in pairwise(backing))
    assert all(each.at + each.length <= whole for each in backing)
    assert all(LOWEST_BASS <= pitch <= HIGHEST_BASS for pitch in basses(backing))

    at = {each.at: each.pitches[0] for each in backing if each.part == "bass"}
    starts = arrangement.starts()
    before = None
    for number, _, _, chords in rows:
        for change in chords:
            if number and change.chord != before:
                root = change.chord.bass or change.chord.root
                assert (at[starts[number] + change.at] - capo) % 12 == pitch_class(root)
            before = change.chord
