"""Back-up: common practice, no source; chord tones by ``music21.harmony.ChordSymbol``."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from music21 import harmony

from coach.arranging.accompaniment import HIGHEST_BASS, LOWEST_BASS, accompaniment
from coach.arranging.arrangement import ChordAt
from coach.tunes.chords import read_chord


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


def test_the_bass_goes_from_root_to_fifth_and_starts_anew_with_a_chord(solo):
    # G D, C G, D A: common practice, no source.
    assert basses(accompaniment(solo(row(), row(), row(), chords=("G", "C", "D7")))) == [43, 38, 36, 31, 38, 33]


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
