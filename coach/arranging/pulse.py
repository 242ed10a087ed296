"""The pulse of a metre: how its beats are grouped, and where bass and chop fall.

Conventions
    Positions and lengths are in quarters from the start of a measure. Metres that count in threes (6/8, 9/8, 12/8, and
    6/4 where one of them was doubled) have groups of three; 5/8, 7/8 and the like have twos and a last three; in every
    other metre each counted value stands alone.

Common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, pairwise
from typing import Literal, NamedTuple

from coach.tunes.tune import Meter

__all__ = ["SLOW_TEMPO", "Stroke", "Style", "grouping", "strokes", "style_for"]

Style = Literal["full", "plain"]

# Below so many quarters a minute music counts as slow: a slow jam begins here (common practice, no source).
SLOW_TEMPO = 100.0

_THREE = 3
_EIGHTH = 8


class Stroke(NamedTuple):
    """Where something sounds in a measure.

    Attributes:
        at: in quarters from the start of the measure.
        length: to the next stroke or the end of the measure.
        part: ``bass`` or ``chop``.
    """

    at: Fraction
    length: Fraction
    part: Literal["bass", "chop"]


def style_for(tempo: float | None) -> Style:
    """The style that suits a tempo in quarters a minute: plain below :data:`SLOW_TEMPO`; full where none is known."""
    return "plain" if tempo is not None and tempo < SLOW_TEMPO else "full"


def grouping(meter: Meter) -> tuple[Fraction, ...]:
    """The lengths of the groups of a full measure, in order."""
    unit = Fraction(4, meter.unit)
    if meter.count % _THREE == 0 and meter.count > _THREE:
        return (_THREE * unit,) * (meter.count // _THREE)
    if meter.count % 2 and meter.count > _THREE and meter.unit >= _EIGHTH:
        return (*(2 * unit,) * ((meter.count - _THREE) // 2), _THREE * unit)
    return (unit,) * meter.count


def strokes(meter: Meter, length: Fraction, style: Style) -> tuple[Stroke, ...]:
    """Where bass and chop sound in a measure; a short measure breaks the pattern off, a longer one begins it again.

    Full: bass and chop by turns in metres of two and four (quarters in 4/4 and in cut time); bass, chop, chop in
    three; where beats are grouped, the bass on the first and the chop on the last value of each group. Plain: half as
    many, so that a slow song has room: bass and chop by half measures in two and four, bass on 1 and chop on 3 in
    three, one stroke a group where beats are grouped.
    """
    whole = _full(meter) if style == "full" else _plain(meter)
    found: list[tuple[Fraction, Literal["bass", "chop"]]] = []
    start = Fraction(0)
    while start < length:
        found += ((start + at, part) for at, part in whole if start + at < length)
        start += meter.length
    ends = [*(at for at, _ in found[1:]), length]
    return tuple(Stroke(at, end - at, part) for (at, part), end in zip(found, ends, strict=True))


def _full(meter: Meter) -> list[tuple[Fraction, Literal["bass", "chop"]]]:
    unit = Fraction(4, meter.unit)
    groups = grouping(meter)
    if groups[0] > unit:
        bounds = (Fraction(0), *accumulate(groups))
        return [stroke for low, high in pairwise(bounds) for stroke in ((low, "bass"), (high - unit, "chop"))]
    if meter.count == 2:
        return _turns(unit / 2, 4)
    if meter.count % 4 == 0:
        return _turns(unit, meter.count)
    return [(index * unit, "chop" if index else "bass") for index in range(meter.count)]


def _plain(meter: Meter) -> list[tuple[Fraction, Literal["bass", "chop"]]]:
    unit = Fraction(4, meter.unit)
    groups = grouping(meter)
    if groups[0] > unit:
        starts = (Fraction(0), *accumulate(groups[:-1]))
        turns = len(groups) % 2 == 0
        return [(at, "chop" if (index % 2 if turns else index) else "bass") for index, at in enumerate(starts)]
    if meter.count == 2:
        return _turns(unit, 2)
    if meter.count % 4 == 0:
        return _turns(2 * unit, meter.count // 2)
    late: list[tuple[Fraction, Literal["bass", "chop"]]] = [((meter.count // 2 + 1) * unit, "chop")]
    return [(Fraction(0), "bass"), *(late if meter.count > 1 else [])]


def _turns(step: Fraction, count: int) -> list[tuple[Fraction, Literal["bass", "chop"]]]:
    return [(index * step, "chop" if index % 2 else "bass") for index in range(count)]
