"""A pass in slots: what is written in each, and in which of them a heard note lies.

A slot is the grid of the solo, or of its finest measure where that is finer. A note lies in the slot whose middle is
nearest. Bounds are whole microseconds from the start of the pass, as everywhere in the listener; the player's lean does
not enter, so that what is recognised does not depend on it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from coach.listening.places import MICROSECONDS, Expected, Places

__all__ = ["Slots", "WrittenSlot", "slots_of"]


@dataclass(frozen=True, slots=True)
class WrittenSlot:
    """What is written in a slot.

    Attributes:
        due: the pitches that must be heard, one for each picked pluck.
        melody: those of them that carry the tune.
        slurred: pitches of slurred plucks, which need not be heard; one that lies half a slot later is in both slots.
        roll: the pitches of all picked plucks of the measure that do not carry the tune.
        line: the first slot of a measure.
    """

    due: tuple[int, ...] = ()
    melody: tuple[int, ...] = ()
    slurred: tuple[int, ...] = ()
    roll: frozenset[int] = frozenset()
    line: bool = False


@dataclass(frozen=True, slots=True)
class Slots:
    """A pass in slots.

    Attributes:
        grid: the length of a slot, in quarters.
        step: how many of these a slot of the solo is.
        written: what is written in each.
        bounds: where each ends, in microseconds from the start of the pass.
        of_place: the slot of each place.
        onsets: where each place lies in the pass, in quarters.
        measures: by slot, how many slots its measure has.
    """

    grid: Fraction
    step: int
    written: tuple[WrittenSlot, ...]
    bounds: tuple[int, ...]
    of_place: tuple[int, ...]
    onsets: tuple[Fraction, ...]
    measures: tuple[int, ...]

    def at(self, time: int) -> int:
        """The slot in which a time lies; the first and the last reach on outwards."""
        return min(bisect_right(self.bounds, time), len(self.bounds) - 1)


def slots_of(places: Places) -> Slots:
    """The slots of a pass; one more than the written ones, for a note of the last that comes late.

    Those of places that are laid out already are kept, for those who play the same again.
    """
    return _cut(_Layout(places))


@dataclass(frozen=True, slots=True, eq=False)
class _Layout:
    """Equal to another one whose pass is laid out alike, since it is the same layout."""

    value: Places

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Layout) and self.value.places is other.value.places

    def __hash__(self) -> int:
        return id(self.value.places)


@lru_cache(maxsize=64)
def _cut(layout: _Layout) -> Slots:
    places = layout.value
    plan = places.plan
    slot = plan.arrangement.slot
    finest = min((measure.slot or slot for measure in plan.measures), default=slot)
    step = max(1, -(-slot // finest))
    grid = slot / step
    count = -(-plan.length // grid) + 1
    onsets = tuple(sorted({start + pluck.at for measure, start in plan.starts for pluck in measure.plucks}))
    index = _positions(onsets, grid, count)
    due: list[list[Expected]] = [[] for _ in range(count)]
    slurred: list[list[int]] = [[] for _ in range(count)]
    for place in places.places:
        at, is_late = index[place.index]
        for pluck in place.plucks:
            if pluck.picked:
                due[at].append(pluck)
            else:
                for each in (at, at + 1) if is_late else (at,):
                    slurred[min(each, count - 1)].append(pluck.pitch)
    lines = {_slot_at(start, grid) for _, start in plan.starts}
    rolls: dict[int, set[int]] = {}
    for pluck in places.expected:
        if pluck.picked and not pluck.melody:
            rolls.setdefault(pluck.measure, set()).add(pluck.pitch)
    written = tuple(
        WrittenSlot(
            tuple(pluck.pitch for pluck in due[each]),
            tuple(pluck.pitch for pluck in due[each] if pluck.melody),
            tuple(slurred[each]),
            frozenset(rolls.get(due[each][0].measure, ())) if due[each] else frozenset(),
            each in lines,
        )
        for each in range(count)
    )
    bounds = tuple(round(places.tempo_map.seconds((2 * each + 1) * (grid / 2)) * MICROSECONDS) for each in range(count))
    return Slots(grid, step, written, bounds, tuple(at for at, _ in index), onsets, _lengths(places, grid, count))


def _slot_at(at: Fraction, grid: Fraction) -> int:
    """The slot whose middle is nearest to a position, the earlier of two."""
    slots = at / grid
    return -((slots.denominator - 2 * slots.numerator) // (2 * slots.denominator))


def _positions(onsets: Sequence[Fraction], grid: Fraction, count: int) -> list[tuple[int, bool]]:
    """The slot of each place, and whether the place lies half a slot behind its middle."""
    positions: list[tuple[int, bool]] = []
    for at in onsets:
        slot = min(_slot_at(at, grid), count - 1)
        positions.append((slot, at - slot * grid == grid / 2))
    return positions


def _lengths(places: Places, grid: Fraction, count: int) -> tuple[int, ...]:
    lengths: list[int] = []
    for measure, start in places.plan.starts:
        lengths += [max(1, round(measure.length / grid))] * (_slot_at(start + measure.length, grid) - len(lengths))
    return tuple(lengths[:count] + lengths[-1:] * (count - len(lengths)))
