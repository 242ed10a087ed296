"""The ways of a measure in the two tiers that play rolls from start to end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure
from coach.arranging.licks import Lick
from coach.arranging.neck import FILL_STRINGS, OFF_BEAT, Neck, Reach, reach_of
from coach.arranging.picks import Layer, Option, layer
from coach.arranging.sketches import FILL, HELD, LICKED, TIED, Sketch, Terms, sketches
from coach.arranging.ways import Way, lanes
from coach.instrument.hands import FINGERS

__all__ = ["HandPlan", "RolledWays", "ends", "every_hand", "hand_plans", "hands"]

_FIRST = 1
_ROLL = 4  # slots within which fretted notes must lie under one hand
# Ways are worked out in tranches of price; most measures never need the second.
_TRANCHES = (16, 32, 64, 1 << 20)
_DEAREST = 1 << 20
_ANY_FINGER = 7


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

    Every sketch is tried with every plan of the hand. Where there is a lick the fingers are its own, and free before
    it.
    """

    def __init__(self, measure: GridMeasure, neck: Neck, plans: Sequence[HandPlan], terms: Terms) -> None:
        self._measure = measure
        self._neck = neck
        self._plans = plans
        self._terms = terms
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
        prices, reaches = [], []
        for plan in self._plans:
            moves = abs(plan.enters - plan.stays) + abs(plan.leaves - plan.stays)
            prices.append(cost("hand off first position") * (plan.stays - _FIRST) + cost("hand moves") * moves)
            reaches.append(_reaches(size, plan))
        above = -_DEAREST
        for most in _TRANCHES:
            tranche = [
                (price + sketch.price, index, sketch)
                for index, price in enumerate(prices)
                for sketch in sketches(self._measure, self._terms, above - price, most - price)
            ]
            tranche.sort(key=lambda each: (each[0], each[1]))
            for price, index, sketch in tranche:
                rolled = not self._terms.any_fingers and sketch.lick is None
                layers = _layers(self._measure, self._neck, sketch, reaches[index], rolled=rolled)
                if layers is not None:
                    plan = self._plans[index]
                    yield Way(
                        price,
                        layers,
                        size,
                        plan.leaves,
                        rolled,
                        self._measure.compound,
                        plan.enters,
                        self._measure.fine,
                    )
            yield most
            above = most


def _reaches(size: int, plan: HandPlan) -> list[Reach]:
    reaches = [reach_of(plan.stays)] * size
    if plan.enters != plan.stays:
        reaches[: _ROLL - 1] = [reach_of(plan.stays, plan.enters)] * min(_ROLL - 1, size)
    if plan.leaves != plan.stays:
        low, high = reach_of(plan.stays, plan.leaves)
        for slot in range(max(0, size - _ROLL + 1), size):
            reaches[slot] = (max(low, reaches[slot][0]), min(high, reaches[slot][1]))
    return reaches


def _layers(
    measure: GridMeasure, neck: Neck, sketch: Sketch, reaches: Sequence[Reach], *, rolled: bool
) -> tuple[Layer, ...] | None:
    """The layers of a sketch; None where a melody note is out of reach, or no roll has the fingers that it needs."""
    found = _melody_layers(measure, neck, sketch, reaches)
    if found is None or (rolled and not lanes(_mask(sketch, found))):
        return None
    layers: list[Layer] = []
    rings, until = measure.held, measure.held_for
    slots = sketch.slots
    notes = measure.notes
    for slot, what in enumerate(slots):
        if what == LICKED and sketch.lick is not None:
            if not slot or slots[slot - 1] != LICKED:
                layers += _lick_layers(sketch.lick, slot, measure.size)
                if not _lick_in_reach(sketch.lick, reaches[slot:]):
                    return None
            continue
        if what in (HELD, TIED):
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
                    beat=min(slot % measure.pulse, OFF_BEAT),
                    rings=rings if slot < until else None,
                    near=near,
                )
            )
            continue
        layers.append(found[slot])
        last = what + 1 if what == sketch.tied else what
        rings, until = notes[last].pitch, slot + (last - what) + notes[last].rings
    return tuple(layers)


def _melody_layers(
    measure: GridMeasure, neck: Neck, sketch: Sketch, reaches: Sequence[Reach]
) -> dict[int, Layer] | None:
    """The layers of the melody notes by slot; None where one of them is out of reach."""
    found = {}
    slots, notes = sketch.slots, measure.notes
    for slot, what in enumerate(slots):
        if what < 0:
            continue
        pitch = notes[what].pitch
        if what == sketch.slurred:
            each = neck.slurred_layer(slot, pitch, reaches[slot], what)
        elif what == sketch.tied:
            each = neck.tied_layer(slot, (pitch, notes[what + 1].pitch), (reaches[slot], reaches[slot + 1]), what)
        else:
            before = slots[slot - 1] if slot else FILL
            after = slots[slot + 1] if slot + 1 < len(slots) else FILL
            together = before >= 0 and neck.run_together(notes[before].pitch, pitch, (reaches[slot - 1], reaches[slot]))
            run = together or (
                after >= 0 and neck.run_together(pitch, notes[after].pitch, (reaches[slot], reaches[slot + 1]))
            )
            each = neck.melody_layer(slot, pitch, reaches[slot], what, run=run, together=together)
        if not each.mask:
            return None
        found[slot] = each
    return found


def _mask(sketch: Sketch, melody: Mapping[int, Layer]) -> tuple[int, ...]:
    """The fingers that each pluck of a sketch may have, as bits; a fill may have any."""
    return tuple(
        melody[slot].mask if what >= 0 else _ANY_FINGER
        for slot, what in enumerate(sketch.slots)
        if what not in (HELD, TIED)
    )


def _lick_in_reach(lick: Lick, reaches: Sequence[Reach]) -> bool:
    return all(
        not step.fret or reaches[int(step.at)][0] <= step.fret <= reaches[int(step.at)][1] for step in lick.steps
    )


def _lick_layers(lick: Lick, first: int, size: int) -> Iterator[Layer]:
    """The layers of a lick from a slot of the measure on: one option each."""
    picks = [step for step in lick.steps if step.finger is not None]
    for pick in picks:
        slurred = next(
            (
                step
                for step in lick.steps
                if step.finger is None and step.string == pick.string and pick.at < step.at <= pick.at + 1
            ),
            None,
        )
        assert pick.finger is not None
        state = 6 * FINGERS.index(pick.finger) + pick.string
        option = Option(state, 0, pick.fret)
        if slurred is not None:
            option = Option(state, 0, pick.fret, slurred.technique, slurred.fret, slurred.at - pick.at == Fraction(1))
        slot = first + int(pick.at)
        if slot < size:
            yield layer(slot, [option], "lick")
