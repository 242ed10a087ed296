"""Sketches of a measure: what is done to its melody so that a roll can carry it, before any string is chosen."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from heapq import heapify, heappop, heappush
from itertools import combinations, pairwise
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure, GridNote
from coach.arranging.lick_places import LickPlace, within
from coach.arranging.lick_table import Row
from coach.arranging.tastes import known, taste
from coach.instrument.tuning import Tuning

__all__ = ["FILL", "HELD", "LICKED", "TIED", "WIDEST_SLUR", "Sketch", "Sketches", "Terms"]

FILL, HELD, LICKED, TIED = -1, -2, -3, -4
WIDEST_SLUR = 4
_MOST_TASTE = 5
_MOST_SLURS = 2  # notes of a measure that are tried for its slur


class Sketch(NamedTuple):
    """A sketch of a measure.

    Attributes:
        price: what it costs.
        slots: for each the index of a melody note, or FILL, HELD (nothing new), LICKED or TIED (a melody note slurred
            from the one in the slot before).
        slurred: the melody note that is slurred into, or -1.
        lick: the lick in the licked slots and where it stands, or None.
        tied: the melody note from which the next one is slurred, or -1.
    """

    price: int
    slots: tuple[int, ...]
    slurred: int = -1
    lick: LickPlace | None = None
    tied: int = -1


class Terms(NamedTuple):
    """What may be done to a melody.

    Attributes:
        shifts: how many notes may come a slot early or late at once.
        crowded: whether a moved note may come right beside its neighbour.
        ties: whether a melody note may be slurred from one a slot before it.
        need: how many notes may be left out beyond the spare ones because nothing else was found; never one that has
            weight among four even ones.
        weakest: whether they go in order of their weakness, as many as must; else every choice is tried.
        bare: whether slots without melody stay empty.
        any_fingers: whether the fingers need not follow a named roll.
        adorned: whether a note is slurred into or a lick fills a gap; dearer where neither is.
        licks: the tuning whose licks may stand in gaps, or None.
        slurred: the pitches that have a slur.
        leaving: first parts of licks that go on behind the next barline.
        entering: second parts of licks that began before the measure.
        variation: which of the good solos is wanted.
        own: a teacher's own licks.
    """

    shifts: int
    crowded: bool = False
    ties: bool = False
    need: int = 0
    weakest: bool = False
    bare: bool = False
    any_fingers: bool = False
    adorned: bool = False
    licks: Tuning | None = None
    slurred: frozenset[int] = frozenset()
    leaving: tuple[LickPlace, ...] = ()
    entering: tuple[LickPlace, ...] = ()
    variation: int = 0
    own: tuple[Row, ...] = ()


class Sketches:
    """The sketches of a measure, worked out up to the price that is asked for."""

    def __init__(self, measure: GridMeasure, terms: Terms) -> None:
        self._measure = measure
        self._terms = terms
        self._about = known(measure) if terms.variation else None
        self._licks: list[LickPlace] = []
        self._slurred: list[int] = []
        if terms.adorned:
            within_it = [] if terms.licks is None else within(measure, terms.licks, terms.variation, terms.own)
            self._licks = [*within_it, *terms.leaving, *terms.entering]
            self._slurred = _slurred(measure, terms.slurred) if measure.slurs else []
        self._plain: list[Sketch] = []
        # What is still to be worked out: the least price of it, a number, and what gives the sketches.
        self._later: list[tuple[int, int, Callable[[], Iterable[Sketch]]]] = []
        extra = cost("no named roll") if terms.any_fingers else 0
        extra += cost("empty slots") if terms.bare else 0
        for price, kept, moves in _placings(measure, terms):
            self._later.append((price + extra, len(self._later), partial(self._placed, price + extra, kept, moves)))
        heapify(self._later)
        self._count = len(self._later)

    def between(self, above: int, most: int) -> list[Sketch]:
        """The sketches whose price lies over ``above`` and is ``most`` at most; the cheapest first."""
        found = [each for each in self._every(above, most) if above < each.price <= most]
        return sorted(found, key=lambda each: each[:3])

    def _every(self, above: int, most: int) -> Iterator[Sketch]:
        if not self._terms.variation:
            yield from self._adorned(above, most) if self._terms.adorned else self._up_to(most)
            return
        for sketch in self._adorned(above - _MOST_TASTE, most) if self._terms.adorned else self._up_to(most):
            done = (sketch.slots, sketch.slurred, sketch.tied, self._about)
            yield sketch._replace(price=sketch.price + taste(self._terms.variation, done, _MOST_TASTE))

    def _put_off(self, price: int, work: Callable[[], Iterable[Sketch]]) -> None:
        heappush(self._later, (price, self._count, work))
        self._count += 1

    def _up_to(self, most: int) -> list[Sketch]:
        """The sketches without slurs into the melody and licks: at least those up to a price."""
        while self._later and self._later[0][0] <= most:
            self._plain += heappop(self._later)[2]()
        return self._plain

    def _placed(self, price: int, kept: Sequence[int], moves: Sequence[tuple[int, int]]) -> Iterator[Sketch]:
        """The sketch of these notes, some of them moved, if they go there; its ties and holds are put off."""
        measure = self._measure
        places = [measure.notes[k].slot for k in kept]
        home = tuple(places)
        for i, step in moves:
            places[i] += step
        if moves:
            in_order = all(a < b for a, b in pairwise(places))
            if not in_order or places[0] < 0 or places[-1] >= measure.size:
                return
            if not _apart(home, places, moves):
                if not self._terms.crowded:
                    return
                price += cost("crowded melody")
        slots = [HELD if self._terms.bare else FILL] * measure.size
        for k, place in zip(kept, places, strict=True):
            slots[place] = k
        sketch = Sketch(price, tuple(slots))
        if measure.slurs and (self._terms.ties or self._terms.adorned):
            self._put_off(price + cost("slurred run"), partial(_tied, measure, sketch))
        if not self._terms.bare:
            self._put_off(price + cost("held note"), partial(_held, measure, sketch))
        yield sketch

    def _adorned(self, above: int, most: int) -> Iterator[Sketch]:
        """Sketches between two prices: each plain, with a slur into one of its notes, or with a lick in its gap."""
        plain, slur, graced = cost("no slur or lick"), cost("slur"), cost("slur for a grace note")
        slurs = [(slur if self._measure.notes[k].grace is None else graced, k) for k in self._slurred]
        cheapest = min([0, plain, slur, graced, *(place.price for place in self._licks)])
        for sketch in self._up_to(most - cheapest):
            price, slots = sketch.price, sketch.slots
            if sketch.tied >= 0:
                yield sketch
                continue
            if above < price + plain <= most:
                yield Sketch(price + plain, slots)
            for more, k in slurs:
                if above < price + more <= most and k in slots:
                    yield Sketch(price + more, slots, k)
            for place in self._licks:
                if above < price + place.price <= most and _free(slots, place):
                    first, stop = place.first, place.stop
                    licked = (*slots[:first], *(LICKED,) * (stop - first), *slots[stop:])
                    yield Sketch(price + place.price, licked, -1, place)


def _tied(measure: GridMeasure, sketch: Sketch) -> Iterator[Sketch]:
    """A sketch with one of its notes slurred from the one in the slot before."""
    slots = sketch.slots
    for at, (k, following) in enumerate(pairwise(slots)):
        if k >= 0 and following == k + 1 and _slurs(measure, k):
            yield Sketch(sketch.price + cost("slurred run"), (*slots[: at + 1], TIED, *slots[at + 2 :]), tied=k)


def _held(measure: GridMeasure, sketch: Sketch) -> Iterator[Sketch]:
    """A sketch with one of the slots behind its notes held."""
    slots = sketch.slots
    for price, at in _holds(measure, slots):
        yield Sketch(sketch.price + price, (*slots[:at], HELD, *slots[at + 1 :]))


def _free(slots: Sequence[int], place: LickPlace) -> bool:
    """Whether the slots of a lick are free, and the note that it begins with stands at its place."""
    if place.leads >= 0 and slots[place.at] != place.leads:
        return False
    return all(what == FILL for what in slots[place.first : place.stop])


def _slurs(measure: GridMeasure, k: int) -> bool:
    """Whether the next note can be slurred from a note: another pitch, at most four frets away."""
    return 0 < abs(measure.notes[k + 1].pitch - measure.notes[k].pitch) <= WIDEST_SLUR


def _slurred(measure: GridMeasure, pitches: frozenset[int]) -> list[int]:
    """The melody notes that a voice would lean on: of those that have a slur and time for it the tune's graced ones,
    then those on strong beats and repeated ones, then the longest."""
    notes = measure.notes
    found = [k for k, note in enumerate(notes) if note.rings > 1 and note.pitch in pitches]
    repeated = {k for k, (one, other) in enumerate(pairwise(notes), start=1) if one.pitch == other.pitch}
    found.sort(key=lambda k: (notes[k].grace is None, not (notes[k].strong or k in repeated), -notes[k].rings, k))
    return found[:_MOST_SLURS]


def _left_out(measure: GridMeasure, terms: Terms) -> Iterator[tuple[int, frozenset[int]]]:
    """Sets of notes that are left out, and the price; some may come twice."""
    wooden = cost("wooden measure") if measure.wooden else 0
    yield wooden, frozenset()
    spare = [k for k, note in enumerate(measure.notes) if note.spare]
    for count in range(1, measure.spare + 1):
        for chosen in combinations(spare, count):
            yield sum(_leaving_price(measure.notes[k]) for k in chosen), frozenset(chosen)
    even = measure.wooden and not measure.lost
    others = [
        k
        for k, note in enumerate(measure.notes)
        if not (note.starts or (even and (note.strong or note.ends or note.top)))
    ]
    others.sort(key=lambda k: (measure.notes[k].strong, -measure.notes[k].fades, measure.notes[k].rings))
    for count in range(1, min(terms.need, len(others)) + 1):
        for chosen in [tuple(others[:count])] if terms.weakest else combinations(others, count):
            yield sum(_leaving_price(measure.notes[k]) + cost("left out in need") for k in chosen), frozenset(chosen)


def _leaving_price(note: GridNote) -> int:
    price = cost("left out a repeat") if note.fades > 1 else cost("left out a passing note")
    return price * (4 if note.strong else 1)


def _placings(measure: GridMeasure, terms: Terms) -> Iterator[tuple[int, tuple[int, ...], tuple[tuple[int, int], ...]]]:
    """The notes that are kept, at most so many of them (by rank) a slot early or late, and the least price."""
    left_out: dict[frozenset[int], int] = {}
    for price, gone in _left_out(measure, terms):
        left_out[gone] = min(price, left_out.get(gone, price))
    for gone, price in left_out.items():
        kept = tuple([k for k in range(len(measure.notes)) if k not in gone])
        notes = [measure.notes[k] for k in kept]
        steps = [
            (_moving_price(note, step), (i, step)) for i, note in enumerate(notes) if note.exact for step in (-1, 1)
        ]
        for count in range(terms.shifts + 1):
            for chosen in combinations(steps, count):
                moves = tuple([move for _, move in chosen])
                if len({i for i, _ in moves}) == count:
                    yield price + sum([more for more, _ in chosen]), kept, moves


def _apart(home: Sequence[int], places: Sequence[int], chosen: Iterable[tuple[int, int]]) -> bool:
    """Whether the moved notes do not push into the slot beside their neighbours, which would crowd the melody."""
    for i, step in chosen:
        other = i + step
        if 0 <= other < len(home) and abs(places[other] - places[i]) < min(2, abs(home[other] - home[i])):
            return False
    return True


def _moving_price(note: GridNote, step: int) -> int:
    price = cost("early") if step < 0 else cost("late")
    return price + (cost("moved off a strong beat") if note.strong else 0) + (cost("moved start") if note.starts else 0)


def _holds(measure: GridMeasure, slots: Sequence[int]) -> Iterator[tuple[int, int]]:
    """The slots that may be held behind a melody note that needs weight, with their prices."""
    for slot, what in enumerate(slots):
        if what < 0 or slot + 1 >= len(slots) or slots[slot + 1] != FILL:
            continue
        note = measure.notes[what]
        weighty = note.strong or note.top or note.ends or note.rings >= 2 * measure.beat
        yield cost("held note") + (0 if weighty else cost("held note without weight")), slot + 1
