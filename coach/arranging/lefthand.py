"""The left hand's fingers for a finished solo: the path over grips that costs least.

A measure is cut into stretches through which the hand lies still, each under one of its grips
(:mod:`coach.arranging.grips`). The cheapest path is found exactly by dynamic programming (compare Sayegh 1989, the
optimum path paradigm); a measure that repeats another gets its fingers again, so the path is the best one between the
repeats.

Conventions
    *Obvious* is one finger a fret in first position: the index at fret 1 to the little finger at fret 4. There ``left``
    stays None; everywhere else it is told.

Rules of the path (common practice, no source)
    - Within one roll (:data:`ROLL_SLOTS` running slots of a measure) the hand changes its grip at most once.
    - What is struck together is stopped by one grip, and so are both notes of a hammer-on or pull-off; the lower fret
      has the lower finger, so that a pull-off finds its finger behind.
    - A slide is made by one finger. Where it lands the hand does not lie still, so no grip has to hold that place.

Where no hand could do that (a solo written by hand may ask for it) the rule about the roll falls first, and then every
moment gets fingers in the order of its frets. A passage with a slur that no hand could span gets none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import groupby
from typing import NamedTuple

from coach.arranging.arrangement import Arrangement, Pluck
from coach.arranging.grips import Grip, Held, grips, left_cost
from coach.arranging.stops import Passage, Stop, Stops, find_stops
from coach.instrument.fretboard import Place

__all__ = ["ROLL_SLOTS", "End", "Path", "fingered", "is_obvious", "move_price", "paths"]

ROLL_SLOTS = 4
_OBVIOUS_FRETS = range(1, 5)
_IN_NEED = 1000


class End(NamedTuple):
    """The hand at one end of a stretch: where it lies, and the first or last note there with its finger."""

    hand: int
    place: Place
    finger: int


class Path(NamedTuple):
    """A way through a passage: what it costs, a finger for each stop, and its ends."""

    price: int
    fingers: tuple[int, ...]
    enters: End
    leaves: End


def is_obvious(fret: int, finger: int) -> bool:
    """Whether a finger needs no telling: one finger a fret in first position."""
    return fret in _OBVIOUS_FRETS and finger == fret


def fingered(arrangement: Arrangement) -> Arrangement:
    """The same solo with the left hand's fingers; those that it had are chosen anew."""
    stops = find_stops(arrangement)
    found: dict[str, int] = {}
    for owners, fingers in zip(stops.owners, _fingers(stops, _copies(arrangement, stops)), strict=True):
        found.update(zip(owners, fingers, strict=bool(fingers)))
    found |= {landing: found[start] for landing, start in stops.landings.items() if start in found}
    measures = tuple(
        replace(measure, plucks=tuple([_told(pluck, found.get(pluck.id)) for pluck in measure.plucks]))
        for measure in arrangement.measures
    )
    return replace(arrangement, measures=measures)


def _told(pluck: Pluck, finger: int | None) -> Pluck:
    left = None if finger is None or is_obvious(pluck.fret, finger) else finger
    return pluck if left == pluck.left else replace(pluck, left=left)


def _copies(arrangement: Arrangement, stops: Stops) -> list[int | None]:
    """For each passage the earlier one that it repeats with all its measures, or None."""
    same_as = {measure.number: measure.same_as for measure in arrangement.measures}
    known = {numbers: index for index, numbers in enumerate(stops.measures)}
    found: list[int | None] = []
    for index, numbers in enumerate(stops.measures):
        source = known.get(tuple(same_as[number] or -1 for number in numbers), index)
        alike = source < index and _bare(stops.passages[source]) == _bare(stops.passages[index])
        found.append(source if alike else None)
    return found


def _bare(passage: Passage) -> list[Stop]:
    """The stops without regard to the chord over them."""
    return [stop._replace(liked=0) for stop in passage.stops]


def _fingers(stops: Stops, copies: Sequence[int | None]) -> list[tuple[int, ...]]:
    """The fingers of every passage: each stretch of new ones searched exactly behind what is known."""
    found: list[Path | None] = []
    for source, indices in groupby(range(len(copies)), key=lambda index: copies[index]):
        if source is None:
            before = next((path.leaves for path in reversed(found) if path is not None), None)
            found += _search([(stops.passages[index], stops.near[index]) for index in indices], before)
        else:
            found += [found[source] for _ in indices]
    return [path.fingers if path is not None else () for path in found]


def _search(passages: Sequence[tuple[Passage, bool]], before: End | None) -> list[Path | None]:
    """The cheapest chain of paths; None for a passage in which nothing is stopped, or that no hand can hold."""
    chains: dict[End | None, tuple[int, tuple[object, ...]]] = {before: (0, ())}
    for passage, near in passages:
        ways = paths(passage) if passage.stops else ()
        if not ways:
            chains = {end: (price, (None, chain)) for end, (price, chain) in chains.items()}
            continue
        after: dict[End | None, tuple[int, tuple[object, ...]]] = {}
        for path in ways:
            price, chain = min(
                ((price + move_price(end, path.enters, near=near), chain) for end, (price, chain) in chains.items()),
                key=lambda each: each[0],
            )
            if path.leaves not in after or price + path.price < after[path.leaves][0]:
                after[path.leaves] = (price + path.price, (path, chain))
        chains = after
    chain = min(chains.values(), key=lambda each: each[0])[1]
    found: list[Path | None] = []
    while chain:
        path, chain = chain  # type: ignore[assignment]
        found.append(path)
    return found[::-1]


