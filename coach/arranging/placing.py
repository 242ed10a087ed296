"""Melody notes find their slots: which note stands where, how weighty it is, and whether a roll may leave it out."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from coach.tunes.tune import Measure, Meter, Note

__all__ = [
    "EVEN",
    "Placed",
    "Spare",
    "anticipates",
    "fades",
    "hand_beat",
    "is_beat",
    "is_strong",
    "phrase_marks",
    "place",
    "pulse",
    "spare",
    "strong_ones",
]

EVEN = 4  # a measure with so many even melody notes, all struck, turns wooden in a roll


class Placed(NamedTuple):
    """A melody note with a slot.

    Attributes:
        measure: index of its measure.
        slot: of its measure.
        place: its index among the notes of the measure.
        note: the note.
        exact: whether the slot is where the tune has it.
    """

    measure: int
    slot: int
    place: int
    note: Note
    exact: bool


class Spare(NamedTuple):
    """What the roll tiers may leave out of a measure: notes by index, how many of them, whether it is even."""

    notes: tuple[int, ...]
    most: int
    even: bool


def place(index: int, measure: Measure, slot: Fraction, size: int) -> list[Placed]:
    """The notes of a measure at their slots, in order; what lies between two slots goes where an ear expects it.

    A note on a slot stays there. The others follow, long ones first, each to a free slot less than one slot away that
    keeps the order, or nowhere:

    - of a triplet (or another tuplet) the next slot, else the one before: the first note alone keeps the beat;
    - a short note behind a dotted one the slot before the next beat, never that beat;
    - any other the nearer slot.
    """
    taken: dict[int, Placed] = {}
    between = []
    for k, note in enumerate(measure.notes):
        where = note.at / slot
        if where.denominator == 1:
            taken[where.numerator] = Placed(index, where.numerator, k, note, exact=True)
        else:
            between.append((k, note))
    for k, note in sorted(between, key=lambda each: (-each[1].length, each[0])):
        for free in _expected(note, measure, slot):
            fits = free < size and free not in taken
            if fits and all((s < free) == (each.place < k) for s, each in taken.items()):
                taken[free] = Placed(index, free, k, note, exact=False)
                break
    return [taken[s] for s in sorted(taken)]


def _expected(note: Note, measure: Measure, slot: Fraction) -> tuple[int, ...]:
    """The slots on both sides of a note between two, in the order in which an ear expects it there."""
    where = note.at / slot
    low = int(where)
    rest = where - low
    if rest.denominator & (rest.denominator - 1):  # no half, quarter or eighth of a slot
        return (low + 1, low)
    if note.length < slot and is_beat(low + 1, measure, slot):
        return (low,)
    return (low, low + 1) if rest <= Fraction(1, 2) else (low + 1, low)


def is_beat(place: int, measure: Measure, slot: Fraction) -> bool:
    """Whether a slot begins a beat as the hands count: a pair of slots, or three in a compound metre."""
    return _since_measure(place * slot, measure) % (slot * hand_beat(measure.meter, slot)) == 0


def hand_beat(meter: Meter, slot: Fraction) -> int:
    """Slots in a beat as the hands count: two, or three where that is the beat of a compound metre."""
    return 3 if meter.compound and meter.beat / slot == 3 else 2


def anticipates(note: Note, measure: Measure) -> bool:
    """Whether a note is struck before a strong beat and holds over it: it stays where it is struck."""
    since = _since_measure(note.at, measure) % pulse(measure.meter)
    return since > 0 and since + note.length > pulse(measure.meter)


def strong_ones(
    placed: Sequence[Placed], played: Sequence[Measure], slots: Sequence[Fraction], dense: Sequence[bool]
) -> list[Placed]:
    """Of a melody that is too dense in some measures: the notes on beats there, those that ring, and phrase starts."""
    return [
        each
        for each in placed
        if not dense[each.measure]
        or is_beat(each.slot, played[each.measure], slots[each.measure])
        or each.note.phrase_start
        or each.note.length >= 2 * slots[each.measure]
    ]


def is_strong(at: Fraction, measure: Measure) -> bool:
    """Whether a position of a measure lies on a strong beat; a pickup is counted from its end."""
    return _since_measure(at, measure) % pulse(measure.meter) == 0


def _since_measure(at: Fraction, measure: Measure) -> Fraction:
    """A position counted from where a full measure would have begun."""
    return at + measure.meter.length - measure.length if measure.number == 0 else at


@lru_cache(maxsize=64)
def pulse(meter: Meter) -> Fraction:
    """Quarters from one strong beat to the next: half a measure where beats pair, else a measure."""
    return meter.length / 2 if (meter.length / meter.beat) % 2 == 0 else meter.length


def phrase_marks(placed: Sequence[Placed]) -> tuple[set[int], set[int]]:
    """Indices of the last and of the highest notes of the phrases."""
    starts = [k for k, each in enumerate(placed) if k == 0 or each.note.phrase_start]
    ends, tops = set(), set()
    for a, b in pairwise([*starts, len(placed)]):
        ends.add(b - 1)
        tops.add(max(range(a, b), key=lambda k: (placed[k].note.pitch, -k)))
    return ends, tops


def fades(placed: Sequence[Placed], k: int) -> int:
    """How easily a note is left out: 2 for a repeat of a neighbour, 1 for a passing note, 0 for all others."""
    if not 0 < k < len(placed) - 1:
        return 0
    before, here, after = (placed[j].note.pitch for j in (k - 1, k, k + 1))
    if here in (before, after):
        return 2
    return int(abs(here - before) <= 2 and abs(after - here) <= 2)


def spare(
    placed: Sequence[Placed],
    weak: Sequence[int],
    played: Sequence[Measure],
    sizes: Sequence[int],
    *,
    dense: Sequence[bool],
) -> list[Spare]:
    """What may be left out, by measure: one note in four of a measure at most and one in five of the tune.

    Args:
        placed: the notes that have a slot.
        weak: for each how easily it is left out (see :func:`fades`), 0 for those that must stay.
        played: the measures.
        sizes: their slots.
        dense: for each measure whether its melody was thinned before; then what was left out already does not count.
    """
    by_measure: list[list[int]] = [[] for _ in played]
    for k, each in enumerate(placed):
        by_measure[each.measure].append(k)
    even = [_is_even(placed, ks, size) for ks, size in zip(by_measure, sizes, strict=True)]
    written = [
        len(ks) if thinned else len(measure.notes)
        for ks, measure, thinned in zip(by_measure, played, dense, strict=True)
    ]
    left = sum(written) // 5 - (sum(written) - len(placed))
    found = [Spare((), 0, each) for each in even]
    order = []
    for i, ks in enumerate(by_measure):
        chosen = sorted((k for k in ks if weak[k]), key=lambda k: (-weak[k], -k))
        if chosen:
            order.append((not even[i], -weak[chosen[0]], i, chosen))
    for _, _, i, chosen in sorted(order):
        count = min(written[i] // EVEN - (written[i] - len(by_measure[i])), len(chosen), left)
        if count > 0:
            left -= count
            found[i] = Spare(tuple(chosen), count, even[i])
    return found


def _is_even(placed: Sequence[Placed], ks: Sequence[int], size: int) -> bool:
    """Whether a measure has four melody notes, evenly spread."""
    return len(ks) == EVEN and all(placed[k].slot * EVEN == rank * size for rank, k in enumerate(ks))
