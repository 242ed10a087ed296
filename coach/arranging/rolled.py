"""The ways of a measure in the two tiers that play rolls from start to end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from heapq import heappop, heappush
from itertools import pairwise
from operator import attrgetter
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure
from coach.arranging.lick_places import LickPlace, lick_layers
from coach.arranging.neck import ANYWHERE, FILL_STRINGS, OFF_BEAT, Neck, Reach, reach_of
from coach.arranging.picks import Layer
from coach.arranging.sketches import FILL, HELD, Sketch, Sketches, Terms
from coach.arranging.tastes import known, taste
from coach.arranging.ways import FREE, Way, lanes
from coach.instrument.hands import FINGERS
from coach.instrument.rolls import ROLLS

__all__ = ["HandPlan", "RolledWays", "ends", "every_hand", "hand_plans", "hands", "is_short", "still"]

_FIRST = 1
_MOST_TASTE = 6  # for or against a roll in a variation
_ROLL = 4  # slots within which fretted notes must lie under one hand
# Ways are worked out in tranches of price; most measures never need the second.
_TRANCHES = (16, 32, 64, 1 << 20)
_DEAREST = 1 << 20
_OFF_THE_ROLL = cost("lick off the roll")
_MASK = attrgetter("mask")


class HandPlan(NamedTuple):
    """Where the left hand lies: behind the barline, in the measure, and before the next barline."""

    enters: int
    stays: int
    leaves: int


def hands(measure: GridMeasure, neck: Neck) -> tuple[int, ...]:
    """The positions of the left hand that are tried in a measure, the lowest that reaches most of its melody last.

    First position is tried too where it has every note but not every two neighbouring ones on different strings.
    """
    pitches = {note.pitch for note in measure.notes}
    pairs = {(a.pitch, b.pitch) for a, b in pairwise(measure.notes) if b.slot == a.slot + 1}

    def lacks(hand: int) -> tuple[int, int]:
        reach = reach_of(hand)
        return (
            sum(not neck.in_reach(pitch, reach) for pitch in pitches),
            sum(not neck.can_follow(one, other, reach) for one, other in pairs),
        )

    first = lacks(_FIRST)
    if first == (0, 0):
        return (_FIRST,)
    best = min(every_hand(measure, neck), key=lambda hand: (lacks(hand), hand))
    return (_FIRST, best) if first[0] == 0 and best != _FIRST else (best,)


def every_hand(measure: GridMeasure, neck: Neck) -> tuple[int, ...]:
    """Every position of the left hand up to the highest fret that the melody needs, and at least to fret 5."""
    highest = max((neck.lowest(note.pitch) for note in measure.notes), default=_FIRST)
    return tuple(range(_FIRST, max(_FIRST + 1, highest) + 1))


def hand_plans(before: Sequence[int], here: Sequence[int], after: Sequence[int]) -> list[HandPlan]:
    """The ways of the hand through a measure: it may move behind one barline and before the other."""
    return [
        HandPlan(enters, stays, leaves)
        for stays in here
        for enters in dict.fromkeys((stays, *before))
        for leaves in dict.fromkeys((stays, *after))
    ]


def still(hands_here: Iterable[int]) -> list[HandPlan]:
    """The plans of a hand that does not move, one for each position."""
    return [HandPlan(hand, hand, hand) for hand in dict.fromkeys(hands_here)]


def is_short(measure: GridMeasure) -> bool:
    """Whether one roll reaches from before a measure to behind it, so that the hand has no time to move in it."""
    return measure.size <= _ROLL - 2


def ends(measure: GridMeasure, neck: Neck, plans: Iterable[HandPlan]) -> frozenset[int]:
    """The states that the last pluck of a measure may have: of fills and licks, and of melody notes near there."""
    states = {6 * number + string for number, finger in enumerate(FINGERS) for string in FILL_STRINGS[finger]}
    reaches = {reach_of(hand) for plan in plans for hand in (plan.stays, plan.leaves)}
    last = None
    for note in measure.notes:
        if note.slot >= measure.size - 2:
            for reach in reaches:
                close = last is not None and last.slot >= note.slot - 2
                run = close and last is not None and neck.run_together(last.pitch, note.pitch, (reach, reach))
                states |= {option.state for option in neck.melody(note.pitch, reach, run=run)}
        last = note
    return frozenset(states)


class RolledWays:
    """The ways of a measure in rolls, in order of their price, worked out as they are asked for.

    Every sketch is tried with every plan of the hand. Where a lick fits no roll its fingers are its own, and free
    before it.
    """

    def __init__(self, measure: GridMeasure, neck: Neck, plans: Sequence[HandPlan], terms: Terms) -> None:
        self._measure = measure
        self._neck = neck
        self._plans = plans
        self._terms = terms
        self._rolls = tuple(
            taste(terms.variation, (name, known(measure)), _MOST_TASTE) for name in ROLLS if terms.variation
        )
        self._known: list[Way | int] = []
        self._more = self._work_out()

    def __iter__(self) -> Iterator[Way | int]:
        index = 0
        while True:
            if index == len(self._known):
                way = next(self._more, None)
                if way is None:
                    return
                self._known.append(way)
            yield self._known[index]
            index += 1

    def _work_out(self) -> Iterator[Way | int]:
        size = self._measure.size
        prices, layers_of = [], []
        for plan in self._plans:
            moves = abs(plan.enters - plan.stays) + abs(plan.leaves - plan.stays)
            prices.append(cost("hand off first position") * (plan.stays - _FIRST) + cost("hand moves") * moves)
            layers_of.append(_Layers(self._measure, self._neck, _reaches(size, plan)))
        sketches = Sketches(self._measure, self._terms)
        above = -_DEAREST
        late: list[tuple[int, int, Way]] = []
        count = 0
        for most in _TRANCHES:
            tranche = [
                (price + sketch.price, index, sketch)
                for index, price in enumerate(prices)
                for sketch in sketches.between(above - price, most - price)
            ]
            tranche.sort(key=lambda each: (each[0], each[1]))
            for price, index, sketch in tranche:
                while late and late[0][0] <= price:
                    yield heappop(late)[2]
                layers = layers_of[index].of(sketch)
                way = None if layers is None else self._way(price, layers, sketch, self._plans[index])
                if way is not None and way.price > price:
                    count += 1
                    heappush(late, (way.price, count, way))
                elif way is not None:
                    yield way
            while late and late[0][0] <= most:
                yield heappop(late)[2]
            yield most
            above = most

    def _way(self, price: int, layers: tuple[Layer, ...], sketch: Sketch, plan: HandPlan) -> Way | None:
        """The way of a sketch; None where no roll has the fingers that it needs. A lick may do without one."""
        measure, place = self._measure, sketch.lick
        rolled = not self._terms.any_fingers and bool(lanes(tuple(map(_MASK, layers))))
        if not rolled and not self._terms.any_fingers:
            if place is None:
                return None
            price += _OFF_THE_ROLL
        way = Way(price, layers, measure.size, plan.leaves, rolled, measure.compound, plan.enters, measure.fine)
        if self._rolls:
            way = way._replace(rolls=self._rolls)
        if place is None:
            return way
        link_in, link_out = (place.link, FREE) if place.at < 0 else (FREE, place.link)
        return way._replace(link_in=link_in, link_out=link_out, lick=place.lick.number)


def _reaches(size: int, plan: HandPlan) -> list[Reach]:
    reaches = [reach_of(plan.stays)] * size
    if plan.enters != plan.stays:
        reaches[: _ROLL - 1] = [reach_of(plan.stays, plan.enters)] * min(_ROLL - 1, size)
    if plan.leaves != plan.stays:
        low, high = reach_of(plan.stays, plan.leaves)
        for slot in range(max(0, size - _ROLL + 1), size):
            reaches[slot] = (max(low, reaches[slot][0]), min(high, reaches[slot][1]))
    return reaches


class _Layers:
    """The layers of a measure under one plan of the hand; remembers what it has worked out."""

    def __init__(self, measure: GridMeasure, neck: Neck, reaches: Sequence[Reach]) -> None:
        self._measure, self._neck, self._reaches = measure, neck, reaches
        self._fills: dict[tuple[int, int | None, int | None], Layer] = {}
        self._melody: dict[tuple[int, int, int, int], Layer] = {}
        self._licks: dict[tuple[int, int, int, int], dict[int, Layer]] = {}

    def of(self, sketch: Sketch) -> tuple[Layer, ...] | None:
        """The layers of a sketch; None where a note is out of reach."""
        licked: dict[int, Layer] = {}
        if sketch.lick is not None:
            licked = self._lick(sketch.lick)
            if not licked:
                return None
        layers: list[Layer] = []
        slots, slurs = sketch.slots, {sketch.slurred, sketch.tied} - {-1}
        measure, notes = self._measure, self._measure.notes
        melody, fills = self._melody, self._fills
        rings, until = measure.held, measure.held_for
        beyond = measure.then_pitch if measure.then == 0 else None
        before, end = FILL, len(slots) - 1
        for slot, what, after in zip(range(end + 1), slots, (*slots[1:], FILL), strict=True):
            if what == FILL:
                near = notes[after].pitch if after >= 0 else beyond if slot == end else None
                key = (slot, rings if slot < until else None, near)
                layers.append(fills.get(key) or self._fill(*key))
            elif what >= 0:
                each = licked.get(slot) if licked else None
                if each is None and not (slurs and (what in slurs or before in slurs or after in slurs)):
                    each = melody.get((slot, what, before, after))
                if each is None:
                    each = self._note(sketch, slot, before, after)
                if not each.mask:
                    return None
                layers.append(each)
                last = what + 1 if what == sketch.tied else what
                note = notes[last]
                rings, until = note.pitch, slot + (last - what) + note.rings
            elif slot in licked:
                layers.append(licked[slot])
            before = what
        return tuple(layers)

    def _fill(self, slot: int, rings: int | None, near: int | None) -> Layer:
        measure = self._measure
        beat = min(slot % measure.pulse, OFF_BEAT)
        reach = self._reaches[slot]
        known = self._neck.fill_layer(slot, measure.tones[slot], reach, beat=beat, rings=rings, near=near)
        self._fills[slot, rings, near] = known
        return known

    def _note(self, sketch: Sketch, slot: int, before: int, after: int) -> Layer:
        """The layer of the melody note in a slot, between what is in the slots beside it; its mask may be empty."""
        what = sketch.slots[slot]
        neck, reaches, notes = self._neck, self._reaches, self._measure.notes
        pitch = notes[what].pitch
        if what == sketch.slurred:
            return neck.slurred_layer(slot, pitch, reaches[slot], what)
        if what == sketch.tied:
            return neck.tied_layer(slot, (pitch, notes[what + 1].pitch), (reaches[slot], reaches[slot + 1]), what)
        # What is picked of a slur is another pitch, so that no run on one string leads to it or from it.
        slurs = (sketch.slurred, sketch.tied)
        before, after = (FILL if other in slurs else other for other in (before, after))
        key = (slot, what, before, after)
        known = self._melody.get(key)
        if known is None:
            reach = reaches[slot]
            if before == after == HELD and slot < self._measure.size - self._measure.fine:
                # Between two held slots the hand has time to come and go.
                reach = reach if neck.in_reach(pitch, reach) else ANYWHERE
            together = before >= 0 and neck.run_together(notes[before].pitch, pitch, (reaches[slot - 1], reaches[slot]))
            run = together or (
                after >= 0 and neck.run_together(pitch, notes[after].pitch, (reaches[slot], reaches[slot + 1]))
            )
            known = neck.melody_layer(slot, pitch, reach, what, run=run, together=together)
            self._melody[key] = known
        return known

    def _lick(self, place: LickPlace) -> dict[int, Layer]:
        """The layers of a lick by slot; empty where it is out of reach."""
        key = (place.lick.number, place.at, place.stop, place.leads)
        known = self._licks.get(key)
        if known is None:
            known = self._licks[key] = _lick_layers(place, self._reaches)
        return known


def _lick_layers(place: LickPlace, reaches: Sequence[Reach]) -> dict[int, Layer]:
    """The layers of a lick by slot; empty where it is out of reach."""
    found = {each.slot: each for each in lick_layers(place.lick, place.at, place.stop, place.leads)}
    for slot, each in found.items():
        low, high = reaches[slot]
        for option in each.fingers[each.mask.bit_length() - 1]:
            if any(fret > 0 and not low <= fret <= high for fret in (option.fret, option.to_fret)):
                return {}
    return found
