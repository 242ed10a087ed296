"""The player's own time in a free pass: when each place sounded, how fast each measure went, and where it stopped.

A measure's tempo is the slope of a least-squares line through its onsets (written position against heard seconds, with
the first onset after the measure where the player went on to it). A stop, a gap of more than twice what was expected
and ``STOP`` seconds longer, parts the line: both sides keep one slope, each has a height of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from coach.listening.alignment import Alignment
from coach.listening.path import Onset, Sounded

__all__ = ["OwnTime", "last_stretches", "own_time"]

STOP = 0.7
LEAST_ONSETS = 3  # of a measure, before a line through them means anything

Points = list[tuple[int, float, float]]  # the place, where it is written, and when it sounded


@dataclass(frozen=True, slots=True)
class OwnTime:
    """The player's time; see the module's text.

    Attributes:
        heard: the seconds at which each place was first heard, where it counts.
        line: for each place that the player came by, the seconds at which the line has it.
        tempos: by measure, in quarters a minute.
        stops: the places before and after each stop, by time.
    """

    heard: Mapping[int, float]
    line: Mapping[int, float]
    tempos: Mapping[int, float]
    stops: tuple[tuple[int, int], ...]


def last_stretches(alignment: Alignment) -> dict[int, int]:
    """For each place that the player came by, the number of the stretch in which that was for the last time."""
    return {
        place: number
        for number, stretch in enumerate(alignment.stretches)
        for place in range(stretch.first, stretch.last + 1)
    }


def own_time(
    onsets: Sequence[Onset], measures: Sequence[int], notes: Sequence[Sounded], alignment: Alignment
) -> OwnTime:
    """Tell the player's time.

    Args:
        onsets: what is written.
        measures: the number of the measure of each onset.
        notes: what was heard.
        alignment: of the two.
    """
    chosen = last_stretches(alignment)
    heard: dict[int, float] = {}
    parts: list[Points] = []
    stops: list[tuple[int, int]] = []
    for number, stretch in enumerate(alignment.stretches):
        points: Points = []
        for step in stretch.steps:
            if chosen[step.onset] == number and step.onset not in heard:
                seconds = notes[step.note].seconds
                heard[step.onset] = seconds
                if points:
                    before = points[-1]
                    expected = (onsets[step.onset].at - before[1]) * alignment.quarters[step.note]
                    if seconds - before[2] > max(2 * expected, expected + STOP):
                        stops.append((before[0], step.onset))
                        parts.append(points)
                        points = []
                points.append((step.onset, onsets[step.onset].at, seconds))
        parts.append(points)
    line: dict[int, float] = {}
    tempos: dict[int, float] = {}
    for measure in sorted({measures[place] for place in heard}):
        runs = [run for run in (_of_measure(part, measures, measure) for part in parts) if run]
        slope = _slope(runs)
        if slope is not None:
            tempos[measure] = round(60 / slope, 3)
        for run in runs:
            for place, at, seconds in run:
                if measures[place] == measure:
                    line[place] = seconds if slope is None else _height(run, slope, at)
    return OwnTime(heard, _filled(onsets, notes, alignment, chosen, line), tempos, tuple(stops))


def _of_measure(part: Points, measures: Sequence[int], measure: int) -> Points:
    """The points of a measure and the one after them, if that is the first of what follows."""
    inside = [i for i, (place, _, _) in enumerate(part) if measures[place] == measure]
    if not inside:
        return []
    until = inside[-1] + 1
    if until < len(part) and measures[part[until][0] - 1] == measure:
        until += 1
    return part[inside[0] : until]


def _slope(runs: Sequence[Points]) -> float | None:
    """Seconds a quarter, over runs that each have a height of their own; None where too few onsets tell it."""
    products = squares = 0.0
    for run in runs:
        middle, mean = fmean(at for _, at, _ in run), fmean(seconds for _, _, seconds in run)
        products += sum((at - middle) * (seconds - mean) for _, at, seconds in run)
        squares += sum((at - middle) ** 2 for _, at, _ in run)
    enough = max((len(run) for run in runs), default=0) >= LEAST_ONSETS
    return products / squares if enough and squares > 0 and products > 0 else None


def _height(run: Points, slope: float, at: float) -> float:
    return fmean(seconds for _, _, seconds in run) + slope * (at - fmean(each for _, each, _ in run))


def _filled(
    onsets: Sequence[Onset],
    notes: Sequence[Sounded],
    alignment: Alignment,
    chosen: Mapping[int, int],
    line: Mapping[int, float],
) -> dict[int, float]:
    """The line with the places between that were passed over."""
    filled = dict(line)
    for number, stretch in enumerate(alignment.stretches):
        first: dict[int, float] = {}
        for step in stretch.steps:
            first.setdefault(step.onset, notes[step.note].seconds)
        # Where the line has a sounded place, here also one that was played again later.
        near = {place: line[place] if chosen[place] == number else seconds for place, seconds in first.items()}
        for before, after in pairwise(sorted(near)):
            span = onsets[after].at - onsets[before].at
            for place in range(before + 1, after):
                if chosen[place] == number:
                    share = (onsets[place].at - onsets[before].at) / span
                    filled[place] = near[before] + share * (near[after] - near[before])
    return filled
