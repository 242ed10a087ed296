"""A player in free time, for tests: any tempo from measure to measure, stops to think, measures begun again, mistakes.

Models are independent and seeded; the truth is kept beside each note. Tempo is drawn anew for each measure, evenly from
40 to 160 percent; onsets jitter by 15 ms and pinches spread by up to 40 ms more (what two pianists showed: median 16
and 21 ms, references B2).
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from coach.listening.path import Onset, Sounded

__all__ = ["Kind", "Meant", "performance"]


@dataclass(frozen=True, slots=True)
class Kind:
    """What the player does: shares of notes and measures, 0..1."""

    missed: float = 0.0
    extra: float = 0.0
    wrong: float = 0.0
    stops: float = 0.0
    again: float = 0.0
    steady: bool = False


@dataclass(frozen=True, slots=True)
class Meant:
    """A note with the onset that it was meant for, None for an extra, and whether its pitch is right."""

    note: Sounded
    onset: int | None
    right: bool


def performance(onsets: Sequence[Onset], rng: random.Random, kind: Kind, tempo: float = 80.0) -> list[Meant]:
    """Play the onsets from the first to the last; measures begin at entries."""
    entries = [j for j, onset in enumerate(onsets) if onset.entry]
    pitches = sorted({pitch for onset in onsets for pitch in onset.pitches})
    notes: list[Meant] = []
    begun: dict[int, int] = {}
    seconds, pace, j = 1.0, 1.0, 0
    while j < len(onsets):
        onset = onsets[j]
        if onset.entry and not kind.steady:
            pace = rng.uniform(0.4, 1.6)
        for pitch in onset.pitches:
            at = seconds + rng.gauss(0.0, 0.015) + (rng.uniform(0.0, 0.04) if len(onset.pitches) > 1 else 0.0)
            fate = rng.random()
            if fate < kind.missed:
                continue
            if fate < kind.missed + kind.wrong:
                notes.append(Meant(Sounded(at, pitch + rng.choice([-2, -1, 1, 2])), j, right=False))
            else:
                notes.append(Meant(Sounded(at, pitch), j, right=True))
        if rng.random() < kind.extra:
            notes.append(Meant(Sounded(seconds + rng.uniform(0.05, 0.3), rng.choice(pitches)), None, right=False))
        following = j + 1
        if following < len(onsets):
            seconds += (onsets[following].at - onset.at) * 60 / (tempo * pace)
            if rng.random() < kind.stops:
                seconds += rng.uniform(1.0, 6.0)
            if onsets[following].entry and rng.random() < kind.again:
                measure = max(entry for entry in entries if entry <= j)
                begun[measure] = begun.get(measure, 0) + 1
                if begun[measure] < 3:
                    following = measure
                    seconds += rng.choice([0.0, rng.uniform(0.5, 4.0)])
        j = following
    return sorted(notes, key=lambda true: true.note.seconds)
