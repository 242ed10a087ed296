"""The click and the count-in: positions in written time.

A click falls on every beat of the metre (the first value of each group where beats are grouped, see
:mod:`coach.arranging.pulse`), the first of a measure accented. In cut time the beats are half notes, with light clicks
on the quarters between. The values within a group get light clicks too, in 6/8, 9/8 and 12/8 only when it is slow: at
the tempo of a jig they would run together. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.arranging.passage import passage
from coach.arranging.pulse import grouping, style_for
from coach.tunes.tune import Meter

__all__ = ["Click", "Weight", "click", "count_in", "count_in_length"]

Weight = Literal["accent", "beat", "light"]

# A metre with fewer beats than this is counted in over two measures.
_ENOUGH_BEATS = 3
_HALF = 2  # the unit of cut time


@dataclass(frozen=True, slots=True)
class Click:
    """A click.

    Attributes:
        at: in quarters from the start of the passage; negative in a count-in.
        weight: ``accent`` on the first beat of a measure, ``beat``, or ``light`` between beats.
    """

    at: Fraction
    weight: Weight


def click(
    arrangement: Arrangement, *, first: int | None = None, last: int | None = None, tempo: float | None = None
) -> tuple[Click, ...]:
    """The clicks of a passage.

    Args:
        arrangement: the solo.
        first, last: numbers of its first and last measure; None for the solo's own.
        tempo: quarters a minute, > 0; None where it is not known, and taken as fast.

    Raises:
        ValueError: when there is no such passage.
    """
    clicks: list[Click] = []
    for start, measure in passage(arrangement, first=first, last=last):
        lead = _lead(measure)
        clicks += (
            Click(start + at - lead, weight)
            for at, weight in _pulse(measure.meter, lead + measure.length, tempo)
            if at >= lead
        )
    return tuple(clicks)


def count_in(arrangement: Arrangement, *, first: int | None = None, tempo: float | None = None) -> tuple[Click, ...]:
    """The clicks before a passage, at negative positions.

    A pickup falls where players expect it: with one quarter of pickup in 4/4 they hear 1 2 3 4 1 2 3, and the pickup
    comes on 4.

    Args:
        arrangement: the solo.
        first: number of the first measure of the passage; None for the solo's first.
        tempo: quarters a minute, > 0, as for :func:`click`.

    Raises:
        ValueError: when there is no such measure.
    """
    meter = passage(arrangement, first=first)[0].measure.meter
    length = count_in_length(arrangement, first=first)
    return tuple(Click(at - length, weight) for at, weight in _pulse(meter, length, tempo))


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


def _pulse(meter: Meter, length: Fraction, tempo: float | None) -> Iterator[tuple[Fraction, Weight]]:
    """Positions and weights of the clicks of so many quarters, from the start of a measure."""
    measure = _measure(meter, slow=style_for(tempo) == "plain")
    start = Fraction(0)
    while start < length:
        yield from ((start + at, weight) for at, weight in measure if start + at < length)
        start += meter.length


def _measure(meter: Meter, *, slow: bool) -> list[tuple[Fraction, Weight]]:
    """The clicks of a full measure."""
    unit = Fraction(4, meter.unit)
    clicks: list[tuple[Fraction, Weight]] = []
    at = Fraction(0)
    for group in grouping(meter):
        clicks.append((at, "beat" if at else "accent"))
        step = unit / 2 if meter.unit == _HALF else unit
        if meter.compound and not slow:
            step = group
        clicks += [(at + k * step, "light") for k in range(1, int(group / step))]
        at += group
    return clicks
