"""The ways of a measure in the two tiers that play rolls from start to end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, pairwise
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure, GridNote, is_even
from coach.arranging.neck import Neck, Reach, reach_of
from coach.arranging.search import Layer, Way

__all__ = ["HELD", "HandPlan", "Sketch", "hand_plans", "hands", "rolled_ways", "sketches"]

FILL, HELD = -1, -2
_FIRST = 1
_MOST_HANDS = 3
_ROLL = 4  # slots within which fretted notes must lie under one hand


class Sketch(NamedTuple):
    """What the slots of a measure hold: a melody note (its index), a fill, or nothing new; and what that costs."""

    price: int
    slots: tuple[int, ...]


class HandPlan(NamedTuple):
    """Where the left hand lies: behind the barline, in the measure, and before the next barline."""

    enters: int
    stays: int
    leaves: int


def hands(measure: GridMeasure, neck: Neck) -> tuple[int, ...]:
    """The positions of the left hand that serve a measure, those that reach most of its melody first."""
    pitches = {note.pitch for note in measure.notes}
    if all(neck.in_reach(pitch, reach_of(_FIRST)) for pitch in pitches):
        close = any(b.slot - a.slot == 1 for a, b in pairwise(measure.notes))
        return (_FIRST, _FIRST + 1) if close else (_FIRST,)
    highest = max((neck.lowest(pitch) for pitch in pitches), default=_FIRST)
    scores = [(-sum(neck.in_reach(pitch, reach_of(hand)) for pitch in pitches), hand) for hand in range(1, highest + 1)]
    best = min(scores)[0]
    return tuple(hand for score, hand in sorted(scores) if score == best)[:_MOST_HANDS]


def hand_plans(before: Sequence[int], here: Sequence[int], after: Sequence[int]) -> list[HandPlan]:
    """The ways of the hand through a measure: it moves behind one barline or before the other, or not at all."""
    plans = [HandPlan(hand, hand, hand) for hand in here]
    plans += [HandPlan(hand, stay, stay) for stay in here for hand in before if hand != stay]
    plans += [HandPlan(stay, stay, hand) for stay in here for hand in after if hand != stay]
    return plans


def rolled_ways(
    measure: GridMeasure, neck: Neck, sketched: Iterable[Sketch], plans: Sequence[HandPlan], *, rolled: bool
) -> list[Way]:
    """The ways of a measure: every sketch with every plan of the hand."""
    ways = []
    for plan in plans:
        reaches = _reaches(measure.size, plan)
        price = cost("hand off first position") * (plan.stays - _FIRST)
        price += cost("hand moves") * (abs(plan.enters - plan.stays) + abs(plan.leaves - plan.stays))
        for sketch in sketched:
            layers = _layers(measure, neck, sketch, reaches)
            if layers is not None:
                ways.append(
                    Way(
                        price + sketch.price + (0 if rolled else cost("no named roll")),
                        layers,
                        measure.size,
                        plan.leaves,
                        rolled,
                        measure.compound,
                        plan.enters,
                    )
                )
    return ways


def _reaches(size: int, plan: HandPlan) -> list[Reach]:
    reaches = [reach_of(plan.stays)] * size
    if plan.enters != plan.stays:
        reaches[: _ROLL - 1] = [reach_of(plan.stays, plan.enters)] * min(_ROLL - 1, size)
    if plan.leaves != plan.stays:
        first = max(0, size - _ROLL + 1)
        reaches[first:] = [reach_of(plan.stays, plan.leaves)] * (size - first)
    return reaches


def _layers(measure: GridMeasure, neck: Neck, sketch: Sketch, reaches: Sequence[Reach]) -> tuple[Layer, ...] | None:
    """The layers of a sketch; None where a melody note is out of reach."""
    layers = []
    rings, until = measure.held, measure.held_for
    slots = sketch.slots
    notes = measure.notes
    for slot, what in enumerate(slots):
        if what == HELD:
            continue
        if what == FILL:
            after = slots[slot + 1] if slot + 1 < len(slots) else FILL
            near = notes[after].pitch if after >= 0 else None
            if slot + 1 == len(slots) and measure.then == 0:
                near = measure.then_pitch
            layers.append(
                neck.fill_layer(
                    slot,
                    measure.tones[slot],
                    reaches[slot],
                    strong=slot % measure.pulse == 0,
                    rings=rings if slot < until else None,
                    near=near,
                )
            )
            continue
        note = notes[what]
        before = slots[slot - 1] if slot else FILL
        after = slots[slot + 1] if slot + 1 < len(slots) else FILL
        together = before >= 0 and neck.only_on_one_string(notes[before].pitch, note.pitch)
        run = together or (after >= 0 and neck.only_on_one_string(note.pitch, notes[after].pitch))
        each = neck.melody_layer(slot, note.pitch, reaches[slot], what, run=run, together=together)
        if not each.mask:
            return None
        layers.append(each)
        rings, until = note.pitch, slot + note.rings
    return tuple(layers)


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
