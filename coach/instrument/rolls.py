"""Rolls: orders of fingers, and how to know one.

Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["HELD", "ROLLS", "Roll", "named_roll"]

HELD = "-"


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll.

    Attributes:
        name: as teachers call it.
        cycle: the finger order that goes on without end; every piece of it is this roll.
        fingers: the eight slots of a measure of 4/4; the first four of them serve 2/4, the first six 3/4.
        strings: the usual strings of those eight slots over an open G chord.
    """

    name: str
    cycle: str
    fingers: str
    strings: tuple[int, ...]


ROLLS: dict[str, Roll] = {
    roll.name: roll
    for roll in (
        Roll("alternating thumb", "TITM", "TITMTITM", (3, 2, 5, 1, 4, 2, 5, 1)),
        Roll("forward", "TIM", "TIMTIMTI", (3, 2, 1, 5, 2, 1, 5, 2)),
        Roll("backward", "MIT", "MITMITMI", (1, 2, 5, 1, 2, 5, 1, 2)),
        Roll("forward-reverse", "TIMTMITM", "TIMTMITM", (3, 2, 1, 5, 1, 2, 3, 1)),
    )
}


def named_roll(fingers: str) -> str | None:
    """The name of the roll that a finger row follows, or None.

    A row follows a roll when it is a piece of the roll's endless finger order. Of several that fit (short rows),
    the first of :data:`ROLLS` is named.

    Args:
        fingers: ``T``, ``I`` and ``M`` by slot; held slots (``-``) are skipped. An empty row follows none.
    """
    row = fingers.replace(HELD, "")
    if not row:
        return None
    for roll in ROLLS.values():
        endless = roll.cycle * (len(row) // len(roll.cycle) + 2)
        if row in endless:
            return roll.name
    return None
