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

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple

from coach.arranging.costs import cost
from coach.instrument.hands import FINGERS, may_pick
from coach.instrument.rolls import ROLLS

__all__ = [
    "FREE",
    "NOWHERE",
    "PINCHES",
    "STATES",
    "Chosen",
    "Joint",
    "Lane",
    "Layer",
    "NoWayError",
    "Offer",
    "Option",
    "Way",
    "lanes",
    "layer",
    "solve",
    "step",
]

FREE = -1  # the lane of a way whose fingers follow no roll
ANY_HAND = 0  # where the left hand may come from anywhere
NOWHERE = 0  # the state of a measure without plucks
_IMPOSSIBLE = 1 << 40
_CROSSED = cost("crossed fingers")
_NO_THREES = cost("no groups of three")
_HAND_MOVES = cost("hand moves")
_THREE = 3
_PATIENCE = 24

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
        least: the price of the cheapest option of each finger, very dear where there is none.
    """

    slot: int
    fingers: tuple[tuple[Option, ...], ...]
    mask: int
    together: bool
    note: int
    role: str
    least: tuple[int, ...]

    def only(self, finger: int) -> Layer:
        """The same for one finger alone."""
        fingers = tuple(options if f == finger else () for f, options in enumerate(self.fingers))
        least = tuple(price if f == finger else _IMPOSSIBLE for f, price in enumerate(self.least))
        return self._replace(fingers=fingers, mask=self.mask & (1 << finger), least=least)


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
        fine: how many slots of the measure a slot of the next one lasts, where that is coarser; else 1.
    """

    price: int
    layers: tuple[Layer, ...]
    size: int
    hand: int
    rolled: bool
    threes: bool = False
    enters: int = 0
    fine: int = 1


class Offer(NamedTuple):
    """What a measure offers.

    Attributes:
        ways: in order of their price; a number among them says that all behind it cost more.
        ends: the states that its last pluck may have.
        change: what another roll costs that begins here.
        hands: where the left hand may lie when it is left.
        small: whether its ways are few, so that none need be given up unseen.
    """

    ways: Iterable[Way | int]
    ends: frozenset[int]
    change: int
    hands: frozenset[int]
    small: bool = False


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
    mask = sum(1 << f for f in range(3) if fingers[f])
    least = tuple(min((o.price for o in options), default=_IMPOSSIBLE) for options in fingers)
    return Layer(slot, fingers, mask, together, note, role, least)


def step(before: int, state: int, *, together: bool = False) -> int | None:
    """What it costs to play a state in the slot behind another; None where a hard rule forbids it."""
    price = (_TOGETHER if together else _RUNNING)[before][state]
    return None if price >= _IMPOSSIBLE else price


def _steps(*, together: bool) -> list[list[int]]:
    return [[_step_price(before, state, together=together) for state in STATES] for before in STATES]


def _at_home(finger: int, string: int) -> bool:
    return may_pick(FINGERS[finger], string)


def _step_price(before: tuple[tuple[int, int], ...], state: tuple[tuple[int, int], ...], *, together: bool) -> int:
    price = 0
    for finger_before, string_before in before:
        for finger, string in state:
            if not string or not string_before:
                continue
            if finger == finger_before or (string == string_before and not together):
                return _IMPOSSIBLE
            if string == string_before and 1 not in (finger, finger_before):
                return _IMPOSSIBLE  # on one string thumb and index alternate, or index and middle
            leaves_home = not (_at_home(finger, string) and _at_home(finger_before, string_before))
            if together and string != string_before and leaves_home:
                return _IMPOSSIBLE  # only in a run on one string does a finger leave its own strings
            if (finger - finger_before) * (string - string_before) > 0:
                price += _CROSSED
    return price


_RUNNING = _steps(together=False)
_TOGETHER = _steps(together=True)
_RESTED = [[0] * len(STATES) for _ in STATES]
_BEFORE = [[row[state] for row in _RUNNING] for state in range(len(STATES))]


class Lane(NamedTuple):
    """A lane over so many plucks: its number, its fingers, where it goes on, and whether it goes by threes."""

    lane: int
    fingers: tuple[int, ...]
    onward: int
    threes: bool


_NO_LANE = Lane(FREE, (), FREE, threes=False)


@lru_cache(maxsize=1 << 14)
def lanes(masks: tuple[int, ...]) -> tuple[Lane, ...]:
    """The lanes over so many plucks that have, at each, one of the fingers whose bits are set (1 T, 2 I, 4 M)."""
    wanted = sum(mask << (3 * k) for k, mask in enumerate(masks))
    return tuple(lane for lane, bits in _all_lanes(len(masks)) if bits & wanted == bits)


