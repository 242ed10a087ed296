"""Key, position, octave, capo and slot are found as a teacher would."""

import pytest

from coach.arranging.setting import find_setting, read_key
from coach.errors import ArrangeError
from coach.instrument.tuning import DOUBLE_C, OPEN_D, OPEN_G
from coach.tunes.keys import Key

G_SCALE = (55, 57, 59, 60, 62, 64)


@pytest.mark.parametrize(
    ("tonic", "steps", "position", "capo"),
    # Common practice, no source: what positions and capos give these keys.
    [
        ("G", (0, 4, 9), "G", 0),
        ("A", (0, 4, 9), "G", 2),
        ("Bb", (0, 4, 9), "G", 3),
        ("B", (-5, 0, 7), "G", 4),
        ("C", (-5, 0, 7), "C", 0),
        ("D", (0, 7, 12), "D", 0),
        ("E", (-5, 0, 7), "C", 4),
        ("F", (-5, 0, 7), "C", 5),
    ],
)
def test_a_singer_gets_the_key_of_the_tune_by_position_and_capo(tonic, steps, position, capo):
    key = Key(tonic)
    pitches = [60 + key.tonic_pc + step for step in steps]

    found = find_setting(key, pitches, OPEN_G)

    assert (found.key.tonic, found.capo, found.sounding_key) == (position, capo, key)


def test_the_tune_lies_as_low_as_it_can_with_no_note_below_the_range():
    found = find_setting(Key("G"), [79, 74, 91], OPEN_G)

    assert found.shift == -24
    assert min(pitch + found.shift for pitch in (79, 74, 91)) == 50


def test_a_melody_far_below_its_tonic_goes_to_a_position_where_it_stays_on_low_frets():
    low, high = 67 - 5, 67 + 7  # from D below to D above in G: in G position it would climb to fret 12
    found = find_setting(Key("G"), [low, 67, high, high - 1, high], OPEN_G, key=None)

    assert max(pitch + found.shift for pitch in (low, high)) <= 69


def test_a_minor_tune_goes_to_a_relative_minor():
    found = find_setting(Key("A", "minor"), [57, 60, 64, 62], OPEN_G)

    assert found.key == Key("A", "minor")
    assert found.capo == 0
    assert find_setting(Key("F#", "minor"), [54, 57, 61], OPEN_G).key.mode == "minor"


def test_where_the_fifth_string_goes_is_said_with_a_capo():
    found = find_setting(Key("A"), [57, 61, 64], OPEN_G)

    assert any("fifth string" in remark and "fret 7" in remark for remark in found.remarks)


def test_a_wanted_key_and_capo_are_kept():
    found = find_setting(Key("G"), list(G_SCALE), OPEN_G, key=Key("D"), capo=2)

    assert (found.key.tonic, found.capo, found.sounding_key) == ("C", 2, Key("D"))


def test_a_capo_without_a_key_moves_the_sounding_key_and_says_so():
    found = find_setting(Key("G"), list(G_SCALE), OPEN_G, capo=3)

    assert found.capo == 3
    assert (found.key.tonic_pc + 3) % 12 == found.sounding_key.tonic_pc


def test_a_key_that_no_position_gives_with_the_capo_is_an_error_with_a_cure():
    with pytest.raises(ArrangeError, match="use capo 0 or 5"):
        find_setting(Key("G"), list(G_SCALE), OPEN_G, key=Key("C"), capo=1)


def test_a_melody_wider_than_the_neck_is_an_error():
    with pytest.raises(ArrangeError, match="spans 48 semitones"):
        find_setting(Key("G"), [50, 98], OPEN_G)


@pytest.mark.parametrize(("tuning", "tonic"), [(DOUBLE_C, "C"), (OPEN_D, "D")])
def test_other_tunings_have_their_own_home_key(tuning, tonic):
    key = Key(tonic)
    pitches = [48 + key.tonic_pc + step for step in (0, 4, 7)]

    assert find_setting(key, pitches, tuning).key == key


@pytest.mark.parametrize(
    ("text", "mode", "key"),
    [
        ("a", "major", Key("A")),
        ("Bb", "major", Key("Bb")),
        ("F#m", "minor", Key("F#", "minor")),
        ("A minor", "minor", Key("A", "minor")),
        ("D dorian", "dorian", Key("D", "dorian")),
        ("E", "minor", Key("E", "minor")),
    ],
)
def test_keys_are_read_as_people_write_them(text, mode, key):
    assert read_key(text, mode) == key


@pytest.mark.parametrize("text", ["H", "", "G harmonic", "12", "Am"])
def test_what_is_no_key_of_the_tune_is_refused_in_a_sentence(text):
    with pytest.raises(ArrangeError, match="--key"):
        read_key(text, "major")


@pytest.mark.parametrize("capo", [-1, 12])
def test_a_capo_off_the_neck_is_refused_in_a_sentence(capo):
    with pytest.raises(ArrangeError, match=f"a capo goes to frets 0 to 11, not {capo}"):
        find_setting(Key("G"), list(G_SCALE), OPEN_G, capo=capo)


def test_a_key_in_which_a_high_melody_leaves_the_neck_is_refused_in_a_sentence():
    wide = [50, 84]  # from the open fourth string to fret 22 in G position: no capo fits

    assert find_setting(Key("G"), wide, OPEN_G, key=Key("G")).capo == 0
    with pytest.raises(ArrangeError, match="key: in Ab major the melody goes beyond the neck; choose another"):
        find_setting(Key("G"), wide, OPEN_G, key=Key("Ab"))


@pytest.mark.parametrize(
    ("text", "mode", "key"),
    [("Am", "dorian", Key("A", "dorian")), ("D major", "mixolydian", Key("D", "mixolydian"))],
)
def test_minor_and_major_stand_for_the_modes_of_their_kind(text, mode, key):
    assert read_key(text, mode) == key


@pytest.mark.parametrize(("text", "mode"), [("Am", "mixolydian"), ("A major", "dorian"), ("A lydian", "major")])
def test_a_key_of_the_other_kind_is_refused(text, mode):
    with pytest.raises(ArrangeError, match=f"the tune is {mode}"):
        read_key(text, mode)


# A sixth capo and more are rare, and the key of the tune is the singer's (common practice, no source).
@pytest.mark.parametrize(
    ("key", "pitches", "position", "capo"),
    [
        (Key("D"), (69, 74, 78, 83, 81, 78, 76, 74), "C", 2),  # G position would take a capo at 7
        (Key("Eb"), (63, 67, 70, 72, 75, 72, 63, 62), "C", 3),  # G position would take one at 8
        (Key("G", "minor"), (62, 66, 67, 69, 70, 72, 74), "E", 3),  # not A minor, which lies lower
    ],
)
def test_a_low_capo_in_the_tunes_own_key_is_better_than_a_lower_melody(key, pitches, position, capo):
    found = find_setting(key, pitches, OPEN_G)

    assert (found.key.tonic, found.capo, found.sounding_key) == (position, capo, key)


@pytest.mark.parametrize(("capo", "warned"), [(5, False), (7, False), (8, True), (11, True)])
def test_a_fifth_string_that_is_tuned_up_by_more_than_two_semitones_may_break(capo, warned):
    found = find_setting(Key("G"), list(G_SCALE), OPEN_G, capo=capo)

    assert any("may break" in remark for remark in found.remarks) == warned
