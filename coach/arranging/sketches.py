"""Sketches of a measure: what is done to its melody so that a roll can carry it, before any string is chosen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, pairwise
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure, GridNote, is_even
from coach.arranging.licks import LICKS, Lick
from coach.instrument.tuning import OPEN_G, Tuning

__all__ = ["FILL", "HELD", "LICKED", "Sketch", "adorned", "sketches"]

FILL, HELD, LICKED = -1, -2, -3
_SHORTEST_LICK = min(lick.slots for lick in LICKS)


class Sketch(NamedTuple):
    """A sketch of a measure.

    Attributes:
        price: what it costs.
        slots: for each the index of a melody note, or FILL, HELD (nothing new) or LICKED.
        slurred: the melody note that is slurred into, or -1.
        lick: the lick that begins in the first licked slot, or None.
    """

    price: int
    slots: tuple[int, ...]
    slurred: int = -1
    lick: Lick | None = None


def sketches(measure: GridMeasure, *, shifts: int, need: int = 0) -> list[Sketch]:
    """What may be done to the melody of a measure so that a roll carries it.

    Args:
        measure: on the grid.
        shifts: how many notes may come a slot early or late at once.
        need: how many notes may be left out beyond the spare ones because nothing else was found.
    """
    found: dict[tuple[int, ...], int] = {}
    for price, left_out in _left_out(measure, need):
        kept = [k for k in range(len(measure.notes)) if k not in left_out]
        for shift_price, places in _shifted(measure, kept, shifts):
            slots = [FILL] * measure.size
            for k, place in zip(kept, places, strict=True):
                slots[place] = k
            for hold_price, held in _holds(measure, slots):
                key = tuple(HELD if slot == held else what for slot, what in enumerate(slots))
                total = price + shift_price + hold_price
                if key not in found or total < found[key]:
                    found[key] = total
    return [Sketch(price, slots) for slots, price in sorted(found.items(), key=lambda item: (item[1], item[0]))]


def _left_out(measure: GridMeasure, need: int) -> Iterator[tuple[int, frozenset[int]]]:
    """Sets of notes that are left out, and the price."""
    wooden = cost("wooden measure") if is_even(measure.notes, measure.size) else 0
    yield wooden, frozenset()
    spare = [k for k, note in enumerate(measure.notes) if note.spare]
    for count in range(1, measure.spare + 1):
        for chosen in combinations(spare, count):
            yield sum(_leaving_price(measure.notes[k]) for k in chosen), frozenset(chosen)
    others = [k for k, note in enumerate(measure.notes) if not note.starts]
    for count in range(1, min(need, len(others)) + 1):
        for chosen in combinations(others, count):
            yield sum(_leaving_price(measure.notes[k]) + cost("left out in need") for k in chosen), frozenset(chosen)


def _leaving_price(note: GridNote) -> int:
    price = cost("left out a repeat") if note.fades > 1 else cost("left out a passing note")
    return price * (4 if note.strong else 1)


def _shifted(measure: GridMeasure, kept: Sequence[int], shifts: int) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Slots for the kept notes, at most so many of them a slot early or late, and the price."""
    home = tuple(measure.notes[k].slot for k in kept)
    yield 0, home
    moves = [(i, step) for i, k in enumerate(kept) if measure.notes[k].exact for step in (-1, 1)]
    for count in range(1, shifts + 1):
        for chosen in combinations(moves, count):
            if len({i for i, _ in chosen}) < count:
                continue
            places = list(home)
            price = 0
            for i, step in chosen:
                places[i] += step
                price += _moving_price(measure.notes[kept[i]], step)
            in_order = all(a < b for a, b in pairwise(places))
            if in_order and places[0] >= 0 and places[-1] < measure.size and _apart(home, places, chosen):
                yield price, tuple(places)


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


def _holds(measure: GridMeasure, slots: Sequence[int]) -> Iterator[tuple[int, int | None]]:
    """The slot that is held behind a melody note that needs weight, if any, and the price."""
    yield 0, None
    for slot, what in enumerate(slots):
        if what < 0 or slot + 1 >= len(slots) or slots[slot + 1] != FILL:
            continue
        note = measure.notes[what]
        weighty = note.strong or note.top or note.ends or note.rings >= 2 * measure.beat
        yield cost("held note") + (0 if weighty else cost("held note without weight")), slot + 1


def adorned(measure: GridMeasure, sketched: Sequence[Sketch], tuning: Tuning) -> list[Sketch]:
    """The sketches of an advanced measure: each plain, with a slur into one of its notes, or with a lick in its gap."""
    found = [sketch._replace(price=sketch.price + cost("no slur or lick")) for sketch in sketched]
    for sketch in sketched:
        found += [
            sketch._replace(price=sketch.price + cost("slur"), slurred=k)
            for k in sketch.slots
            if k >= 0 and measure.notes[k].rings > 1
        ]
    found += _licked(measure, sketched, tuning)
    return found


def _licked(measure: GridMeasure, sketched: Iterable[Sketch], tuning: Tuning) -> Iterator[Sketch]:
    """Sketches with a lick that ends where the melody comes back, or with the measure."""
    if tuning.strings != OPEN_G.strings:
        return
    onsets = [note.slot for note in measure.notes]
    for stop in [*onsets, measure.size]:
        start = max((slot + 1 for slot in onsets if slot < stop), default=0)
        if stop - start < _SHORTEST_LICK:
            continue
        for lick in LICKS:
            first = stop - lick.slots
            if first < start or first % measure.beat or not _suits(measure, lick, first, stop):
                continue
            ends_phrase = stop == measure.size and bool(measure.notes) and measure.notes[-1].ends and measure.home
            price = cost("tag") if lick.tag and ends_phrase else cost("lick")
            for sketch in sketched:
                if all(what == FILL for what in sketch.slots[first:stop]):
                    slots = (*sketch.slots[:first], *(LICKED,) * lick.slots, *sketch.slots[stop:])
                    yield Sketch(sketch.price + price, slots, -1, lick)


def _suits(measure: GridMeasure, lick: Lick, first: int, stop: int) -> bool:
    """Whether one chord holds through the slots and the lick is made for it."""
    tones, root = measure.tones[first], measure.roots[first]
    if any(measure.tones[slot] != tones for slot in range(first, stop)):
        return False
    return lick.chord.root_pc == root and lick.chord.pitch_classes <= tones
