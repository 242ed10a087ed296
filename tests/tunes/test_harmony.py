"""Chords that the user gives, and the key a tune comes home in."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from coach.errors import TuneError
from coach.tunes.harmony import home_key, read_chords
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
