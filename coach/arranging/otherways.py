"""Other ways through a measure: what else a teacher might write there, its neighbours held as they are.

Two ways differ when at least two slots, and a quarter of them, differ in string or fret. The list is exact: each way
is the cheapest of all those that differ from what stands there and from every way listed before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from operator import eq, ne

from coach.arranging.arrange import Made, Work
from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Tier
from coach.arranging.build import build_measure, struck_in
from coach.arranging.contrast import contrast
from coach.arranging.explain import explain
from coach.arranging.fixed import Fixed, after_edge, before_edge, beside
from coach.arranging.lefthand import fingered
from coach.arranging.paths import Content, Path, Test, contents, paths
from coach.arranging.struck import NOBODY, Struck
from coach.arranging.ways import Joint
from coach.errors import ArrangeError

__all__ = ["OtherWay", "differ", "other_ways"]

_FEWEST = 2  # slots in which two ways differ at least
_SHARE = 4  # and one in so many


@dataclass(frozen=True, slots=True)
class OtherWay:
    """Another way through a measure.

    Attributes:
        number: in the list, from 1.
        extra: what it costs more than the one that stands there, or than the cheapest where that is none of the
            search's own; less than 0 where it costs less.
        measure: written down.
        sentence: where it differs from what stands there; what is done in it, where that is told otherwise.
    """

    number: int
    extra: int
    measure: ArrangedMeasure
    sentence: str


def differ(one: Sequence[Content], other: Sequence[Content]) -> bool:
    """Whether two ways differ: in two slots, and in a quarter of them."""
    return sum(a != b for a, b in zip(one, other, strict=True)) >= _needed(len(one))


def _needed(slots: int) -> int:
    return max(_FEWEST, -(-slots // _SHARE))


def other_ways(work: Work, tier: Tier, number: int, *, most: int = 8) -> tuple[OtherWay, ...]:
    """The other ways through a measure, least cost first.

    Args:
        work: on the tune.
        tier: of the solo.
        number: of the measure, as played.
        most: how many at most.

    Raises:
        ArrangeError: when there is no such measure.
    """
    numbers = [played.number for played in work.frame.played]
    if number not in numbers:
        raise ArrangeError(
            f"there is no measure {number} as played",
            where=work.frame.tune.title,
            cure=f"choose from {numbers[0]} to {numbers[-1]}",
        )
    index = numbers.index(number)
    made = work.made(tier)
    place = _Place(work, made, index)
    found = list(islice(place.others(), most))
    if not found:
        return ()
    base = place.price_of_standing()
    solo = work.solo(tier)
    return tuple(
        OtherWay(count, path.price - base, *_written(work, solo, index, path))
        for count, path in enumerate(found, start=1)
    )


def _written(work: Work, solo: Arrangement, index: int, path: Path) -> tuple[ArrangedMeasure, str]:
    """A way written down, and how it differs from what stands there."""
    frame = work.frame
    here = solo.measures[index]
    standing = _explained(work, solo, index, here)[1]
    measure = build_measure(frame, index, struck_in(frame.grid, frame.parts[index], path.chosen), here.tier)
    written, told = _explained(work, solo, index, measure)
    return written, " ".join(each for each in (contrast(here, written), told if told != standing else "") if each)


def _explained(work: Work, solo: Arrangement, index: int, measure: ArrangedMeasure) -> tuple[ArrangedMeasure, str]:
    """A measure with the left hand's fingers between the neighbours of a place, and what is done in it."""
    here = solo.measures[index]
    measure = replace(measure, same_as=None)
    around = [replace(each, same_as=None) for each in solo.measures[max(0, index - 1) : index + 2] if each != here]
    window = sorted([*around, measure], key=lambda each: each.number)
    passage = fingered(replace(solo, measures=tuple(window)))
    place = window.index(measure)
    told = explain(passage, work.licks)[place]
    return passage.measures[place], " ".join(sentence.text for sentence in told.sentences)


class _Place:
    """A measure of a solo between its neighbours."""

    def __init__(self, work: Work, made: Made, index: int) -> None:
        parts = work.frame.parts[index]
        offers = [made.ways.of(part, made.solo.conceded[part]) for part in parts]
        self._least = min(0, made.neck.lean)
        self._before = _before(made, parts[0])
        self._after = _after(made, parts[-1])
        self._shift = 0
        self._own = len(offers)
        if isinstance(self._before, Fixed):
            edge = before_edge(self._before, offers[0].hands)
            offers = [edge.offer, beside(offers[0], edge.busy, behind=True), *offers[1:]]
            self._shift = 1
        if isinstance(self._after, Fixed):
            edge = after_edge(self._after, offers[-1].hands)
            offers = [*offers[:-1], beside(offers[-1], edge.busy, behind=False), edge.offer]
        self._offers = offers
        if index in made.fixed:
            self._standing = _contents_of(made.fixed[index], sum(work.frame.grid.cells[part].size for part in parts))
        else:
            self._standing = contents([made.solo.chosen[part] for part in parts])

    def others(self) -> Iterator[Path]:
        """The ways that differ from what stands and from all before them."""
        listed = [self._standing]
        needed = _needed(len(self._standing))

        def useful(slots: Sequence[Content]) -> bool:
            missing = len(self._standing) - len(slots)
            return all(sum(map(ne, slots, each)) + missing >= needed for each in listed)

        for path in self._paths(useful):
            sounding = contents(path.chosen)
            if all(differ(sounding, each) for each in listed):
                listed.append(sounding)
                yield path

    def price_of_standing(self) -> int:
        """What the way that stands costs; the cheapest of all where it is none of the search's own."""

        def useful(slots: Sequence[Content]) -> bool:
            return all(map(eq, slots, self._standing))

        for path in self._paths(useful):
            if contents(path.chosen) == self._standing:
                return path.price
        return next(self._paths(None)).price

    def _paths(self, useful: Test | None) -> Iterator[Path]:
        before = None if isinstance(self._before, Fixed) else self._before
        after = None if isinstance(self._after, Fixed) else self._after
        for path in paths(self._offers, before, after, least=self._least, useful=useful, judged=self._shift):
            yield path._replace(chosen=path.chosen[self._shift : self._shift + self._own])


def _before(made: Made, place: int) -> Joint | Fixed | None:
    """What is known before a cell."""
    if not place:
        return None
    return made.cells.get(place - 1) or made.solo.chosen[place - 1].leaves


def _after(made: Made, place: int) -> Joint | Fixed | None:
    """What is known behind a cell."""
    if place + 1 == len(made.solo.chosen):
        return None
    return made.cells.get(place + 1) or made.solo.chosen[place + 1].enters


def _contents_of(struck: Iterable[Struck], size: int) -> list[Content]:
    """What sounds in each slot of a measure; a slurred note counts with the pick that it comes from."""
    found: list[set[tuple[int, int]]] = [set() for _ in range(size)]
    last: dict[int, int] = {}
    for each in struck:
        slot = each.at // 2
        if each.finger == NOBODY:
            slot = last.get(each.string, slot)
        last[each.string] = slot
        found[slot].add((each.string, each.fret))
    return [tuple(sorted(each)) for each in found]
