"""A melody of a wide range is folded: whole phrases are played an octave lower or higher, so that all lies low.

Common practice, no source: a fold stands at the end of a phrase, never within one, a phrase that comes again is folded
as it was, and the fewer octave leaps between phrases the better.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import NamedTuple

from coach.instrument.fretboard import FIRST_FRETS
from coach.tunes.tune import Measure

__all__ = ["FAR_FRET", "GOOD_FRETS", "Fold", "Folded", "Room", "fold"]

# A melody lies well where no note of it is higher than this fret of string 1.
GOOD_FRETS = 7
_OCTAVE = 12
# Prices: a note for each fret above fret 5, one that lies above the good frets, one above fret 12, and a change between
# two phrases, for each octave and for each semitone that it adds to the leap.
_HIGH, _TOO_HIGH, _FAR, _CHANGE, _LEAP = 1, 3, 9, 8, 1
FAR_FRET = 12
# A phrase of fewer notes and less than half a measure is an upbeat, and goes with the next.
_LEAST_NOTES = 3
_MOST_STATES = 500


class Room(NamedTuple):
    """What of the neck a melody may use, in pitches of the tune: lowest, highest, and the pitch of string 1 open."""

    lowest: int
    highest: int
    first_string: int


class Fold(NamedTuple):
    """A phrase that is moved: the number of the measure in which it begins, and by how many octaves."""

    measure: int
    octaves: int


@dataclass(frozen=True, slots=True)
class Folded:
    """A tune on paper whose phrases are folded.

    Attributes:
        measures: the same with some phrases moved by octaves.
        folds: what was moved, in order; empty where nothing had to be.
        octave: by how many octaves the whole must then be moved to lie in the room.
        price: what is left of high notes and octave leaps, for every hundred notes; comparable between rooms.
        plain_price: the same for the melody as it is, as low as it lies in the room; None where it does not fit.
    """

    measures: tuple[Measure, ...]
    folds: tuple[Fold, ...]
    octave: int
    price: int
    plain_price: int | None


class _Phrase(NamedTuple):
    """Notes of a phrase as (index of the measure, index of the note), their pitches, and what makes two alike."""

    notes: tuple[tuple[int, int], ...]
    pitches: tuple[int, ...]
    content: tuple[tuple[Fraction, int], ...]


def fold(measures: Sequence[Measure], room: Room) -> Folded | None:
    """Fold a melody into a part of the neck at least price.

    The octave of most notes counts as the tune's own. The choice is the best there is as long as no more than a few
    phrases that come again are open at once; beyond that the best of many.

    Args:
        measures: on paper, with phrases marked and one note at least.
        room: the pitches that may be used.

    Returns:
        The folded tune; None when a phrase does not fit at all.
    """
    phrases = _phrases(measures)
    octaves = [_octaves(phrase, room) for phrase in phrases]
    if not all(octaves):
        return None
    price, chosen = _cheapest(phrases, octaves, room)
    weight = dict.fromkeys(chosen, 0)
    for phrase, octave in zip(phrases, chosen, strict=True):
        weight[octave] += len(phrase.notes)
    home = max(weight, key=lambda octave: (weight[octave], -octave))
    shifts: dict[tuple[int, int], int] = {}
    folds = []
    for phrase, octave in zip(phrases, chosen, strict=True):
        if octave != home:
            folds.append(Fold(measures[phrase.notes[0][0]].number, octave - home))
            shifts |= dict.fromkeys(phrase.notes, _OCTAVE * (octave - home))
    count = sum(len(phrase.notes) for phrase in phrases)
    same = max(each[0] for each in octaves)
    plain = None
    if all(same in each for each in octaves):
        plain = 100 * sum(_high_price(phrase, same, room) for phrase in phrases) // count
    return Folded(_moved(measures, shifts), tuple(folds), home, 100 * price // count, plain)


def _phrases(measures: Sequence[Measure]) -> list[_Phrase]:
    """The phrases on paper; an upbeat goes with what it leads to."""
    spans: list[list[tuple[int, int]]] = []
    for index, measure in enumerate(measures):
        for place, note in enumerate(measure.notes):
            if not spans or (note.phrase_start and not _is_upbeat(measures, spans[-1])):
                spans.append([])
            spans[-1].append((index, place))
    return [_phrase(measures, span) for span in spans]


def _is_upbeat(measures: Sequence[Measure], span: Sequence[tuple[int, int]]) -> bool:
    lengths = sum((measures[index].notes[place].length for index, place in span), Fraction(0))
    return len(span) < _LEAST_NOTES and lengths < measures[span[0][0]].meter.length / 2


def _phrase(measures: Sequence[Measure], span: Sequence[tuple[int, int]]) -> _Phrase:
    notes = [measures[index].notes[place] for index, place in span]
    content = tuple((note.length, note.pitch) for note in notes)
    return _Phrase(tuple(span), tuple(note.pitch for note in notes), content)


def _octaves(phrase: _Phrase, room: Room) -> list[int]:
    """The octaves by which a phrase may be moved so that it fits."""
    least = -((min(phrase.pitches) - room.lowest) // _OCTAVE)
    most = (room.highest - max(phrase.pitches)) // _OCTAVE
    return list(range(least, most + 1))


def _cheapest(phrases: Sequence[_Phrase], octaves: Sequence[Sequence[int]], room: Room) -> tuple[int, tuple[int, ...]]:
    """Price and octave of each phrase, by a search along the phrases that remembers those that come again."""
    last = {phrase.content: index for index, phrase in enumerate(phrases)}
    first: dict[object, int] = {}
    twins = [first.setdefault(phrase.content, index) for index, phrase in enumerate(phrases)]
    # What is still open of a state: the octave of this phrase, and those of phrases that will come again.
    states: dict[tuple[int, tuple[tuple[int, int], ...]], tuple[int, tuple[int, ...]]] = {(0, ()): (0, ())}
    for index, phrase in enumerate(phrases):
        found: dict[tuple[int, tuple[tuple[int, int], ...]], tuple[int, tuple[int, ...]]] = {}
        for (before, known), (price, path) in states.items():
            fixed = dict(known).get(twins[index])
            for octave in octaves[index] if fixed is None else [fixed]:
                total = price + _high_price(phrase, octave, room)
                if index:
                    total += _join_price(phrases[index - 1], before, phrase, octave)
                still = {**dict(known), twins[index]: octave}
                if last[phrase.content] == index:
                    del still[twins[index]]
                state = (octave, tuple(sorted(still.items())))
                if state not in found or (total, path) < (found[state][0], found[state][1][:-1]):
                    found[state] = (total, (*path, octave))
        best = sorted(found.items(), key=lambda each: (each[1], each[0]))
        states = dict(best[:_MOST_STATES])
    return min(states.values())


def _high_price(phrase: _Phrase, octave: int, room: Room) -> int:
    frets = [pitch + _OCTAVE * octave - room.first_string for pitch in phrase.pitches]
    return sum(
        _HIGH * max(0, fret - FIRST_FRETS) + _TOO_HIGH * (fret > GOOD_FRETS) + _FAR * (fret > FAR_FRET)
        for fret in frets
    )


def _join_price(before: _Phrase, octave_before: int, phrase: _Phrase, octave: int) -> int:
    if octave == octave_before:
        return 0
    leap = phrase.pitches[0] - before.pitches[-1]
    return _CHANGE * abs(octave - octave_before) + _LEAP * max(
        0, abs(leap + _OCTAVE * (octave - octave_before)) - abs(leap)
    )


def _moved(measures: Sequence[Measure], shifts: dict[tuple[int, int], int]) -> tuple[Measure, ...]:
    return tuple(
        replace(
            measure,
            notes=tuple(
                replace(note, pitch=note.pitch + by, grace=None if note.grace is None else note.grace + by)
                for place, note in enumerate(measure.notes)
                for by in (shifts.get((index, place), 0),)
            ),
        )
        for index, measure in enumerate(measures)
    )
