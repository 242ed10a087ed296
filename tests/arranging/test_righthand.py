"""Fingers for strings that someone else chose, against every row there is."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.arranging.righthand import Picked, fingers_for
from coach.instrument.hands import FINGERS, RELUCTANCE, Finger, pinch_is_legal
from coach.instrument.rolls import ROLLS

H = Fraction(1, 2)


def row(*strings: int | tuple[int, ...], step: Fraction = H) -> list[Picked]:
    return [
        Picked(index * step, H, dict.fromkeys((each,) if isinstance(each, int) else each))
        for index, each in enumerate(strings)
    ]


def text(found: list[dict[int, Finger]]) -> str:
    return " ".join("".join(fingers[string] for string in sorted(fingers, reverse=True)) for fingers in found)


@pytest.mark.parametrize("roll", ROLLS.values(), ids=ROLLS)
def test_the_usual_strings_of_a_roll_get_its_fingers(roll: object) -> None:
    """Strings and fingers of the rolls are common practice, no source."""
    assert text(fingers_for(row(*roll.strings))).replace(" ", "") == roll.fingers  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("strings", "fingers"),
    [
        ((1, 1, 1, 1), "I M I M"),
        ((1, 1, 1), "M I M"),
        ((5, 5, 5), "T I T"),
        ((3, (5, 1), (5, 1)), "I TM TM"),
        (((5, 2, 1),), "TIM"),
        (((5, 4, 3, 2, 1),), "TTTIM"),
        (((4, 3, 2, 1),), "TTIM"),
        (((5, 4),), "TI"),
    ],
)
def test_other_strings(strings: tuple[int | tuple[int, ...], ...], fingers: str) -> None:
    assert text(fingers_for(row(*strings))) == fingers


def test_in_quarters_a_finger_may_play_again() -> None:
    assert text(fingers_for(row(3, 3, 4, 3, step=Fraction(1)))) == "T T T T"


def test_given_fingers_are_kept_and_the_others_fit_in() -> None:
    given_row = row(3, 2, 1, 5)
    given_row[1] = Picked(H, H, {2: "T"})
    assert text(fingers_for(given_row)) == "I T M T"
    assert text(fingers_for([Picked(Fraction(0), H, {5: "T", 1: "T"})])) == "TT"
    assert text(fingers_for([Picked(Fraction(0), H, {5: "T", 4: "T", 3: None, 1: None})])) == "TTIM"
    assert fingers_for([]) == []


def cost(strings: tuple[int, ...], fingers: tuple[Finger, ...]) -> int:
    """What a row of single notes costs, counted anew."""
    alone = sum(
        RELUCTANCE[finger].get(string, 10 if finger == "I" else 12)
        for string, finger in zip(strings, fingers, strict=True)
    )
    return alone + 20 * sum(one == other for one, other in pairwise(fingers))


@settings(max_examples=60)
@given(st.lists(st.integers(1, 5), min_size=1, max_size=6))
def test_no_row_of_fingers_is_cheaper(strings: list[int]) -> None:
    found = tuple(fingers[string] for fingers, string in zip(fingers_for(row(*strings)), strings, strict=True))
    order = tuple(strings)
    best = min(product(FINGERS, repeat=len(order)), key=lambda fingers: cost(order, fingers))
    assert found == best


@given(st.lists(st.sets(st.integers(1, 5), min_size=1, max_size=3), min_size=1, max_size=5))
def test_every_pinch_that_can_be_struck_is(strings: list[set[int]]) -> None:
    found = fingers_for(row(*(tuple(each) for each in strings), step=Fraction(2)))
    for fingers in found:
        possible = any(
            pinch_is_legal(dict(zip(fingers, choice, strict=True))) for choice in product(FINGERS, repeat=len(fingers))
        )
        assert len(fingers) == 1 or not possible or pinch_is_legal(fingers)
