"""Aligning what was heard with what is written, in free time, when all of it has been heard.

First the notes are followed as live, which tells about how fast the player went where; then the least-cost path of
:mod:`~coach.listening.path` is found again with that curve of tempo, in which each note's quarter is the median of the
gaps around it, before and after. Given the curve, the path is the exact optimum.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from coach.listening.follower import FASTEST, SLOWEST, Follower, gap_of
from coach.listening.path import Onset, Paths, Sounded, Step

__all__ = ["Alignment", "Stretch", "align", "note_pairs"]

AROUND = 3  # gaps before and after a note that tell its tempo
REACH_SECONDS = 0.4  # a note this far from a written note of its pitch that nothing else sounded may still be it


@dataclass(frozen=True, slots=True)
class Stretch:
    """Steps between two jumps: onsets in their written order, one note or more each."""

    steps: tuple[Step, ...]

    @property
    def first(self) -> int:
        """The first onset that is sounded."""
        return self.steps[0].onset

    @property
    def last(self) -> int:
        """The last onset that is sounded."""
        return self.steps[-1].onset


@dataclass(frozen=True, slots=True)
class Alignment:
    """What each note sounded.

    Attributes:
        steps: of the best path, by note; notes that are in no step are extras.
        quarters: for each note, how many seconds a quarter took around it.
        cost: of the path.
    """

    steps: tuple[Step, ...]
    quarters: tuple[float, ...]
    cost: float

    @property
    def stretches(self) -> tuple[Stretch, ...]:
        """The steps, parted where the player jumped."""
        parts: list[list[Step]] = []
        for step in self.steps:
            if step.how in ("start", "jump"):
                parts.append([])
            parts[-1].append(step)
        return tuple(Stretch(tuple(part)) for part in parts)


def align(onsets: Sequence[Onset], notes: Sequence[Sounded], quarter: float = 0.75) -> Alignment:
    """Align notes with onsets.

    Args:
        onsets: what is written, in order of position; may be empty.
        notes: what was heard, in order of time.
        quarter: how many seconds a quarter may take, until the player has shown it.
    """
    if not onsets or not notes:
        return Alignment((), tuple(quarter for _ in notes), float(len(notes)))
    follower = Follower(onsets, quarter)
    for seq, note in enumerate(notes):
        follower.hear(note, seq)
    follower.finish()
    quarters = _curve(onsets, notes, follower.chain, quarter)
    paths = Paths(onsets)
    for note, period in zip(notes, quarters, strict=True):
        paths.step(note, period)
    return Alignment(tuple(paths.trace()), quarters, paths.least)


def _curve(
    onsets: Sequence[Onset], notes: Sequence[Sounded], chain: Sequence[Step], quarter: float
) -> tuple[float, ...]:
    """How many seconds a quarter took around each note."""
    seconds = [note.seconds for note in notes]
    ends, gaps = [], []
    for i in range(1, len(chain)):
        gap = gap_of(onsets, seconds, chain[i - 1], chain[i])
        if gap is not None:
            ends.append(chain[i].note)
            gaps.append(gap)
    if not gaps:
        return tuple(quarter for _ in notes)
    curve = []
    for i in range(len(notes)):
        middle = bisect_left(ends, i)
        around = gaps[max(0, middle - AROUND) : middle + AROUND + 1]
        curve.append(min(SLOWEST, max(FASTEST, median(around))))
    return tuple(curve)


def note_pairs(onsets: Sequence[Onset], notes: Sequence[Sounded], alignment: Alignment) -> list[tuple[int, int, int]]:
    """Which note sounded which written note, of the same pitch.

    Returns:
        Triples of the index of the heard note, that of the onset and that of the pitch in it; in order of the notes,
        each heard note once, each written note once in each stretch. Notes out of the order of the onsets (one hand
        behind the other) are paired last, the nearest first.
    """
    pairs: list[tuple[int, int, int]] = []
    used: set[int] = set()
    leftover: list[tuple[float, int, int, int, int]] = []
    stretches = alignment.stretches
    taken: list[set[tuple[int, int]]] = []
    for stretch in stretches:
        filled: set[tuple[int, int]] = set()
        taken.append(filled)
        for step in stretch.steps:
            for k, pitch in enumerate(onsets[step.onset].pitches):
                if pitch == notes[step.note].pitch and (step.onset, k) not in filled:
                    filled.add((step.onset, k))
                    pairs.append((step.note, step.onset, k))
                    used.add(step.note)
                    break
    for number, stretch in enumerate(stretches):
        until = stretches[number + 1].steps[0].note if number + 1 < len(stretches) else len(notes)
        since = stretch.steps[0].note if number else 0
        free = [i for i in range(since, until) if i not in used]
        if not free:
            continue
        times = _onset_seconds(onsets, notes, stretch)
        for i in free:
            for j, at in times.items():
                distance = abs(notes[i].seconds - at)
                if distance <= REACH_SECONDS:
                    leftover += [
                        (distance, i, number, j, k)
                        for k, pitch in enumerate(onsets[j].pitches)
                        if pitch == notes[i].pitch and (j, k) not in taken[number]
                    ]
    for _, i, number, j, k in sorted(leftover):
        if i not in used and (j, k) not in taken[number]:
            used.add(i)
            taken[number].add((j, k))
            pairs.append((i, j, k))
    return sorted(pairs)


def _onset_seconds(onsets: Sequence[Onset], notes: Sequence[Sounded], stretch: Stretch) -> dict[int, float]:
    """When each onset of a stretch sounded, or would have where it was left out."""
    first: dict[int, float] = {}
    for step in stretch.steps:
        first.setdefault(step.onset, notes[step.note].seconds)
    known = sorted(first)
    times = dict(first)
    for before, after in pairwise(known):
        span = onsets[after].at - onsets[before].at
        for j in range(before + 1, after):
            share = (onsets[j].at - onsets[before].at) / span
            times[j] = first[before] + share * (first[after] - first[before])
    return times
