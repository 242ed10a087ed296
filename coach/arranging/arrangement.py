"""An arrangement: what one tier plays, pluck by pluck, and the tune beneath it.

The file form is JSON, format ``arrangement/1``; positions and lengths are strings that hold an exact fraction of a
quarter note, counted from the start of their measure. Reading and writing are in :mod:`coach.arranging.files`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from coach.instrument.tuning import Tuning
from coach.tunes.chords import Chord
from coach.tunes.tune import Meter

__all__ = [
    "TIERS",
    "Arrangement",
    "ArrangedMeasure",
    "ChordAt",
    "Finger",
    "MelodyNote",
    "Pluck",
    "Role",
    "Technique",
    "Tier",
]

Tier = Literal["beginner", "intermediate", "advanced"]
Finger = Literal["T", "I", "M"]
Role = Literal["melody", "fill", "drone", "pinch", "lick"]
Technique = Literal["pick", "slide", "hammer-on", "pull-off"]

TIERS: tuple[Tier, ...] = ("beginner", "intermediate", "advanced")


@dataclass(frozen=True, slots=True)
class ChordAt:
    """A chord of the shape the player thinks in, from ``at`` (in its measure) until the next one."""

    at: Fraction
    chord: Chord


@dataclass(frozen=True, slots=True)
class MelodyNote:
    """A note of the tune after transposition, listed in the measure where it starts.

    Attributes:
        at: where the tune has it, in quarters from the start of its measure.
        length: in quarters; may reach over the barline.
        pitch: MIDI note number that sounds (with the capo).
        lyric: its syllable, with a trailing hyphen when the word goes on, or None.
        phrase_start: whether a phrase begins here.
        kept: whether this tier sounds it.
        pluck: the id of the pluck that carries its pitch, None when it is not kept.
        moved: its new position in the measure where the arranger shifted it, else None.
    """

    at: Fraction
    length: Fraction
    pitch: int
    lyric: str | None = None
    phrase_start: bool = False
    kept: bool = False
    pluck: str | None = None
    moved: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Pluck:
    """One sounding of one string.

    Attributes:
        id: ``m<number>e<k>``, k counting the measure's plucks from 1 by position, then from string 5 to string 1.
        at: in quarters from the start of its measure.
        length: in quarters, to the next pluck, a rest or the barline.
        string: 1..5.
        fret: counted from the capo, on the fifth string too (0, or 6 and up there).
        pitch: MIDI note number that sounds.
        finger: of the right hand; None for a slurred note.
        role: what it is there for.
        technique: how it is sounded.
        from_fret: where a slurred note comes from; None for a picked one.
        left: finger of the left hand, 1 index .. 4 little; None for an open string and where the finger is obvious
            (see :mod:`coach.arranging.lefthand`).
    """

    id: str
    at: Fraction
    length: Fraction
    string: int
    fret: int
    pitch: int
    finger: Finger | None
    role: Role
    technique: Technique = "pick"
    from_fret: int | None = None
    left: int | None = None


@dataclass(frozen=True, slots=True)
class ArrangedMeasure:
    """A measure as played.

    Attributes:
        number: 0 for a pickup, then counted on through repeats.
        source_measure: the measure of the tune it comes from.
        meter: as the arrangement notates it (a doubled 2/4 is 2/2).
        length: in quarters.
        tier: its own tier; differs from the solo's in a mixed solo.
        chords, melody, plucks: in order of position.
        same_as: the number of the measure that it repeats, else None.
        slot: its own grid where that differs from the solo's, else None.
    """

    number: int
    source_measure: int
    meter: Meter
    length: Fraction
    tier: Tier
    chords: tuple[ChordAt, ...]
    melody: tuple[MelodyNote, ...]
    plucks: tuple[Pluck, ...]
    same_as: int | None = None
    slot: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A whole solo.

    Attributes:
        tune: the id of the tune.
        title, rights: from the tune.
        tier: of the solo; ``mixed`` when its measures differ.
        key: what the player thinks in, ``G major``.
        sounding_key: what sounds, only where there is a capo, else None.
        capo: fret of the capo, 0..11.
        meter: at the start.
        slot: the grid of the solo, in quarters.
        source_scale: 2 where the notation was doubled, 1/2 or 1/4 where it was shortened, else 1.
        bounce: 50 straight .. 67, the bounce that suits the solo.
        tuning: of the open strings without capo.
        remarks: what was decided on the way, one sentence each.
        measures: as played, repeats and endings written out.
    """

    tune: str
    title: str
    rights: str
    tier: Tier | Literal["mixed"]
    key: str
    sounding_key: str | None
    capo: int
    meter: Meter
    slot: Fraction
    source_scale: Fraction
    bounce: int
    tuning: Tuning
    remarks: tuple[str, ...]
    measures: tuple[ArrangedMeasure, ...]

    def starts(self) -> dict[int, Fraction]:
        """The written position, in quarters from the first measure, at which each measure (by number) starts."""
        starts: dict[int, Fraction] = {}
        at = Fraction(0)
        for measure in self.measures:
            starts[measure.number] = at
            at += measure.length
        return starts

    def plucks(self) -> Iterator[tuple[ArrangedMeasure, Pluck]]:
        """All plucks in order, each with its measure."""
        for measure in self.measures:
            for pluck in measure.plucks:
                yield measure, pluck
