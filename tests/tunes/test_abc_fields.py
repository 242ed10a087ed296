"""Metre, unit length and key of an ABC tune."""

from fractions import Fraction

import pytest

from coach.errors import TuneError
from coach.tunes.abc_fields import names_mode, read_key, read_meter, read_unit, signature, usual_unit
from coach.tunes.keys import Key
from coach.tunes.tune import Meter


@pytest.mark.parametrize(
    ("value", "meter"),
    [("4/4", (4, 4)), ("C", (4, 4)), ("C|", (2, 2)), (" 6/8 ", (6, 8)), ("2+3/8", (5, 8)), ("(3+2)/8", (5, 8))],
)
def test_metres_are_read(value: str, meter: tuple[int, int]) -> None:
    assert read_meter(value, where="x") == Meter(*meter)


@pytest.mark.parametrize("value", ["none", "", "waltz", "4/3", "0/4"])
def test_what_is_no_metre_is_refused_with_its_place(value: str) -> None:
    with pytest.raises(TuneError, match=r"^book\.abc, line 3: .*metre.*M:4/4"):
        read_meter(value, where="book.abc, line 3")


@pytest.mark.parametrize(("value", "unit"), [("1/8", Fraction(1, 8)), ("1/4 ", Fraction(1, 4)), ("1", Fraction(1))])
def test_unit_lengths_are_read(value: str, unit: Fraction) -> None:
    assert read_unit(value, where="x") == unit


@pytest.mark.parametrize("value", ["", "0/8", "1/0", "eighth"])
def test_what_is_no_unit_length_is_refused(value: str) -> None:
    with pytest.raises(TuneError, match="unit length"):
        read_unit(value, where="x")


@pytest.mark.parametrize(("meter", "unit"), [((2, 4), 16), ((5, 8), 16), ((3, 4), 8), ((4, 4), 8), ((6, 8), 8)])
def test_the_usual_unit_is_a_sixteenth_in_metres_below_three_quarters(meter: tuple[int, int], unit: int) -> None:
    # ABC standard 2.1, section 3.1.7 (from memory): shorter than 0.75.
    assert usual_unit(Meter(*meter)) == Fraction(1, unit)


@pytest.mark.parametrize(
    ("value", "key"),
    [
        ("G", Key("G")),
        ("Am", Key("A", "minor")),
        ("Bb", Key("Bb")),
        ("F#m", Key("F#", "minor")),
        ("D Mixolydian", Key("D", "mixolydian")),
        ("Ador", Key("A", "dorian")),
        ("E minor", Key("E", "minor")),
        ("EMin", Key("E", "minor")),
        ("e", Key("E")),
        ("G major clef=bass", Key("G")),
        ("A min -8va", Key("A", "minor")),
        ("HP", Key("A", "mixolydian")),
        ("none", Key("C")),
        ("", Key("C")),
    ],
)
def test_keys_are_read(value: str, key: Key) -> None:
    assert read_key(value, where="x") == (key, {})


def test_a_key_field_that_only_names_a_clef_changes_no_key() -> None:
    assert read_key("clef=bass", where="x") == (None, {})


def test_accidentals_named_one_by_one_are_returned() -> None:
    assert read_key("D phr ^f", where="x") == (Key("D", "phrygian"), {"F": "^"})
    assert read_key("exp _b ^c", where="x") == (Key("C"), {"B": "_", "C": "^"})


def test_what_is_no_key_is_refused() -> None:
    with pytest.raises(TuneError, match="'Xyz' is no key"):
        read_key("Xyz", where="x")


@pytest.mark.parametrize(
    ("key", "major"),
    # The line of fifths, common practice: a mode has the signature of the major key it is drawn from.
    [
        (Key("G"), "G"),
        (Key("E", "minor"), "G"),
        (Key("A", "dorian"), "G"),
        (Key("D", "mixolydian"), "G"),
        (Key("C", "lydian"), "G"),
        (Key("B", "phrygian"), "G"),
        (Key("F#", "locrian"), "G"),
        (Key("Eb", "minor"), "Gb"),
        (Key("Cb"), "Cb"),
        (Key("C#"), "C#"),
    ],
)
def test_each_key_has_the_signature_of_a_major_key(key: Key, major: str) -> None:
    assert signature(key, where="x") == major


@pytest.mark.parametrize("key", [Key("Fb"), Key("G#"), Key("Fb", "minor")])
def test_more_than_seven_signs_are_refused(key: Key) -> None:
    with pytest.raises(TuneError, match="more than seven signs"):
        signature(key, where="x")


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("G", False),
        ("Bb clef=treble", False),
        ("none", False),
        ("G exp ^c", False),
        ("Gm", True),
        ("G Major", True),
        ("Edor", True),
        ("A Mixolydian", True),
        ("HP", True),
    ],
)
def test_a_bare_key_does_not_tell_the_mode(value: str, told: bool) -> None:
    assert names_mode(value) is told
