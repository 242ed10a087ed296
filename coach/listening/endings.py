"""Endings: when the notes of a pass were ended by a note-off."""

from __future__ import annotations

import math
from bisect import bisect_right, insort

from coach.listening.conditioning import Placed
from coach.listening.heard import NoteEnd
from coach.listening.traits import PLUCK

__all__ = ["Endings"]

Ended = tuple[int, int, float]  # on the clock of the pass, ``seq``, and the stamp


class Endings:
    """The note-offs of a pass, whatever the order in which they come."""

    def __init__(self) -> None:
        self._ends: dict[tuple[int, int], list[Ended]] = {}  # by channel and pitch, in order

    def add(self, time: int, end: NoteEnd) -> None:
        """Take a note-off at a time on the clock of the pass, in microseconds."""
        ended, known = (time, end.seq, end.seconds), self._ends.setdefault((end.channel, end.pitch), [])
        if known and ended < known[-1]:
            insort(known, ended)
        else:
            known.append(ended)

    def forget_from(self, seconds: float) -> None:
        """Drop what was heard from a stamp on."""
        self._ends = {key: [ended for ended in known if ended[2] < seconds] for key, known in self._ends.items()}

    def length(self, placed: Placed) -> int | None:
        """How long a note sounded, in microseconds: until the first note-off of its pitch and channel behind it; None
        where there is none."""
        ends = self._ends.get((placed.note.channel, placed.note.pitch))
        if not ends:
            return None
        index = bisect_right(ends, (*placed.rank, math.inf))
        return ends[index][0] - placed.time if index < len(ends) else None

    def is_cut(self, placed: Placed) -> bool:
        """Whether a note was ended sooner than a pluck dies away."""
        length = self.length(placed)
        return length is not None and length <= PLUCK
