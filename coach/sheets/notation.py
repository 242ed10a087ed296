"""Written values: how a length is spelt in notes, dots, ties, tuplets and beams.

Common practice, no source: a note may not hide the middle of a measure of four beats unless it starts on a beat, nor
a beat unless it starts on a half beat; in compound metres it may not hide a beat unless it fills whole beats. Rests
stand on multiples of their own value.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Generic, TypeVar

from coach.errors import InputError
from coach.tunes.tune import Meter

__all__ = ["Piece", "Tuplet", "beams", "pieces"]

T = TypeVar("T")

_PLAIN = tuple(Fraction(4, 2**k) for k in range(9))
# Notatable lengths in quarters, each with its note value (1, 2, 4 ...) and dots; the longest first.
_VALUES = tuple(
    sorted(
        [(value, int(4 / value), 0) for value in _PLAIN] + [(value * 3 / 2, int(4 / value), 1) for value in _PLAIN],
        reverse=True,
    )
)


@dataclass(frozen=True, slots=True)
class Piece(Generic[T]):
    """One written note, chord or rest.

    Attributes:
        at: position in the measure, in quarters.
        length: what it lasts, in quarters.
        dur: its note value: 1 whole, 2 half, 4 quarter ...
        dots: 0 or 1.
        what: what is sounded; None for a rest.
        first: whether it begins its note; the pieces after it are tied on.
        last: whether it ends its note.
    """

    at: Fraction
    length: Fraction
    dur: int
    dots: int
    what: T | None
    first: bool = True
    last: bool = True


@dataclass(frozen=True, slots=True)
class Tuplet(Generic[T]):
    """Pieces of which ``num`` take the time of ``numbase``."""

    num: int
    numbase: int
    pieces: tuple[Piece[T], ...]


def _may_stand(at: Fraction, value: Fraction, dots: int, meter: Meter, *, rest: bool) -> bool:
    """Whether one written value may stand at a position of a full measure (see the module)."""
    end = at + value
    beat = meter.beat
    if meter.compound:
        return at // beat == -(-end // beat) - 1 or (at % beat == 0 and value % beat == 0)
    if rest:
        plain = value if not dots else value * 2 / 3
        return not dots and at % plain == 0
    quarter = Fraction(1)
    middle = meter.length / 2 if meter.length % 4 == 0 else None
    if middle is not None and at < middle < end:
        return at % quarter == 0
    return at // quarter == -(-end // quarter) - 1 or at % (quarter / 2) == 0


def _split(
    at: Fraction, length: Fraction, meter: Meter | None, *, rest: bool = False
) -> list[tuple[Fraction, int, int]]:
    """A length as written values, the longest that may stand first; without a metre each may stand anywhere."""
    values = []
    while length > 0:
        fitting = next(
            (
                (value, dur, dots)
                for value, dur, dots in _VALUES
                if value <= length and (meter is None or _may_stand(at, value, dots, meter, rest=rest))
            ),
            None,
        )
        if fitting is None:
            raise InputError(
                f"a note or rest of {length} quarters cannot be written", cure="use multiples of 1/64, or triplets"
            )
        values.append(fitting)
        at += fitting[0]
        length -= fitting[0]
    return values


def _pieces(
    what: T | None, at: Fraction, values: Sequence[tuple[Fraction, int, int]], factor: Fraction
) -> list[Piece[T]]:
    made = []
    for index, (value, dur, dots) in enumerate(values):
        made.append(Piece(at, value / factor, dur, dots, what, index == 0, index == len(values) - 1))
        at += value / factor
    return made


def pieces(
    events: Sequence[tuple[Fraction, Fraction, T]],
    meter: Meter,
    length: Fraction,
    *,
    pickup: bool = False,
    across: bool = False,
) -> list[Piece[T] | Tuplet[T]]:
    """Write the events of one measure.

    Args:
        events: position, length and what is sounded, in order, not overlapping, within the measure.
        meter: the metre in force.
        length: of the measure, in quarters.
        pickup: whether the measure is the end of a full one.
        across: whether notes may hide any beat, as in a tablature, where nothing is tied.

    Returns:
        Written values that fill the measure; what no event covers is rests (``what`` None).

    Raises:
        InputError: when a length cannot be written.
    """
    offset = meter.length - length if pickup else Fraction(0)
    filled = list(_with_rests(events, length))
    written: list[Piece[T] | Tuplet[T]] = []
    index = 0
    while index < len(filled):
        at, long, what = filled[index]
        odd = _odd(at + long)
        if odd == 1:
            if across and what is not None:
                values = _split(at, long, None)
            else:
                values = _split(at + offset, long, meter, rest=what is None)
            written += _pieces(what, at, values, Fraction(1))
            index += 1
            continue
        end = index + 1
        while end < len(filled) and _odd(filled[end - 1][0] + filled[end - 1][1]) != 1:
            odd = lcm(odd, _odd(filled[end][0] + filled[end][1]))
            end += 1
        numbase = 1 << (odd.bit_length() - 1)
        factor = Fraction(odd, numbase)
        inner: list[Piece[T]] = []
        for at, long, what in filled[index:end]:
            inner += _pieces(what, at, _split(at, long * factor, None), factor)
        written.append(Tuplet(odd, numbase, tuple(inner)))
        index = end
    return written


def _with_rests(
    events: Sequence[tuple[Fraction, Fraction, T]], length: Fraction
) -> Iterator[tuple[Fraction, Fraction, T | None]]:
    now = Fraction(0)
    for at, long, what in events:
        if at > now:
            yield now, at - now, None
        yield at, long, what
        now = at + long
    if now < length:
        yield now, length - now, None


def _odd(at: Fraction) -> int:
    """The odd part of a denominator: 1 on the plain grid, 3 in a triplet."""
    odd = at.denominator
    while odd % 2 == 0:
        odd //= 2
    return odd


def beams(
    written: Sequence[Piece[T] | Tuplet[T]], window: Fraction, offset: Fraction = Fraction(0)
) -> list[list[Piece[T]] | Tuplet[T]]:
    """Group written values: those in one list of two and more go under a beam.

    Args:
        written: the values of a measure.
        window: beams do not cross multiples of it, in quarters.
        offset: what is missing of the measure at its start (a pickup).
    """
    groups: list[list[Piece[T]] | Tuplet[T]] = []
    open_window: Fraction | int | None = None
    for item in written:
        if isinstance(item, Tuplet):
            groups.append(item)
            open_window = None
            continue
        here = (item.at + offset) // window
        last = groups[-1] if groups else None
        if item.what is None or item.dur < 8:
            groups.append([item])
            open_window = None
        elif here == open_window and isinstance(last, list):
            last.append(item)
        else:
            groups.append([item])
            open_window = here
    return groups
