"""Ways: what a measure offers to the search, and the lanes of the named rolls along which it is walked."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.picks import Layer
from coach.instrument.rolls import ROLLS

__all__ = [
    "ANY_HAND",
    "FREE",
    "LINKED",
    "NO_LANE",
    "Joint",
    "Lane",
    "Offer",
    "Way",
    "lane_price",
    "lanes",
    "leaving",
    "linked_lane",
]

FREE = -1  # the lane of a way whose fingers follow no roll
LINKED = 1 << 6  # from here on a lane is a lick that crosses the barline: only its second part goes on from its first
ANY_HAND = 0  # where the left hand may come from anywhere
_THREE = 3
_NO_THREES = cost("no groups of three")


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
        link_in: the lane of the lick whose second part it begins with, or FREE.
        link_out: the lane of the lick whose first part it ends with, or FREE.
        rolls: what each of the named rolls costs here, in order; empty where none costs anything.
        lick: the number of its lick, or -1.
    """

    price: int
    layers: tuple[Layer, ...]
    size: int
    hand: int
    rolled: bool
    threes: bool = False
    enters: int = 0
    fine: int = 1
    link_in: int = FREE
    link_out: int = FREE
    rolls: tuple[int, ...] = ()
    lick: int = -1


class Offer(NamedTuple):
    """What a measure offers.

    Attributes:
        ways: in order of their price; a number among them says that all behind it cost more.
        ends: the states that its last pluck may have.
        change: what another roll costs that begins here.
        hands: where the left hand may lie when it is left.
        small: whether its ways are few, so that none need be given up unseen.
        links: lane and last state of the licks with which its ways may leave it.
    """

    ways: Iterable[Way | int]
    ends: frozenset[int]
    change: int
    hands: frozenset[int]
    small: bool = False
    links: frozenset[tuple[int, int]] = frozenset()


class Joint(NamedTuple):
    """What is known at a barline of the pluck before or behind it.

    Attributes:
        hand: position of the left hand.
        lane: behind a barline the lane that begins there, before it the lane that would go on; or FREE. From LINKED
            on, the lick that crosses the barline.
        state: of the pluck, or NOWHERE.
        gap: whether a slot is empty between the pluck and the barline.
    """

    hand: int
    lane: int
    state: int
    gap: bool


class Lane(NamedTuple):
    """A lane over so many plucks: its number, its fingers, where it goes on, whether it goes by threes, its roll."""

    lane: int
    fingers: tuple[int, ...]
    onward: int
    threes: bool
    roll: int = 0


NO_LANE = Lane(FREE, (), FREE, threes=False)


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
    for number, roll in enumerate(ROLLS.values()):
        length = len(roll.cycle)
        for phase in range(length):
            fingers = tuple("TIM".index(roll.cycle[(phase + k) % length]) for k in range(count))
            bits = sum(1 << (3 * k + finger) for k, finger in enumerate(fingers))
            onward = first + (phase + count) % length
            found.append((Lane(first + phase, fingers, onward, length == _THREE, number), bits))
        first += length
    return tuple(found)


def lane_price(way: Way, lane: Lane) -> int:
    """What it costs to walk a way in rolls along a lane and no other."""
    threes = _NO_THREES if way.threes and not lane.threes else 0
    return threes + way.rolls[lane.roll] if way.rolls else threes


def linked_lane(way: Way, lane: Lane) -> Lane:
    """A lane whose ends are the licks that cross the barlines of a way."""
    return lane._replace(
        lane=way.link_in if way.link_in != FREE else lane.lane,
        onward=way.link_out if way.link_out != FREE else lane.onward,
    )


def leaving(way: Way, onward: int, state: int) -> Joint:
    """What the barline behind a way sees: the lane that would go on, and the state of its last pluck."""
    gap = not way.layers or way.layers[-1].last < way.size - way.fine
    return Joint(way.hand, onward, state, gap)
