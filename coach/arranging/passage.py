"""A passage: some measures of a solo in a row, with positions counted from where it starts."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from coach.arranging.arrangement import ArrangedMeasure, Arrangement

__all__ = ["Placed", "passage"]


class Placed(NamedTuple):
    """A measure and where it starts, in quarters from the start of the passage."""

    start: Fraction
    measure: ArrangedMeasure


def passage(arrangement: Arrangement, *, first: int | None = None, last: int | None = None) -> tuple[Placed, ...]:
    """The measures from one number to another.

    Args:
        arrangement: the solo.
        first: number of the first measure; None for the solo's first (a pickup counts).
        last: number of the last measure, included; None for the solo's last.

    Raises:
        ValueError: when there is no such measure, or the last comes before the first.
    """
    numbers = [measure.number for measure in arrangement.measures]
    low = numbers[0] if first is None else first
    high = numbers[-1] if last is None else last
    if low not in numbers or high not in numbers or low > high:
        raise ValueError(f"measures {low} to {high} are no passage of a solo with measures {numbers[0]}..{numbers[-1]}")
    placed = []
    at = Fraction(0)
    for measure in arrangement.measures[numbers.index(low) : numbers.index(high) + 1]:
        placed.append(Placed(at, measure))
        at += measure.length
    return tuple(placed)
