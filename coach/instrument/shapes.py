"""Chord shapes of the left hand, for strings 4, 3, 2, 1.

The table of open G is common practice, no source; each row is checked against the chord's pitch classes. Any other
chord or tuning gets the lowest shape that its pitch classes allow.
"""

from __future__ import annotations

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from coach.instrument.fretboard import LONG_STRINGS
from coach.instrument.hands import SPAN, span
from coach.instrument.tuning import OPEN_G, Tuning

__all__ = ["OPEN_G_SHAPES", "Shape", "closed_shape", "shape", "shapes"]

_INTERVALS = {"": (0, 4, 7), "m": (0, 3, 7), "7": (0, 4, 7, 10)}

# Root pitch class, quality, frets of strings 4 3 2 1; of several shapes of a chord the usual one stands first.
OPEN_G_SHAPES: tuple[tuple[int, str, tuple[int, int, int, int]], ...] = (
    (7, "", (0, 0, 0, 0)),
    (0, "", (2, 0, 1, 2)),
    (2, "", (0, 2, 3, 4)),
    (2, "7", (0, 2, 1, 0)),
    (2, "7", (0, 2, 1, 4)),
    (4, "m", (2, 0, 0, 2)),
    (9, "m", (2, 2, 1, 2)),
    (5, "", (3, 2, 1, 3)),
    (9, "", (2, 2, 2, 2)),
    (4, "", (2, 1, 0, 2)),
    (11, "m", (4, 4, 3, 4)),
    (11, "7", (1, 2, 0, 1)),
    (2, "m", (0, 2, 3, 3)),
    (7, "7", (0, 0, 0, 3)),
    (11, "", (4, 4, 4, 4)),
    (6, "m", (4, 2, 2, 4)),
    (10, "", (3, 3, 3, 3)),
    (9, "7", (2, 0, 2, 2)),
    (4, "7", (2, 1, 0, 0)),
    (0, "7", (2, 3, 1, 2)),
    (7, "m", (5, 3, 3, 5)),
    (0, "m", (5, 5, 4, 5)),
)

_HIGHEST_OPEN = 5
_HIGHEST_CLOSED = 12


@dataclass(frozen=True, slots=True)
class Shape:
    """A chord shape.

    Attributes:
        frets: of strings 4, 3, 2, 1, from the capo; None where the string is not played.
    """

    frets: tuple[int | None, int | None, int | None, int | None]

    def fret(self, string: int) -> int | None:
        """The fret on a long string, 1..4; None where it is not played."""
        return self.frets[4 - string]


def shapes(root_pc: int, tones: AbstractSet[int], tuning: Tuning = OPEN_G) -> tuple[Shape, ...]:
    """The shapes of a chord, the usual one first.

    Args:
        root_pc: pitch class of the root in the shape that the player thinks in (without capo), 0..11.
        tones: pitch classes of the whole chord, the root among them, at least one.
        tuning: the open strings; the table serves open G, other tunings are computed.
    """
    return _shapes(root_pc, frozenset(tones), tuning)


def shape(root_pc: int, tones: AbstractSet[int], tuning: Tuning = OPEN_G) -> Shape:
    """The usual shape of a chord: the first of :func:`shapes`."""
    return shapes(root_pc, tones, tuning)[0]


def closed_shape(root_pc: int, tones: AbstractSet[int], tuning: Tuning = OPEN_G, *, near: int = 4) -> Shape:
    """The shape without open strings whose lowest fret lies nearest to ``near``, for back-up.

    In open G this finds the three that move along the neck (the F form 3 2 1 3, the D form 4 2 3 4, the barre) and
    their minor kin.
    """
    return _closed(root_pc, frozenset(tones), tuning, near)


@lru_cache(maxsize=512)
def _shapes(root_pc: int, tones: frozenset[int], tuning: Tuning) -> tuple[Shape, ...]:
    if tuning == OPEN_G:
        listed = tuple(
            Shape(frets)
            for pc, quality, frets in OPEN_G_SHAPES
            if pc == root_pc and {(pc + step) % 12 for step in _INTERVALS[quality]} == tones
        )
        if listed:
            return listed
    found = _candidates(tones, tuning, range(_HIGHEST_OPEN + 1))
    return (
        min(
            found,
            key=lambda each: (_lack(each, root_pc, tones, tuning), max(_fretted(each), default=0), sum(_fretted(each))),
        ),
    )


@lru_cache(maxsize=512)
def _closed(root_pc: int, tones: frozenset[int], tuning: Tuning, near: int) -> Shape:
    found = [
        each
        for low in range(1, _HIGHEST_CLOSED - SPAN + 1)
        for each in _candidates(tones, tuning, range(low, low + SPAN + 1))
        if _fretted(each)
    ]
    return min(
        found,
        key=lambda each: (
            _lack(each, root_pc, tones, tuning),
            abs(min(_fretted(each)) - near),
            sum(_fretted(each)),
            [fret or 0 for fret in each.frets],
        ),
    )


def _candidates(tones: frozenset[int], tuning: Tuning, frets: Iterable[int]) -> list[Shape]:
    """Every choice of a chord tone, or nothing, on each long string within the span of a hand."""
    choices: list[list[int | None]] = [
        [*(fret for fret in frets if (tuning.open_pitch(string) + fret) % 12 in tones), None] for string in LONG_STRINGS
    ]
    return [
        Shape((a, b, c, d))
        for a, b, c, d in product(*choices)
        if span(fret for fret in (a, b, c, d) if fret is not None) <= SPAN
    ]


def _fretted(each: Shape) -> list[int]:
    return [fret for fret in each.frets if fret]


def _lack(each: Shape, root_pc: int, tones: frozenset[int], tuning: Tuning) -> int:
    """How much of the chord a shape lacks: a silent string 4, the root 3, the fifth 1, another tone 2."""
    sounding = {
        (tuning.open_pitch(string) + fret) % 12
        for string, fret in zip(LONG_STRINGS, each.frets, strict=True)
        if fret is not None
    }
    weights = {root_pc: 3, (root_pc + 7) % 12: 1}
    return 4 * each.frets.count(None) + sum(weights.get(tone, 2) for tone in tones - sounding)
