"""Roll studies: strings and fingers of the rolls, common practice, no source; chord tones by music21."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import harmony

from coach.arranging.files import digest, from_json, to_json
from coach.arranging.rules import broken_rules
from coach.arranging.studies import METERS, is_study, roll_study
from coach.arranging.texture import finger_row
from coach.errors import InputError
from coach.instrument.rolls import ROLLS
from coach.instrument.tuning import DOUBLE_C, TUNINGS
from coach.tunes.chords import read_chord
from coach.tunes.harmony import read_chords
from coach.tunes.tune import Meter

G_C_D7_G = read_chords("G | C | D7 | G")


def rows(study):
    """Finger and string of each pluck, a text a measure."""
    return [" ".join(f"{p.finger}{p.string}" for p in measure.plucks) for measure in study.measures]


def frets(measure):
    return [(pluck.string, pluck.fret) for pluck in measure.plucks]


@pytest.mark.parametrize(
    ("roll", "fingers", "strings"),
    [
        ("alternating thumb", "TITMTITM", (3, 2, 5, 1, 4, 2, 5, 1)),
        ("forward", "TIMTIMTI", (3, 2, 1, 5, 2, 1, 5, 2)),
        ("backward", "MITMITMI", (1, 2, 5, 1, 2, 5, 1, 2)),
        ("forward-reverse", "TIMTMITM", (3, 2, 1, 5, 1, 2, 3, 1)),
    ],
)
@pytest.mark.parametrize("meter", ["4/4", "2/2"])
def test_over_open_g_a_roll_has_its_usual_strings(roll, fingers, strings, meter):
    measure = roll_study(roll, read_chords("G"), METERS[meter], measures=1).measures[0]

    assert finger_row(measure, Fraction(1, 2)) == fingers
    assert frets(measure) == [(string, 0) for string in strings]


@pytest.mark.parametrize("meter", ["3/4", "6/8"])
@pytest.mark.parametrize(
    ("roll", "fingers"),
    [("forward", "TIMTIM"), ("forward-reverse", "TIMTMI"), ("alternating thumb", "TITMTI"), ("backward", "MITMIT")],
)
def test_in_three_four_and_six_eight_a_roll_has_six_slots(roll, fingers, meter):
    study = roll_study(roll, read_chords("G"), METERS[meter], measures=2)

    assert finger_row(study.measures[0], Fraction(1, 2)) == fingers


@pytest.mark.parametrize(
    ("roll", "meter", "expected"),
    [
        ("forward", "2/4", ["T3 I2 M1 T5", "I2 M1 T5 I2", "T3 I2 M1 T5"]),
        ("forward-reverse", "2/4", ["T3 I2 M1 T5", "M1 I2 T3 M1", "T3 I2 M1 T5"]),
        ("alternating thumb", "2/4", ["T3 I2 T5 M1"] * 3),
        ("alternating thumb", "9/8", ["T3 I2 T5 M1 T4 I2 T5 M1 T3", "I2 T5 M1 T4 I2 T5 M1 T3 I2"]),
    ],
)
def test_a_roll_runs_on_over_the_barline_where_a_finger_would_play_twice(roll, meter, expected):
    assert rows(roll_study(roll, read_chords("G"), METERS[meter], measures=4))[: len(expected)] == expected


def test_the_shape_of_the_chord_is_fretted_under_the_roll():
    # C 2 0 1 2 and D7 0 2 1 0 on strings 4 3 2 1: common practice, no source.
    study = roll_study("forward-reverse", G_C_D7_G, Meter(4, 4))

    assert frets(study.measures[1]) == [(3, 0), (2, 1), (1, 2), (5, 0), (1, 2), (2, 1), (3, 0), (1, 2)]
    assert frets(study.measures[2]) == [(3, 2), (2, 1), (1, 0), (5, 0), (1, 0), (2, 1), (3, 2), (1, 0)]


@pytest.mark.parametrize("symbol", ["E", "E7", "B", "B7"])
def test_the_short_string_rests_over_chords_that_it_does_not_suit(symbol):
    study = roll_study("forward", read_chords(symbol), Meter(4, 4))

    assert 5 not in {pluck.string for _, pluck in study.plucks()}
    assert broken_rules(study) == ()


def test_chords_of_one_measure_share_its_beats():
    study = roll_study("forward", read_chords("G C | D7 | C D7 G"), Meter(4, 4))

    assert [str(change.at) for change in study.measures[0].chords] == ["0", "2"]
    assert [str(change.at) for change in study.measures[2].chords] == ["0", "2", "3"]
    assert [fret for string, fret in frets(study.measures[0]) if string == 2] == [0, 1, 1]


def test_too_many_chords_for_a_measure_are_told():
    with pytest.raises(InputError, match="5 chords have no room in a measure of 2/4"):
        roll_study("forward", read_chords("G C G C G"), Meter(2, 4))


@pytest.mark.parametrize(
    ("chords", "key"),
    [
        ("G | C | D7 | G", "G major"),
        ("Am | F | C | E7", "A minor"),
        ("D7 | G", "G major"),
        ("G | Em | C | D7", "G major"),
        ("C | F | C", "C major"),
    ],
)
def test_a_study_ends_with_its_home_chord_held(chords, key):
    study = roll_study("forward", read_chords(chords), Meter(4, 4))
    last = study.measures[-1]

    assert study.key == key
    assert {pluck.role for pluck in last.plucks} == {"pinch"}
    assert {(pluck.at, pluck.length) for pluck in last.plucks} == {(0, 4)}
    assert {pluck.finger: pluck for pluck in last.plucks}["T"].pitch % 12 == last.chords[0].chord.root_pc
    assert last.number == len(read_chords(chords)) + 1


def test_the_progression_goes_round_for_as_long_as_is_asked():
    study = roll_study("backward", G_C_D7_G, Meter(4, 4), measures=6)

    assert [m.chords[0].chord.symbol for m in study.measures] == ["G", "C", "D7", "G", "G", "C", "G"]


def test_a_capo_raises_what_sounds_and_the_goal_is_told():
    study = roll_study("forward", G_C_D7_G, Meter(4, 4), capo=2, tempo=80)

    assert (study.key, study.sounding_key) == ("G major", "A major")
    assert study.measures[0].plucks[0].pitch == 57
    assert "Goal: 80 quarters a minute." in study.remarks


def test_a_study_is_written_and_read_like_any_solo():
    study = roll_study("forward", G_C_D7_G, Meter(4, 4))

    assert from_json(to_json(study), "study.json") == study
    assert study.tier == "beginner"
    assert all(measure.melody == () for measure in study.measures)


OTHERWISE = ({"capo": 2}, {"tuning": DOUBLE_C}, {"measures": 8})


def test_what_is_studied_names_the_study():
    study = roll_study("forward", G_C_D7_G, Meter(4, 4))
    other = roll_study("forward", read_chords("G | D7 | C | G"), Meter(4, 4))

    assert study.tune != other.tune
    assert len({study.tune, *(roll_study("forward", G_C_D7_G, Meter(4, 4), **wish).tune for wish in OTHERWISE)}) == 4
    assert all(is_study(each) for each in (study, other))
    assert not is_study(replace(study, tune="forward-roll"))
    assert digest(study) == digest(roll_study("forward", G_C_D7_G, Meter(4, 4)))


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        ({"roll": "sideways"}, "choose alternating thumb, forward, backward, forward-reverse"),
        ({"meter": Meter(7, 8)}, "no studies in 7/8"),
        ({"chords": ()}, "no chord is named"),
        ({"measures": 0}, "choose 1 to 128"),
        ({"measures": 129}, "choose 1 to 128"),
    ],
)
def test_what_cannot_be_studied_is_said(wish, said):
    asked = {"roll": "forward", "chords": G_C_D7_G, "meter": Meter(4, 4), **wish}

    with pytest.raises(InputError, match=said):
        roll_study(**asked)


SYMBOLS = ["G", "C", "D7", "Em", "F", "B7", "Eb", "C#m", "Ab", "F#maj7", "Gdim", "Bb5"]


@settings(max_examples=30)
@given(
    st.sampled_from(sorted(ROLLS)),
    st.sampled_from(sorted(METERS)),
    st.lists(st.lists(st.sampled_from(SYMBOLS).map(read_chord), max_size=2), min_size=1, max_size=4).filter(any),
    st.sampled_from(["open G", "double C", "open D"]),
    st.integers(0, 11),
)
def test_no_study_breaks_a_rule_of_the_hands(roll, meter, chords, tuning, capo):
    study = roll_study(roll, chords, METERS[meter], tuning=TUNINGS[tuning], capo=capo)

    assert broken_rules(study) == ()


@pytest.mark.parametrize("roll", sorted(ROLLS))
@pytest.mark.parametrize("meter", sorted(METERS))
def test_every_measure_follows_the_roll_even_between_chords_that_lie_far_apart(roll, meter):
    study = roll_study(roll, read_chords("Gm | C#m | Am | F | Bb | B"), METERS[meter])

    for measure in study.measures[:-1]:
        row = finger_row(measure, Fraction(1, 2))
        assert row.rstrip("-").replace("-", "") in ROLLS[roll].cycle * (len(row) + 1)
        assert row.rstrip("-").count("-") == 0
        assert row.count("-") <= 1


@pytest.mark.parametrize("tuning", sorted(TUNINGS))
def test_what_a_study_plays_are_tones_of_its_chords_or_the_drone(tuning):
    chords = read_chords("C | F | G7 | Am")
    study = roll_study("alternating thumb", chords, Meter(4, 4), tuning=TUNINGS[tuning])

    for measure in study.measures:
        tones = {pitch.pitchClass for pitch in harmony.ChordSymbol(measure.chords[0].chord.symbol).pitches}
        assert {pluck.pitch % 12 for pluck in measure.plucks if pluck.string != 5} <= tones


def test_another_tuning_has_shapes_of_its_own():
    study = roll_study("alternating thumb", read_chords("C"), Meter(4, 4), tuning=DOUBLE_C)

    # Double C: 0 0 0 2 gives C G C E by pitch arithmetic.
    assert frets(study.measures[0])[:5] == [(3, 0), (2, 0), (5, 0), (1, 2), (4, 0)]
