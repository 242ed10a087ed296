"""Every path through a few measures between two known barlines, the cheapest first, exactly.

The search of :mod:`coach.arranging.search` finds one path, the cheapest. Here its ways, lanes, options and prices are
walked best first: a table filled from the end tells of every pluck what the cheapest course from it on costs, so that
no course is followed in vain, and what has not been looked at yet cannot be cheaper than what comes out. Compare
Hart, Nilsson and Raphael 1968, best-first search with an estimate that never goes too high; here it is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from heapq import heappop, heappush
from itertools import chain
from typing import Any, NamedTuple

from coach.arranging.costs import cost
from coach.arranging.picks import IMPOSSIBLE, NOWHERE, RESTED, RUNNING, STATES, TOGETHER, Layer, Option
from coach.arranging.search import Chosen
from coach.arranging.ways import (
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

__all__ = ["Content", "Path", "Test", "contents", "paths"]

# Prices may be negative, so that an impossible step and a reward behind it add up to less than IMPOSSIBLE.
_HOPELESS = IMPOSSIBLE // 2

# What sounds in a slot: strings and frets, in order; empty where nothing is plucked.
Content = tuple[tuple[int, int], ...]
# Whether a path whose first slots sound like this may still be of use.
Test = Callable[[Sequence[Content]], bool]


class Path(NamedTuple):
    """A path: its price with both barlines, and what is chosen for each measure."""

    price: int
    chosen: tuple[Chosen, ...]


def paths(
    measures: Sequence[Offer],
    before: Joint | None,
    after: Joint | None,
    *,
    least: int = 0,
    useful: Test | None = None,
    judged: int = 0,
) -> Iterator[Path]:
    """Every path through the measures, in order of its price.

    Args:
        measures: what each offers, at least one.
        before: the joint before the first barline, None where the tune begins.
        after: what follows behind the last barline, None where the tune ends.
        least: what a pluck costs at least; 0 or less.
        useful: tells of the slots of one measure so far whether any path that begins so there is wanted; it must not
            come to want what it once did not. None wants all.
        judged: which measure that is, by index.
    """
    tail = _Tail(after)
    floor = 0
    stage: _Stage | _Tail = tail
    for index in range(len(measures) - 1, -1, -1):
        stage = _Stage(measures[index], stage, floor, least, useful if index == judged else None)
        floor = stage.floor
    assert isinstance(stage, _Stage)
    line = stage.line(before)
    place = 0
    while (found := line.at(place)) is not None:
        yield Path(found[0], tuple(_unrolled(found[1])))
        place += 1


def contents(chosen: Sequence[Chosen]) -> list[Content]:
    """What sounds in each slot of the measures; a slurred note counts with the pick that it comes from."""
    found: list[Content] = []
    for each in chosen:
        slots: list[Content] = [()] * each.way.size
        for layer, option in zip(each.way.layers, each.options, strict=True):
            slots[layer.slot] = _content(option)
        found += slots
    return found


def _content(option: Option) -> Content:
    places = [
        (string, fret) for (_, string), fret in zip(STATES[option.state], (option.fret, *option.pinched), strict=True)
    ]
    if option.technique:
        places.append((places[0][0], option.to_fret))
    return tuple(sorted(places))


def _unrolled(nodes: Any) -> Iterator[Chosen]:
    while nodes is not None:
        chosen, nodes = nodes
        yield chosen


def _lanes(way: Way) -> Iterator[tuple[Lane, int]]:
    """The lanes that a way may be walked along, each with its price; licks that cross its barlines are their ends."""
    if not (way.rolled and way.layers):
        yield linked_lane(way, NO_LANE), 0
        return
    for lane in lanes(tuple(each.mask for each in way.layers)):
        yield linked_lane(way, lane), lane_price(way, lane)


def _barline(before: Joint | None, after: Joint | None, change: int) -> int | None:
    """What a barline costs; None where a hard rule forbids it or it would cut a lick in two."""
    linked = any(joint is not None and joint.lane >= LINKED for joint in (before, after))
    if before is None or after is None:
        return None if linked else 0
    if linked and before.lane != after.lane:
        return None
    rest = before.gap or after.gap
    if before.hand != after.hand and not rest:
        return None
    price = cost("hand moves") * abs(before.hand - after.hand)
    price += 0 if before.lane == after.lane != FREE else change
    price += 0 if rest else RUNNING[before.state][after.state]
    return price if price < _HOPELESS else None


class _Tail:
    """What lies behind the last measure: a barline and what is known there, or the end."""

    def __init__(self, after: Joint | None) -> None:
        self._after = after

    def line(self, before: Joint | None) -> _Line:
        """The one way to go on from a joint, or none."""
        assert before is not None
        price = _barline(before, self._after, 0)
        return _Line(iter(()) if price is None else iter([(price, None)]))


class _Line:
    """Continuations in order of their price, worked out as they are asked for."""

    def __init__(self, found: Iterator[tuple[int, Any]]) -> None:
        self._more = found
        self._known: list[tuple[int, Any]] = []

    def at(self, place: int) -> tuple[int, Any] | None:
        """Price and nodes of a continuation, None where there are not so many."""
        while len(self._known) <= place:
            found = next(self._more, None)
            if found is None:
                return None
            self._known.append(found)
        return self._known[place]


class _Course(NamedTuple):
    """A way along a lane: the options of each layer, and what each of them costs with all that follows."""

    way: Way
    lane: Lane
    options: tuple[tuple[Option, ...], ...]
    onward: tuple[tuple[int, ...], ...]


class _Walk(NamedTuple):
    """A course walked so far.

    Attributes:
        course: the course.
        price: without what follows.
        taken: the options that were taken, as places in each layer.
        enters: where the left hand comes from.
        onward: which of the continuations is walked, where all options are taken.
    """

    course: _Course
    price: int
    taken: tuple[int, ...]
    enters: int
    onward: int = 0


class _Stage:
    """One of the measures, with what follows it.

    Attributes:
        floor: what no path from it on costs less than.
    """

    def __init__(self, offer: Offer, rest: _Stage | _Tail, floor: int, least: int, useful: Test | None) -> None:
        first = next((way for way in offer.ways if isinstance(way, Way)), None)
        self._offer = offer
        self._rest = rest
        self._useful = useful
        self._lines: dict[Joint | None, _Line] = {}
        # What no path costs less than beyond the price of its way here.
        self._beyond = floor + (least * first.size if first is not None else 0)
        self.floor = self._beyond + (first.price if first is not None else 0)

    def line(self, before: Joint | None) -> _Line:
        """The continuations from a joint before the measure."""
        if before not in self._lines:
            self._lines[before] = _Line(self._search(before))
        return self._lines[before]

    def _search(self, before: Joint | None) -> Iterator[tuple[int, Any]]:
        heap: list[tuple[int, int, _Walk]] = []
        count = 0
        ways = iter(self._offer.ways)
        bound: int | None = -IMPOSSIBLE  # what nothing that is still to come goes below; None when all has come
        while heap or bound is not None:
            if bound is not None and (not heap or bound <= heap[0][0]):
                way = next(ways, None)
                more: Iterable[tuple[int, _Walk]] = ()
                if isinstance(way, Way):
                    more = self._begun(way, before)
                bound = None if way is None else (way.price if isinstance(way, Way) else way) + self._beyond
            else:
                total, _, walk = heappop(heap)
                if self._useful is not None and not walk.onward and not self._useful(_so_far(walk)):
                    continue
                if len(walk.taken) < len(walk.course.options):
                    more = _steps(walk)
                else:
                    chosen = _chosen(walk)
                    line = self._rest.line(chosen.leaves)
                    found = line.at(walk.onward)
                    assert found is not None
                    yield total, (chosen, found[1])
                    then = line.at(walk.onward + 1)
                    more = [] if then is None else [(walk.price + then[0], walk._replace(onward=walk.onward + 1))]
            for price, each in more:
                heappush(heap, (price, count, each))
                count += 1

    def _begun(self, way: Way, before: Joint | None) -> Iterator[tuple[int, _Walk]]:
        """The walks that begin with each first option of a way, with the price of the cheapest course behind it."""
        for lane, extra in _lanes(way):
            course = self._course(way, lane)
            if course is None:
                continue
            gap = not way.layers or way.layers[0].slot > 0
            for place, option in enumerate(course.options[0] if way.layers else (None,)):
                state = NOWHERE if option is None else option.state
                entering = _barline(before, Joint(way.enters or way.hand, lane.lane, state, gap), self._offer.change)
                onward = course.onward[0][place]
                if entering is None or onward >= _HOPELESS:
                    continue
                price = way.price + extra + entering
                taken = () if option is None else (place,)
                yield (
                    price + onward,
                    _Walk(course, price + (0 if option is None else option.price), taken, way.enters or way.hand),
                )

    def _course(self, way: Way, lane: Lane) -> _Course | None:
        """A way along a lane, with what its plucks cost with all that follows; None where nothing can follow."""
        if not way.layers:
            then = self._rest.line(leaving(way, lane.onward, NOWHERE)).at(0)
            return None if then is None else _Course(way, lane, (), ((then[0],),))
        options = tuple(_options(each, lane, k) for k, each in enumerate(way.layers))
        last: list[int] = []
        for option in options[-1]:
            then = self._rest.line(leaving(way, lane.onward, option.state)).at(0)
            last.append(IMPOSSIBLE if then is None else option.price + then[0])
        onward = [tuple(last)]
        for k in range(len(options) - 2, -1, -1):
            table = _table(way.layers[k], way.layers[k + 1])
            row = [
                option.price
                + min(
                    table[option.state][then.state] + price
                    for then, price in zip(options[k + 1], onward[0], strict=True)
                )
                for option in options[k]
            ]
            onward.insert(0, tuple(row))
        if min(onward[0]) >= _HOPELESS:
            return None
        return _Course(way, lane, options, tuple(onward))


def _steps(walk: _Walk) -> Iterator[tuple[int, _Walk]]:
    """The walks that go on to each option of the next slot."""
    course = walk.course
    k = len(walk.taken)
    here = course.options[k - 1][walk.taken[-1]]
    table = _table(course.way.layers[k - 1], course.way.layers[k])
    for place, option in enumerate(course.options[k]):
        price = walk.price + table[here.state][option.state]
        total = price + course.onward[k][place]
        if total < _HOPELESS:
            yield total, walk._replace(price=price + option.price, taken=(*walk.taken, place))


def _chosen(walk: _Walk) -> Chosen:
    way, lane = walk.course.way, walk.course.lane
    options = _taken(walk)
    states = [option.state for option in options] or [NOWHERE]
    gap = not way.layers or way.layers[0].slot > 0
    return Chosen(way, options, Joint(walk.enters, lane.lane, states[0], gap), leaving(way, lane.onward, states[-1]))


def _taken(walk: _Walk) -> tuple[Option, ...]:
    return tuple(walk.course.options[k][place] for k, place in enumerate(walk.taken))


def _so_far(walk: _Walk) -> list[Content]:
    """What sounds in the slots up to the next one that is plucked, or in all."""
    layers = walk.course.way.layers
    size = layers[len(walk.taken)].slot if len(walk.taken) < len(layers) else walk.course.way.size
    slots: list[Content] = [()] * size
    for layer, option in zip(layers, _taken(walk), strict=False):
        slots[layer.slot] = _content(option)
    return slots


def _table(here: Layer, there: Layer) -> list[list[int]]:
    if there.slot > here.slot + 1:
        return RESTED
    return TOGETHER if there.together else RUNNING


def _options(each: Layer, lane: Lane, k: int) -> tuple[Option, ...]:
    return each.fingers[lane.fingers[k]] if lane.fingers else tuple(chain.from_iterable(each.fingers))
