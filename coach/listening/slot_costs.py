"""What the notes heard in a slot cost, by what is written in the slot that the player is taken to play.

Costs are those of :mod:`~coach.listening.passage_costs`. They depend on the written slot alone, and a solo repeats
itself, so they are found once for each *kind* of slot. Of what is heard most (what is written, and silence) the costs
are laid out beforehand for the whole solo, and kept for those who play the same again; of anything else they are
looked up where they are asked for. Neither time nor memory grows with what is heard.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from coach.arranging.same import Same
from coach.listening.passage_costs import cost_of
from coach.listening.slots import Slots, WrittenSlot

__all__ = ["AS_WRITTEN", "MANNERS", "OTHER_ORDER", "PLAIN", "Costs", "SlotCosts", "costs_of", "fits", "solid_count"]

AS_WRITTEN, OTHER_ORDER, PLAIN = range(3)
MANNERS = 3

Costs = NDArray[np.int32]

_MISSED, _EXTRA, _WRONG = cost_of("missed"), cost_of("extra"), cost_of("wrong")
_OCTAVE = 12
_STRINGS = 5
_NOTHING = -1  # the key of a slot in which nothing is heard; a single note's is its pitch
_LAID_OUT = 32  # of so many different slots of the solo the costs are laid out beforehand
_MOST_KNOWN = 256  # keeps memory flat, whatever is heard


class SlotCosts:
    """The costs of slots of a pass.

    Args:
        slots: of the pass.
        most: how many slots of the solo ahead or behind are looked at.
    """

    def __init__(self, slots: Slots, most: int) -> None:
        self._step = slots.step
        self._width = 2 * most + 1
        pad = [WrittenSlot()] * (most * slots.step)
        over = len(pad) + len(slots.written) - 1  # the last slot is one for late notes, nothing is written there
        kinds: dict[tuple[WrittenSlot, bool], int] = {}
        kind_at = [
            kinds.setdefault((WrittenSlot(slot.due, slot.melody, slot.slurred, slot.roll), at >= over), len(kinds))
            for at, slot in enumerate((*pad, *slots.written, *pad))
        ]
        needs = np.array([_needs(slot) for slot, _ in kinds], dtype=np.int32)
        self._most_needed = int(needs.max())
        self._most_fitting = max(len({*slot.due, *slot.slurred, *slot.roll}) for slot, _ in kinds)
        self._row = needs * (self._most_fitting + 1)  # in the tables by what is needed and fits
        self._base: Costs = np.zeros_like(needs)
        self._base[:, OTHER_ORDER] = [cost_of("crowd") * bool(slot.due) for slot, _ in kinds]
        self._base[[is_over for _, is_over in kinds]] = cost_of("over")
        # The slots seen at once lie `step` apart: each of the first `step` begins a row of its own.
        self._kind_at = [np.array(kind_at[first :: self._step]) for first in range(self._step)]
        pitches = {pitch for slot in kinds for pitch in (*slot[0].due, *slot[0].slurred)}
        self._fitting: dict[int, Costs] = {
            pitch: np.array([fits(slot, pitch) for slot, _ in kinds], dtype=np.int32) for pitch in sorted(pitches)
        }
        self._known: dict[Hashable, Costs] = {}  # by kind, of what was heard before
        for solid in range(_STRINGS + 1):
            _table(self._most_needed, self._most_fitting, solid)
        self._laid_out: dict[Hashable, list[Costs]] = {}
        for due, _ in Counter(frozenset(slot.due) for slot in slots.written).most_common(_LAID_OUT):
            by_kind = self._by_kind(due, len(due))
            key = (due, len(due)) if len(due) > 1 else min(due, default=_NOTHING)
            self._laid_out[key] = [by_kind[row].reshape(-1) for row in self._kind_at]

    def of(self, heard: Sequence[tuple[int, int]], at: int) -> Costs:
        """The costs of a slot: one after the other by shift, the farthest behind first, and three for each by manner.

        Args:
            heard: the notes that were heard in it, each with its pitch and velocity.
            at: its number in the pass.

        Returns:
            An array that is not to be written to.
        """
        if len(heard) > 1:
            loudest = _loudest(heard)
            pitches, solid = frozenset(loudest), _solid(loudest)
            key: Hashable = (pitches, solid)
        elif heard:
            key = heard[0][0]
            pitches, solid = frozenset((key,)), 1
        else:
            key, pitches, solid = _NOTHING, frozenset(), 0
        since, first = divmod(at, self._step)
        laid_out = self._laid_out.get(key)
        if laid_out is not None:
            return laid_out[first][MANNERS * since : MANNERS * (since + self._width)]
        by_kind = self._known.get(key)
        if by_kind is None:
            if len(self._known) >= _MOST_KNOWN:
                self._known.clear()
            by_kind = self._known[key] = self._by_kind(pitches, solid)
        return by_kind.take(self._kind_at[first][since : since + self._width], axis=0).reshape(-1)

    def _by_kind(self, pitches: frozenset[int], solid: int) -> Costs:
        """The costs of a slot in which pitches are heard, by kind and manner.

        Args:
            pitches: what is heard.
            solid: how many of them are no ghosts.
        """
        index = self._row
        for pitch in pitches:
            if pitch in self._fitting:
                index = index + self._fitting[pitch]
        return _table(self._most_needed, self._most_fitting, solid).take(index) + self._base


def costs_of(slots: Slots, most: int) -> SlotCosts:
    """The costs of slots of a pass; those of the same slots are kept."""
    return _kept(Same(slots), most)


@lru_cache(maxsize=64)
def _kept(slots: Same[Slots], most: int) -> SlotCosts:
    return SlotCosts(slots.value, most)


@lru_cache(maxsize=1024)
def _table(most_needed: int, most_fitting: int, solid: int) -> Costs:
    """The costs of a slot by how many notes it needs and how many of those heard fit, row after row.

    Args:
        most_needed, most_fitting: how far the table reaches.
        solid: how many notes are heard, ghosts left out; none when silent.
    """
    needs, matched = np.indices((most_needed + 1, most_fitting + 1), dtype=np.int32)
    missing = np.maximum(needs - matched, 0)
    if not solid:
        missing = np.minimum(missing, 1)
    extra = np.maximum(solid - matched, 0)
    costs: Costs = _MISSED * missing + _EXTRA * extra - (_MISSED + _EXTRA - _WRONG) * np.minimum(missing, extra)
    costs.setflags(write=False)
    return costs.reshape(-1)


def _needs(slot: WrittenSlot) -> tuple[int, int, int]:
    """How many notes a slot needs, by manner."""
    return len(set(slot.due)), len(set(slot.due)), len(set(slot.melody))


def fits(slot: WrittenSlot, pitch: int) -> tuple[bool, bool, bool]:
    """Whether a pitch fits in a slot, by manner: where the tune is due, no other order puts anything else."""
    as_written = pitch in slot.due or pitch in slot.slurred
    return as_written, as_written or (not slot.melody and pitch in slot.roll), pitch in slot.melody


def solid_count(heard: Sequence[tuple[int, int]]) -> int:
    """How many different pitches were heard that are no ghosts; each note has its pitch and velocity."""
    return _solid(_loudest(heard))


def _loudest(heard: Sequence[tuple[int, int]]) -> dict[int, int]:
    """The pitches that were heard, each with the velocity of its loudest note."""
    loudest: dict[int, int] = {}
    for pitch, velocity in heard:
        if velocity >= loudest.get(pitch, 0):
            loudest[pitch] = velocity
    return loudest


def _solid(loudest: Mapping[int, int]) -> int:
    """How many pitches were heard, softer ones an octave above another left out: they may be ghosts of its string."""
    solid = len(loudest)
    for pitch, velocity in loudest.items():
        if velocity < loudest.get(pitch - _OCTAVE, 0):
            solid -= 1
    return solid
