"""Fills cut short: the second half of a fill is left out, and the melody after it comes back early.

A fill is a run of at least four plucks of fill, lick or drone before a pluck of another role. It was cut short where
the melody note after it was missed at its own place but heard in that of a pluck of the fill, and the rest of the fill
was left out: at least two plucks of it where that may have been a neighbouring string, or a pluck of the same pitch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coach.listening.strokes import PassStrokes, Stroke

__all__ = ["CutFill", "cut_fills"]

LEAST_FILL = 4


@dataclass(frozen=True, slots=True)
class CutFill:
    """A fill that was cut short.

    Attributes:
        lost: the plucks that were not played, from the one in whose place the melody came, to the melody note.
        early: by how many slots the melody came early; None off the grid.
    """

    lost: tuple[Stroke, ...]
    early: int | None


def cut_fills(heard: PassStrokes) -> tuple[CutFill, ...]:
    """The fills of a pass that were cut short, in order."""
    found = []
    fill: list[Stroke] = []
    for stroke in heard.strokes:
        if stroke.pluck.role in ("fill", "lick", "drone"):
            fill.append(stroke)
            continue
        if len(fill) >= LEAST_FILL and stroke.note.verdict == "missed":
            since = _early_return(fill, stroke)
            if since is not None:
                lost = (*fill[since:], stroke)
                steps = lost[0].step, stroke.step
                found.append(CutFill(lost, None if None in steps else (steps[1] or 0) - (steps[0] or 0)))
        fill = []
    return tuple(found)


def _early_return(fill: Sequence[Stroke], back: Stroke) -> int | None:
    """Which pluck of a fill gave way to the melody note, the rest of it being left out; None where none did."""
    for i in range(len(fill) - 1, -1, -1):
        stroke = fill[i]
        if stroke.note.verdict == "missed":
            continue
        left_out = len(fill) - 1 - i
        # A pluck of the melody's own pitch is no sign by itself, nor is a neighbouring string caught by accident.
        neighbour = abs(stroke.pluck.string - (stroke.note.string or back.pluck.string)) == 1
        least = 2 if stroke.pluck.pitch == back.pluck.pitch or neighbour else 1
        return i if left_out >= least and stroke.note.pitch == back.pluck.pitch else None
    return None
