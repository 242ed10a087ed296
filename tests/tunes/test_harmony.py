"""Chords that the user gives, chords that are found, and the key a tune comes home in."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from coach.errors import TuneError
from coach.tunes.harmony import find_chords, home_key, read_chords
from coach.tunes.keys import Key
from coach.tunes.tune import Tune

Read = Callable[..., Tune]


def symbols(tune: Tune) -> list[list[tuple[object, str]]]:
    return [[(change.at, change.chord.symbol) for change in measure.chords] for measure in tune.measures]


def test_groups_of_chords_are_read() -> None:
    groups = read_chords("G | C D7 | % | | Em |")
    assert [[chord.symbol for chord in group] for group in groups] == [["G"], ["C", "D7"], [], [], ["Em"]]


@pytest.mark.parametrize(("text", "where"), [("", "the chords: "), ("| % |", "the chords: "), ("G | H7", "measure 2")])
def test_chords_that_cannot_be_read_are_refused_with_their_measure(text: str, where: str) -> None:
    with pytest.raises(TuneError, match=where):
        read_chords(text)


def test_chords_given_take_the_place_of_the_source_s(abc: Read) -> None:
    tune = abc('"F"C | "F"C4 | D4 | E4 | F4 |', chords="G | C D7 | % | G")
    assert symbols(tune) == [[], [(0, "G")], [(0, "C"), (2, "D7")], [], [(0, "G")]]


def test_fewer_chords_go_round_again(abc: Read) -> None:
    assert symbols(abc("C4 | D4 | E4 | F4 |", chords="G | C")) == [[(0, "G")], [(0, "C")], [(0, "G")], [(0, "C")]]


def test_chords_that_do_not_fit_are_refused(abc: Read) -> None:
    with pytest.raises(TuneError, match="3 groups of chords do not go evenly into the 4 measures"):
        abc("C4 | D4 | E4 | F4 |", chords="G | C | D7")


def test_each_measure_has_the_chord_that_carries_most_of_its_melody(abc: Read) -> None:
    tune = abc("C E G E | F A F2 | D G2 B, | c4 |")
    assert symbols(tune) == [[(0, "C")], [(0, "F")], [(0, "G7")], [(0, "C")]]
    assert tune.remarks == (
        "The source has no chords: each measure has the I, IV or V7 that carries most of its melody.",
    )


def test_minor_keys_have_minor_chords_and_a_dominant_with_its_leading_tone(abc: Read) -> None:
    tune = abc("A C E2 | D F A2 | E ^G B2 | A4 |", key="Am")
    assert symbols(tune) == [[(0, "Am")], [(0, "Dm")], [(0, "E7")], [(0, "Am")]]


def test_a_chord_goes_on_where_another_would_do_as_well(abc: Read) -> None:
    # C belongs to I and IV alike.
    assert symbols(abc("F2 A2 | C4 | E4 | C4 |")) == [[(0, "F")], [], [(0, "C")], []]


def test_the_seventh_weighs_half(abc: Read) -> None:
    # Two beats of F: as the seventh of G7 they weigh as one; the beat of B and they make two, as F does in IV.
    tune = abc("F2 B z | C4 |")
    assert symbols(tune)[0] == [(0, "F")]


def test_notes_held_over_the_barline_count_where_they_sound(abc: Read) -> None:
    assert symbols(abc("C C C B- | B4 | C4 |"))[1] == [(0, "G7")]


def test_the_tune_ends_on_the_home_chord(abc: Read) -> None:
    assert symbols(abc("F A F2 | A2 c2 |")) == [[(0, "F")], [(0, "C")]]


def test_a_pickup_has_no_chord(abc: Read) -> None:
    assert symbols(abc("G | C4 | C4 |")) == [[], [(0, "C")], []]


def test_the_key_in_force_chooses_the_chords(abc: Read) -> None:
    assert symbols(abc("C4 | [K:D] D4 | D4 |")) == [[(0, "C")], [(0, "D")], []]


def test_finding_chords_drops_those_that_were_there(abc: Read) -> None:
    tune = abc('"Am"C4 | "G"C4 |')
    assert symbols(Tune("", "", tune.key, find_chords(tune.measures, tune.key))) == [[(0, "C")], []]


@pytest.mark.parametrize(
    ("music", "told", "home"),
    [
        ('"F"F A c _B | "C7"G4 | "F"F4 |', "C", "F"),
        ('"C"C E G E | "G7"G4 | "C"C4 |', "C", "C"),
        ('"Am"A c e c | "E7"B4 | "Am"A4 |', "C", "A minor"),
        ('"F"F A c B | "C"G4 | "F"A4 |', "C", "C"),  # the last note is not the root
        ('"G"G B d B | "C"G4 | "D"D4 |', "G", "G"),  # a tune that begins at home and stops on the way
        ("A c e c | B4 | A4 |", "C", "A minor"),
        ("C E G E | G4 | C4 |", "C", "C"),
        ('"G"^F G ^F G | "D"^F4 | "G"G4 |', "G", "G"),
    ],
)
def test_home_is_where_the_last_chord_and_note_agree(abc: Read, music: str, told: str, home: str) -> None:
    tonic, _, mode = home.partition(" ")
    measures = abc(music).measures
    if '"' not in music:  # take off the chords that the reader found
        measures = tuple(replace(measure, chords=()) for measure in measures)
    assert home_key(measures, Key(told)) == Key(tonic, mode or "major")
