"""Sketches of a measure: what is done to its melody so that a roll can carry it, before any string is chosen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, pairwise
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure, GridNote
from coach.arranging.lick_places import LickPlace, within
from coach.arranging.tastes import known, taste
from coach.instrument.tuning import Tuning

__all__ = ["FILL", "HELD", "LICKED", "TIED", "WIDEST_SLUR", "Sketch", "Terms", "sketches"]

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
        need: how many notes may be left out beyond the spare ones because nothing else was found.
        weakest: whether they go in order of their weakness, as many as must; else every choice is tried.
        bare: whether slots without melody stay empty.
        any_fingers: whether the fingers need not follow a named roll.
        adorned: whether a note is slurred into or a lick fills a gap; dearer where neither is.
        licks: the tuning whose licks may stand in gaps, or None.
        slurred: the pitches that have a slur.
        leaving: first parts of licks that go on behind the next barline.
        entering: second parts of licks that began before the measure.
        variation: which of the good solos is wanted.
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


def sketches(measure: GridMeasure, terms: Terms, above: int, most: int) -> list[Sketch]:
    """The sketches of a measure whose price lies over ``above`` and is ``most`` at most; the cheapest first."""
    found: dict[tuple[object, ...], Sketch] = {}
    about = known(measure) if terms.variation else None
    for sketch in _adorned(measure, terms, most) if terms.adorned else _plain(measure, terms, most):
        if terms.variation:
            done = (sketch.slots, sketch.slurred, sketch.tied, about)
            sketch = sketch._replace(price=sketch.price + taste(terms.variation, done, _MOST_TASTE))
        key = sketch[1:]
        if above < sketch.price <= most and (key not in found or sketch.price < found[key].price):
            found[key] = sketch
    return sorted(found.values(), key=lambda each: each[:3])


def _plain(measure: GridMeasure, terms: Terms, most: int) -> Iterator[Sketch]:
    """Sketches up to a price: notes left out, shifted, held."""
    extra = cost("no named roll") if terms.any_fingers else 0
    extra += cost("empty slots") if terms.bare else 0
    for price, left_out in _left_out(measure, terms):
        price += extra
        if price > most:
            continue
        kept = [k for k in range(len(measure.notes)) if k not in left_out]
        for shift_price, places in _shifted(measure, kept, terms, most - price):
            slots = [HELD if terms.bare else FILL] * measure.size
            for k, place in zip(kept, places, strict=True):
                slots[place] = k
            yield Sketch(price + shift_price, tuple(slots))
            may_tie = measure.slurs and (terms.ties or terms.adorned)
            if may_tie and price + shift_price + cost("slurred run") <= most:
                for k, following in pairwise(kept):
                    at = slots.index(k)
                    if following == k + 1 and slots[at + 1] == following and _slurs(measure, k):
                        tied = (*slots[: at + 1], TIED, *slots[at + 2 :])
                        yield Sketch(price + shift_price + cost("slurred run"), tied, tied=k)
            for hold_price, held in _holds(measure, slots):
                if price + shift_price + hold_price <= most:
                    yield Sketch(price + shift_price + hold_price, (*slots[:held], HELD, *slots[held + 1 :]))


def _adorned(measure: GridMeasure, terms: Terms, most: int) -> Iterator[Sketch]:
    """Sketches up to a price: each plain, with a slur into one of its notes, or with a lick in its gap."""
    plain, slur = cost("no slur or lick"), cost("slur")
    licks = [] if terms.licks is None else within(measure, terms.licks, terms.variation)
    licks += [*terms.leaving, *terms.entering]
    cheapest = min([0, plain, slur, cost("slur for a grace note"), *(place.price for place in licks)])
    slurred = _slurred(measure, terms.slurred) if measure.slurs else []
    for sketch in _plain(measure, terms, most - cheapest):
        price, slots = sketch.price, sketch.slots
        if sketch.tied >= 0:
            yield sketch
            continue
        if price + plain <= most:
            yield Sketch(price + plain, slots)
        for k in slurred:
            more = slur if measure.notes[k].grace is None else cost("slur for a grace note")
            if price + more <= most and k in slots:
                yield Sketch(price + more, slots, k)
        for place in licks:
            if price + place.price <= most and _free(slots, place):
                first, stop = place.first, place.stop
                licked = (*slots[:first], *(LICKED,) * (stop - first), *slots[stop:])
                yield Sketch(price + place.price, licked, -1, place)


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
    """Sets of notes that are left out, and the price."""
    wooden = cost("wooden measure") if measure.wooden else 0
    yield wooden, frozenset()
    spare = [k for k, note in enumerate(measure.notes) if note.spare]
    for count in range(1, measure.spare + 1):
        for chosen in combinations(spare, count):
            yield sum(_leaving_price(measure.notes[k]) for k in chosen), frozenset(chosen)
    others = [k for k, note in enumerate(measure.notes) if not note.starts]
    others.sort(key=lambda k: (measure.notes[k].strong, -measure.notes[k].fades, measure.notes[k].rings))
    for count in range(1, min(terms.need, len(others)) + 1):
        for chosen in [tuple(others[:count])] if terms.weakest else combinations(others, count):
            yield sum(_leaving_price(measure.notes[k]) + cost("left out in need") for k in chosen), frozenset(chosen)


def _leaving_price(note: GridNote) -> int:
    price = cost("left out a repeat") if note.fades > 1 else cost("left out a passing note")
    return price * (4 if note.strong else 1)


def _shifted(
    measure: GridMeasure, kept: Sequence[int], terms: Terms, most: int
) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Slots for the kept notes, at most so many of them a slot early or late, and the price."""
    home = tuple(measure.notes[k].slot for k in kept)
    yield 0, home
    moves = [(i, step) for i, k in enumerate(kept) if measure.notes[k].exact for step in (-1, 1)]
    for count in range(1, terms.shifts + 1):
        for chosen in combinations(moves, count):
            price = sum(_moving_price(measure.notes[kept[i]], step) for i, step in chosen)
            if price > most or len({i for i, _ in chosen}) < count:
                continue
            places = list(home)
            for i, step in chosen:
                places[i] += step
            in_order = all(a < b for a, b in pairwise(places))
            if in_order and places[0] >= 0 and places[-1] < measure.size:
                if _apart(home, places, chosen):
                    yield price, tuple(places)
                elif terms.crowded and price + cost("crowded melody") <= most:
                    yield price + cost("crowded melody"), tuple(places)


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