def move_price(before: End | None, after: End, *, near: bool) -> int:
    """What it costs to go from the end of one stretch to the start of the next.

    Args:
        before, after: the ends; nothing is asked before the first stretch.
        near: whether the two notes lie in neighbouring slots, with no open string between.
    """
    if before is None:
        return 0
    price = left_cost("finger in haste") if near and before[1:] != after[1:] and before.finger == after.finger else 0
    if before.hand != after.hand:
        price += left_cost("hand travels") * abs(before.hand - after.hand)
        price += left_cost("no open string") if near else 0
        guided = before.finger == after.finger and before.place.string == after.place.string
        price += 0 if guided else left_cost("no guide finger")
    return price


@lru_cache(maxsize=2048)
def paths(passage: Passage) -> tuple[Path, ...]:
    """The cheapest path through a passage for each pair of ends, in order of price; the passage stops something.

    None where no hand can hold it.
    """
    return tuple(sorted(_walk(passage, strict=True) or _walk(passage, strict=False)))


def _walk(passage: Passage, *, strict: bool) -> list[Path]:
    """Paths through all moments, the cheapest for each pair of ends that may come to something."""
    stops = passage.stops
    starts = [k for k, stop in enumerate(stops) if not k or stop.moment > stops[k - 1].moment] + [len(stops)]
    known: list[dict[tuple[End, End], Path]] = [{} for _ in starts]  # by how many moments are covered
    for first in range(len(starts) - 1):
        if first:
            known[first] = _worthwhile(known[first])
        for stop in range(first + 1, len(starts) if known[first] or not first else first + 1):
            stretch = range(starts[first], starts[stop])
            hasty = first and stop < len(starts) - 1 and _one_roll(stops[stretch[0]], stops[stretch.stop])
            if (strict and hasty) or _cuts_a_slur(passage, stretch):
                continue
            here = list(_grips(passage, stretch, alone=stop == first + 1))
            if not here:
                break
            for path in _onward(stops, known[first], stretch, here):
                ends = (path.enters, path.leaves)
                if ends not in known[stop] or path < known[stop][ends]:
                    known[stop][ends] = path
    return list(_worthwhile(known[-1]).values())


def _worthwhile(known: dict[tuple[End, End], Path]) -> dict[tuple[End, End], Path]:
    """The paths that no way to and from them could make better than the cheapest of all."""
    if not known:
        return known
    best = min(known.values())
    return {
        ends: path
        for ends, path in known.items()
        if path.price <= best.price + _most_saved(path.enters, best.enters) + _most_saved(path.leaves, best.leaves)
    }


def _most_saved(one: End, other: End) -> int:
    """How much less :func:`move_price` can be at most for one end than for the other."""
    if one == other:
        return 0
    most = left_cost("finger in haste") + left_cost("no guide finger")
    if one.hand != other.hand:
        most += left_cost("hand travels") * abs(one.hand - other.hand) + left_cost("no open string")
    return most


def _onward(
    stops: Sequence[Stop], known: dict[tuple[End, End], Path], stretch: range, here: Sequence[Grip]
) -> Iterator[Path]:
    """The known paths that lead to a stretch, with each of its grips."""
    first, last = stops[stretch[0]], stops[stretch[-1]]
    near = stretch[0] > 0 and first.slot - stops[stretch[0] - 1].slot <= 1
    for grip in here:
        enters = End(grip.hand, first.place, grip.fingers[0])
        leaves = End(grip.hand, last.place, grip.fingers[-1])
        if not stretch[0]:
            yield Path(grip.price, grip.fingers, enters, leaves)
            continue
        more = left_cost("grip changes") + grip.price
        for path in known.values():
            price = path.price + more + move_price(path.leaves, enters, near=near)
            yield Path(price, path.fingers + grip.fingers, path.enters, leaves)


def _one_roll(one: Stop, other: Stop) -> bool:
    return one.run == other.run and other.slot - one.slot < ROLL_SLOTS


def _cuts_a_slur(passage: Passage, stretch: range) -> bool:
    """Whether a stretch begins, or ends, between the two notes of a hammer-on or pull-off."""
    return any((k in stretch) != (stop.origin in stretch) for k, stop in enumerate(passage.stops) if stop.origin >= 0)


def _grips(passage: Passage, stretch: range, *, alone: bool) -> Iterator[Grip]:
    """The grips of a stretch, with a finger for each of its stops; the cheapest for each pair of ends.

    Where a moment stands alone and no hand reaches it, its fingers go in the order of the frets.
    """
    stops = [passage.stops[k] for k in stretch]
    liked: dict[Place, int] = {}
    for stop in stops:
        liked[stop.place] = liked.get(stop.place) or stop.liked
    places = sorted(liked, key=lambda place: (place.fret, place.string))
    index = {place: k for k, place in enumerate(places)}
    pairs = [(index[passage.stops[stop.origin].place], index[stop.place]) for stop in stops if stop.origin >= 0]
    opens = frozenset(string for at, string in passage.opens if stops[0].moment <= at <= stops[-1].moment)
    held = Held(
        tuple(places),
        opens,
        tuple(liked[place] for place in places),
        frozenset((min(pair), max(pair)) for pair in pairs),
        frozenset(index[stop.place] for stop in stops if stop.slides),
        passage.stretch,
    )
    seen: set[tuple[int, int, int]] = set()
    for grip in grips(held):
        fingers = tuple(grip.fingers[index[stop.place]] for stop in stops)
        ends = (grip.hand, fingers[0], fingers[-1])
        if ends not in seen:
            seen.add(ends)
            yield Grip(grip.hand, fingers, grip.price)
    if alone and not seen:
        frets = sorted({place.fret for place in places})
        yield Grip(frets[0], tuple(1 + frets.index(stop.place.fret) for stop in stops), _IN_NEED)
