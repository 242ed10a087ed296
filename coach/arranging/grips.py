"""Grips: which finger of the left hand stops which place while the hand lies still.

Conventions
    Fingers are 1 index .. 4 little. The *hand* is the fret at which the index finger lies, 1 and up. A finger stands at
    home one fret a finger (index on the hand's fret, middle on the next), or closer to the index; for the advanced one
    fret further. In one grip a finger stops one fret, and of two frets the higher has the higher finger. One finger may
    stop a fret on several strings.

The costs are common practice turned into prices, no source; what trade.md's chord shapes and slurs ask for comes out of
them, which the tests hold them to.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

from coach.arranging.costs import Cost
from coach.instrument.fretboard import Place
from coach.instrument.hands import SPAN, STRETCH
from coach.instrument.shapes import shapes
from coach.instrument.tuning import Tuning
from coach.tunes.chords import Chord

__all__ = ["LEFT_COSTS", "Grip", "Held", "grip_price", "grips", "left_cost", "shape_fingers"]

LEFT_COSTS: dict[str, Cost] = {
    each.name: each
    for each in (
        Cost("finger off the shape", "A note of the chord's shape is stopped by another finger than there.", "note", 4),
        Cost("close finger", "A finger stands nearer to the index than a fret a finger, for each fret.", "note", 1),
        Cost("stretched finger", "A finger reaches a fret further than a fret a finger.", "note", 12),
        Cost("little finger", "The little finger is the weakest.", "note", 2),
        Cost("crossed fingers of a fret", "Of two fingers on a fret the higher is on the lower string.", "note", 3),
        Cost("index across strings", "The index lies across strings, for each string more.", "note", 1),
        Cost("finger across strings", "Another finger than the index lies across strings, for each more.", "note", 5),
        Cost(
            "no barre", "In a closed shape another finger than the index stops a string of the lowest fret.", "note", 6
        ),
        Cost("finger hops", "A finger hops over an open string to another string of its fret.", "note", 4),
        Cost("slur off index and middle", "A slur of one fret goes otherwise than index and middle.", "note", 14),
        Cost("slide off the middle", "A slide is made by another finger than the middle.", "note", 1),
        Cost("hand up the neck", "The hand lies above first position, for each fret.", "measure", 1),
        Cost("grip changes", "The fingers change their places within a measure.", "step", 6),
        Cost("hand travels", "The hand moves along the neck, for each fret.", "step", 2),
        Cost("no open string", "The hand moves with no open string or rest to move behind.", "step", 3),
        Cost("no guide finger", "The hand moves and no finger stays on its string to guide it.", "step", 1),
        Cost("finger in haste", "A finger goes to another place in the very next slot.", "step", 2),
    )
}

_LITTLE = 4
_MIDDLE = 2
_INDEX_AND_MIDDLE = (1, 2)
_FEWEST_OF_CLOSED_SHAPE = 3


class Held(NamedTuple):
    """What is stopped while the hand lies still.

    Attributes:
        places: the stopped places, each once, lowest fret first.
        opens: strings that are played open meanwhile.
        liked: for each place the finger that the sounding chord's shape has there, 0 for none.
        slurs: pairs of places (by index) of which the first is slurred to or from the second, the lower fret first.
        slides: places (by index) from which a slide starts.
        stretch: whether a finger may reach a fret further.
    """

    places: tuple[Place, ...]
    opens: frozenset[int]
    liked: tuple[int, ...]
    slurs: frozenset[tuple[int, int]] = frozenset()
    slides: frozenset[int] = frozenset()
    stretch: bool = False


class Grip(NamedTuple):
    """A grip: where the hand lies, a finger for each place, and what it costs."""

    hand: int
    fingers: tuple[int, ...]
    price: int


def left_cost(name: str) -> int:
    """The price of a cost of the left hand by its name."""
    return LEFT_COSTS[name].price


@lru_cache(maxsize=4096)
def grips(held: Held) -> tuple[Grip, ...]:
    """Every grip of what is held, the cheapest first; none where no hand reaches it."""
    frets = [place.fret for place in held.places]
    reach = STRETCH if held.stretch else SPAN
    found = [
        Grip(hand, fingers, price)
        for hand in range(max(1, max(frets) - reach), min(frets) + 1)
        for fingers in _fingers(held, hand, ())
        for price in (grip_price(held, hand, fingers),)
    ]
    return tuple(sorted(found, key=lambda grip: (grip.price, grip.hand, grip.fingers)))


def grip_price(held: Held, hand: int, fingers: tuple[int, ...]) -> int:
    """What a grip costs that is possible."""
    price = left_cost("hand up the neck") * (hand - 1)
    for place, finger, liked in zip(held.places, fingers, held.liked, strict=True):
        nearer = finger - 1 - (place.fret - hand)
        price += left_cost("close finger") * nearer if nearer >= 0 else left_cost("stretched finger")
        price += left_cost("little finger") * (finger == _LITTLE)
        price += left_cost("finger off the shape") * (liked not in (0, finger))
    for (low, one), (high, other) in combinations(zip(held.places, fingers, strict=True), 2):
        if low.fret == high.fret and (one - other) * (high.string - low.string) < 0:
            price += left_cost("crossed fingers of a fret")
    for a, b in held.slurs:
        next_fret = held.places[b].fret == held.places[a].fret + 1
        if next_fret and (fingers[a], fingers[b]) != _INDEX_AND_MIDDLE:
            price += left_cost("slur off index and middle")
    price += left_cost("slide off the middle") * sum(abs(fingers[place] - _MIDDLE) for place in held.slides)
    price += left_cost("no barre") * _beside_barre(held, fingers)
    return price + sum(_across(held, fingers, finger) for finger in set(fingers))


def _beside_barre(held: Held, fingers: tuple[int, ...]) -> int:
    """How many strings a barre of the index should stop and another finger does: the lowest fret of a closed shape."""
    lowest = held.places[0].fret
    barred = [finger for place, finger in zip(held.places, fingers, strict=True) if place.fret == lowest]
    if held.opens or len({place.string for place in held.places}) < _FEWEST_OF_CLOSED_SHAPE or len(barred) == 1:
        return 0
    return sum(finger != 1 for finger in barred)


def _across(held: Held, fingers: tuple[int, ...], finger: int) -> int:
    """What it costs that one finger stops several strings."""
    strings = sorted(place.string for place, each in zip(held.places, fingers, strict=True) if each == finger)
    if len(strings) == 1:
        return 0
    if held.opens & set(range(strings[0], strings[-1] + 1)):
        return left_cost("finger hops") * (len(strings) - 1)
    return left_cost("index across strings" if finger == 1 else "finger across strings") * (len(strings) - 1)


def _fingers(held: Held, hand: int, chosen: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """The possible fingers for all places, one after the other; places come with the lowest fret first."""
    index = len(chosen)
    if index == len(held.places):
        yield chosen
        return
    fret = held.places[index].fret
    steps = fret - hand
    for finger in range(1, _LITTLE + 1):
        if not (steps <= finger - 1 or (held.stretch and steps == finger)) or (finger == 1 and steps):
            continue
        # zip stops at the places that have their finger.
        if all(place.fret == fret or each < finger for place, each in zip(held.places, chosen, strict=False)):
            yield from _fingers(held, hand, (*chosen, finger))


def shape_fingers(chord: Chord, tuning: Tuning) -> dict[Place, int]:
    """The fingers of a chord's usual shapes, for their stopped places; of two shapes the usual one decides."""
    return dict(_shape_fingers(chord.root_pc, chord.pitch_classes, tuning))


@lru_cache(maxsize=512)
def _shape_fingers(root_pc: int, tones: frozenset[int], tuning: Tuning) -> tuple[tuple[Place, int], ...]:
    found: dict[Place, int] = {}
    for shape in shapes(root_pc, tones, tuning):
        frets = dict(zip((4, 3, 2, 1), shape.frets, strict=True))
        stopped = (Place(string, fret) for string, fret in frets.items() if fret)
        places = sorted(stopped, key=lambda place: (place.fret, place.string))
        opens = frozenset(string for string, fret in frets.items() if fret == 0)
        held = Held(tuple(places), opens, (0,) * len(places))
        if places and grips(held):
            found = {**dict(zip(places, grips(held)[0].fingers, strict=True)), **found}
    return tuple(found.items())
