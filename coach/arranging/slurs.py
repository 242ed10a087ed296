"""Slides, hammer-ons and pull-offs into a melody note, where players usually have them.

Common practice, no source: the places are those of open G; any tuning has them at the same frets.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["SLURS", "Slur"]


class Slur(NamedTuple):
    """A slur: technique, string, the frets that it comes from and goes to, and its price (0 for the usual ones)."""

    technique: str
    string: int
    from_fret: int
    to_fret: int
    price: int


SLURS: tuple[Slur, ...] = (
    Slur("slide", 3, 2, 4, 0),
    Slur("slide", 4, 2, 5, 1),
    Slur("slide", 3, 3, 4, 1),
    Slur("slide", 3, 2, 3, 1),
    Slur("slide", 4, 2, 4, 2),
    Slur("slide", 1, 2, 4, 2),
    Slur("slide", 2, 2, 3, 2),
    Slur("hammer-on", 4, 0, 2, 0),
    Slur("hammer-on", 1, 0, 2, 0),
    Slur("hammer-on", 3, 0, 2, 0),
    Slur("hammer-on", 2, 0, 1, 1),
    Slur("hammer-on", 3, 2, 3, 1),
    Slur("hammer-on", 2, 2, 3, 1),
    Slur("hammer-on", 4, 2, 4, 2),
    Slur("pull-off", 3, 2, 0, 2),
    Slur("pull-off", 4, 2, 0, 1),
    Slur("pull-off", 1, 2, 0, 1),
    Slur("pull-off", 3, 3, 2, 1),
    # Up the neck a slide into the melody on string 1, by a whole tone.
    *(Slur("slide", 1, fret - 2, fret, 3) for fret in range(5, 13)),
)
