"""The accompaniment: bass on the strong beats, a chop on the off-beats, from the chords of a solo.

Conventions
    Positions are written time from the start of the passage; pitches are what sounds (with the capo). The bass goes
    root, fifth, root, fifth and begins again with the root of each new chord (with the note under the slash where
    there is one). The chop is a closed shape on strings 3, 2 and 1. A pickup measure has no accompaniment.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from coach.arranging.arrangement import Arrangement
from coach.arranging.passage import passage
from coach.instrument.fretboard import pitch_at
from coach.instrument.shapes import closed_shape
from coach.instrument.tuning import OPEN_G
from coach.tunes.chords import Chord
from coach.tunes.keys import pitch_class
from coach.tunes.tune import Meter

__all__ = ["HIGHEST_BASS", "LOWEST_BASS", "Backing", "accompaniment"]

LOWEST_BASS = 28  # E1, the lowest string of a double bass
HIGHEST_BASS = 50  # D3

_LOWEST_ROOT = 33
_CHOP_STRINGS = (3, 2, 1)
_BASS, _CHOP = "bass", "chop"


@dataclass(frozen=True, slots=True)
class Backing:
    """What the bass or the chop sounds at once.

    Attributes:
        part: ``bass`` (one pitch) or ``chop`` (a chord, cut short).
        at: in quarters from the start of the passage.
        length: in quarters.
        pitches: MIDI note numbers that sound, the lowest first.
        accent: whether it stands on the first beat of its measure.
    """

    part: Literal["bass", "chop"]
    at: Fraction
    length: Fraction
    pitches: tuple[int, ...]
    accent: bool = False


def accompaniment(
    arrangement: Arrangement, *, first: int | None = None, last: int | None = None
) -> tuple[Backing, ...]:
    """The bass and chop of a passage, in order of position.

    Args:
        arrangement: the solo; where no chord has come yet, nothing sounds.
        first, last: numbers of the first and last measure; None for the solo's own.

    Raises:
        ValueError: when there is no such passage.
    """
    placed = passage(arrangement, first=first, last=last)
    chord = _chord_before(arrangement, placed[0].measure.number)
    found: list[Backing] = []
    last_bass: Chord | None = None
    on_root = False
    for start, measure in placed:
        changes = [(change.at, change.chord) for change in measure.chords]
        for at, length, part in _pattern(measure.meter, measure.length):
            while changes and changes[0][0] <= at:
                chord = changes.pop(0)[1]
            if chord is None or measure.number == 0:
                continue
            if part == _BASS:
                on_root = not on_root if chord == last_bass else True
                last_bass = chord
                pitches = (_bass_pitch(chord, arrangement.capo, root=on_root),)
                found.append(Backing("bass", start + at, length, pitches, at == 0))
            else:
                found.append(Backing("chop", start + at, length / 2, _chop_pitches(arrangement, chord)))
        chord = changes[-1][1] if changes else chord
    return tuple(found)


def _chord_before(arrangement: Arrangement, number: int) -> Chord | None:
    """The chord that rings into a measure from those before it."""
    before = [change.chord for measure in arrangement.measures if measure.number < number for change in measure.chords]
    return before[-1] if before else None


def _pattern(meter: Meter, length: Fraction) -> Iterator[tuple[Fraction, Fraction, str]]:
    """Position, length and part of what sounds in a measure; a short measure breaks the pattern off.

    Beats in pairs: bass and chop by turns, quarters in 4/4 and in cut time. Beats in threes: bass, chop, chop. In
    compound metres (6/8 and the like, 6/4 when doubled) each beat has the bass on its first and the chop on its third
    part. Other metres: bass on the first beat, chop on the rest.
    """
    unit = Fraction(4, meter.unit)
    pattern: tuple[str, ...]
    if meter.count % 3 == 0 and meter.count > 3:
        steps, pattern = unit, (_BASS, "", _CHOP)
    elif meter.count == 2:
        steps, pattern = unit / 2, (_BASS, _CHOP)
    elif meter.count % 4 == 0:
        steps, pattern = unit, (_BASS, _CHOP)
    else:
        steps, pattern = unit, (_BASS, *[_CHOP] * (meter.count - 1))
    for index in range(int(-(-length // steps))):
        part = pattern[index % len(pattern)]
        if part:
            at = index * steps
            yield at, min(steps, length - at), part


def _bass_pitch(chord: Chord, capo: int, *, root: bool) -> int:
    """The root (or the note under the slash), or the fifth of the chord, next below the root where it can be."""
    bottom = pitch_class(chord.bass) if chord.bass else chord.root_pc
    low = _LOWEST_ROOT + (bottom + capo - _LOWEST_ROOT) % 12
    if root:
        return low
    fifth = next(
        (chord.root_pc + step for step in (7, 6, 8) if (chord.root_pc + step) % 12 in chord.pitch_classes), bottom
    )
    below = low - (low - fifth - capo) % 12
    return below if below >= LOWEST_BASS else below + 12


def _chop_pitches(arrangement: Arrangement, chord: Chord) -> tuple[int, ...]:
    """The closed shape of a chord; every banjo tuning's chop is taken in open G, where closed shapes are at home."""
    shape = closed_shape(chord.root_pc, chord.pitch_classes)
    frets = ((string, shape.fret(string)) for string in _CHOP_STRINGS)
    return tuple(
        sorted(pitch_at(OPEN_G, string, fret) + arrangement.capo for string, fret in frets if fret is not None)
    )
