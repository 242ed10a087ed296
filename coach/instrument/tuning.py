"""Tunings of the five-string banjo.

Common practice, no source, but for the pitches of open G, which follow from the letter names by equal temperament.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DOUBLE_C", "DROP_C", "G_MODAL", "OPEN_D", "OPEN_G", "TUNINGS", "Tuning"]


@dataclass(frozen=True, slots=True)
class Tuning:
    """The open strings.

    Attributes:
        name: ``open G`` and the like.
        strings: MIDI note numbers of strings 1 to 5, in this order.
    """

    name: str
    strings: tuple[int, int, int, int, int]

    def open_pitch(self, string: int) -> int:
        """The MIDI note number of an open string, 1..5, without capo."""
        return self.strings[string - 1]


OPEN_G = Tuning("open G", (62, 59, 55, 50, 67))
DOUBLE_C = Tuning("double C", (62, 60, 55, 48, 67))
DROP_C = Tuning("drop C", (62, 59, 55, 48, 67))
G_MODAL = Tuning("G modal", (62, 60, 55, 50, 67))
OPEN_D = Tuning("open D", (62, 57, 54, 50, 66))

TUNINGS = {tuning.name: tuning for tuning in (OPEN_G, DOUBLE_C, DROP_C, G_MODAL, OPEN_D)}
