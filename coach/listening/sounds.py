"""What has been heard in a pass, at the places that it belongs to, and what it says of each of them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Sequence
from operator import attrgetter

from coach.listening.conditioning import LOOK_AHEAD, Placed, PlacedBend, drop_reason, slur_arrival
from coach.listening.heard import Bend, HeardNote
from coach.listening.places import Place, Places
from coach.listening.verdicts import Judged, judge

__all__ = ["Sounds"]


class Sounds:
    """The notes and bends of a pass, always in order, whatever the order in which they come.

    Args:
        places: of the pass.

    Attributes:
        notes: all notes.
        bends: all bends.
        at_place: the notes by the index of their place.
    """

    def __init__(self, places: Places) -> None:
        self.places = places
        self.notes: list[Placed] = []
        self.bends: list[PlacedBend] = []
        self.at_place: dict[int, list[Placed]] = {}
        self._by_channel: dict[int, list[Placed]] = {}
        self._ranks: list[tuple[int, int]] = []  # of all notes

    def add(self, time: int, note: HeardNote, place: Place | None) -> Placed:
        """Take a note at a time on the clock of the pass, which belongs to a place or to none."""
        rank = (time, note.seq)
        placed = Placed(rank, note, None if place is None else place.index)
        lists = [self.notes, self._by_channel.setdefault(note.channel, [])]
        if place is not None:
            lists.append(self.at_place.setdefault(place.index, []))
        if not self._ranks or self._ranks[-1] < rank:
            self._ranks.append(rank)
            for each in lists:
                each.append(placed)
        else:
            insort(self._ranks, rank)
            for each in lists:
                insort(each, placed, key=_rank)
        return placed

    def add_bend(self, time: int, bend: Bend) -> None:
        """Take a bend."""
        insort(self.bends, PlacedBend((time, bend.seq), bend), key=_rank)

    def forget_from(self, seconds: float) -> list[Placed]:
        """Drop what was heard from a stamp on; tells the notes."""
        gone = [placed for placed in self.notes if placed.note.seconds >= seconds]
        for placed in gone:
            self.notes.remove(placed)
            self._ranks.remove(placed.rank)
            self._by_channel[placed.note.channel].remove(placed)
            if placed.place is not None:
                self.at_place[placed.place].remove(placed)
        self.bends = [bent for bent in self.bends if bent.bend.seconds < seconds]
        return gone

    def reason(self, placed: Placed) -> str | None:
        """Why a note is dropped, or None when it counts."""
        time = placed.rank[0]
        since = bisect_left(self._ranks, (time - LOOK_AHEAD,))
        until = bisect_left(self._ranks, (time + LOOK_AHEAD + 1,))
        return drop_reason(placed, self.notes[since:until], self.places, self.at_place)

    def conditioned(self, place: Place) -> tuple[list[Placed], list[tuple[Placed, str]]]:
        """The notes of a place that count, and those that are dropped, each with the reason."""
        kept, dropped = [], []
        for placed in self.at_place.get(place.index, ()):
            reason = self.reason(placed)
            if reason is None:
                kept.append(placed)
            else:
                dropped.append((placed, reason))
        return kept, dropped

    def judge(
        self, place: Place, kept: Sequence[Placed], *, lean: int, slurs_shown: bool, played: Callable[[int], bool]
    ) -> Judged:
        """Judge a place by the notes of it that count; see :func:`~coach.listening.verdicts.judge`."""
        return judge(
            place,
            kept,
            lean=lean,
            arrivals=self._arrivals(place) if self.bends and place.slurs else None,
            slurs_shown=slurs_shown,
            played=played,
        )

    def _arrivals(self, place: Place) -> dict[int, PlacedBend]:
        arrivals = {}
        for slur in place.slurs:
            since = bisect_left(self.bends, slur.opens, key=_time)
            until = bisect_right(self.bends, slur.closes, key=_time)
            arrival = slur_arrival(slur, self.bends[since:until], self._by_channel)
            if arrival is not None:
                arrivals[slur.pluck.index] = arrival
        return arrivals


_rank = attrgetter("rank")


def _time(heard: Placed | PlacedBend) -> int:
    return heard.rank[0]
