"""How a simulated player's hands err: independent models of time, of slips and of loudness, each with its source.

A pass begins as strokes that are all played right and in time. Each model takes the strokes and gives them back
changed, with random numbers of its own: one more model changes nothing in what another does. Numbers are of our own
(common practice, no source) where none is named; "references" are the measurements and papers of the design.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from coach.arranging.arrangement import Arrangement, Pluck
from coach.instrument.fretboard import is_fret, pitch_at

__all__ = [
    "Drift",
    "Extra",
    "HandModel",
    "HeavyTails",
    "Jitter",
    "Lead",
    "Loudness",
    "Missed",
    "Neck",
    "OtherFret",
    "OtherString",
    "PickedAgain",
    "Stroke",
    "Stumble",
    "Wander",
]

NEIGHBOURS = {1: (2,), 2: (1, 3), 3: (2, 4), 4: (3, 5), 5: (4,)}
"""Which strings lie beside each (the fifth lies beside the fourth)."""


@dataclass(frozen=True, slots=True)
class Neck:
    """What sounds where on the instrument of a solo."""

    solo: Arrangement

    def pitch(self, string: int, fret: int = 0) -> int:
        """What sounds at a string and fret; the open string where there is no such fret."""
        fret = fret if is_fret(string, fret, capo=self.solo.capo) else 0
        return pitch_at(self.solo.tuning, string, fret, self.solo.capo)


@dataclass(frozen=True, slots=True)
class Stroke:
    """Something that the player does: a pluck, a slur, or what was meant by nobody.

    Attributes:
        pluck: what it is played for; None for a note that nothing asks for.
        meant: the seconds at which it is due, where the player is in the solo.
        seconds: when it is done.
        pitch, string, velocity: what sounds.
        pick: for a slurred note the number of the stroke that its slur began with, in the order of the pass.
        by_left: whether the left hand sounds it; False where it is picked.
        slip: what went wrong, empty where nothing did.
    """

    pluck: Pluck | None
    meant: float
    seconds: float
    pitch: int
    string: int
    velocity: int = 80
    pick: int | None = None
    by_left: bool = False
    slip: str = ""

    @property
    def id(self) -> str | None:
        """The id of its pluck."""
        return None if self.pluck is None else self.pluck.id


class HandModel(Protocol):
    """A model of the player's hands."""

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        """The strokes, changed; strokes that are left out stay, with the slip ``missed``."""
        ...


def _delayed(strokes: Sequence[Stroke], delays: Sequence[float]) -> list[Stroke]:
    return [replace(stroke, seconds=stroke.seconds + by) for stroke, by in zip(strokes, delays, strict=True)]


def _together(strokes: Sequence[Stroke], fresh: Sequence[float], rng: random.Random, spread: float) -> list[Stroke]:
    """Delays from stroke to stroke; a slur is one movement with its pick: a tenth of its own length is left to it."""
    delays = list(fresh)
    for number, stroke in enumerate(strokes):
        if stroke.by_left and stroke.pick is not None:
            apart = stroke.meant - strokes[stroke.pick].meant
            delays[number] = delays[stroke.pick] + rng.gauss(0.0, min(spread, 0.1 * apart))
    return _delayed(strokes, delays)


# Time


@dataclass(frozen=True, slots=True)
class Jitter:
    """Gaussian jitter from stroke to stroke, standard deviation in seconds.

    15 ms is what two players of running notes show (references B2: 15.5 and 14.8 ms); trained tappers have about 2 % of
    the interval, untrained ones 4 % (references A2, from memory).
    """

    spread: float = 0.015

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        return _together(strokes, [rng.gauss(0.0, self.spread) for _ in strokes], rng, self.spread)


@dataclass(frozen=True, slots=True)
class HeavyTails:
    """Jitter with heavy tails: Student's t with three degrees of freedom, of the given standard deviation in seconds.

    A player is mostly steadier than a normal curve of the same spread, and now and then far off (common practice, no
    source). A normal number over the root of a gamma number is t (from memory).
    """

    spread: float = 0.015

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        delays = [rng.gauss(0.0, self.spread) / math.sqrt(3 * rng.gammavariate(1.5, 2 / 3)) for _ in strokes]
        return _together(strokes, delays, rng, self.spread)


@dataclass(frozen=True, slots=True)
class Lead:
    """Negative asynchrony: a steady lead before the click, in seconds.

    Several tens of ms (Aschersleben 2002, references A2); 0 to 30 ms for musicians (from memory).
    """

    seconds: float = 0.020

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        return _delayed(strokes, [-self.seconds] * len(strokes))


@dataclass(frozen=True, slots=True)
class Drift:
    """The player's tempo is off by so much: late at the start and early at the end (positive), by the same amount.

    Far below the 1.5 % to 6 % of tempo that are just noticed (Drake & Botte 1993, references A1): who hears a click
    keeps with it.
    """

    percent: float = 0.02

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        middle = (strokes[0].meant + strokes[-1].meant) / 2 if strokes else 0.0
        return _delayed(strokes, [(middle - stroke.meant) * self.percent / 100 for stroke in strokes])


