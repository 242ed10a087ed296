"""Following a player in free time: notes and watermarks in, position and tempo out, the same live and offline.

A note is looked at when the watermark has passed it, in order of its stamp, so it does not matter in what order or in
what portions notes arrive. At once it moves the :class:`Position`; what it sounded is decided ``LAG`` notes later,
when what came after it bears it out. The offline optimum at the end (:mod:`~coach.listening.alignment`) is what counts
for a report; it may see some notes otherwise.

Tempo model
    A quarter lasts as long as the median of the last ``WINDOW`` gaps between onsets of the path says. A median
    forgets a stop to think and learns another tempo within three onsets.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from coach.listening.path import ROWS, Onset, Paths, Sounded, Step

__all__ = ["LAG", "Decided", "Follower", "Followed", "Position", "gap_of"]

LAG = 4
WINDOW = 5
KEPT = 24  # notes that the best path may still change its mind about
SLOWEST, FASTEST = 4.0, 0.12  # seconds a quarter: 15 and 500 quarters a minute


@dataclass(frozen=True, slots=True)
class Position:
    """Where the player is after a note.

    Attributes:
        note: the index of the note.
        onset: the index of the last onset sounded; None while nothing is known.
        quarter: how many seconds a quarter takes the player.
    """

    note: int
    onset: int | None
    quarter: float


@dataclass(frozen=True, slots=True)
class Decided:
    """What a note sounded: the index of the note and of the onset; None for an extra."""

    note: int
    onset: int | None


Followed = Position | Decided


class Follower:
    """Follows one player through one row of onsets.

    Args:
        onsets: what is written, at least one, in order.
        quarter: how many seconds a quarter may take, until the player has shown it.
    """

    def __init__(self, onsets: Sequence[Onset], quarter: float = 0.75) -> None:
        self.onsets = tuple(onsets)
        self.quarter = quarter
        self.chain: list[Step] = []
        self._paths = Paths(self.onsets, keep=KEPT)
        self._waiting: list[tuple[float, int, Sounded]] = []
        self._seconds: list[float] = []  # of the notes looked at
        self._gaps: list[tuple[int, Step, float]] = []  # where in the chain they end, and how long a quarter took
        self._undecided = 0
        self._passed = float("-inf")

    @property
    def count(self) -> int:
        """How many notes have been looked at."""
        return self._paths.count

    def hear(self, note: Sounded, seq: int = 0) -> None:
        """Take a note; only a watermark makes anything of it.

        Args:
            note: the note.
            seq: the number of its message; settles the order of equal stamps.

        Raises:
            ValueError: when it lies behind the watermark.
        """
        if note.seconds < self._passed:
            raise ValueError(f"a note at {note.seconds!r} lies behind the watermark {self._passed!r}")
        insort(self._waiting, (note.seconds, seq, note), key=_stamp)

    def watermark(self, seconds: float) -> list[Followed]:
        """Nothing before this stamp will come any more: look at the notes before it."""
        self._passed = max(self._passed, seconds)
        ready = bisect_left(self._waiting, (self._passed, -1), key=_stamp)
        events: list[Followed] = []
        for _, _, note in self._waiting[:ready]:
            events += self.follow(note)
        del self._waiting[:ready]
        return events

    def finish(self) -> list[Followed]:
        """Nothing more will come: look at the rest and decide on all notes."""
        events = self.watermark(float("inf"))
        events += self._decide_until(self.count)
        return events

    def follow(self, note: Sounded) -> list[Followed]:
        """Look at a note at once, for one who brings them in order of time; then :meth:`hear` is not used."""
        self._paths.step(note, self.quarter)
        self._seconds.append(note.seconds)
        self._relink()
        self._learn_tempo()
        here = self.chain[-1].onset if self.chain else None
        return [*self._decide_until(self.count - LAG), Position(self.count - 1, here, self.quarter)]

    def _relink(self) -> None:
        """Let the chain of steps end as the best path does; it mostly goes on from where it was."""
        chain, fresh = self.chain, []
        oldest = self.count - KEPT + ROWS + 1
        try:
            at = self._paths.head()
            while at is not None:
                note, onset = at
                while chain and chain[-1].note > note:
                    chain.pop()
                if chain and chain[-1].note == note:
                    if chain[-1].onset == onset:
                        break
                    chain.pop()
                if note < oldest:
                    break
                fresh.append(Step(note, onset, "jump"))
                how, at = self._paths.before(note, onset)
                fresh[-1] = Step(note, onset, how)
            else:
                chain.clear()
        except IndexError:
            # Extras only, for longer than is kept: how the path went before that stands.
            while chain and chain[-1].note >= oldest and not fresh:
                chain.pop()
        chain += reversed(fresh)

    def _learn_tempo(self) -> None:
        chain, gaps = self.chain, self._gaps
        # Of a path that has changed its mind the gaps are told anew.
        while gaps and not (gaps[-1][0] < len(chain) and chain[gaps[-1][0]] is gaps[-1][1]):
            gaps.pop()
        told = gaps[-1][0] if gaps else 0
        for index in range(max(1, told + 1, len(chain) - KEPT), len(chain)):
            gap = gap_of(self.onsets, self._seconds, chain[index - 1], chain[index])
            if gap is not None:
                gaps.append((index, chain[index], gap))
        del gaps[:-KEPT]
        if gaps:
            self.quarter = min(SLOWEST, max(FASTEST, median([gap for _, _, gap in gaps[-WINDOW:]])))

    def _decide_until(self, count: int) -> list[Followed]:
        events: list[Followed] = []
        while self._undecided < count:
            at = bisect_left(self.chain, self._undecided, key=_note)
            known = at < len(self.chain) and self.chain[at].note == self._undecided
            events.append(Decided(self._undecided, self.chain[at].onset if known else None))
            self._undecided += 1
        return events


def gap_of(onsets: Sequence[Onset], seconds: Sequence[float], step: Step, later: Step) -> float | None:
    """How long a quarter took between two steps of a path that follow one another.

    None where they do not tell: a jump lies between, both sound one chord, or no time passed.
    """
    if later.how != "step":
        return None
    took = seconds[later.note] - seconds[step.note]
    return took / (onsets[later.onset].at - onsets[step.onset].at) if took > 0 else None


def _stamp(entry: tuple[float, int] | tuple[float, int, Sounded]) -> tuple[float, int]:
    return entry[0], entry[1]


def _note(step: Step) -> int:
    return step.note
