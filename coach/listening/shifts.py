"""Where in the solo the player is, slot by slot: a path of least cost, found exactly.

A state is a *shift* (how many slots the player is ahead of the written place, negative behind it) with a *manner* (as
written, the roll in another order, the plain melody), or silence. Each slot costs what the notes heard in it say
against what is written a shift away; each change of state costs what :mod:`~coach.listening.passage_costs` says, by
where it leads. A change leads from the cheapest state of the slot before, whichever that is, so one slot takes one step
over all states, and the path of least cost is exact (dynamic programming; compare Dannenberg 1984, Proc. ICMC, where a
solo with mistakes is matched with a score on-line).

Ties go to staying over changing, then to the written place, then to the smaller shift.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coach.listening.passage_costs import cost_of
from coach.listening.slots import Slots, WrittenSlot

__all__ = ["AS_WRITTEN", "MANNERS", "MOST_SHIFT", "OTHER_ORDER", "PLAIN", "SILENT", "ShiftSearch", "State"]

AS_WRITTEN, OTHER_ORDER, PLAIN, SILENT = range(4)
MANNERS = 3

MOST_SHIFT = 128
"""No jump over more slots than this is followed."""

Costs = NDArray[np.int32]

_MISSED, _EXTRA, _WRONG = cost_of("missed"), cost_of("extra"), cost_of("wrong")
_STOP, _NOISE, _REJOIN = cost_of("stop"), cost_of("noise"), cost_of("rejoin")
_FROM_SILENCE = -1
_NOWHERE = 1_000_000
_MOST_KNOWN = 256  # keeps memory flat, whatever is heard


@dataclass(frozen=True, slots=True)
class State:
    """Where the player is: slots of the solo ahead of the written place (negative behind), and the manner."""

    shift: int = 0
    manner: int = AS_WRITTEN


HOME = State()


class ShiftSearch:
    """The search over a pass, a slot at a time.

    Args:
        slots: of the pass.
    """

    def __init__(self, slots: Slots) -> None:
        count = len(slots.written)
        self._step = slots.step
        self.most = min(MOST_SHIFT, count // slots.step)
        self._width = 2 * self.most + 1
        self._pad = self.most * slots.step
        self._written = [WrittenSlot()] * self._pad + list(slots.written) + [WrittenSlot()] * self._pad
        self._needs = np.array([_needs(slot) for slot in self._written], dtype=np.int32).T
        self._line = np.array([slot.line for slot in self._written], dtype=np.int32) * cost_of("line")
        over = self._pad + count - 1  # the last slot is one for late notes, nothing is written there
        # Nobody goes where the solo is not; who is ahead comes there when it is over.
        self._line[: self._pad] = self._line[over:] = -_NOWHERE
        self._base: Costs = np.zeros_like(self._needs)
        self._base[OTHER_ORDER] = [cost_of("crowd") * bool(slot.due) for slot in self._written]
        self._base[:, over:] = cost_of("over")
        self._nowhere: Costs = np.zeros_like(self._needs)
        pitches = {pitch for slot in slots.written for pitch in (*slot.due, *slot.slurred)}
        self._fitting = {pitch: self._fits(pitch) for pitch in sorted(pitches)}
        self._known: dict[tuple[frozenset[int], int], Costs] = {}  # the costs of what was heard before
        shifts = np.arange(-self.most, self.most + 1)
        # Order of ties: the manner, then the smaller shift, then ahead.
        rank = np.argsort(np.argsort(2 * np.abs(shifts) - (shifts > 0)))
        self._rank = np.concatenate([rank + manner * self._width for manner in range(MANNERS)])
        self._home = self.most
        self._price = _prices(shifts, max(slots.measures, default=1) // slots.step, _beat(slots))
        self._open: Costs = np.zeros((MANNERS, self._width), dtype=np.int32)
        self._silent = _STOP
        self._switched = np.zeros((count, MANNERS, self._width), dtype=bool)
        self._stopped = [False] * count  # whether silence was entered in this slot
        self._source = [self._home] * count  # the state that a change in this slot comes from
        self.count = 0
        """How many slots have been taken."""

    def extend(self, heard: Sequence[tuple[int, int]]) -> None:
        """Take the next slot.

        Args:
            heard: the notes that were heard in it, each with its pitch and velocity.
        """
        at, costs = self.count, self._open
        self.count += 1
        shown = slice(at, at + 2 * self._pad + 1, self._step)
        came = self._price - self._line[shown]
        if at == 0:
            # The pass begins at the written place; to begin anywhere else is a change as any other.
            came[AS_WRITTEN, self._home] = 0
            silent = _STOP
        else:
            source = self._cheapest()
            least = int(costs.flat[source])
            if self._silent - _REJOIN < least:
                self._source[at] = _FROM_SILENCE
                came += self._silent - _REJOIN
            else:
                self._source[at] = source
                came += least
            np.less(came, costs, out=self._switched[at])
            np.minimum(came, costs, out=came)
            self._stopped[at] = least + _STOP < self._silent
            silent = min(self._silent, least + _STOP)
        pitches = frozenset(pitch for pitch, _ in heard)
        came += self._costs(pitches, _solid(heard) if len(pitches) > 1 else len(pitches))[:, shown]
        silent += _NOISE * len(pitches)
        if came[AS_WRITTEN, self._home]:  # no cost is below 0
            least = min(int(came.min()), silent)
            came -= least
            silent -= least
        self._open, self._silent = came, silent

    @property
    def best(self) -> State:
        """The state at the end of the path of least cost so far."""
        if self.count == 0:
            return HOME
        cheapest = self._cheapest()
        return self._state(_FROM_SILENCE if self._silent < self._open.flat[cheapest] else cheapest)

    def cost(self, state: State) -> int:
        """How much dearer the best path to a state is than the best path of all, both so far."""
        return self._silent if state.manner == SILENT else int(self._open[state.manner, state.shift + self.most])

    def has_changed(self, state: State) -> bool:
        """Whether the best path to a state came to it in the last slot."""
        if state.manner == SILENT:
            return self._stopped[self.count - 1]
        return bool(self._switched[self.count - 1, state.manner, state.shift + self.most])

    def path(self, end: State, since: int = 0) -> list[State]:
        """The state in each slot from ``since`` on, on the path of least cost that ends in a state."""
        at = _FROM_SILENCE if end.manner == SILENT else end.manner * self._width + end.shift + self.most
        states: list[State] = []
        flat = self._switched.reshape(len(self._switched), -1)
        for slot in range(self.count - 1, since - 1, -1):
            states.append(self._state(at))
            if at == _FROM_SILENCE:
                # Silence is entered from the cheapest state, and is no source itself in that slot.
                at = self._source[slot] if self._stopped[slot] else at
            elif flat[slot, at]:
                at = self._source[slot]
        states.reverse()
        return states

    def _cheapest(self) -> int:
        costs = self._open
        if costs[AS_WRITTEN, self._home] == 0:
            return self._home
        flat = costs.ravel()
        tied = np.flatnonzero(flat == flat.min())
        return int(tied[self._rank[tied].argmin()])

    def _state(self, at: int) -> State:
        if at == _FROM_SILENCE:
            return State(0, SILENT)
        manner, column = divmod(at, self._width)
        return State(column - self.most, manner)

    def _costs(self, pitches: frozenset[int], solid: int) -> Costs:
        """The costs of a slot in which pitches are heard, by manner and by what is written.

        Args:
            pitches: what is heard.
            solid: how many of them are no ghosts.
        """
        known = self._known.get((pitches, solid))
        if known is not None:
            return known
        matched = sum((self._fitting.get(pitch, self._nowhere) for pitch in pitches), self._nowhere)
        missing = np.maximum(self._needs - matched, 0)
        if not pitches:
            missing = np.minimum(missing, 1)
        extra = np.maximum(solid - matched, 0)
        costs: Costs = _MISSED * missing + _EXTRA * extra
        costs -= (_MISSED + _EXTRA - _WRONG) * np.minimum(missing, extra)
        costs += self._base
        if len(self._known) >= _MOST_KNOWN:
            self._known.clear()
        self._known[pitches, solid] = costs
        return costs

    def _fits(self, pitch: int) -> Costs:
        """By manner and by what is written: whether a pitch fits there."""
        return np.array([_fits(slot, pitch) for slot in self._written], dtype=np.int32).T


def _needs(slot: WrittenSlot) -> tuple[int, int, int]:
    """How many notes a slot needs, by manner."""
    return len(set(slot.due)), len(set(slot.due)), len(set(slot.melody))


def _fits(slot: WrittenSlot, pitch: int) -> tuple[bool, bool, bool]:
    """Whether a pitch fits in a slot, by manner: where the tune is due, no other order puts anything else."""
    as_written = pitch in slot.due or pitch in slot.slurred
    return as_written, as_written or (not slot.melody and pitch in slot.roll), pitch in slot.melody


def _solid(heard: Sequence[tuple[int, int]]) -> int:
    """How many pitches were heard, softer ones an octave above another left out: they may be ghosts of its string."""
    loudest: dict[int, int] = {}
    for pitch, velocity in heard:
        loudest[pitch] = max(velocity, loudest.get(pitch, 0))
    return sum(velocity >= loudest.get(pitch - 12, 0) for pitch, velocity in loudest.items())


def _beat(slots: Slots) -> int:
    return max(1, round(1 / float(slots.grid * slots.step)))


def _prices(shifts: NDArray[np.int64], measure: int, beat: int) -> Costs:
    """The price of a change to each state, by manner and shift."""
    prices = np.full(len(shifts), cost_of("far"), dtype=np.int32)
    prices[shifts % measure == 0] = cost_of("measures")
    prices[(np.abs(shifts) <= 2) | (np.abs(shifts) == beat)] = cost_of("near")
    prices[shifts == 0] = cost_of("home")
    manners = np.array([0, cost_of("order"), cost_of("plain")], dtype=np.int32)
    return (prices[None, :] + manners[:, None]).astype(np.int32)
