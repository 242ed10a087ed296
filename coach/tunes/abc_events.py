"""What the music of an ABC tune is cut into: notes and rests, bars, and the signs between them.

References:
    The ABC music standard 2.1, December 2011, chapters 4 and 5 (rules from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from coach.tunes.keys import Key
from coach.tunes.tune import Meter

__all__ = [
    "Bar",
    "Ending",
    "Event",
    "Grace",
    "KeyChange",
    "LineEnd",
    "MeterChange",
    "RestMeasures",
    "Sound",
    "Symbol",
]


@dataclass(slots=True)
class Sound:
    """A note or a rest.

    Attributes:
        line: of the file, counted from 1.
        bar: how many bars stand before it in the tune; words are aligned by it.
        name: letter and octave marks as written; empty for a rest.
        ratio: by which a tuplet or a broken rhythm changes its length.
        tied: whether it is tied to the next note.
        words: the syllable of each verse.
    """

    line: int
    bar: int
    name: str
    ratio: Fraction = Fraction(1)
    tied: bool = False
    words: list[str | None] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Grace:
    """A grace note before the next note: the last of its group."""


@dataclass(frozen=True, slots=True)
class RestMeasures:
    """So many measures of rest."""

    count: int


@dataclass(frozen=True, slots=True)
class Bar:
    """A barline; ``ends`` is how often what ends here is played, 1 where no repeat ends."""

    ends: int
    starts: bool
    double: bool


@dataclass(frozen=True, slots=True)
class Ending:
    """Here begins the ending for these times through."""

    times: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Symbol:
    """Text in quotes over the music, mostly the name of a chord."""

    text: str
    line: int


@dataclass(frozen=True, slots=True)
class MeterChange:
    """The metre from here on."""

    meter: Meter


@dataclass(frozen=True, slots=True)
class KeyChange:
    """The key from here on."""

    key: Key


@dataclass(frozen=True, slots=True)
class LineEnd:
    """A line of the music ends."""


Event = Sound | Grace | RestMeasures | Bar | Ending | Symbol | MeterChange | KeyChange | LineEnd
