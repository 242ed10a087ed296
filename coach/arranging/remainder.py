"""The rest of a tune from a barline on, as the search knows it: the ways into it, and what it costs at the least."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from coach.arranging.costs import cost
from coach.arranging.picks import IMPOSSIBLE, RUNNING, STATES
from coach.arranging.ways import FREE, LINKED, Joint, Way

__all__ = ["HAND_MOVES", "HOPELESS", "Entry", "Rest"]

HAND_MOVES = cost("hand moves")
# Prices may be negative, so that an impossible step and a rewarded rest add up to less than IMPOSSIBLE.
HOPELESS = IMPOSSIBLE // 2


class Entry(NamedTuple):
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
class Rest:
    """The rest of the tune from a barline on: the least price for each joint before it.

    Attributes:
        entries: the ways into it.
        change: what another lane costs than the one that would go on.
    """

    entries: list[Entry]
    change: int = 0
    _best: dict[tuple[int, int, bool], Entry] = field(init=False, default_factory=dict)
    _by_lane: dict[int, list[Entry]] = field(init=False, default_factory=dict)
    _found: dict[Joint, tuple[int, Entry | None]] = field(init=False, default_factory=dict)
    _changed: dict[tuple[int, int, bool], tuple[int, Entry | None]] = field(init=False, default_factory=dict)
    _floors: dict[tuple[int, int | None], int] = field(init=False, default_factory=dict)
    _changed_floors: dict[int | None, int] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        for entry in self.entries:
            joint = entry.joint
            key = (joint.hand, joint.state, joint.gap)
            if joint.lane < LINKED and (key not in self._best or entry.price < self._best[key].price):
                self._best[key] = entry
            if joint.lane != FREE:
                self._by_lane.setdefault(joint.lane, []).append(entry)

    def floor(self, lane: int, finger: int | None) -> int:
        """The least that follows a measure left along a lane by a finger (None: by any, or behind a rest)."""
        known = self._floors.get((lane, finger))
        if known is None:
            known = self._floors[lane, finger] = self._floor(lane, finger)
        return known

    def _floor(self, lane: int, finger: int | None) -> int:
        onward = min([entry.price for entry in self._by_lane.get(lane, ())], default=HOPELESS)
        if lane >= LINKED:
            return onward
        if not self.entries:
            return 0
        if finger not in self._changed_floors:
            others = [
                entry.price
                for entry in self._best.values()
                if finger is None or entry.joint.gap or STATES[entry.joint.state][0][0] != finger
            ]
            self._changed_floors[finger] = min(others, default=HOPELESS) + self.change
        return min(self._changed_floors[finger], onward)

    def after(self, joint: Joint) -> tuple[int, Entry | None]:
        """The least price from a joint before the barline to the end, and the entry that has it."""
        known = self._found.get(joint)
        if known is None:
            known = self._found[joint] = self._search(joint)
        return known

    def _search(self, joint: Joint) -> tuple[int, Entry | None]:
        linked = joint.lane >= LINKED
        if not self.entries:
            return (HOPELESS if linked else 0), None
        onward = self._least(joint, self._by_lane.get(joint.lane, ()), 0)
        if linked:
            return onward
        # What another lane costs is the same whichever was left.
        key = (joint.hand, joint.state, joint.gap)
        if key not in self._changed:
            self._changed[key] = self._least(joint, self._best.values(), self.change)
        other = self._changed[key]
        return other if other[0] < onward[0] else onward

    def _least(self, joint: Joint, entries: Iterable[Entry], change: int) -> tuple[int, Entry | None]:
        running = RUNNING[joint.state]
        least, chosen = HOPELESS, None
        for entry in entries:
            hand, _, state, gap = entry.joint
            if hand != joint.hand and not (gap or joint.gap):
                continue
            price = entry.price + change + HAND_MOVES * abs(hand - joint.hand)
            if not (gap or joint.gap):
                price += running[state]
            if price < least:
                least, chosen = price, entry
        return least, chosen
