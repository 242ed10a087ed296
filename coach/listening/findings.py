"""A finding: one thing that a teacher would name about a pass, in numbers; :mod:`~coach.listening.saying` words it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Finding", "Name", "audible_ms", "tolerance_ms"]

Name = Literal[
    # Matters of time; sizes in milliseconds.
    "fifth string early",
    "fifth string late",
    "change late",
    "slide late",
    "open roll rushed",
    "off-beats late",
    "off-beats early",
    "slot early",
    "slot late",
    "kick-off late",
    "gaining",
    "falling behind",
    "scattered",
    "leaning ahead",
    "leaning behind",
    # Notes that went another way; sizes are shares, but of a cut fill, which is in quarters (0 unknown).
    "swallowed",
    "crushed",
    "middle missed",
    "neighbour string",
    "fill cut short",
    "picked, not slurred",
    # Levels; sizes in decibels.
    "middle soft",
    "melody hidden",
]

LEAST_AUDIBLE_MS = 6.0
AUDIBLE_SHARE = 0.025
TOLERANCE_SHARE = 8  # an eighth


@dataclass(frozen=True, slots=True)
class Finding:
    """Something found in a pass.

    Attributes:
        name: what it is.
        size: how much of it, >= 0; see the names.
        count, of: measures, or notes where it is a matter of notes, in which it shows, and in which it could.
        measures: the numbers of those measures in which it shows, in order.
        cost: how much it stands in the way of a clean pass, in notes; what costs most is said first.
        slot: of the roll, from 1, for the habits of a slot; else 0.
        strings: for a neighbour string the one written and the one caught most often; else None.
        before: whether it showed in the pass before as well.
    """

    name: Name
    size: float
    count: int
    of: int
    measures: tuple[int, ...]
    cost: float
    slot: int = 0
    strings: tuple[int, int] | None = None
    before: bool = False


def audible_ms(gap_ms: float, told_ms: float | None = None) -> float:
    """The least displacement, in milliseconds, that is worth a word where onsets are ``gap_ms`` apart.

    What can be heard is max(6 ms, 2.5 % of the gap): the just noticeable displacement of one tone (Friberg & Sundberg
    1995, J. Acoust. Soc. Am. 98(5), 2524-2531; abstract seen). Where a tolerance is told, in milliseconds, an eighth of
    it, if that is more: so the two stand to each other where none is told (2.5 % and 20 %).
    """
    return max(LEAST_AUDIBLE_MS, AUDIBLE_SHARE * gap_ms, 0.0 if told_ms is None else told_ms / TOLERANCE_SHARE)


def tolerance_ms(gap_ms: float, told_ms: float | None = None) -> float:
    """What is on time where onsets are ``gap_ms`` apart, in milliseconds either way: the contract of the report."""
    return max(30.0, min(80.0, gap_ms / 5)) if told_ms is None else max(told_ms, 1.0)
