"""Measures that stand as they are, and what their barlines show to the search on both sides.

A teacher's measure may be anything that can be written down, be it what no roll has or what no hand can play. The
search sees of it only the run of plucks that touches a barline: their fingers and strings, the lanes of rolls that
they are part of, and the places where the left hand may lie that frets them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.picks import IMPOSSIBLE, STATES, Layer, Option, layer, step
from coach.arranging.search import Chosen
from coach.arranging.struck import NOBODY, Struck
from coach.arranging.ways import Offer, Way, lanes
from coach.instrument.hands import SPAN

__all__ = ["Edge", "Fixed", "after_edge", "before_edge", "beside"]

# Slots at a barline whose frets the hand must reach together with what is beyond it (one roll is four slots).
_NEAR = 3
_STATE_OF = {tuple(sorted(parts)): state for state, parts in enumerate(STATES) if all(string for _, string in parts)}

# Fingers (0 T, 1 I, 2 M) and the strings that they strike at once.
Parts = tuple[tuple[int, int], ...]


class Fixed(NamedTuple):
    """A measure on the grid that stands as it is.

    Attributes:
        struck: in order, positions from its own start.
        size: its slots.
        fine: as in a way.
        chosen: the same as the search chose it, where it stands as it would without a word; else None.
    """

    struck: tuple[Struck, ...]
    size: int
    fine: int
    chosen: Chosen | None = None


class Edge(NamedTuple):
    """A fixed measure as its neighbour sees it.

    Attributes:
        offer: that stands in its place in a search.
        busy: fingers and strings beside the barline that no state tells, so that the neighbour must be kept off them.
    """

    offer: Offer
    busy: Parts = ()


class _Moment(NamedTuple):
    slot: int
    parts: Parts
    frets: tuple[int, ...]

    @property
    def state(self) -> int | None:
        return _STATE_OF.get(tuple(sorted(self.parts)))


def before_edge(fixed: Fixed, hands: Iterable[int]) -> Edge:
    """A fixed measure as the one behind it sees it, whose left hand may lie at any of ``hands``."""
    moments = _moments(fixed)
    last = max((each.at // 2 for each in fixed.struck), default=0)
    run = _run(moments[::-1])[::-1]
    if run:
        run[-1] = run[-1]._replace(last=last)
    busy: Parts = ()
    if moments and not run and last >= fixed.size - fixed.fine:
        busy = moments[-1].parts
    frets = [each.fret for each in fixed.struck if each.at // 2 >= fixed.size - _NEAR * fixed.fine]
    return Edge(_offer(fixed, run, _hands(frets, hands)), busy)


def after_edge(fixed: Fixed, hands: Iterable[int]) -> Edge:
    """A fixed measure as the one before it sees it, whose left hand may lie at any of ``hands``."""
    moments = _moments(fixed)
    run = _run(moments)
    busy = moments[0].parts if moments and not run and not moments[0].slot else ()
    frets = [each.fret for each in fixed.struck if each.at // 2 < _NEAR]
    return Edge(_offer(fixed, run, _hands(frets, hands)), busy)


def beside(offer: Offer, busy: Parts, *, behind: bool) -> Offer:
    """What a measure offers that is kept off fingers and strings beside its barline, behind or before them."""
    return offer._replace(ways=_Beside(offer.ways, busy, behind=behind))


class _Beside:
    """The ways of a measure without what a finger or string of the neighbour forbids."""

    def __init__(self, ways: Iterable[Way | int], busy: Parts, *, behind: bool) -> None:
        self._ways = ways
        self._fingers = {finger for finger, _ in busy}
        self._strings = {string for _, string in busy}
        self._behind = behind

    def __iter__(self) -> Iterator[Way | int]:
        for way in self._ways:
            if isinstance(way, int) or not self._touches(way):
                yield way
                continue
            place = 0 if self._behind else len(way.layers) - 1
            kept = _only(way.layers[place], self._free)
            if kept.mask:
                yield way._replace(layers=(*way.layers[:place], kept, *way.layers[place + 1 :]))

    def _touches(self, way: Way) -> bool:
        if not way.layers:
            return False
        return not way.layers[0].slot if self._behind else way.layers[-1].last >= way.size - way.fine

    def _free(self, option: Option) -> bool:
        return all(f not in self._fingers and s not in self._strings for f, s in STATES[option.state])


def _only(each: Layer, free: Callable[[Option], bool]) -> Layer:
    fingers = tuple(tuple(option for option in options if free(option)) for options in each.fingers)
    mask = sum(1 << finger for finger, options in enumerate(fingers) if options)
    least = tuple(min((option.price for option in options), default=IMPOSSIBLE) for options in fingers)
    return each._replace(fingers=fingers, mask=mask, least=least)


def _moments(fixed: Fixed) -> list[_Moment]:
    picks = [each for each in fixed.struck if each.finger != NOBODY]
    found = []
    for at, group in groupby(picks, key=lambda each: each.at):
        together = list(group)
        parts = tuple((each.finger, each.string) for each in together)
        found.append(_Moment(at // 2, parts, tuple(each.fret for each in together)))
    return found


def _run(moments: Sequence[_Moment]) -> list[Layer]:
    """The layers of the moments from the first one on, as far as a hand can play them by the rules."""
    layers: list[Layer] = []
    for moment, before in zip(moments, [None, *moments], strict=False):
        state = moment.state
        if state is None:
            break
        if before is not None and before.state is not None:
            gap = abs(moment.slot - before.slot)
            if not gap or (gap == 1 and step(before.state, state) is None):
                break
        layers.append(layer(moment.slot, [Option(state, 0, moment.frets[0])], "fixed"))
    return layers


def _hands(frets: Iterable[int], hands: Iterable[int]) -> tuple[int, ...]:
    """Where the left hand may lie that frets these; where none is fretted, wherever its neighbour has it."""
    fretted = [fret for fret in frets if fret]
    if not fretted:
        return tuple(sorted({1, *hands}))
    low = min(fretted)
    return tuple(range(max(1, max(fretted) - SPAN), low + 1)) or (low,)


def _offer(fixed: Fixed, run: Sequence[Layer], hands: Sequence[int]) -> Offer:
    rolled = bool(run) and bool(lanes(tuple(each.mask for each in run)))
    ways = [
        Way(cost("hand off first position") * (hand - 1), tuple(run), fixed.size, hand, rolled, fine=fixed.fine)
        for hand in hands
    ]
    ends = frozenset(option.state for each in run[-1:] for options in each.fingers for option in options)
    return Offer(ways, ends, cost("change of roll"), frozenset(hands), small=True)
