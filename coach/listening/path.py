"""The least-cost path of heard notes through written onsets, in free time: no click, any tempo, stops and jumps.

What is written is a row of :class:`Onset`; what was heard is a row of notes. Each note is explained as sounding an
onset, right or wrong, or as an extra. A path is the row of onsets that were sounded; its cost is the sum of

    ``MISSED`` for each onset passed over, ``PASSED_OPTIONAL`` where the onset may be silent; at most ``REACH`` - 1 in
        a row, more is a jump;
    ``EXTRA`` for each note that is none; ``LATE_MEMBER`` where it belongs to the chord before, and ``DOUBTFUL``
        where it looks like no note of the player's;
    ``WRONG`` for a note of another pitch that stands for an onset;
    ``TIME`` * (1 - min / max) of the heard and the expected gap: 0 in time, nearly ``TIME`` after a long stop, so that
        a stop to think costs little and any tempo is learned within a few notes; for a further note of a chord
        ``TIME`` * heard gap / gap to the next onset;
    ``JUMP`` for going to any onset, ``JUMP_TO_ENTRY`` where it begins a measure, ``NEAR`` for each onset between, less
        ``AFTER_SILENCE`` when the player has stopped; ``START`` and ``START_AT_ENTRY`` for beginning elsewhere than at
        the first onset.

The expected gap counts from the last note that sounded an onset, over as many as ``ROWS`` - 1 extras; after more, time
tells nothing. How long a quarter takes is told from outside for each note, so that the path is exact: the forward pass
is a dynamic programme over (note, onset) in numpy, one row at a time, the same live and offline. The numbers are our
own (common practice, no source). That an order-preserving path with prices for jumps follows a player, and that it
needs a model of tempo, is known from the literature: Dannenberg 1984; Nakamura et al. 2014, arXiv 1404.2313.
"""

from __future__ import annotations

from collections import deque
from collections.abc import MutableSequence, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

__all__ = ["ROWS", "Onset", "Paths", "Sounded", "Step"]

EXTRA = 1.0
LATE_MEMBER = 0.5
DOUBTFUL = 0.3
MISSED = 1.0
PASSED_OPTIONAL = 0.2
WRONG = 0.9
TIME = 1.0
JUMP = 4.5
JUMP_TO_ENTRY = 2.5
NEAR = 0.004
AFTER_SILENCE = 0.75
SILENCE = 4.0  # quarters without a note, and seconds: whichever is less is a stop
SILENCE_SECONDS = 2.0
START = 3.0
START_AT_ENTRY = 1.5
REACH = 3
ROWS = 3  # matched by the last note, by the one before, and by any earlier one

_FAR = 1e9
_LEAST_GAP = 1e-6
_SAME = 1e-9  # costs this close are the same, summed in another order

Floats = NDArray[np.float64]
How = Literal["start", "step", "stay", "jump"]


@dataclass(frozen=True, slots=True)
class Onset:
    """A written onset.

    Attributes:
        at: its position in quarters; greater than that of the onset before.
        pitches: of its notes, at least one.
        optional: it may be silent (a slurred note on an instrument that shows none).
        entry: players begin here again: the first onset of a measure.
    """

    at: float
    pitches: tuple[int, ...]
    optional: bool = False
    entry: bool = False


