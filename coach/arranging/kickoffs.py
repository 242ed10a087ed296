"""What starts a break: notes that lead into its first melody note, or a measure of beats.

Conventions
    Lead-in notes walk along the scale up into the first melody note: three quarters in 4/4 and 3/4's two, eighths in
    2/4 and in metres of eighths; fewer where a pickup leaves less room. Where the neck has nothing below, they walk
    down into it.
    Beats are picked on the first chord: the thumb on its root, and pinches by turns with it (root, pinch, pinch in
    three), two pinches a measure at most.
    A kick-off leads: its single notes are played and judged like melody.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise, product

from coach.arranging.arrangement import Finger
from coach.arranging.chord_rolls import fret_in, root_place
from coach.arranging.pulse import grouping
from coach.arranging.scale import scale_under, walk
from coach.arranging.touches import Touch
from coach.instrument.fretboard import FIRST_FRETS, Place, places
from coach.instrument.hands import FINGERS, RELUCTANCE
from coach.instrument.tuning import Tuning
from coach.tunes.chords import Chord
from coach.tunes.keys import Key
from coach.tunes.tune import Meter

__all__ = ["beats", "lead_ins", "step_of"]

_MOST_NOTES = 3
_MOST_PINCHES = 2
_SHORT_MEASURE = 2  # quarters: a measure of no more walks in eighths
_QUARTER_UNIT = 4
_UNHANDY = 4  # what a finger costs on a string that it plays in a run only
_HIGH = 12  # the last fret of a lead-in into a high note


def step_of(meter: Meter) -> Fraction:
    """How long a lead-in note lasts, in quarters."""
    return Fraction(1) if meter.unit <= _QUARTER_UNIT and meter.length > _SHORT_MEASURE else Fraction(1, 2)


def lead_ins(
    target: int, count: int, key: Key, chord: Chord, tuning: Tuning, step: Fraction
) -> Iterator[tuple[Touch, ...]]:
    """The ways to play a lead-in, the handiest first.

    Args:
        target: the pitch of the first melody note, without capo.
        count: how many notes.
        key: in which the player thinks.
        chord: the first one.
        tuning: of the open strings.
        step: how long each lasts, in quarters.

    Yields:
        the touches, the first at 0; from below before from above.
    """
    scale = scale_under(key, chord)
    for steps in (count, -count):
        pitches = walk(target, steps, scale)
        choices = [[(place, finger) for place in _places(tuning, pitch) for finger in FINGERS] for pitch in pitches]
        for way in sorted(product(*choices), key=_price):
            yield tuple(
                Touch(index * step, place.string, place.fret, finger, "melody")
                for index, (place, finger) in enumerate(way)
            )


def beats(
    meter: Meter, length: Fraction, chord: Chord, tuning: Tuning, slot: Fraction, *, pinched: int = 0
) -> tuple[Touch, ...]:
    """The beats of a kick-off.

    Args:
        meter: of the measure.
        length: how much of it there is for beats, in quarters; they leave two slots free before its end.
        chord: the first one.
        tuning: of the open strings.
        slot: of the measure, in quarters.
        pinched: how many pinches the rest of the measure has, which count among its two.
    """
    root = root_place(chord, tuning)
    high = fret_in(chord, 1, tuning)
    places = [at for at in _beat_places(meter) if at + 2 * slot <= length]
    in_three = len(_beat_places(meter)) == 3
    found: list[Touch] = []
    for index, at in enumerate(places):
        pinches = pinched < _MOST_PINCHES and (index > 0 if in_three else index % 2 == 1)
        pinched += pinches
        if pinches and high is not None:
            found += [Touch(at, *root, "T", "pinch"), Touch(at, 1, high, "M", "pinch")]
        else:
            found.append(Touch(at, *root, "T", "melody"))
    return tuple(found)


def _beat_places(meter: Meter) -> list[Fraction]:
    """Where the beats of a measure are picked: on each group, and on quarters in cut time."""
    groups = grouping(meter)
    halved = 2 if meter.unit < _QUARTER_UNIT and groups[0] == Fraction(4, meter.unit) else 1
    found: list[Fraction] = []
    at = Fraction(0)
    for group in groups:
        found += [at + part * group / halved for part in range(halved)]
        at += group
    return found


def _places(tuning: Tuning, pitch: int) -> list[Place]:
    """Where a lead-in note is played: on frets 0 to 5 of the long strings, and up to fret 12 where there is none."""
    for highest in (FIRST_FRETS, _HIGH):
        found = [place for place in places(tuning, pitch, highest_fret=highest) if place.string != 5]
        if found:
            return found
    return []


def _price(way: Sequence[tuple[Place, Finger]]) -> tuple[int, int]:
    """How unhandy a way is: unwilling fingers, then the frets that the hand has to go for."""
    fingers = sum(RELUCTANCE[finger].get(place.string, _UNHANDY) for place, finger in way)
    travel = sum(abs(after.fret - before.fret) for (before, _), (after, _) in pairwise(way))
    crossings = sum(after.string != before.string for (before, _), (after, _) in pairwise(way))
    return fingers, travel + crossings + sum(place.fret for place, _ in way)
