"""Which solo is meant, and measures together with those that repeat them."""

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.arrangement import TIERS, Arrangement
from coach.arranging.edits import Edits, Lock
from coach.errors import ArrangeError
from coach.service.pieces import Piece, measure_at, next_tier, repeats_of, with_repeats
from coach.tunes.demo import demo_tune


@pytest.fixture(scope="module")
def barrow() -> Arrangement:
    """24 measures as played; 9 to 16 repeat 1 to 8."""
    return arrange(demo_tune("turn-the-barrow"), "beginner")


def test_tiers_follow_one_another() -> None:
    assert [next_tier(tier) for tier in TIERS] == ["intermediate", "advanced", None]


def test_a_plain_piece_is_neither_mixed_nor_for_a_jam() -> None:
    assert Piece("tune").is_plain
    assert not Piece("tune", mix=(1,)).is_plain
    assert not Piece("tune", jam=True).is_plain
    assert Piece("tune", "advanced", (1,), jam=True).without_jam == Piece("tune", "advanced", (1,))


def test_a_piece_has_the_edits_of_its_own_tiers() -> None:
    edits = Edits("tune", (Lock("beginner", 1, ()), Lock("advanced", 2, ())))
    plain = Piece("tune", "beginner").edited(edits)

    assert plain.edits is not None
    assert [each.tier for each in plain.edits.edits] == ["beginner"]
    assert Piece("tune", "intermediate").edited(edits).edits is None
    assert Piece("tune", "intermediate", (3,)).edited(edits).edits == Edits("tune", (Lock("advanced", 2, ()),))
    assert plain.edited(None) == Piece("tune", "beginner") != plain


def test_a_measure_is_found_by_its_number(barrow: Arrangement) -> None:
    assert measure_at(barrow, 9) is barrow.measures[8]
    with pytest.raises(ArrangeError, match="Turn the Barrow: there is no measure 25 as played; choose from 1 to 24"):
        measure_at(barrow, 25)


def test_a_measure_repeats_the_first_from_its_place_on_paper(barrow: Arrangement) -> None:
    repeats = repeats_of(barrow)
    source = {measure.number: measure.source_measure for measure in barrow.measures}

    assert repeats
    assert all(home < number and source[home] == source[number] for number, home in repeats.items())
    assert sorted({*source} - {*repeats}) == sorted({min(n for n in source if source[n] == s) for s in source.values()})


def test_repeats_go_along(barrow: Arrangement) -> None:
    assert with_repeats((1,), barrow) == with_repeats((9,), barrow) == with_repeats((1, 9), barrow) == (1, 9)
    assert with_repeats((10, 3, 1), barrow) == (1, 2, 3, 9, 10, 11)
    assert with_repeats((), barrow) == ()


@pytest.mark.parametrize("number", [0, 25])
def test_measures_that_are_not_there_are_said(barrow: Arrangement, number: int) -> None:
    with pytest.raises(
        ArrangeError, match=f"Turn the Barrow: there is no measure {number} as played; choose from 1 to"
    ):
        with_repeats((2, number), barrow)
