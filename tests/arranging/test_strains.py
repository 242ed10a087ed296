"""Strains of a tune: common practice, no source."""

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.strains import strain_span, strains
from coach.errors import InputError
from coach.tunes.read import read_tune_bytes

HEAD = "X:1\nT:Strains\nM:4/4\nL:1/4\nK:G\n"


def tune(music):
    return read_tune_bytes((HEAD + music).encode(), "strains.abc")


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        ('"G"GABd|"G"G4|"C"c4|"G"G4|]', ((1, 4),)),
        ('|:"G"GABd|"G"G4:||:"C"c4|"G"G4:|', ((1, 2), (3, 4))),
        ('"G"GABd|"G"G4||"C"c4|"G"G4|]', ((1, 2), (3, 4))),
        ('D|:"G"GABd|1"G"G4:|2"G"B4||"C"c4|"G"G4|]', ((0, 3), (4, 5))),
        ('D|"G"GABd|"G"G3:|d|:"C"c4|"G"G3:|', ((0, 2), (3, 5))),
        ('"G"GABd|"G"G3||d||"C"c4|"G"G4|]', ((1, 2), (3, 5))),
        ('"G"GABd|"G"G3||d|]', ((1, 3),)),
        ('"G"G|]', ((1, 1),)),
    ],
)
def test_double_bars_and_repeats_part_strains_and_endings_belong_to_theirs(music, expected):
    assert strains(tune(music)) == expected


def test_a_strain_is_played_once_with_its_last_ending():
    read = tune('D|:"G"GABd|1"G"G4:|2"G"B4||"C"c4|"G"G4|]')
    solo = arrange(read, "beginner")

    # As played: 0, 1 2, 1 3, 4 5 by their numbers on paper.
    assert [m.source_measure for m in solo.measures] == [0, 1, 2, 1, 3, 4, 5]
    assert strain_span(solo, read, "A") == (3, 4)
    assert strain_span(solo, read, "b") == (5, 6)


@pytest.mark.parametrize("music", ['D|"G"GABd|"G"G3:|d|:"C"c4|"G"G3:|', '"G"GABd|"G"G3||d||"C"c4|"G"G4|]'])
def test_a_strain_behind_an_upbeat_of_its_own_can_be_played(music):
    read = tune(music)
    solo = arrange(read, "beginner")

    first, last = strain_span(solo, read, "B")
    (start,) = [m for m in solo.measures if m.number == first]
    assert "".join(change.chord.symbol for change in start.chords) == "C"
    assert last == solo.measures[-1].number


@pytest.mark.parametrize("name", ["C", "", "AB", "1"])
def test_a_strain_that_is_not_there_is_told(name):
    read = tune('|:"G"GABd|"G"G4:||:"C"c4|"G"G4:|')

    with pytest.raises(InputError, match="choose A or B"):
        strain_span(arrange(read, "beginner"), read, name)
