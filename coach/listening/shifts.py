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
from coach.listening.slot_costs import AS_WRITTEN, MANNERS, OTHER_ORDER, PLAIN, Costs, costs_of
from coach.listening.slots import Slots

__all__ = ["AS_WRITTEN", "MANNERS", "MOST_SHIFT", "OTHER_ORDER", "PLAIN", "SILENT", "ShiftSearch", "State"]

SILENT = MANNERS

MOST_SHIFT = 128
"""No jump over more slots than this is followed."""

_STOP, _NOISE, _REJOIN = cost_of("stop"), cost_of("noise"), cost_of("rejoin")
_FROM_SILENCE = -1
_NOWHERE = 1_000_000


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

    States lie in flat arrays by shift, and for each shift the three manners, as their costs do; a slot is a handful of
    operations on such arrays, none of which is made anew.
    """

    def __init__(self, slots: Slots) -> None:
        count = len(slots.written)
        self._step = slots.step
        self.most = min(MOST_SHIFT, count // slots.step)
        self._width = MANNERS * (2 * self.most + 1)
        self._home = MANNERS * self.most
        self._costs = costs_of(slots, self.most)
        pad = self.most * slots.step
        line = np.zeros(count + 2 * pad, dtype=np.int32)
        line[pad : pad + count] = [cost_of("line") * slot.line for slot in slots.written]
        # Nobody goes where the solo is not; who is ahead comes there when it is over.
        line[:pad] = line[pad + count - 1 :] = -_NOWHERE
        self._line = [np.repeat(line[first :: slots.step], MANNERS) for first in range(slots.step)]
        shifts = np.arange(-self.most, self.most + 1)
        # Order of ties: the manner, then the smaller shift, then ahead.
        rank = np.argsort(np.argsort(2 * np.abs(shifts) - (shifts > 0)))
        self._rank = (rank[:, None] + len(shifts) * np.arange(MANNERS)).reshape(-1)
        self._price = _prices(shifts, max(slots.measures, default=1) // slots.step, _beat(slots)).reshape(-1)
        self._open: Costs = np.zeros(self._width, dtype=np.int32)
        self._came: Costs = np.zeros(self._width, dtype=np.int32)
        self._silent = _STOP
        self._switched = np.zeros((count, self._width), dtype=bool)
        self._stopped = [False] * count  # whether silence was entered in this slot
        self._source = [self._home] * count  # the state that a change in this slot comes from
        self.count = 0
        """How many slots have been taken."""

    def extend(self, heard: Sequence[tuple[int, int]]) -> None:
        """Take the next slot.

        Args:
            heard: the notes that were heard in it, each with its pitch and velocity.
        """
        at, costs, came = self.count, self._open, self._came
        self.count += 1
        since, first = divmod(at, self._step)
        np.subtract(self._price, self._line[first][MANNERS * since : MANNERS * since + self._width], came)
        if at:
            source = self._cheapest()
            least = costs.item(source)
            entry = self._silent - _REJOIN
            if entry < least:
                self._source[at] = _FROM_SILENCE
            else:
                self._source[at] = source
                entry = least
            if entry:
                np.add(came, entry, came)
            np.less(came, costs, self._switched[at])
            np.minimum(came, costs, out=costs)
            if least + _STOP < self._silent:
                self._stopped[at] = True
                self._silent = least + _STOP
        else:
            # The pass begins at the written place; to begin anywhere else is a change as any other.
            came[self._home] = 0
            np.copyto(costs, came)
        np.add(costs, self._costs.of(heard, at), costs)
        if heard:
            self._silent += _NOISE * (len({pitch for pitch, _ in heard}) if len(heard) > 1 else 1)
        if costs.item(self._home):  # no cost is below 0
            least = min(costs.item(costs.argmin()), self._silent)
            np.subtract(costs, least, costs)
            self._silent -= least

    @property
    def best(self) -> State:
        """The state at the end of the path of least cost so far."""
        if self.count == 0:
            return HOME
        cheapest = self._cheapest()
        return self._state(_FROM_SILENCE if self._silent < self._open.item(cheapest) else cheapest)

    def cost(self, state: State) -> int:
        """How much dearer the best path to a state is than the best path of all, both so far."""
        return self._silent if state.manner == SILENT else self._open.item(self._at(state))

    def has_changed(self, state: State) -> bool:
        """Whether the best path to a state came to it in the last slot."""
        if state.manner == SILENT:
            return self._stopped[self.count - 1]
        return bool(self._switched[self.count - 1, self._at(state)])

    def path(self, end: State, since: int = 0) -> list[State]:
        """The state in each slot from ``since`` on, on the path of least cost that ends in a state."""
        at = _FROM_SILENCE if end.manner == SILENT else self._at(end)
        states: list[State] = []
        for slot in range(self.count - 1, since - 1, -1):
            states.append(self._state(at))
            if at == _FROM_SILENCE:
                # Silence is entered from the cheapest state, and is no source itself in that slot.
                at = self._source[slot] if self._stopped[slot] else at
            elif self._switched[slot, at]:
                at = self._source[slot]
        states.reverse()
        return states

    def _cheapest(self) -> int:
        costs = self._open
        if not costs.item(self._home):
            return self._home
        tied = np.flatnonzero(costs == costs.item(costs.argmin()))
        return int(tied[self._rank[tied].argmin()])

    def _at(self, state: State) -> int:
        return MANNERS * (state.shift + self.most) + state.manner

    def _state(self, at: int) -> State:
        if at == _FROM_SILENCE:
            return State(0, SILENT)
        shift, manner = divmod(at, MANNERS)
        return State(shift - self.most, manner)


def _beat(slots: Slots) -> int:
    return max(1, round(1 / float(slots.grid * slots.step)))


def _prices(shifts: NDArray[np.int64], measure: int, beat: int) -> Costs:
    """The price of a change to each state, by shift and manner."""
    prices = np.full(len(shifts), cost_of("far"), dtype=np.int32)
    prices[shifts % measure == 0] = cost_of("measures")
    prices[(np.abs(shifts) <= 2) | (np.abs(shifts) == beat)] = cost_of("near")
    prices[shifts == 0] = cost_of("home")
    manners = np.array([0, cost_of("order"), cost_of("plain")], dtype=np.int32)
    return (prices[:, None] + manners).astype(np.int32)
