"""The one search: the least-cost path through the ways of the measures, exact, by dynamic programming.

Every measure offers *ways*: which slots are plucked and what may be plucked there. A layer is a plucked slot, a state
of it an :class:`Option` (finger, string, fret, hand). Between neighbouring slots the hard rules of the right hand
remove steps: no finger twice, no string twice. A way in rolls is walked along *lanes*: a lane is a named roll and the
finger of it that comes first, so that the roll is part of the state, within a measure and across the barline. The
table is filled from the end of the tune to its start and read from the start, so that of equal paths the
lexicographically smallest (by way, lane, finger, string, fret) is found. Compare Sayegh 1989, the optimum path
paradigm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple

from coach.arranging.costs import cost
from coach.instrument.rolls import ROLLS

__all__ = [
    "FREE",
    "NOWHERE",
    "PINCHES",
    "STATES",
    "Chosen",
    "Joint",
    "Layer",
    "NoWayError",
    "Option",
    "Way",
    "layer",
    "solve",
    "step",
]

FREE = -1  # the lane of a way whose fingers follow no roll
NOWHERE = 0  # the state of a measure without plucks
FINGERS = "TIM"
_IMPOSSIBLE = 1 << 40
_CROSSED = cost("crossed fingers")
_CHANGE = cost("change of roll")
_NO_THREES = cost("no groups of three")
_HAND_MOVES = cost("hand moves")

# Pinches of the thumb and the middle finger on string 1, by the states that they join.
PINCHES = {(string, 13): 18 + number for number, string in enumerate((5, 4, 3))}
# What each state strikes: fingers and strings.
STATES: tuple[tuple[tuple[int, int], ...], ...] = (
    *(((finger, string),) for finger in range(3) for string in range(6)),
    *((divmod(low, 6), divmod(high, 6)) for low, high in PINCHES),
)


class Option(NamedTuple):
    """One way of plucking a slot.

    Attributes:
        state: 6 * finger + string, with finger 0 for T, 1 for I, 2 for M, and string 1..5; or one of a pinch.
        price: what it costs.
        fret: of the pluck.
        technique: of a note slurred from it, or empty.
        to_fret: of that note; -1 where there is none.
        slow: whether that note sounds a slot later instead of half a slot.
        pinched: the frets of what is struck with it.
    """

    state: int
    price: int
    fret: int
    technique: str = ""
    to_fret: int = -1
    slow: bool = False
    pinched: tuple[int, ...] = ()


class Layer(NamedTuple):
    """A plucked slot.

    Attributes:
        slot: of its measure.
        fingers: the options by finger T, I, M, each sorted by state, one for each state.
        mask: bit f is set where finger f has an option.
        together: whether it may be picked on the string of the slot before (a melody running on one string).
        note: the melody note it carries, as an index into the measure's notes, or -1.
        role: what the pluck is there for.
    """

    slot: int
    fingers: tuple[tuple[Option, ...], ...]
    mask: int
    together: bool
    note: int
    role: str


class Way(NamedTuple):
    """One way through a measure.

    Attributes:
        price: of what it does to the melody.
        layers: the plucked slots, in order.
        size: slots in the measure.
        hand: the fret at which the index finger of the left hand lies before the next barline, 1 and up.
        rolled: whether the fingers follow a lane.
        threes: whether the fingers ought to go by threes.
        enters: where the left hand lies behind the barline, 0 for the same as ``hand``.
    """

    price: int
    layers: tuple[Layer, ...]
    size: int
    hand: int
    rolled: bool
    threes: bool = False
    enters: int = 0


class Joint(NamedTuple):
    """What is known at a barline of the pluck before or behind it.

    Attributes:
        hand: position of the left hand.
        lane: behind a barline the lane that begins there, before it the lane that would go on; or FREE.
        state: of the pluck, or NOWHERE.
        gap: whether a slot is empty between the pluck and the barline.
    """

    hand: int
    lane: int
    state: int
    gap: bool


class Chosen(NamedTuple):
    """What the search chose for a measure.

    Attributes:
        way: the way.
        options: one for each layer.
        enters, leaves: what the barlines before and behind it see.
    """

    way: Way
    options: tuple[Option, ...]
    enters: Joint
    leaves: Joint


class NoWayError(Exception):
    """No way through a measure obeys the hard rules.

    Attributes:
        measure: its index among those that were searched.
    """

    def __init__(self, measure: int) -> None:
        super().__init__(measure)
        self.measure = measure


def layer(slot: int, options: Sequence[Option], role: str, *, note: int = -1, together: bool = False) -> Layer:
    """A layer from its options: the cheapest of each state is kept, in order of state."""
    best: dict[int, Option] = {}
    for each in sorted(options, key=lambda o: (o.state, o.price, o)):
        best.setdefault(each.state, each)
    fingers = tuple(tuple(o for o in best.values() if STATES[o.state][0][0] == f) for f in range(3))
    return Layer(slot, fingers, sum(1 << f for f in range(3) if fingers[f]), together, note, role)


def step(before: int, state: int, *, together: bool = False) -> int | None:
    """What it costs to play a state in the slot behind another; None where a hard rule forbids it."""
    price = (_TOGETHER if together else _RUNNING)[before][state]
    return None if price >= _IMPOSSIBLE else price


def _steps(*, together: bool) -> list[list[int]]:
    return [[_step_price(before, state, together=together) for state in STATES] for before in STATES]


def _step_price(before: tuple[tuple[int, int], ...], state: tuple[tuple[int, int], ...], *, together: bool) -> int:
    price = 0
    for finger_before, string_before in before:
        for finger, string in state:
            if not string or not string_before:
                continue
            if finger == finger_before or (string == string_before and not together):
                return _IMPOSSIBLE
            if (finger - finger_before) * (string - string_before) > 0:
                price += _CROSSED
    return price


_RUNNING = _steps(together=False)
_TOGETHER = _steps(together=True)


class _Row(NamedTuple):
    """A lane over so many plucks: where it starts, its fingers, their bits, where it goes on, whether by threes."""

    lane: int
    fingers: tuple[int, ...]
    mask: int
    onward: int
    threes: bool


@lru_cache(maxsize=64)
def _rows(count: int) -> tuple[_Row, ...]:
    rows = []
    first = 0
    for roll in ROLLS.values():
        length = len(roll.cycle)
        for phase in range(length):
            fingers = tuple(FINGERS.index(roll.cycle[(phase + k) % length]) for k in range(count))
            mask = sum(1 << (3 * k + finger) for k, finger in enumerate(fingers))
            rows.append(_Row(first + phase, fingers, mask, first + (phase + count) % length, length == 3))
        first += length
    return tuple(rows)


class _Entry(NamedTuple):
    """A way into a measure: the price from here to the end, what the barline before it sees, and what is chosen."""

    price: int
    joint: Joint
    way: Way
    onward: int
    path: Any  # (option, (option, ... the entry behind the next barline))


@dataclass(slots=True)
class _Rest:
    """The rest of the tune from a barline on: the least price for each joint before it."""

    entries: list[_Entry]
    best: dict[tuple[int, int, bool], _Entry] = field(default_factory=dict)
    by_lane: dict[int, list[_Entry]] = field(default_factory=dict)
    found: dict[Joint, tuple[int, _Entry | None]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for entry in self.entries:
            joint = entry.joint
            key = (joint.hand, joint.state, joint.gap)
            if key not in self.best or entry.price < self.best[key].price:
                self.best[key] = entry
            if joint.lane != FREE:
                self.by_lane.setdefault(joint.lane, []).append(entry)

    def after(self, joint: Joint) -> tuple[int, _Entry | None]:
        """The least price from a joint before the barline to the end, and the entry that has it."""
        known = self.found.get(joint)
        if known is None:
            known = self.found[joint] = self._search(joint)
        return known

    def _search(self, joint: Joint) -> tuple[int, _Entry | None]:
        if not self.entries:
            return 0, None
        running = _RUNNING[joint.state]
        least, chosen = _IMPOSSIBLE, None
        for entries, change in ((self.by_lane.get(joint.lane, ()), 0), (self.best.values(), _CHANGE)):
            for entry in entries:
                hand, _, state, gap = entry.joint
                if hand != joint.hand and not (gap or joint.gap):
                    continue
                price = entry.price + change + _HAND_MOVES * abs(hand - joint.hand)
                if not (gap or joint.gap):
                    price += running[state]
                if price < least:
                    least, chosen = price, entry
        return least, chosen


def solve(
    measures: Sequence[Sequence[Way]], before: Joint | None = None, after: Joint | None = None
) -> tuple[int, list[Chosen]]:
    """The least-cost path through the measures.

    Args:
        measures: the ways of each measure, at least one measure.
        before: the joint before the first barline, None where the tune begins.
        after: what follows behind the last barline, None where the tune ends.

    Returns:
        The price of the path and what was chosen for each measure.

    Raises:
        NoWayError: where no way through a measure fits what follows.
    """
    rest = _Rest([])
    if after is not None:
        rest = _Rest([_Entry(0, after, Way(0, (), 0, after.hand, rolled=False), FREE, None)])
    for index in range(len(measures) - 1, -1, -1):
        entries = _entries(measures[index], rest)
        if not entries:
            raise NoWayError(index)
        rest = _Rest(entries)
    if before is None:
        first = min(rest.entries, key=lambda entry: entry.price)
        price = first.price
    else:
        price, found = rest.after(before)
        if found is None or price >= _IMPOSSIBLE:
            raise NoWayError(0)
        first = found
    return price, list(_walk(first, len(measures)))


def _walk(entry: _Entry | None, count: int) -> Iterator[Chosen]:
    for _ in range(count):
        assert entry is not None
        options: list[Option] = []
        node = entry.path
        for _ in entry.way.layers:
            option, node = node
            options.append(option)
        way = entry.way
        yield Chosen(way, tuple(options), entry.joint, _leaving(way, entry.onward, options[-1].state if options else 0))
        entry = node


def _leaving(way: Way, onward: int, state: int) -> Joint:
    gap = not way.layers or way.layers[-1].slot < way.size - 1
    return Joint(way.hand, onward, state, gap)


def _entries(ways: Sequence[Way], rest: _Rest) -> list[_Entry]:
    """The entries of a measure: for each joint that a barline can see the cheapest, in order of the ways."""
    best: dict[Joint, _Entry] = {}
    for way in ways:
        if not way.layers:
            joint = Joint(way.enters or way.hand, FREE, NOWHERE, gap=True)
            price, then = rest.after(joint)
            if price < _IMPOSSIBLE:
                _keep(best, _Entry(price + way.price, joint, way, FREE, then))
            continue
        layers = way.layers
        gap = layers[0].slot > 0
        if not way.rolled:
            for price, state, path in _through(layers, None, way, FREE, rest):
                _keep(best, _Entry(price + way.price, Joint(way.enters or way.hand, FREE, state, gap), way, FREE, path))
            continue
        mask = 0
        for k, each in enumerate(layers):
            mask |= each.mask << (3 * k)
        for row in _rows(len(layers)):
            if row.mask & mask != row.mask:
                continue
            extra = way.price + (_NO_THREES if way.threes and not row.threes else 0)
            for price, state, path in _through(layers, row.fingers, way, row.onward, rest):
                _keep(
                    best,
                    _Entry(price + extra, Joint(way.enters or way.hand, row.lane, state, gap), way, row.onward, path),
                )
    return list(best.values())


def _keep(best: dict[Joint, _Entry], entry: _Entry) -> None:
    known = best.get(entry.joint)
    if known is None or entry.price < known.price:
        best[entry.joint] = entry


def _through(
    layers: Sequence[Layer], fingers: Sequence[int] | None, way: Way, onward: int, rest: _Rest
) -> list[tuple[int, int, Any]]:
    """Price, first state and path of the best ways through the layers, by first state."""
    last = layers[-1]
    later: list[tuple[int, int, Any]] = []
    for option in _options(last, fingers, len(layers) - 1):
        price, then = rest.after(_leaving(way, onward, option.state))
        if price < _IMPOSSIBLE:
            later.append((price + option.price, option.state, (option, then)))
    for k in range(len(layers) - 2, -1, -1):
        if not later:
            return later
        here, there = layers[k], layers[k + 1]
        running = there.slot == here.slot + 1
        table = _TOGETHER if there.together else _RUNNING
        now: list[tuple[int, int, Any]] = []
        for option in _options(here, fingers, k):
            row = table[option.state]
            least, onto = _IMPOSSIBLE, None
            for price, state, path in later:
                if running:
                    price += row[state]
                if price < least:
                    least, onto = price, path
            if onto is not None:
                now.append((least + option.price, option.state, (option, onto)))
        later = now
    return later


def _options(each: Layer, fingers: Sequence[int] | None, k: int) -> Sequence[Option]:
    if fingers is not None:
        return each.fingers[fingers[k]]
    return [option for options in each.fingers for option in options]
