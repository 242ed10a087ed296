"""Grids, techniques and the tune of a tablature."""

from __future__ import annotations

from fractions import Fraction

import pytest

from coach.arranging.arrangement import MelodyNote, Pluck
from coach.instrument.tuning import OPEN_G
from coach.sheets.tab_solo import Fretted, PlayedBar, carried, clef_shift, grids, plucked

H, Q, S, T = Fraction(1, 2), Fraction(1, 4), Fraction(1, 8), Fraction(1, 3)


def at(*places: Fraction | int, slurred: frozenset[str] = frozenset()) -> list[Fretted]:
    return [Fretted(Fraction(place), Q, 3, 0, ends=slurred) for place in places]


@pytest.mark.parametrize(
    ("bars", "slot", "own"),
    [
        ([at(0, 1, 2, 3)], H, [H]),
        ([at(0, H), at(0, Q), at(0, T)], H, [H, Q, T]),
        ([at(0, Q), at(0, 3 * Q), at(0, 1)], Q, [Q, Q, Q]),
        ([[*at(0), *at(Q, slurred=frozenset({"slide"}))]], H, [H]),
        ([[], at(0, S), []], S, [S, S, S]),
        ([at(Fraction(1, 7))], H, [H]),
        ([], H, []),
    ],
)
def test_the_grid_is_the_coarsest_that_fits(bars: list[list[Fretted]], slot: Fraction, own: list[Fraction]) -> None:
    assert grids(bars, None) == (slot, own)


def test_a_grid_that_is_told_holds_where_it_fits() -> None:
    assert grids([at(0, 1), at(0, H)], Fraction(1)) == (1, [1, H])


def bar(*notes: Fretted) -> PlayedBar:
    return PlayedBar(1, Fraction(0), H, notes)


def test_a_note_lasts_to_the_next_one_at_most_and_the_role_follows_from_the_strings() -> None:
    ((*row,),), loose = plucked(
        [
            bar(
                Fretted(Fraction(0), Fraction(4), 3, 0),
                Fretted(Fraction(1), H, 5, 0),
                Fretted(Fraction(2), H, 5, 0),
                Fretted(Fraction(2), Fraction(1), 1, 2, left=2),
                Fretted(Fraction(5, 2), H, 1, 0, left=3, ends=frozenset({"pull-off"})),
            )
        ],
        OPEN_G,
        2,
    )
    assert not loose
    assert [(pluck.id, pluck.length, pluck.pitch, pluck.role, pluck.left) for pluck in row] == [
        ("m1e1", 1, 57, "fill", None),
        ("m1e2", H, 69, "drone", None),
        ("m1e3", H, 69, "pinch", None),
        ("m1e4", H, 66, "pinch", 2),
        ("m1e5", H, 64, "pinch", None),
    ]
    assert (row[-1].technique, row[-1].from_fret, row[-1].finger) == ("pull-off", 2, None)


def pluck(name: str, place: Fraction | int, string: int, pitch: int, slurred: bool = False) -> Pluck:
    if slurred:
        return Pluck(name, Fraction(place), Q, string, 0, pitch, None, "fill", "hammer-on", 0)
    return Pluck(name, Fraction(place), Q, string, 0, pitch, "T", "fill")


def sung(place: Fraction | int, pitch: int, kept: bool = True) -> MelodyNote:
    return MelodyNote(Fraction(place), Fraction(1), pitch, kept=kept)


@pytest.mark.parametrize(
    ("note", "plucks", "carrier", "moved"),
    [
        (sung(0, 55), [pluck("a", 0, 3, 55)], "a", None),
        (sung(1, 55), [pluck("a", H, 3, 55), pluck("b", 1, 2, 59)], "a", H),
        (sung(1, 55), [pluck("a", 0, 3, 55), pluck("b", 1, 2, 59)], None, None),
        (sung(0, 55, kept=False), [pluck("a", 0, 3, 55)], None, None),
        (sung(0, 67), [pluck("a", 0, 5, 67), pluck("b", 0, 1, 67)], "b", None),
        (sung(0, 67), [pluck("a", H, 5, 67)], None, None),
    ],
)
def test_the_tune_is_carried_by_a_pluck_of_its_pitch(
    note: MelodyNote, plucks: list[Pluck], carrier: str | None, moved: Fraction | None
) -> None:
    (found,), row = carried([note], plucks, H, told=False)
    assert (found.pluck, found.kept, found.moved) == (carrier, carrier is not None, moved)
    assert [each.id for each in row if each.role == "melody"] == ([carrier] if carrier else [])


def test_the_pick_that_slurs_into_a_note_of_the_tune_is_melody_too() -> None:
    plucks = [pluck("a", 0, 3, 55), pluck("b", Q, 3, 57, slurred=True), pluck("c", H, 3, 55)]
    _, row = carried([sung(0, 57)], plucks, H, told=False)
    assert [(each.id, each.role) for each in row] == [("a", "melody"), ("b", "melody"), ("c", "fill")]


def test_where_the_file_tells_what_is_left_out_the_drone_may_carry_a_note_too() -> None:
    (found,), _ = carried([sung(0, 67)], [pluck("a", H, 5, 67)], H, told=True)
    assert (found.pluck, found.moved) == ("a", H)


def test_a_pluck_carries_one_note_and_the_one_at_its_place_first() -> None:
    first, second = carried([sung(0, 55), sung(H, 55)], [pluck("a", H, 3, 55)], H, told=True)[0]
    assert (first.pluck, second.pluck) == (None, "a")


@pytest.mark.parametrize(("up", "shift"), [(0, 0), (12, -12), (-12, 12), (7, 0)])
def test_a_tune_is_laid_in_the_octave_of_the_tablature(up: int, shift: int) -> None:
    struck = {(Fraction(0), 55), (Fraction(1), 59), (Fraction(2), 62)}
    assert clef_shift([(place, pitch + up) for place, pitch in sorted(struck)], struck) == shift