@dataclass(frozen=True, slots=True)
class Wander:
    """A slow wander about the click: autoregressive of order one, standard deviation in seconds.

    ``memory`` is the correlation of neighbours; what is left of a deviation is halved in about five strokes. Error
    correction of this kind is the standard model of tapping (Repp 2005, references A2, from memory).
    """

    spread: float = 0.006
    memory: float = 0.87

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        delays: list[float] = []
        now = rng.gauss(0.0, self.spread)
        for _ in strokes:
            delays.append(now)
            now = self.memory * now + rng.gauss(0.0, self.spread * math.sqrt(1 - self.memory**2))
        return _delayed(strokes, delays)


# Slips


def _dropped(strokes: Sequence[Stroke], missing: set[int], slip: str) -> list[Stroke]:
    """Leave strokes out, with the slurs that set out from them: without its pick a slur does not sound."""
    silent = missing | {n for n, stroke in enumerate(strokes) if stroke.by_left and stroke.pick in missing}
    return [replace(stroke, slip=slip) if n in silent else stroke for n, stroke in enumerate(strokes)]


@dataclass(frozen=True, slots=True)
class Missed:
    """So many of the plucks are not played. 3 % is a learner's share, three times a professional's (references B2)."""

    share: float = 0.03

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        return _dropped(strokes, {n for n, _ in enumerate(strokes) if rng.random() < self.share}, "missed")


@dataclass(frozen=True, slots=True)
class OtherString:
    """So many of the picks catch the open string beside the right one; a slur from there does not sound."""

    share: float = 0.01

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        caught = {n for n, stroke in enumerate(strokes) if rng.random() < self.share and not stroke.by_left}
        caught = {n for n in caught if not strokes[n].slip}
        played = _dropped(strokes, caught, "missed")
        for n in sorted(caught):
            string = rng.choice(NEIGHBOURS[strokes[n].string])
            played[n] = replace(strokes[n], string=string, pitch=neck.pitch(string), slip="other string")
        return played


@dataclass(frozen=True, slots=True)
class OtherFret:
    """So many of the strokes sound one or two frets off, never below the open string."""

    share: float = 0.01

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        played = []
        for stroke in strokes:
            wrong = rng.random() < self.share
            by = rng.choice([-2, -1, 1, 2])
            if wrong and not stroke.slip:
                by = by if stroke.pitch + by >= neck.pitch(stroke.string) else abs(by)
                stroke = replace(stroke, pitch=stroke.pitch + by, slip="other fret")
            played.append(stroke)
        return played


@dataclass(frozen=True, slots=True)
class Extra:
    """After so many of the strokes an open string is struck that nothing asks for, 20 to 300 ms later."""

    share: float = 0.01

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        more = []
        for stroke in strokes:
            if rng.random() < self.share:
                string, late = rng.randint(1, 5), rng.uniform(0.02, 0.3)
                at = stroke.seconds + late
                more.append(Stroke(None, at, at, neck.pitch(string), string, stroke.velocity, slip="extra"))
        return [*strokes, *more]


@dataclass(frozen=True, slots=True)
class Stumble:
    """Once in a pass the fingers tangle: so many strokes in a row come up to 60 ms early or late, some not at all."""

    strokes: int = 2

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        first = rng.randrange(max(1, len(strokes) - self.strokes))
        tangled = range(first, min(len(strokes), first + self.strokes))
        played = _dropped(strokes, {n for n in tangled if rng.random() < 0.4}, "missed")
        for n in tangled:
            late = rng.uniform(-0.06, 0.06)
            if not played[n].slip:
                played[n] = replace(played[n], seconds=played[n].seconds + late, slip="stumble")
        return played


@dataclass(frozen=True, slots=True)
class PickedAgain:
    """So many of the slurs are picked again instead: right, and told in the report."""

    share: float = 0.10

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        return [
            replace(stroke, by_left=False, slip="picked again")
            if stroke.by_left and rng.random() < self.share and not stroke.slip
            else stroke
            for stroke in strokes
        ]


@dataclass(frozen=True, slots=True)
class Loudness:
    """How loud: MIDI velocity by role, less for the left hand, with Gaussian spread; comes after all slips."""

    melody: int = 96
    fill: int = 72
    slurred: float = 0.7
    spread: float = 6.0

    def play(self, strokes: list[Stroke], rng: random.Random, neck: Neck) -> list[Stroke]:
        played = []
        for stroke in strokes:
            level = self.melody if stroke.pluck is not None and stroke.pluck.role == "melody" else self.fill
            loud = level * (self.slurred if stroke.by_left else 1.0) + rng.gauss(0.0, self.spread)
            played.append(replace(stroke, velocity=max(20, min(127, round(loud)))))
        return played
