"""The ways of a measure in the two tiers that play rolls from start to end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure
from coach.arranging.licks import Lick
from coach.arranging.neck import Neck, Reach, reach_of
from coach.arranging.search import Layer, Option, Way, layer
from coach.arranging.sketches import FILL, HELD, LICKED, Sketch
from coach.instrument.hands import FINGERS

__all__ = ["HandPlan", "hand_plans", "hands", "rolled_ways"]

_FIRST = 1
_MOST_HANDS = 3
_ROLL = 4  # slots within which fretted notes must lie under one hand


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
    """The ways of a measure: every sketch with every plan of the hand.

    Where there is a lick the fingers are its own, and free before it.
    """
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
                        price + sketch.price + (0 if rolled or sketch.lick else cost("no named roll")),
                        layers,
                        measure.size,
                        plan.leaves,
                        rolled and sketch.lick is None,
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
    layers: list[Layer] = []
    rings, until = measure.held, measure.held_for
    slots = sketch.slots
    notes = measure.notes
    for slot, what in enumerate(slots):
        if what == LICKED and sketch.lick is not None:
            if not slot or slots[slot - 1] != LICKED:
                layers += _lick_layers(sketch.lick, slot, measure.size)
                if any(step.fret and not _reached(reaches[slot], step.fret) for step in sketch.lick.steps):
                    return None
            continue
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
        if what == sketch.slurred:
            each = neck.slurred_layer(slot, note.pitch, reaches[slot], what)
        else:
            each = neck.melody_layer(slot, note.pitch, reaches[slot], what, run=run, together=together)
        if not each.mask:
            return None
        layers.append(each)
        rings, until = note.pitch, slot + note.rings
    return tuple(layers)


def _reached(reach: Reach, fret: int) -> bool:
    return reach[0] <= fret <= reach[1]


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
