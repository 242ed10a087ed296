"""Watching for passages while a pass is played: what is known of them so far, slot by slot.

A path is told once it is cheaper than the one that was told before by the margin of
:mod:`~coach.listening.passage_costs`; at the end of the pass the path of least cost is told, whatever the margin.
Another manner is told once there is evidence enough for it, and no longer when there is not.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Sequence
from itertools import chain, repeat

from coach.listening.conditioning import LOOK_AHEAD, Placed
from coach.listening.evidence import evidence_of
from coach.listening.heard import Bend
from coach.listening.moved import moved_places
from coach.listening.passage_costs import cost_of
from coach.listening.passages import Passage, Run, passages_of, runs_of
from coach.listening.places import Place, Places
from coach.listening.shifts import OTHER_ORDER, PLAIN, ShiftSearch, State
from coach.listening.slots import Slots, slots_of
from coach.listening.sounds import Sounds

__all__ = ["PassageWatch"]

_MARGIN = cost_of("margin")


class PassageWatch:
    """Watches a pass.

    Args:
        places: of the pass.
        sounds: what is heard in it, at the written places.

    Attributes:
        slots: of the pass.
        passages: those that are recognised now.
        moved: what was heard, at the places where the player was; ``sounds`` itself where these are the written ones.
        ever_moved: whether they have ever been others in this pass.
        twice: the plucks, by index, that have two places there.
        left_out: those that have none.
        following: the index of the next place there that is to be read.
    """

    def __init__(self, places: Places, sounds: Sounds) -> None:
        self.slots: Slots = slots_of(places)
        self.passages: tuple[Passage, ...] = ()
        self.moved = sounds
        self.ever_moved = False
        self.twice: frozenset[int] = frozenset()
        self.left_out: frozenset[int] = frozenset()
        self.following = 0
        self._places = places
        self._sounds = sounds
        self._search = ShiftSearch(self.slots)
        self._heard: dict[int, list[tuple[int, int, int, int]]] = {}  # by slot: time, seq, pitch, velocity
        self._told = State()
        self._path: list[State] = []
        self._notes: dict[int, list[tuple[int, int]]] = {}  # of these the settled ones: pitch, velocity
        self._read: list[State] = []  # the state in each slot, as it was borne out when the path was placed last

    @property
    def is_moved(self) -> bool:
        """Whether the player is or was elsewhere than written."""
        return self.moved is not self._sounds

    def hear(self, placed: Placed) -> None:
        """Take a note that ``sounds`` has taken."""
        note, time = placed.note, placed.time
        insort(self._heard.setdefault(self.slots.at(time), []), (time, note.seq, note.pitch, note.velocity))
        if self.is_moved:
            self.moved.add(time, note, self.moved.places.at(time))

    def bend(self, time: int, bend: Bend) -> None:
        """Take a bend that ``sounds`` has taken."""
        if self.is_moved:
            self.moved.add_bend(time, bend)

    def forget_from(self, seconds: float, gone: Sequence[Placed]) -> None:
        """Take back what was heard from a stamp on; nothing of it is settled."""
        for placed in gone:
            slot = self.slots.at(placed.time)
            self._heard[slot] = [each for each in self._heard[slot] if each[1] != placed.note.seq]
        if self.is_moved:
            self.moved.forget_from(seconds)

    def settle(self) -> bool:
        """Settle the next slot: all its notes have come. Tells whether the path is another than before."""
        search = self._search
        slot = search.count
        heard = self._heard.get(slot)
        if heard:
            self._notes[slot] = [(pitch, velocity) for _, _, pitch, velocity in heard]
        search.extend(self._notes.get(slot, ()))
        has_turned = search.cost(self._told) > _MARGIN
        if has_turned:
            self._told = search.best
        if has_turned or search.has_changed(self._told):
            return self._tell()
        self._path.append(self._told)
        if self._told.manner in (OTHER_ORDER, PLAIN):
            return self._weigh()
        return False

    def finish(self) -> None:
        """The pass is over: the path of least cost is what was played."""
        self._told = self._search.best
        self._path = self._search.path(self._told)
        if self.ever_moved or self.passages or any(state != State() for state in self._path):
            self._place(0)

    def next_place(self, before: float) -> Place | None:
        """The next place to be read where the player was, if its notes have all come ``before`` a time."""
        places = self.moved.places.places
        if not self.ever_moved or self.following == len(places):
            return None
        place = places[self.following]
        if place.closes + LOOK_AHEAD >= before:
            return None
        self.following += 1
        return place

    def _weigh(self) -> bool:
        """Look at the manner that is told now again. Tells whether it counts and did not, or the other way round."""
        last = len(self._path) - 1
        began = last
        while began and self._path[began - 1] == self._told:
            began -= 1
        counts = evidence_of(self._told, began, last, self.slots, self._notes).is_enough
        if counts != (self._read[-1] == self._told):
            self._place(began)
            return True
        is_line = self.slots.written[min(last + 1, len(self.slots.written) - 1)].line
        if counts and self._told.manner == OTHER_ORDER and is_line:
            # Only what was heard tells where the plucks of the roll went.
            self._place(began)
        return False

    def _tell(self) -> bool:
        before, self._path = self._path, self._search.path(self._told)
        same = next(
            (slot for slot, (then, now) in enumerate(zip(before, self._path, strict=False)) if then != now), len(before)
        )
        if same == len(self._path):
            return False
        if same == len(before) and (before[-1] if before else State()) == self._told:
            return False
        self._place(same)
        return True

    def _place(self, since: int) -> None:
        """Put what was heard where the player was; from a slot on it is another place than before."""
        runs = runs_of(self._path, self.slots, self._notes)
        read = [run.state for run in runs for _ in range(run.first, run.last + 1)]
        before = chain(self._read, repeat(self._read[-1] if self._read else State()))
        since = next(
            (slot for slot, (now, then) in enumerate(zip(read[:since], before, strict=False)) if now != then), since
        )
        self._read = read
        self.passages = passages_of(runs, self.slots, self._places)
        if all(run.shift == 0 and run.state.manner != OTHER_ORDER for run in runs):
            self.moved = self._sounds
        else:
            self.ever_moved = True
            self.moved = self._at(runs)
        times = Counter(pluck.index for place in self.moved.places.places for pluck in place.plucks)
        self.twice = frozenset(index for index, count in times.items() if count > 1)
        self.left_out = frozenset(pluck.index for pluck in self._places.expected if pluck.index not in times)
        # Windows reach over to the places beside.
        self.following = max(0, bisect_left(self.moved.places.times, self.slots.bounds[max(0, since - 1)]) - 2)

    def _at(self, runs: list[Run]) -> Sounds:
        heard = {slot: [pitch for pitch, _ in notes] for slot, notes in self._notes.items()}
        moved = Sounds(moved_places(self._places, self.slots, runs, heard), self._sounds.endings)
        for placed in self._sounds.notes:
            moved.add(placed.time, placed.note, moved.places.at(placed.time))
        for bent in self._sounds.bends:
            moved.add_bend(bent.time, bent.bend)
        return moved
