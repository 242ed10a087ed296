"""A named roll laid over chords, measure by measure, where there is no melody to carry.

Conventions
    Over an open G chord a roll takes the strings that :data:`coach.instrument.rolls.ROLLS` gives; over any other chord
    the same strings, under the usual shape of the chord. Where the drone does not suit the chord the thumb plays
    string 4 in its place. A measure begins the roll anew; where the finger that would begin it has just played, the
    roll runs on over the barline (a forward roll in 2/4 is T I M T, I M T I). Where the hand could not reach both
    chords within one roll, the slot before the change is held, so that it has time to move.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple, cast

from coach.arranging.arrangement import ArrangedMeasure, Finger
from coach.arranging.handrules import ROLL_SLOTS
from coach.arranging.neck import find_neck
from coach.arranging.touches import Touch
from coach.instrument.fretboard import Place
from coach.instrument.hands import SPAN, span
from coach.instrument.rolls import Roll
from coach.instrument.shapes import shape
from coach.instrument.tuning import Tuning
from coach.tunes.chords import Chord

__all__ = ["fret_in", "roll_over", "root_place"]

_DRONE = 5
_THUMB_STRINGS = (4, 3, 2)
_INSIDE = 4  # where the thumb goes when the drone rests
# The strings of an endless roll of three fingers, behind the eight slots of the table.
_ENDLESS = {"T": 5, "I": 2, "M": 1}


class _Slot(NamedTuple):
    """What a slot has."""

    measure: int
    touch: Touch
    chord: Chord


def fret_in(chord: Chord, string: int, tuning: Tuning) -> int | None:
    """The fret of a string under the usual shape of a chord, 0 on the drone; None where it is not played."""
    if string == _DRONE:
        return 0
    return shape(chord.root_pc, chord.pitch_classes, tuning).fret(string)


def root_place(chord: Chord, tuning: Tuning) -> Place:
    """Where the thumb finds the root of a chord: on string 4, 3 or 2 in the usual shape, else on its lowest fret."""
    in_shape = [
        Place(string, fret)
        for string in _THUMB_STRINGS
        if (fret := fret_in(chord, string, tuning)) is not None
        and (tuning.open_pitch(string) + fret) % 12 == chord.root_pc
    ]
    anywhere = (Place(string, (chord.root_pc - tuning.open_pitch(string)) % 12) for string in _THUMB_STRINGS)
    return in_shape[0] if in_shape else min(anywhere, key=lambda place: (place.fret, -place.string))


def roll_over(
    measures: Sequence[ArrangedMeasure], slot: Fraction, roll: Roll, tuning: Tuning
) -> tuple[tuple[Touch, ...], ...]:
    """A roll over the chords of some measures.

    Args:
        measures: with chords and lengths; what they have besides is not looked at. A pickup (number 0) is left empty,
            and so is what comes before the first chord.
        slot: in quarters, where a measure has none of its own.
        roll: one of the table.
        tuning: of the open strings.

    Returns:
        the touches of each measure.
    """
    row: list[_Slot | None] = []
    chord: Chord | None = None
    phase = 0
    for index, measure in enumerate(measures):
        step = measure.slot or slot
        changes = [(change.at, change.chord) for change in measure.chords]
        if roll.cycle[(phase - 1) % len(roll.cycle)] != roll.cycle[0]:
            phase = 0
        for count in range(int(measure.length / step)):
            while changes and changes[0][0] <= count * step:
                chord = changes.pop(0)[1]
            if chord is None or measure.number == 0:
                row.append(None)
                continue
            touch = _touch(roll, phase, chord, count * step, tuning)
            row.append(None if touch is None else _Slot(index, touch, chord))
            phase += 1
            _ease(row)
        chord = changes[-1][1] if changes else chord
    return tuple(
        tuple(each.touch for each in row if each is not None and each.measure == index)
        for index in range(len(measures))
    )


def _touch(roll: Roll, phase: int, chord: Chord, at: Fraction, tuning: Tuning) -> Touch | None:
    """What a roll plays in its slot number ``phase``; None where the chord has no tone on that string."""
    finger = cast("Finger", roll.cycle[phase % len(roll.cycle)])
    row = roll.strings
    told = phase < len(row) or len(row) % len(roll.cycle) == 0
    string = row[phase % len(row)] if told else _ENDLESS[finger]
    if string == _DRONE and not find_neck(tuning, 0).drone_suits(chord.pitch_classes):
        string = _INSIDE
    fret = fret_in(chord, string, tuning)
    return None if fret is None else Touch(at, string, fret, finger, "drone" if string == _DRONE else "fill")


def _ease(row: list[_Slot | None]) -> None:
    """Hold the slot before the last change of chord where the last slots are more than a hand can reach."""
    running: list[int] = []
    for index in range(len(row) - 1, max(-1, len(row) - 1 - ROLL_SLOTS), -1):
        if row[index] is None:
            break
        running.insert(0, index)
    slots = [(index, here) for index in running if (here := row[index]) is not None]
    if span(here.touch.fret for _, here in slots) <= SPAN:
        return
    last = slots[-1][1]
    before = [index for index, here in slots if here.chord != last.chord]
    row[before[-1] if before else slots[-1][0]] = None
