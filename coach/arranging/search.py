"""The one search: the least-cost path through the ways of the measures, exact, by dynamic programming.

Every measure offers *ways*: which slots are plucked and what may be plucked there. A layer is a plucked slot, a state
of it an :class:`Option` (finger, string, fret, hand). Between neighbouring slots the hard rules of the right hand
remove steps: no finger twice, no string twice. A way in rolls is walked along *lanes*: a lane is a named roll and the
finger of it that comes first, so that the roll is part of the state, within a measure and across the barline. A lick
that crosses a barline is a lane of its own there, so that only its second part goes on from its first.

The table is filled from the end of the tune to its start and read from the start, so that of equal paths the
lexicographically smallest (by way, lane, finger, string, fret) is found. Compare Sayegh 1989, the optimum path
paradigm.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from operator import attrgetter, getitem
from typing import Any, NamedTuple

from coach.arranging.picks import BEFORE, NOWHERE, RESTED, RUNNING, STATES, TOGETHER, Layer, Option
from coach.arranging.remainder import HAND_MOVES, HOPELESS, Entry, Rest
from coach.arranging.ways import (
    ANY_HAND,
    FREE,
    LINKED,
    NO_LANE,
    Joint,
    Lane,
    Offer,
    Way,
    lane_price,
    lanes,
    leaving,
    linked_lane,
)

__all__ = ["Chosen", "NoWayError", "solve"]

_PATIENCE = 24
_SETTLING = 2
_CHEAPEST, _LEAST, _MASK = attrgetter("cheapest"), attrgetter("least"), attrgetter("mask")


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
    rest = Rest([])
    if after is not None:
        rest = Rest([Entry(0, 0, after, Way(0, (), 0, after.hand, rolled=False), FREE, None)])
    for index in range(len(measures) - 1, -1, -1):
        if index:
            ends, hands = measures[index - 1].ends, measures[index - 1].hands
        else:
            ends, hands = (
                frozenset({each}) for each in ((before.state, before.hand) if before else (NOWHERE, ANY_HAND))
            )
        links = measures[index - 1].links if index else frozenset([(before.lane, before.state)] if before else ())
        entries = _entries(measures[index], rest, _Entries(sorted(ends | {NOWHERE}), hands, measures[index], links))
        if not entries:
            raise NoWayError(index)
        rest = Rest(entries, measures[index].change)
    if before is None:
        opening = [entry for entry in rest.entries if entry.joint.lane < LINKED]
        if not opening:
            raise NoWayError(0)
        first = min(opening, key=lambda entry: entry.price)
        price = first.price
    else:
        price, found = rest.after(before)
        if found is None or price >= HOPELESS:
            raise NoWayError(0)
        first = found
    return price, list(_walk(first, len(measures)))


def _walk(entry: Entry | None, count: int) -> Iterator[Chosen]:
    for _ in range(count):
        assert entry is not None
        options: list[Option] = []
        node = entry.path
        for _ in entry.way.layers:
            option, node = node
            options.append(option)
        way = entry.way
        yield Chosen(way, tuple(options), entry.joint, leaving(way, entry.onward, options[-1].state if options else 0))
        entry = node


def _entries(offer: Offer, rest: Rest, found: _Entries) -> list[Entry]:
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
        # Ceilings only fall, so that one of a few ways before serves.
        if way.price + least_rest > (found.settled() if order % _SETTLING == 0 else found).ceiling:
            break
        enters = way.enters or way.hand
        layers = way.layers
        if not layers:
            joint = Joint(enters, FREE, NOWHERE, gap=True)
            price, then = rest.after(Joint(way.hand, FREE, NOWHERE, gap=True))
            if price < HOPELESS:
                found.keep(Entry(price + way.price, order, joint, way, FREE, then))
            continue
        if way.price + sum(map(_CHEAPEST, layers)) + least_rest > found.ceiling:
            continue
        gap = layers[0].slot > 0
        limits = (found.ceiling,) * 3 if gap or not way.rolled else found.by_finger
        for least, lane in _courses(way, rest, limits, least_rest):
            if not found.wants(least, enters, lane, layers[0]):
                continue
            extra = way.price + (lane_price(way, lane) if way.rolled else 0)
            for price, state, path in _through(way, lane, rest):
                joint = Joint(enters, lane.lane, state, gap)
                found.keep(Entry(price + extra, order, joint, way, lane.onward, path))
    return sorted(found.best.values(), key=lambda entry: (entry.order, entry.joint))


def _courses(way: Way, rest: Rest, limits: Sequence[int], least_rest: int) -> list[tuple[int, Lane]]:
    """The lanes that a way may be walked along, with a price that none of their paths goes below.

    Args:
        way: with a layer at least.
        rest: what follows.
        limits: by the finger that begins, the price over which a lane is of no use.
        least_rest: a price below which no rest goes.
    """
    layers = way.layers
    linked = way.link_in != FREE or way.link_out != FREE
    if not way.rolled:
        lane = linked_lane(way, NO_LANE) if linked else NO_LANE
        floor = way.price + sum(map(_CHEAPEST, layers)) + rest.floor(lane.onward, None)
        return [] if floor > limits[0] else [(floor, lane)]
    leasts = list(map(_LEAST, layers))
    gap = layers[-1].last < way.size - way.fine
    priced = way.threes or way.rolls
    found = []
    for lane in lanes(tuple(map(_MASK, layers))):
        fingers = lane.fingers
        limit = limits[fingers[0]]
        floor = way.price + sum(map(getitem, leasts, fingers))
        if priced:
            floor += lane_price(way, lane)
        if floor + least_rest > limit:
            continue
        along = linked_lane(way, lane) if linked else lane
        floor += rest.floor(along.onward, None if gap else fingers[-1])
        if floor <= limit:
            found.append((floor, along))
    return found


class _Entries:
    """The best entries so far, and what they are worth to any joint before the barline.

    Attributes:
        best: by joint.
        ceiling: the price from which on no entry is of use to any joint. A joint for which nothing is found within
            ``_PATIENCE`` of what the best one found is given up, unless the ways are few.
        by_finger: the same for entries that begin at once with T, I or M, which cannot follow all joints.
    """

    def __init__(
        self, ends: Sequence[int], hands: Iterable[int], offer: Offer, links: Iterable[tuple[int, int]]
    ) -> None:
        self.best: dict[tuple[int, int, int, bool], Entry] = {}
        self.ceiling = HOPELESS
        self.by_finger: tuple[int, ...] = (HOPELESS,) * 3
        self._least: dict[tuple[int, int, bool], int] = {}
        self._settled = True
        self._change = offer.change
        self._patient = offer.small
        self._ends = ends
        lasts = [{finger for finger, string in STATES[end] if string} for end in ends]
        every = range(len(ends))
        self._followed: dict[int | None, Sequence[int]] = {None: every}
        for finger in range(3):
            self._followed[finger] = [index for index in every if finger not in lasts[index]]
        self._worth = {hand: [HOPELESS] * len(ends) for hand in sorted(hands)}
        self._links = {(hand, *link): HOPELESS for hand in sorted(hands) for link in sorted(links)}

    def wants(self, least: int, enters: int, lane: Lane, first: Layer) -> bool:
        """Whether entries along a lane whose price is not below ``least`` may be cheaper than those kept."""
        best, gap = self.best, first.slot > 0
        if not lane.fingers:
            return True
        finger = lane.fingers[0]
        least -= first.least[finger]
        for option in first.fingers[finger]:
            known = best.get((enters, lane.lane, option.state, gap))
            if known is None or known.price > least + option.price:
                return True
        return False

    def keep(self, entry: Entry) -> None:
        """Keep an entry if it is the first or the cheapest of its joint."""
        joint = entry.joint
        known = self.best.get(joint)
        if known is not None and entry.price >= known.price:
            return
        self.best[joint] = entry
        steps = BEFORE[NOWHERE if joint.gap else joint.state]
        if joint.lane >= LINKED:
            self._keep_linked(entry, steps)
            return
        # Lanes do not matter to what is left behind the barline.
        key = (joint.hand, joint.state, joint.gap)
        if entry.price >= self._least.get(key, HOPELESS):
            return
        self._least[key] = entry.price
        for hand, worth in self._worth.items():
            if hand in (joint.hand, ANY_HAND) or joint.gap:
                moves = 0 if hand == ANY_HAND else HAND_MOVES * abs(hand - joint.hand)
                for index, before in enumerate(self._ends):
                    price = entry.price + moves + steps[before]
                    if price < worth[index]:
                        worth[index] = price
        self._settled = False

    def _keep_linked(self, entry: Entry, steps: Sequence[int]) -> None:
        joint = entry.joint
        for link, worth in self._links.items():
            hand, lane, state = link
            if lane == joint.lane and (hand == joint.hand or joint.gap):
                price = entry.price + HAND_MOVES * abs(hand - joint.hand) + steps[state]
                if price < worth:
                    self._links[link] = price
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
        worths: list[int] = []
        for worth in self._worth.values():
            worths += map(worth.__getitem__, self._followed[finger])
        # The second part of a lick costs little; where it is not found at once there is none for that hand.
        worths += [price for price in self._links.values() if self._patient or price < HOPELESS]
        least, most = min(worths, default=HOPELESS), max(worths, default=0)
        if most >= HOPELESS and (self._patient or least >= HOPELESS):
            return HOPELESS
        return (most if self._patient else min(most, least + _PATIENCE)) + self._change


def _through(way: Way, lane: Lane, rest: Rest) -> list[tuple[int, int, Any]]:
    """Price, first state and path of the best courses along a lane, by first state."""
    layers, fingers = way.layers, lane.fingers
    there = layers[-1]
    gap = there.last < way.size - way.fine
    hand, onward = way.hand, lane.onward
    later: list[tuple[int, int, Any]] = []
    for option in there.fingers[fingers[-1]] if fingers else _any_finger(there):
        state = option[0]
        price, then = rest.after(Joint(hand, onward, state, gap))
        if price < HOPELESS:
            later.append((price + option[1], state, (option, then)))
    for k in range(len(layers) - 2, -1, -1):
        here = layers[k]
        table = RESTED if there.slot > here.slot + 1 else TOGETHER if there.together else RUNNING
        options = here.fingers[fingers[k]] if fingers else _any_finger(here)
        now: list[tuple[int, int, Any]] = []
        if len(later) == 1:  # mostly, and then there is nothing to choose
            ((least, state, onto),) = later
            for option in options:
                price = least + table[option[0]][state]
                if price < HOPELESS:
                    now.append((price + option[1], option[0], (option, onto)))
        else:
            for option in options:
                row = table[option[0]]
                least, onto = HOPELESS, None
                for price, state, path in later:
                    price += row[state]
                    if price < least:
                        least, onto = price, path
                if onto is not None:
                    now.append((least + option[1], option[0], (option, onto)))
        if not now:
            return now
        later, there = now, here
    return later


def _any_finger(each: Layer) -> list[Option]:
    return [option for options in each.fingers for option in options]
