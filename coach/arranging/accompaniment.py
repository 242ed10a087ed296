"""The accompaniment: bass on the strong beats, a chop on the off-beats, from the chords of a solo.

Conventions
    Positions are written time from the start of the passage; pitches are what sounds (with the capo). The bass goes
    root, fifth, root, fifth, and has the root of each new chord where it comes (the note under the slash where there
    is one). The chop is a closed shape on strings 3, 2 and 1. A pickup measure has no accompaniment.

    In the full style the bass walks into a chord that comes after another has lasted: the last stroke before it, the
    last two where the chord before held for two measures, step to the new root along the scale of the key (a tone of
    the old chord in place of its neighbour, and a chromatic step where the bass stands a whole step away already).
    The plain style, for slow tempos, has half as many strokes and no walk: see :mod:`coach.arranging.pulse`.

Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from operator import attrgetter, itemgetter
from typing import Literal, NamedTuple

from coach.arranging.arrangement import Arrangement
from coach.arranging.passage import Placed, passage
from coach.arranging.pulse import Style, strokes, style_for
from coach.arranging.scale import key_named, scale_under, walk
from coach.instrument.fretboard import pitch_at
from coach.instrument.shapes import closed_shape
from coach.instrument.tuning import OPEN_G
from coach.tunes.chords import Chord
from coach.tunes.keys import pitch_class

__all__ = ["HIGHEST_BASS", "LOWEST_BASS", "Backing", "Spell", "accompaniment", "chord_spells"]

LOWEST_BASS = 28  # E1, the lowest string of a double bass
HIGHEST_BASS = 50  # D3

_LOWEST_ROOT = 33
_CHOP_STRINGS = (3, 2, 1)
_WHOLE_STEP = 2
_LONGEST_WALK = 2


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


class Spell(NamedTuple):
    """A chord and where it sounds, in quarters from the first measure of the solo: from ``start``, before ``end``."""

    start: Fraction
    end: Fraction
    chord: Chord


class _Place(NamedTuple):
    """A stroke on its place: from the first measure of the solo, with the start of its measure."""

    at: Fraction
    end: Fraction
    part: Literal["bass", "chop"]
    bar: Fraction


def chord_spells(arrangement: Arrangement) -> tuple[Spell, ...]:
    """The chords of a whole solo in order; a chord that is named again goes on."""
    starts = arrangement.starts()
    changes: list[tuple[Fraction, Chord]] = []
    for measure in arrangement.measures:
        for change in measure.chords:
            if not changes or change.chord != changes[-1][1]:
                changes.append((starts[measure.number] + change.at, change.chord))
    end = sum((measure.length for measure in arrangement.measures), Fraction(0))
    ends = [at for at, _ in [*changes, (end, None)][1:]]
    return tuple(Spell(at, until, chord) for (at, chord), until in zip(changes, ends, strict=True) if at < until)


def accompaniment(
    arrangement: Arrangement,
    *,
    first: int | None = None,
    last: int | None = None,
    tempo: float | None = None,
    style: Style | None = None,
) -> tuple[Backing, ...]:
    """The bass and chop of a passage, in order of position.

    Args:
        arrangement: the solo; where no chord has come yet, nothing sounds.
        first, last: numbers of the first and last measure; None for the solo's own.
        tempo: quarters a minute, > 0; tells the style where none is named.
        style: ``full`` or ``plain``; None goes by the tempo, plain below 100 quarters a minute.

    Raises:
        ValueError: when there is no such passage.
    """
    return _Player(arrangement, passage(arrangement, first=first, last=last), style or style_for(tempo)).played()


class _Player:
    """Bass and chop of one passage."""

    def __init__(self, arrangement: Arrangement, placed: Sequence[Placed], style: Style) -> None:
        self._arrangement = arrangement
        self._start = arrangement.starts()[placed[0].measure.number]
        self._bars = [(self._start + start, measure) for start, measure in placed if measure.number > 0]
        self._spells = chord_spells(arrangement)
        self._style = style

    def played(self) -> tuple[Backing, ...]:
        places = self._places()
        walks = self._walks(places) if self._style == "full" else {}
        found: list[Backing] = []
        spell: Spell | None = None
        on_root = False
        heard: int | None = None
        for place in places:
            current = self._spell_at(place.at)
            if current is None:
                continue
            at, length = place.at - self._start, place.end - place.at
            if place.at in walks:
                heard = self._step(current, *walks[place.at], heard)
                found.append(Backing("bass", at, length, (heard,)))
            elif place.part == "bass":
                on_root = not on_root if current == spell else True
                spell = current
                heard = _bass_pitch(current.chord, self._arrangement.capo, root=on_root)
                found.append(Backing("bass", at, length, (heard,), place.at == place.bar))
            else:
                found.append(Backing("chop", at, length / 2, self._chop(current.chord)))
        return tuple(found)

    def _places(self) -> list[_Place]:
        """The strokes of the passage, with one for the bass wherever a chord begins."""
        places: list[_Place] = []
        for bar, measure in self._bars:
            end = bar + measure.length
            parts = {bar + stroke.at: stroke.part for stroke in strokes(measure.meter, measure.length, self._style)}
            spells = self._spells[
                bisect_left(self._spells, bar, key=attrgetter("start")) : bisect_left(
                    self._spells, end, key=attrgetter("start")
                )
            ]
            parts |= {spell.start: "bass" for spell in spells}
            places += (_Place(at, until, parts[at], bar) for at, until in pairwise([*sorted(parts), end]))
        return places

    def _walks(self, places: Sequence[_Place]) -> dict[Fraction, tuple[Chord, int]]:
        """Where the bass walks: the chord it walks to, and how many steps away from its root it is."""
        walks: dict[Fraction, tuple[Chord, int]] = {}
        played = {place.at for place in places}
        for old, new in pairwise(self._spells):
            earlier = bisect_left(self._bars, new.start, key=itemgetter(0))
            if not earlier or new.start not in played or _root(old.chord) == _root(new.chord):
                continue
            bar, measure = self._bars[earlier - 1]
            count = min(int((new.start - old.start) / measure.length), _LONGEST_WALK)
            first = bisect_right(places, max(bar, old.start), key=attrgetter("at"))
            before = places[first : bisect_left(places, new.start, key=attrgetter("at"))]
            for steps, place in enumerate(reversed(before[len(before) - min(count, len(before)) :]), start=1):
                walks[place.at] = (new.chord, steps)
        return walks

    def _step(self, old: Spell, new: Chord, steps: int, heard: int | None) -> int:
        """The pitch that lies so many steps of the scale from the root of a new chord, on the side of the old one."""
        capo = self._arrangement.capo
        target = _bass_pitch(new, capo, root=True)
        home = _bass_pitch(old.chord, capo, root=True)
        side = 1 if home > target else -1
        scale = frozenset((pc + capo) % 12 for pc in scale_under(key_named(self._arrangement.key), old.chord))
        pitch = walk(target, -side * steps, scale)[0]
        return pitch - side if steps == 1 and pitch == heard and abs(pitch - target) == _WHOLE_STEP else pitch

    def _spell_at(self, at: Fraction) -> Spell | None:
        index = bisect_right(self._spells, at, key=attrgetter("start")) - 1
        return self._spells[index] if index >= 0 and at < self._spells[index].end else None

    def _chop(self, chord: Chord) -> tuple[int, ...]:
        """The closed shape of a chord; every tuning's chop is taken in open G, where closed shapes are at home."""
        shape = closed_shape(chord.root_pc, chord.pitch_classes)
        frets = ((string, shape.fret(string)) for string in _CHOP_STRINGS)
        return tuple(
            sorted(
                pitch_at(OPEN_G, string, fret) + self._arrangement.capo for string, fret in frets if fret is not None
            )
        )


def _root(chord: Chord) -> int:
    """The pitch class that the bass plays first: the root, or the note under the slash."""
    return pitch_class(chord.bass) if chord.bass else chord.root_pc


def _bass_pitch(chord: Chord, capo: int, *, root: bool) -> int:
    """The root (or the note under the slash), or the fifth of the chord, next below the root where it can be."""
    bottom = _root(chord)
    low = _LOWEST_ROOT + (bottom + capo - _LOWEST_ROOT) % 12
    if root:
        return low
    fifth = next(
        (chord.root_pc + step for step in (7, 6, 8) if (chord.root_pc + step) % 12 in chord.pitch_classes), bottom
    )
    below = low - (low - fifth - capo) % 12
    return below if below >= LOWEST_BASS else below + 12
