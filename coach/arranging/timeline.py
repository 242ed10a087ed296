"""A finished solo laid out in one line: every pluck and melody note at its written position from the start."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, MelodyNote, Pluck
from coach.arranging.counting import counted
from coach.tunes.chords import Chord
from coach.tunes.tune import Meter

__all__ = ["Moment", "Sounding", "Sung", "Timeline", "two_beats"]


@dataclass(frozen=True, slots=True)
class Sounding:
    """A pluck at its written position ``when``, in quarters from the start of the first measure."""

    when: Fraction
    pluck: Pluck
    measure: ArrangedMeasure
    slot: Fraction
    carries: bool

    @property
    def on_slot(self) -> Fraction:
        """The position of the slot in which it sounds, counted like ``when``."""
        return self.when - self.pluck.at % self.slot

    @property
    def counted(self) -> str:
        """Its place as it is counted aloud."""
        return counted(self.measure, self.pluck.at)

    @property
    def picked(self) -> bool:
        """Whether the right hand picks it (it is no slurred note)."""
        return self.pluck.technique == "pick"

    @property
    def melodic(self) -> bool:
        """Whether it belongs to the melody: by its role, or because it carries a kept melody note."""
        return self.carries or self.pluck.role == "melody"


@dataclass(frozen=True, slots=True)
class Sung:
    """A melody note at its written position ``when``, in quarters from the start of the first measure."""

    when: Fraction
    note: MelodyNote
    measure: ArrangedMeasure
    slot: Fraction

    @property
    def counted(self) -> str:
        """Its place as it is counted aloud."""
        return counted(self.measure, self.note.at)


@dataclass(frozen=True, slots=True)
class Moment:
    """The plucks that are picked at once, from string 5 to string 1."""

    when: Fraction
    soundings: tuple[Sounding, ...]

    @property
    def slot(self) -> Fraction:
        """The grid of its measure."""
        return self.soundings[0].slot

    def runs_into(self, later: Moment) -> bool:
        """Whether a later moment stands in the next slot (or nearer)."""
        return later.when - self.when <= max(self.slot, later.slot)


class Timeline:
    """All that sounds and all that the tune has, in order of position."""

    def __init__(self, arrangement: Arrangement) -> None:
        self.arrangement = arrangement
        carriers = {note.pluck for measure in arrangement.measures for note in measure.melody if note.pluck}
        self.soundings: list[Sounding] = []
        self.melody: list[Sung] = []
        self.chords: list[tuple[Fraction, Chord]] = []
        self.starts: dict[int, Fraction] = arrangement.starts()
        for measure in arrangement.measures:
            start = self.starts[measure.number]
            slot = measure.slot or arrangement.slot
            self.soundings.extend(
                Sounding(start + pluck.at, pluck, measure, slot, pluck.id in carriers) for pluck in measure.plucks
            )
            self.melody.extend(Sung(start + note.at, note, measure, slot) for note in measure.melody)
            self.chords.extend((start + change.at, change.chord) for change in measure.chords)

    def moments(self) -> Iterator[Moment]:
        """The positions at which something is picked; slurred notes are left out."""
        picked = (sounding for sounding in self.soundings if sounding.picked)
        for when, together in groupby(picked, key=lambda sounding: sounding.when):
            yield Moment(when, tuple(together))

    def chord_at(self, when: Fraction) -> Chord | None:
        """The chord that sounds at a position, None before the first one."""
        index = bisect_right(self.chords, when, key=lambda change: change[0])
        return self.chords[index - 1][1] if index else None


def two_beats(measure: ArrangedMeasure, slot: Fraction, source_scale: Fraction) -> Fraction:
    """How long the melody must hold or rest, in quarters, for a beginner to fill: two beats.

    Texture counts slots (a doubled 2/4 plays like 4/4), so a beat is two slots; in a compound metre of the tune (6/8,
    9/8, 12/8) it is three of the metre's units.
    """
    meter = Meter(measure.meter.count, int(measure.meter.unit * source_scale))
    return 2 * meter.beat * source_scale if meter.compound else 4 * slot