@lru_cache(maxsize=256)
def _all_lanes(count: int) -> tuple[tuple[Lane, int], ...]:
    """Every lane over so many plucks, with three bits a pluck."""
    found = []
    first = 0
    for roll in ROLLS.values():
        length = len(roll.cycle)
        for phase in range(length):
            fingers = tuple("TIM".index(roll.cycle[(phase + k) % length]) for k in range(count))
            bits = sum(1 << (3 * k + finger) for k, finger in enumerate(fingers))
            found.append((Lane(first + phase, fingers, first + (phase + count) % length, length == _THREE), bits))
        first += length
    return tuple(found)


class _Entry(NamedTuple):
    """A way into a measure.

    Attributes:
        price: from here to the end.
        order: the index of the way.
        joint: what the barline before it sees.
        way: the way.
        onward: the lane that would go on behind it.
        path: (option, (option, ... the entry behind the next barline)).
    """

    price: int
    order: int
    joint: Joint
    way: Way
    onward: int
    path: Any


@dataclass(slots=True)
class _Rest:
    """The rest of the tune from a barline on: the least price for each joint before it."""

    entries: list[_Entry]
    change: int = 0
    best: dict[tuple[int, int, bool], _Entry] = field(default_factory=dict)
    by_lane: dict[int, list[_Entry]] = field(default_factory=dict)
    found: dict[Joint, tuple[int, _Entry | None]] = field(default_factory=dict)
    floors: dict[tuple[int, int | None], int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for entry in self.entries:
            joint = entry.joint
            key = (joint.hand, joint.state, joint.gap)
            if key not in self.best or entry.price < self.best[key].price:
                self.best[key] = entry
            if joint.lane != FREE:
                self.by_lane.setdefault(joint.lane, []).append(entry)

    def floor(self, lane: int, finger: int | None) -> int:
        """The least that follows a measure left along a lane by a finger (None: by any, or behind a rest)."""
        known = self.floors.get((lane, finger))
        if known is None:
            others = [
                entry.price
                for entry in self.entries
                if finger is None or entry.joint.gap or STATES[entry.joint.state][0][0] != finger
            ]
            onward = [entry.price for entry in self.by_lane.get(lane, ())]
            change = min(others, default=_IMPOSSIBLE) + self.change
            known = self.floors[lane, finger] = min([change, *onward]) if self.entries else 0
        return known

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
        for entries, change in ((self.by_lane.get(joint.lane, ()), 0), (self.best.values(), self.change)):
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
    measures: Sequence[Offer], before: Joint | None = None, after: Joint | None = None
) -> tuple[int, list[Chosen]]:
    """The least-cost path through the measures.

    Args:
        measures: what each measure offers, at least one measure.
        before: the joint before the first barline, None where the tune begins.
        after: what follows behind the last barline, None where the tune ends.

    Returns:
        The price of the path and what was chosen for each measure.

    Raises:
        NoWayError: where no way through a measure fits what follows.
    """
    rest = _Rest([])
    if after is not None:
        rest = _Rest([_Entry(0, 0, after, Way(0, (), 0, after.hand, rolled=False), FREE, None)])
    for index in range(len(measures) - 1, -1, -1):
        if index:
            ends, hands = measures[index - 1].ends, measures[index - 1].hands
        else:
            ends, hands = (
                frozenset({each}) for each in ((before.state, before.hand) if before else (NOWHERE, ANY_HAND))
            )
        entries = _entries(measures[index], rest, _Entries(sorted(ends | {NOWHERE}), hands, measures[index]))
        if not entries:
            raise NoWayError(index)
        rest = _Rest(entries, measures[index].change)
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
    gap = not way.layers or way.layers[-1].slot < way.size - way.fine
    return Joint(way.hand, onward, state, gap)


def _entries(offer: Offer, rest: _Rest, found: _Entries) -> list[_Entry]:
    """The entries of a measure: for each joint that a barline can see the cheapest, in order of the ways.

    Ways come in order of their price. One that costs so much that every joint before the barline (its state is one of
    ``ends``) has something better, whatever follows, is of no use, and nor are all behind it.
    """
    least_rest = min((entry.price for entry in rest.entries), default=0)
    for order, way in enumerate(offer.ways):
        if isinstance(way, int):
            if way + least_rest >= found.settled().ceiling:
                break
            continue
        if way.price + least_rest > found.settled().ceiling:
            break
        enters = way.enters or way.hand
        layers = way.layers
        if not layers:
            joint = Joint(enters, FREE, NOWHERE, gap=True)
            price, then = rest.after(Joint(way.hand, FREE, NOWHERE, gap=True))
            if price < _IMPOSSIBLE:
                found.keep(_Entry(price + way.price, order, joint, way, FREE, then))
            continue
        gap = layers[0].slot > 0
        for least, lane in _courses(way, rest):
            if least > (found.ceiling if gap or not lane.fingers else found.by_finger[lane.fingers[0]]):
                continue
            extra = way.price + (_NO_THREES if way.threes and way.rolled and not lane.threes else 0)
            for price, state, path in _through(way, lane, rest):
                joint = Joint(enters, lane.lane, state, gap)
                found.keep(_Entry(price + extra, order, joint, way, lane.onward, path))
    return sorted(found.best.values(), key=lambda entry: (entry.order, entry.joint))


