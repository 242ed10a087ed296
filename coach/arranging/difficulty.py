"""How hard a solo is to play: five parts, counted a beat, and one index of them. The tier is never looked at.

Conventions
    A beat is two slots of the solo, in a compound metre three (as everywhere in texture), so the index tells how hard
    the solo is beside its tempo. The index is the sum of the parts by their weights: 1 is bare melody in quarters on
    open strings that no finger leaves.

The parts and their units are in :data:`PARTS`. Their weights are common practice, no source: they were chosen by
reasoning before any solo was measured, and are not fitted to what the tiers come out as. One more note in each beat
is the unit. A fret that the hand travels, and a slur, weigh as much as a note that has to be fitted in. A melody note
off the beat is counted among the notes already and weighs half as much again. A finger goes to the next string along
with its stroke; four such ways are thought as hard as a note.

Each part counts what is there, and the hand's travel is the least with which every note is reached. So nothing that
is added to a measure can make a part smaller.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Finger
from coach.arranging.timeline import Sounding, Timeline, two_beats
from coach.instrument.hands import SPAN

__all__ = ["PARTS", "Difficulty", "MeasureDifficulty", "Part", "Parts", "difficulty"]


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the difficulty.

    Attributes:
        name: what it is called.
        unit: in which it is counted.
        sentence: what is counted.
        weight: what one of the unit adds to the index.
    """

    name: str
    unit: str
    sentence: str
    weight: float


PARTS: dict[str, Part] = {
    each.name: each
    for each in (
        Part("notes", "notes a beat", "Moments at which a string is picked or slurred; a pinch is one.", 1.0),
        Part("string crossings", "strings a beat", "Strings that a right-hand finger goes from pick to pick.", 0.25),
        Part("left-hand travel", "frets a beat", "Frets that a hand of four must move at least to reach all.", 1.0),
        Part("slurs", "slurs a beat", "Slides, hammer-ons and pull-offs.", 1.0),
        Part("off-beat melody", "notes a beat", "Melody notes that are struck off the beat.", 0.5),
    )
}

_FIRST_POSITION = 1


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts of a stretch of music.

    Attributes:
        values: by the names of :data:`PARTS`, in their units, at least 0.
    """

    values: Mapping[str, float]

    @property
    def index(self) -> float:
        """The sum of the parts by their weights."""
        return sum(PARTS[name].weight * value for name, value in self.values.items())

    @property
    def largest(self) -> str:
        """The part, besides the notes themselves, that adds most to the index; ``notes`` where nothing else adds."""
        others = {name: PARTS[name].weight * value for name, value in self.values.items() if name != "notes"}
        best = max(others, key=lambda name: others[name])
        return best if others[best] > 0 else "notes"


@dataclass(frozen=True, slots=True)
class MeasureDifficulty:
    """The parts of one measure, by its number; moves towards its notes from the measure before belong to it."""

    number: int
    parts: Parts


@dataclass(frozen=True, slots=True)
class Difficulty:
    """The parts of a whole solo and of its measures."""

    parts: Parts
    measures: tuple[MeasureDifficulty, ...]

    @property
    def index(self) -> float:
        """The index of the whole solo."""
        return self.parts.index


def difficulty(arrangement: Arrangement) -> Difficulty:
    """How hard a solo is."""
    counts = _Counts(Timeline(arrangement))
    beats = {
        measure.number: _beats(measure, arrangement.slot, arrangement.source_scale) for measure in arrangement.measures
    }
    return Difficulty(
        _parts([counts.of[number] for number in beats], sum(beats.values(), Fraction(0))),
        tuple(MeasureDifficulty(number, _parts([counts.of[number]], length)) for number, length in beats.items()),
    )


def _beats(measure: ArrangedMeasure, slot: Fraction, source_scale: Fraction) -> Fraction:
    return measure.length / (two_beats(measure, measure.slot or slot, source_scale) / 2)


def _parts(counts: list[dict[str, int]], beats: Fraction) -> Parts:
    return Parts({name: float(sum(each[name] for each in counts) / beats) for name in PARTS})


class _Counts:
    """What is counted of each part in each measure (by number), walked once from start to end."""

    def __init__(self, timeline: Timeline) -> None:
        self.of: dict[int, dict[str, int]] = {
            measure.number: dict.fromkeys(PARTS, 0) for measure in timeline.arrangement.measures
        }
        self._scale = timeline.arrangement.source_scale
        self._hand = _FIRST_POSITION
        self._strings: dict[Finger, int] = {}
        self._picks: dict[int, Sounding] = {}  # by string, the pick that sounds there
        moments: defaultdict[int, set[Fraction]] = defaultdict(set)
        for each in timeline.soundings:
            self._add(each)
            moments[each.measure.number].add(each.when)
        for number, times in moments.items():
            self.of[number]["notes"] = len(times)

    def _add(self, each: Sounding) -> None:
        pluck, counted = each.pluck, self.of[each.measure.number]
        if pluck.finger is not None:
            counted["string crossings"] += abs(pluck.string - self._strings.get(pluck.finger, pluck.string))
            self._strings[pluck.finger] = pluck.string
            self._picks[pluck.string] = each
        else:
            counted["slurs"] += 1
        if pluck.fret:
            # To go no further than a note asks for is the least travel in all: what is saved later is paid now.
            hand = min(max(self._hand, pluck.fret - SPAN), pluck.fret)
            counted["left-hand travel"] += abs(hand - self._hand)
            self._hand = hand
        struck = self._picks.get(pluck.string, each)
        if each.melodic and struck.pluck.at % (two_beats(struck.measure, struck.slot, self._scale) / 2):
            counted["off-beat melody"] += 1
