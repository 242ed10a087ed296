"""Variety: no lick twice in a row."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from coach.arranging.search import NoWayError, solve
from coach.arranging.solo import Offers, Solo, joins
from coach.arranging.ways import FREE, Way

__all__ = ["vary"]


def vary(solo: Solo, offers: Offers, fixed: Collection[int] = ()) -> Solo:
    """A solo in which no measure begins with the lick that sounded last, as far as its neighbours allow.

    Each such measure is searched again on its own, between its neighbours as they are, without that lick and without
    the next one; those that repeat it follow. Measures that repeat others keep their licks.

    Args:
        solo: as searched.
        offers: what a measure offers, by its index, at a number of concessions.
        fixed: the measures that stand as they are; they and those beside them keep what they have.
    """
    held = {place for index in fixed for place in (index - 1, index, index + 1)}
    chosen = list(solo.chosen)
    copies: dict[int, list[int]] = {}
    for index, source in enumerate(solo.same_as):
        if source is not None:
            copies.setdefault(_first(solo, source), []).append(index)
    last = -1
    for index in range(len(chosen)):
        way = chosen[index].way
        whole = way.lick >= 0 and way.link_in == FREE and way.link_out == FREE
        if whole and way.lick == last and solo.same_as[index] is None:
            later = next((each.way.lick for each in chosen[index + 1 :] if each.way.lick >= 0), -1)
            offer = offers(index, solo.conceded[index])
            before = chosen[index - 1].leaves
            after = chosen[index + 1].enters if index + 1 < len(chosen) else None
            try:
                (other,) = solve([offer._replace(ways=_without(offer.ways, {last, later}))], before, after)[1]
            except NoWayError:
                other = chosen[index]
            places = [index, *copies.get(index, ())]
            if held.isdisjoint(places) and all(
                (not at or joins(chosen[at - 1], other)) and (at + 1 == len(chosen) or joins(other, chosen[at + 1]))
                for at in places
            ):
                for at in places:
                    chosen[at] = other
        last = chosen[index].way.lick if chosen[index].way.lick >= 0 else last
    return solo._replace(chosen=tuple(chosen))


def _first(solo: Solo, index: int) -> int:
    """The measure that a measure repeats in the end."""
    while True:
        source = solo.same_as[index]
        if source is None:
            return index
        index = source


def _without(ways: Iterable[Way | int], licks: set[int]) -> Iterator[Way | int]:
    return (way for way in ways if isinstance(way, int) or way.lick < 0 or way.lick not in licks)
