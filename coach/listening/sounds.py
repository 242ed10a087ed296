"""What has been heard in a pass, at the places that it belongs to, and what it says of each of them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Iterable, Sequence
from operator import attrgetter

from coach.listening.arrivals import SETTLES, is_sounded_again, note_stamp, slur_arrival
from coach.listening.conditioning import ADDED, LOOK_AHEAD, Placed, PlacedBend, drop_reason, wanted_at
from coach.listening.endings import Endings
from coach.listening.heard import Bend, HeardNote
from coach.listening.places import Place, Places, Slur
from coach.listening.traits import Traits
from coach.listening.verdicts import Judged, NoteVerdict, judge

__all__ = ["Sounds"]


class Sounds:
    """The notes and bends of a pass, always in order, whatever the order in which they come.

    Args:
        places: of the pass; its plan knows the traits of player and instrument.
        endings: when notes were ended, where that is known already.

    Attributes:
        notes: all notes.
        bends: all bends.
        endings: when notes were ended.
        at_place: the notes by the index of their place.
    """

    def __init__(self, places: Places, endings: Endings | None = None) -> None:
        self.places = places
        self.endings = Endings() if endings is None else endings
        self.notes: list[Placed] = []
        self.bends: list[PlacedBend] = []
        self.at_place: dict[int, list[Placed]] = {}
        self._by_channel: dict[int, list[Placed]] = {}
        self._ranks: list[tuple[int, int]] = []  # of all notes
        self._gate = places.plan.traits.gate
        self._holds = places.plan.traits.holds
        self._slurs: list[Slur] | None = None  # by their opening, once they are asked for
        self._longest = 0

    def add(self, time: int, note: HeardNote, place: Place | None) -> Placed:
        """Take a note at a time on the clock of the pass, which belongs to a place or to none."""
        rank = (time, note.seq)
        placed = Placed(rank, note, None if place is None else place.index)
        lists = [self.notes]
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
        channel = self._by_channel.setdefault(note.channel, [])
        if not channel or note_stamp(channel[-1]) < (note.seconds, note.seq):
            channel.append(placed)
        else:
            insort(channel, placed, key=note_stamp)
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
        self.endings.forget_from(seconds)
        return gone

    def reason(self, placed: Placed) -> str | None:
        """Why a note is dropped, or None when it counts."""
        if self._is_alone(placed) and wanted_at(placed, self.places):
            return None  # the common case, by far
        reason = drop_reason(placed, self._near(placed), self.places, self.at_place)
        if reason is None and (self._gate or self._holds or self.bends) and not wanted_at(placed, self.places):
            if self.bends and self._is_sounded_again(placed):
                return "re-triggered slur"
            if self._holds and self.endings.is_cut(placed):
                return "too short"
            if placed.note.velocity < self._gate:
                return "below the gate"
        return reason

    def _near(self, placed: Placed) -> list[Placed]:
        """The notes within 40 ms of one, itself among them."""
        time = placed.rank[0]
        since = bisect_left(self._ranks, (time - LOOK_AHEAD,))
        return self.notes[since : bisect_left(self._ranks, (time + LOOK_AHEAD + 1,))]

    def _is_alone(self, placed: Placed) -> bool:
        """Whether no other note was heard within 40 ms of one."""
        ranks, rank = self._ranks, placed.rank
        at = len(ranks) - 1 if ranks[-1] is rank else bisect_left(ranks, rank)
        before, after = rank[0] - LOOK_AHEAD, rank[0] + LOOK_AHEAD
        return (not at or ranks[at - 1][0] < before) and (at + 1 >= len(ranks) or ranks[at + 1][0] > after)

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
            arrival = self._arrival(slur)
            if arrival is not None:
                arrivals[slur.pluck.index] = arrival
        return arrivals

    def _arrival(self, slur: Slur) -> PlacedBend | None:
        since = bisect_left(self.bends, slur.opens, key=_time)
        until = bisect_right(self.bends, slur.closes, key=_time)
        return slur_arrival(slur, self.bends[since:until], self._by_channel, self._is_added)

    def _is_added(self, placed: Placed, bent: PlacedBend) -> bool:
        """Whether a note is one that the instrument has added, by the notes that were sent before a bend.

        Those after it may not have come yet when a note is settled that only sounds the bend once more.
        """
        wanted = wanted_at(placed, self.places)
        if wanted and self._is_alone(placed):
            return False
        sent = (bent.bend.seconds, bent.bend.seq)
        near = [other for other in self._near(placed) if note_stamp(other) < sent]
        reason = drop_reason(placed, near, self.places, self.at_place)
        # A finger that leaves the bent string itself is what the instrument bends from then on.
        if reason in ADDED or (reason == "soft open string" and placed.note.string is None):
            return True
        return not wanted and (placed.note.velocity < self._gate or (self._holds and self.endings.is_cut(placed)))

    def _is_sounded_again(self, placed: Placed) -> bool:
        """Whether a note is what a bend has slurred to just before."""
        if self._slurs is None:
            slurs = (slur for place in self.places.places for slur in place.slurs)
            self._slurs = sorted(slurs, key=_opens)
            # A note may have its latency by period taken off, which a bend has not: the same span once more.
            self._longest = max((slur.closes - slur.opens for slur in self._slurs), default=0) + 2 * SETTLES
        since = bisect_left(self._slurs, placed.time - self._longest, key=_opens)
        until = bisect_right(self._slurs, placed.time + SETTLES, key=_opens)
        for slur in self._slurs[since:until]:
            arrival = self._arrival(slur)
            if arrival is not None:
                first = bisect_left(self.bends, arrival.rank, key=_rank)
                last = bisect_right(self.bends, arrival.time + SETTLES, key=_time)
                if is_sounded_again(placed, slur, arrival, self.bends[first:last]):
                    return True
        return False

    def learned(self, verdicts: Iterable[NoteVerdict]) -> Traits:
        """The traits of player and instrument after this pass, given its verdicts."""
        by_seq = {placed.note.seq: placed for placed in self.notes}
        heard = [by_seq[note.seq] for note in verdicts if note.played and note.velocity and note.seq in by_seq]
        lengths = (self.endings.length(placed) for placed in heard)
        return self.places.plan.traits.learned(
            (placed.note.velocity for placed in heard), (length for length in lengths if length is not None)
        )


_rank = attrgetter("rank")
_opens = attrgetter("opens")


def _time(heard: Placed | PlacedBend) -> int:
    return heard.rank[0]