def _courses(way: Way, rest: _Rest) -> list[tuple[int, Lane]]:
    """The lanes that a way may be walked along, with a price that none of their paths goes below."""
    layers = way.layers
    if not way.rolled:
        return [(way.price + sum([min(each.least) for each in layers]) + rest.floor(FREE, None), _NO_LANE)]
    leasts = [each.least for each in layers]
    gap = layers[-1].slot < way.size - way.fine
    found = []
    for lane in lanes(tuple([each.mask for each in layers])):
        floor = way.price + rest.floor(lane.onward, None if gap else lane.fingers[-1])
        floor += _NO_THREES if way.threes and not lane.threes else 0
        for least, finger in zip(leasts, lane.fingers, strict=True):
            floor += least[finger]
        found.append((floor, lane))
    return found


class _Entries:
    """The best entries so far, and what they are worth to any joint before the barline.

    Attributes:
        best: by joint.
        ceiling: the price from which on no entry is of use to any joint. A joint for which nothing is found within
            ``_PATIENCE`` of what the others found is given up, unless the ways are few.
        by_finger: the same for entries that begin at once with T, I or M, which cannot follow all joints.
    """

    def __init__(self, ends: Sequence[int], hands: Iterable[int], offer: Offer) -> None:
        self.best: dict[Joint, _Entry] = {}
        self.ceiling = _IMPOSSIBLE
        self.by_finger: tuple[int, ...] = (_IMPOSSIBLE,) * 3
        self._settled = True
        self._change = offer.change
        self._patient = offer.small
        self._ends = ends
        self._lasts = [{finger for finger, string in STATES[end] if string} for end in ends]
        self._worth = {hand: [_IMPOSSIBLE] * len(ends) for hand in sorted(hands)}

    def keep(self, entry: _Entry) -> None:
        """Keep an entry if it is the first or the cheapest of its joint."""
        joint = entry.joint
        known = self.best.get(joint)
        if known is not None and entry.price >= known.price:
            return
        self.best[joint] = entry
        steps = _BEFORE[NOWHERE if joint.gap else joint.state]
        for hand, worth in self._worth.items():
            if hand in (joint.hand, ANY_HAND) or joint.gap:
                moves = 0 if hand == ANY_HAND else _HAND_MOVES * abs(hand - joint.hand)
                for index, before in enumerate(self._ends):
                    price = entry.price + moves + steps[before]
                    if price < worth[index]:
                        worth[index] = price
        self._settled = False

    def settled(self) -> _Entries:
        """The same, its ceilings worked out again after entries were kept."""
        if not self._settled:
            self.ceiling = self._ceiling(None)
            self.by_finger = tuple([self._ceiling(finger) for finger in range(3)])
            self._settled = True
        return self

    def _ceiling(self, finger: int | None) -> int:
        """The ceiling of entries whose first pluck is played by a finger; None where that stands after a rest."""
        worths = [
            price
            for worth in self._worth.values()
            for price, lasts in zip(worth, self._lasts, strict=True)
            if finger not in lasts
        ]
        reached = [price for price in worths if price < _IMPOSSIBLE]
        if len(reached) == len(worths):
            return max(reached, default=0) + self._change
        return max(reached) + self._change + _PATIENCE if reached and not self._patient else _IMPOSSIBLE


def _through(way: Way, lane: Lane, rest: _Rest) -> list[tuple[int, int, Any]]:
    """Price, first state and path of the best courses along a lane, by first state."""
    layers, fingers = way.layers, lane.fingers
    last = len(layers) - 1
    gap = layers[last].slot < way.size - way.fine
    later: list[tuple[int, int, Any]] = []
    for option in layers[last].fingers[fingers[last]] if fingers else _any_finger(layers[last]):
        state, own = option[:2]
        price, then = rest.after(Joint(way.hand, lane.onward, state, gap))
        if price < _IMPOSSIBLE:
            later.append((price + own, state, (option, then)))
    for k in range(last - 1, -1, -1):
        here, there = layers[k], layers[k + 1]
        table = _RESTED if there.slot > here.slot + 1 else _TOGETHER if there.together else _RUNNING
        now: list[tuple[int, int, Any]] = []
        for option in here.fingers[fingers[k]] if fingers else _any_finger(here):
            own = option[0]
            row = table[own]
            least, onto = _IMPOSSIBLE, None
            for price, state, path in later:
                price += row[state]
                if price < least:
                    least, onto = price, path
            if onto is not None:
                now.append((least + option[1], own, (option, onto)))
        later = now
    return later


def _any_finger(each: Layer) -> list[Option]:
    return [option for options in each.fingers for option in options]