@dataclass(frozen=True, slots=True)
class Sounded:
    """A heard note: seconds, pitch, and whether it looks like no note of the player's (a ghost, a double)."""

    seconds: float
    pitch: int
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a path: the index of a note, that of the onset it sounds, and how the path came there."""

    note: int
    onset: int
    how: How


class Paths:
    """The forward pass: the least cost of every onset after each note.

    Args:
        onsets: what is written, at least one, in order.
        keep: how many notes back a path can be traced; None for all.
    """

    def __init__(self, onsets: Sequence[Onset], keep: int | None = None) -> None:
        self.onsets = tuple(onsets)
        self._size = size = len(self.onsets)
        ats = np.array([onset.at for onset in self.onsets])
        gaps = np.ones((REACH, 1, size))
        self._passing = np.full((REACH, 1, size), _FAR)
        prices = [PASSED_OPTIONAL if onset.optional else MISSED for onset in self.onsets]
        for k in range(1, min(REACH, size - 1) + 1):
            gaps[k - 1, 0, k:] = ats[k:] - ats[:-k]
            self._passing[k - 1, 0, k:] = [TIME + sum(prices[j - k + 1 : j]) for j in range(k, size)]
        self._fast, self._slow = TIME * gaps, TIME / gaps
        # The same for one onset, the nearest before it first.
        self._gaps = [
            [
                tuple(float(each[k, 0, j]) for each in (self._slow, self._fast, self._passing))
                for k in range(min(REACH, j))
            ]
            for j in range(size)
        ]
        # A chord at the end has no next onset: its notes are as near as at the one before.
        following = np.append(np.diff(ats), ats[-1] - ats[-2] if size > 1 else 1.0)
        self._next = TIME / following
        self._near = NEAR * np.arange(size)
        landing = np.array([JUMP_TO_ENTRY if onset.entry else JUMP for onset in self.onsets])
        self._landing_forth, self._landing_back = landing + self._near, landing - self._near
        self._opening = np.array([START_AT_ENTRY if onset.entry else START for onset in self.onsets]) + self._near
        self._opening[0] = 0.0
        self._reachable = JUMP + NEAR * size  # the most that a jump costs
        self._prices = {pitch: self._prices_of(pitch) for pitch in {p for onset in self.onsets for p in onset.pitches}}
        self._strange = self._prices_of(-1)
        # What a path can be traced by, a row for each note kept: the costs of having sounded an onset last with this
        # very note, and those of having done so ROWS - 1 notes ago or earlier.
        self._notes: MutableSequence[Sounded] = deque(maxlen=keep) if keep else []
        self._matched: MutableSequence[Floats] = deque(maxlen=keep) if keep else []
        self._forgotten: MutableSequence[Floats] = deque(maxlen=keep) if keep else []
        self._periods: MutableSequence[float] = deque(maxlen=keep) if keep else []
        self.count = 0
        # The costs of the sources of a step, padded so that one view shows them shifted by 1 .. REACH onsets.
        self._padded = np.full((ROWS, REACH + size), _FAR)
        self._costs = self._padded[:, REACH:]
        self._shifted = sliding_window_view(self._padded, size, axis=1)[:, REACH - 1 :: -1].swapaxes(0, 1)
        self._work = np.empty((REACH, ROWS, size))
        self._ways = self._work.reshape(REACH * ROWS, size)
        self._other = np.empty((REACH, ROWS, size))
        self._beats = np.full((1, ROWS, 1), _FAR)
        self._best = ROWS - 1, 0, _FAR

    def step(self, note: Sounded, period: float) -> None:
        """Take the next note, in order of time.

        Args:
            note: the note.
            period: seconds a quarter at this note, > 0.
        """
        costs, work, prices = self._costs, self._work, self._prices.get(note.pitch, self._strange)
        beats = self._beats
        for row in range(min(ROWS - 1, self.count)):
            beats[0, row, 0] = max(note.seconds - self._notes[-1 - row].seconds, _LEAST_GAP) / period
        np.multiply(self._slow, beats, work)
        np.minimum(work, np.divide(self._fast, beats, self._other), out=work)
        np.subtract(self._passing, work, work)
        np.add(work, self._shifted, work)
        best: Floats = np.minimum.reduce(self._ways)
        if prices.stay is not None:
            for row in range(min(ROWS - 1, self.count)):
                if self._notes[-1 - row].pitch != note.pitch:
                    np.minimum(best, costs[row] + float(beats[0, row, 0]) * self._next + prices.stay, out=best)
        if self.count:
            np.minimum(best, self._jumps(note, period), out=best)
        # Far from the start a jump is cheaper than to have heard nothing but extras.
        if self.least + self._reachable > self.count * EXTRA:
            np.minimum(best, self._opening + self.count * EXTRA, out=best)
        np.add(best, prices.wrong, best)
        extra = DOUBTFUL if note.doubtful else prices.extra
        forgotten: Floats = np.minimum(costs[-1], costs[-2])
        np.add(forgotten, extra, forgotten)
        costs[-1] = forgotten
        for row in range(ROWS - 2, 0, -1):
            np.add(costs[row - 1], extra, costs[row])
        costs[0] = best
        self._notes.append(note)
        self._matched.append(best)
        self._forgotten.append(forgotten)
        self._periods.append(period)
        self.count += 1
        row, column = divmod(int(self._padded.argmin()), REACH + self._size)
        self._best = row, column - REACH, float(self._padded[row, column])

    @property
    def least(self) -> float:
        """The cost of the best path so far."""
        return min(self._best[2], self.count * EXTRA)

    def head(self) -> tuple[int, int] | None:
        """The note and the onset at the end of the best path so far; None where nothing beats extras only.

        Raises:
            IndexError: when the note is no longer kept.
        """
        row, onset, cost = self._best
        return (self._last_match(self.count - 1, row, onset), onset) if cost < self.count * EXTRA else None

    def before(self, note: int, onset: int) -> tuple[How, tuple[int, int] | None]:
        """How the best path came to sound an onset with a note, and the note and onset before; None for a start.

        Of several ways that cost the same: a step, over the fewest onsets and extras, a further note of a chord, the
        start, a jump.

        Raises:
            IndexError: when the note is no longer kept.
        """
        here = self._at(note)
        sounded = self._notes[here]
        prices = self._prices.get(sounded.pitch, self._strange)
        price = float(self._matched[here][onset]) - float(prices.wrong[onset]) + _SAME
        gaps = self._gaps[onset]
        for row in range(min(ROWS, note)):
            beats = self._beats_between(note, row)
            for k, (slow, fast, passing) in enumerate(gaps, 1):
                step = self._cost(note - 1, row, onset - k) + passing - min(slow * beats, fast / beats)
                if step <= price:
                    return "step", (self._last_match(note - 1, row, onset - k), onset - k)
        if prices.stay is not None:
            for row in range(min(ROWS - 1, note)):
                if self._notes[here - 1 - row].pitch != sounded.pitch:
                    late = self._beats_between(note, row) * float(self._next[onset]) + float(prices.stay[onset])
                    if self._cost(note - 1, row, onset) + late <= price:
                        return "stay", (note - 1 - row, onset)
        if note * EXTRA + float(self._opening[onset]) <= price:
            return "start", None
        rows = np.array([self._row(note - 1, row) for row in range(min(ROWS, note))])
        source = int((rows.min(axis=0) + np.abs(self._near - self._near[onset])).argmin())
        return "jump", (self._last_match(note - 1, int(rows[:, source].argmin()), source), source)

    def trace(self) -> list[Step]:
        """The best path so far, in order; only where all notes are kept."""
        steps: list[Step] = []
        at = self.head()
        while at is not None:
            how, earlier = self.before(*at)
            steps.append(Step(*at, how))
            at = earlier
        steps.reverse()
        return steps

    # The prices of a note

    def _prices_of(self, pitch: int) -> _Prices:
        has = [pitch in onset.pitches for onset in self.onsets]
        chords = [known and len(onset.pitches) > 1 for known, onset in zip(has, self.onsets, strict=True)]
        late = [False, *chords[:-1]]
        return _Prices(
            wrong=np.where(has, 0.0, WRONG),
            extra=np.where(late, LATE_MEMBER, EXTRA),
            stay=np.where(chords, 0.0, _FAR) if any(chords) else None,
        )

    def _beats_between(self, note: int, row: int) -> float:
        """Quarters from the note of a row to a note that is kept."""
        if row == ROWS - 1:
            return _FAR
        here = self._at(note)
        return max(self._notes[here].seconds - self._notes[here - 1 - row].seconds, _LEAST_GAP) / self._periods[here]

    def _jumps(self, note: Sounded, period: float) -> Floats:
        """The least cost of a jump to each onset: a distance transform in two sweeps."""
        sources = np.minimum.reduce(self._costs)
        forth: Floats = np.minimum.accumulate(sources - self._near)
        np.add(forth, self._landing_forth, forth)
        # Backwards from the end.
        back = np.minimum.accumulate(np.add(sources, self._near, sources)[::-1])[::-1]
        np.minimum(forth, np.add(back, self._landing_back, back), out=forth)
        if note.seconds - self._notes[-1].seconds >= min(SILENCE * period, SILENCE_SECONDS):
            forth -= AFTER_SILENCE
        return forth

    # Looking back

    def _at(self, note: int) -> int:
        """Where a note is kept."""
        at = note - self.count + len(self._notes)
        if at < 0:
            raise IndexError(f"note {note} is no longer kept")
        return at

    def _extra(self, note: int, onset: int) -> float:
        sounded = self._notes[self._at(note)]
        return DOUBTFUL if sounded.doubtful else float(self._prices.get(sounded.pitch, self._strange).extra[onset])

    def _cost(self, note: int, row: int, onset: int) -> float:
        """The cost, after a note, of having sounded an onset last with the note ``row`` before it, or earlier."""
        if row == ROWS - 1:
            return float(self._forgotten[self._at(note)][onset])
        cost = float(self._matched[self._at(note - row)][onset])
        for later in range(note - row + 1, note + 1):
            cost += self._extra(later, onset)
        return cost

    def _row(self, note: int, row: int) -> Floats:
        """The same for every onset."""
        if row == ROWS - 1:
            return self._forgotten[self._at(note)]
        cost: Floats = self._matched[self._at(note - row)].copy()
        for later in range(note - row + 1, note + 1):
            sounded = self._notes[self._at(later)]
            cost += DOUBTFUL if sounded.doubtful else self._prices.get(sounded.pitch, self._strange).extra
        return cost

    def _last_match(self, note: int, row: int, onset: int) -> int:
        """The note that sounded an onset where, after ``note``, a path is in a row."""
        while row == ROWS - 1:
            # Either a note ago the path was in the last row that keeps time, or it had been forgotten by then.
            note -= 1
            forgotten = float(self._forgotten[self._at(note)][onset])
            if note >= ROWS - 2 and self._cost(note, ROWS - 2, onset) <= forgotten:
                row = ROWS - 2
        return note - row


@dataclass(frozen=True, slots=True)
class _Prices:
    """What a pitch costs at each onset: as what sounds it, as an extra after it, as a further note of its chord."""

    wrong: Floats
    extra: Floats
    stay: Floats | None
