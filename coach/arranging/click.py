"""The click and the count-in: positions in written time.

A click falls on every beat of the metre (the dotted value of a compound one), the first of a measure accented. In cut
time the beats are half notes, with light clicks on the quarters between. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.arranging.passage import passage
from coach.tunes.tune import Meter

__all__ = ["Click", "Weight", "click", "count_in", "count_in_length"]

Weight = Literal["accent", "beat", "light"]

# A metre with fewer beats than this is counted in over two measures.
_ENOUGH_BEATS = 3


@dataclass(frozen=True, slots=True)
class Click:
    """A click.

    Attributes:
        at: in quarters from the start of the passage; negative in a count-in.
        weight: ``accent`` on the first beat of a measure, ``beat``, or ``light`` between the beats of cut time.
    """

    at: Fraction
    weight: Weight


def click(arrangement: Arrangement, *, first: int | None = None, last: int | None = None) -> tuple[Click, ...]:
    """The clicks of a passage.

    Args:
        arrangement: the solo.
        first, last: numbers of its first and last measure; None for the solo's own.

    Raises:
        ValueError: when there is no such passage.
    """
    clicks: list[Click] = []
    for start, measure in passage(arrangement, first=first, last=last):
        lead = _lead(measure)
        clicks += (
            Click(start + at - lead, weight)
            for at, weight in _pulse(measure.meter, lead + measure.length)
            if at >= lead
        )
    return tuple(clicks)


def count_in(arrangement: Arrangement, *, first: int | None = None) -> tuple[Click, ...]:
    """The clicks before a passage, at negative positions.

    A pickup falls where players expect it: with one quarter of pickup in 4/4 they hear 1 2 3 4 1 2 3, and the pickup
    comes on 4.

    Args:
        arrangement: the solo.
        first: number of the first measure of the passage; None for the solo's first.

    Raises:
        ValueError: when there is no such measure.
    """
    meter = passage(arrangement, first=first)[0].measure.meter
    length = count_in_length(arrangement, first=first)
    return tuple(Click(at - length, weight) for at, weight in _pulse(meter, length))


def count_in_length(arrangement: Arrangement, *, first: int | None = None) -> Fraction:
    """How long the count-in lasts, in quarters: one or two whole measures, less the pickup that completes them.

    Two where there is a pickup or a measure has fewer than three beats, else one.

    Args:
        arrangement: the solo.
        first: number of the first measure of the passage; None for the solo's first.

    Raises:
        ValueError: when there is no such measure.
    """
    measure = passage(arrangement, first=first)[0].measure
    whole = measure.meter.length
    pickup = whole - _lead(measure) if _lead(measure) else Fraction(0)
    measures = 2 if pickup or whole / measure.meter.beat < _ENOUGH_BEATS else 1
    return measures * whole - pickup


def _lead(measure: ArrangedMeasure) -> Fraction:
    """What a pickup measure lacks at its start, in quarters; 0 for every other measure."""
    return max(measure.meter.length - measure.length, Fraction(0)) if measure.number == 0 else Fraction(0)


def _pulse(meter: Meter, length: Fraction) -> Iterator[tuple[Fraction, Weight]]:
    """Positions and weights of the clicks of so many quarters, from the start of a measure."""
    cut = meter.unit == 2
    step = meter.beat / 2 if cut else meter.beat
    at = Fraction(0)
    while at < length:
        within = at % meter.length
        if within == 0:
            yield at, "accent"
        else:
            yield at, "beat" if within % meter.beat == 0 else "light"
        at += step
