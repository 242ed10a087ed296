"""Back-up: what the banjo plays while others take their turns, from the chords of a solo.

Conventions
    The vamp pinches strings 3, 2 and 1 on the off-beats (where the accompaniment has its chop) in closed shapes, and
    chokes them at once: they last half the way to the next beat. In open G the shapes of a major chord are the three
    that move along the neck, the F form (2 1 3 on strings 3, 2, 1), the D form (2 3 4) and the barre; other chords and
    tunings have theirs from their pitch classes. Which of them is taken where is found exactly: least travel of the
    hand, and near fret 4 where that leaves a choice.
    The soft rolls, for slow tempos, are forward-reverse rolls over the usual shapes, forward rolls where beats are in
    threes, and have a texture of fills and the drone.
    Both keep the rules of the intermediate tier: a beginner's two pinches a measure are not enough for 9/8 and 12/8.
    A pickup measure stays empty, and so does what comes before the first chord.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from itertools import groupby, product
from typing import Literal, NamedTuple

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Finger, Tier
from coach.arranging.chord_rolls import roll_over
from coach.arranging.lefthand import fingered
from coach.arranging.pulse import grouping, strokes, style_for
from coach.arranging.touches import Touch, repeats, written
from coach.errors import ArrangeError
from coach.instrument.hands import SPAN, span
from coach.instrument.rolls import ROLLS
from coach.instrument.tuning import Tuning
from coach.tunes.chords import Chord

__all__ = ["BackUpStyle", "back_up", "style_at", "vamp_shapes"]

BackUpStyle = Literal["vamp", "rolls"]

_TIER: Tier = "intermediate"
_PINCH: tuple[tuple[Finger, int], ...] = (("T", 3), ("I", 2), ("M", 1))
_TOP_FRET = 11
_HOME_FRET = 4
_TRAVEL = 3  # what a fret of travel costs beside a fret away from home
_MISSING_ROOT, _MISSING_FIFTH, _MISSING_OTHER = 3, 1, 2
_THREES = 3

# Frets of strings 3, 2 and 1.
_Frets = tuple[int, int, int]


class _Chop(NamedTuple):
    """A pinch of the vamp: the index of its measure, where, until the next stroke, over which chord."""

    measure: int
    at: Fraction
    length: Fraction
    chord: Chord


def back_up(solo: Arrangement, style: BackUpStyle | None = None, *, tempo: float | None = None) -> Arrangement:
    """A back-up part for the measures of a solo, with their chords and no melody.

    Args:
        solo: whose chords, metres, tuning and capo are taken.
        style: ``vamp`` or ``rolls``; None goes by the tempo: rolls below 100 quarters a minute.
        tempo: quarters a minute, > 0; None is taken as fast.

    Raises:
        ArrangeError: when the solo has no chords.
    """
    if not any(measure.chords for measure in solo.measures):
        raise ArrangeError("there are no chords to back up", where=solo.title, cure="give the tune chords")
    wanted = style or style_at(tempo)
    touches = _vamp(solo) if wanted == "vamp" else _rolls(solo)
    measures: list[ArrangedMeasure] = []
    for measure, here in zip(solo.measures, touches, strict=True):
        plucks = written(measure.number, here, measure.length, solo.tuning, solo.capo)
        first = next((each for each in measures if each.number == measure.same_as), None)
        repeated = first is not None and repeats(plucks, first.plucks)
        measures.append(
            replace(measure, tier=_TIER, melody=(), plucks=plucks, same_as=measure.same_as if repeated else None)
        )
    what = "an off-beat vamp in closed shapes" if wanted == "vamp" else "soft rolls"
    part = replace(
        solo,
        title=f"{solo.title} (back-up)",
        tier=_TIER,
        remarks=(f"Back-up for the turns of others: {what}.",),
        measures=tuple(measures),
    )
    return fingered(part)


def style_at(tempo: float | None) -> BackUpStyle:
    """The back-up that suits a tempo: soft rolls below 100 quarters a minute; None is taken as fast."""
    return "rolls" if style_for(tempo) == "plain" else "vamp"


@lru_cache(maxsize=256)
def vamp_shapes(chord: Chord, tuning: Tuning) -> tuple[_Frets, ...]:
    """The closed shapes of a chord on strings 3, 2 and 1 that have most of its tones, the lowest first.

    Args:
        chord: in the shape that the player thinks in.
        tuning: of the open strings.

    Returns:
        frets of strings 3, 2, 1, each 1 to 11 and within four frets; all shapes that lack as little of the chord.
    """
    tones = chord.pitch_classes

    def lack(frets: _Frets) -> int:
        sounding = {(tuning.open_pitch(string) + fret) % 12 for (_, string), fret in zip(_PINCH, frets, strict=True)}
        price = {chord.root_pc: _MISSING_ROOT, (chord.root_pc + 7) % 12: _MISSING_FIFTH}
        return sum(price.get(tone, _MISSING_OTHER) for tone in tones - sounding)

    choices = [
        [fret for fret in range(1, _TOP_FRET + 1) if (tuning.open_pitch(string) + fret) % 12 in tones]
        for _, string in _PINCH
    ]
    found: list[_Frets] = [(a, b, c) for a, b, c in product(*choices) if span((a, b, c)) <= SPAN]
    least = min(map(lack, found))
    return tuple(sorted((frets for frets in found if lack(frets) == least), key=lambda frets: (min(frets), frets)))


def _vamp(solo: Arrangement) -> list[list[Touch]]:
    """The touches of the vamp, measure by measure."""
    chops = _chops(solo)
    spells = [list(group) for _, group in groupby(chops, key=lambda chop: chop.chord)]
    shapes = _least_travel([vamp_shapes(spell[0].chord, solo.tuning) for spell in spells])
    touches: list[list[Touch]] = [[] for _ in solo.measures]
    for spell, frets in zip(spells, shapes, strict=True):
        for chop in spell:
            touches[chop.measure] += [
                Touch(chop.at, string, fret, finger, "pinch", longest=chop.length / 2)
                for (finger, string), fret in zip(_PINCH, frets, strict=True)
            ]
    return touches


def _chops(solo: Arrangement) -> list[_Chop]:
    """The off-beats of a solo over its chords; one that comes right behind another is left out."""
    chops: list[_Chop] = []
    chord: Chord | None = None
    for index, measure in enumerate(solo.measures):
        changes = [(change.at, change.chord) for change in measure.chords]
        slot = measure.slot or solo.slot
        free = Fraction(0)
        for stroke in strokes(measure.meter, measure.length, "full"):
            while changes and changes[0][0] <= stroke.at:
                chord = changes.pop(0)[1]
            if chord is None or measure.number == 0 or stroke.part == "bass" or stroke.at < free:
                continue
            chops.append(_Chop(index, stroke.at, stroke.length, chord))
            free = stroke.at + 2 * slot
        chord = changes[-1][1] if changes else chord
    return chops


def _least_travel(choices: Sequence[Sequence[_Frets]]) -> list[_Frets]:
    """One shape of each, so that the hand travels least; ties to the lowest shapes."""
    # For each shape of the chord in hand: the price of the best way to it, and that way.
    best: list[tuple[int, list[_Frets]]] = [(0, [])]
    for shapes in choices:
        best = [min(_ways(best, frets)) for frets in shapes]
    return min(best)[1]


def _ways(best: Sequence[tuple[int, list[_Frets]]], frets: _Frets) -> list[tuple[int, list[_Frets]]]:
    """Every way so far, led on to a shape."""
    home = abs(min(frets) - _HOME_FRET)
    return [
        (price + home + (_TRAVEL * abs(min(frets) - min(way[-1])) if way else 0), [*way, frets]) for price, way in best
    ]


def _rolls(solo: Arrangement) -> Sequence[Sequence[Touch]]:
    """The touches of the soft rolls, measure by measure."""
    threes = grouping(solo.meter)[0] == _THREES * Fraction(4, solo.meter.unit)
    return roll_over(solo.measures, solo.slot, ROLLS["forward" if threes else "forward-reverse"], solo.tuning)
