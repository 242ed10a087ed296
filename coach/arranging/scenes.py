"""Scenes: each measure of a finished solo with what stands around it, as an explanation needs it.

Only the finished solo is read, so that a solo made by hand, edited or mixed is understood like any other.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import groupby, pairwise
from operator import attrgetter, itemgetter

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.arranging.lick_table import Row
from coach.arranging.licks import Lick, licks_in
from coach.arranging.timeline import Sounding, Sung, Timeline, two_beats
from coach.instrument.tuning import Tuning
from coach.tunes.chords import Chord
from coach.tunes.keys import pitch_class

__all__ = ["Gap", "Played", "Scene", "scenes"]

_LEADS = 2  # slots by which a lick may begin before its first own note, on a note of the tune

# Half slots, string, fret, and how the note is sounded.
_Where = tuple[int | Fraction, int, int, str]


@dataclass(frozen=True, slots=True)
class Played:
    """A lick as it is played.

    Attributes:
        lick: the lick, None where it is none of the table, nor of the teacher's own.
        soundings: what belongs to it.
    """

    lick: Lick | None
    soundings: tuple[Sounding, ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """Two beats and more from one melody onset to the next, in quarters from the start.

    Attributes:
        since: the onset before, or the start of the solo.
        until: the onset behind, or the end of the solo.
        ends_phrase: whether the next note begins a phrase, or none follows.
    """

    since: Fraction
    until: Fraction
    ends_phrase: bool


@dataclass(frozen=True, slots=True)
class Scene:
    """A measure and what stands around it.

    Attributes:
        measure: the measure.
        start: where it starts, in quarters from the start of the solo.
        slot: its grid.
        tuning: of the open strings.
        capo: its fret.
        key_pc: the pitch class of the tonic that the player thinks in.
        soundings: its plucks.
        notes: the melody notes that start in it, each with its neighbours in the tune (None at the ends).
        gaps: those that reach into it, behind their first note.
        licks: those that have a note in it.
        chords: those that sound in it.
        stopped_before: the frets that were stopped last before it, in one measure.
        dense: whether the tune is too dense for rolls.
        joined: whether a mixed solo goes on to another tier with it.
    """

    measure: ArrangedMeasure
    start: Fraction
    slot: Fraction
    tuning: Tuning
    capo: int
    key_pc: int
    soundings: tuple[Sounding, ...]
    notes: tuple[tuple[Sung | None, Sung, Sung | None], ...]
    gaps: tuple[Gap, ...]
    licks: tuple[Played, ...]
    chords: tuple[Chord, ...]
    stopped_before: tuple[int, ...]
    dense: bool
    joined: bool

    @property
    def melodic(self) -> list[Sounding]:
        """What carries the melody."""
        return [each for each in self.soundings if each.melodic]

    def moments(self) -> list[list[Sounding]]:
        """The picks, by moment."""
        picked = [each for each in self.soundings if each.picked]
        return [list(together) for _, together in groupby(picked, key=lambda each: each.when)]


def scenes(arrangement: Arrangement, own: tuple[Row, ...] = ()) -> Iterator[Scene]:
    """The measures of a solo as scenes, in order; ``own`` are the licks of the teacher that it may hold."""
    timeline = Timeline(arrangement)
    end = sum((measure.length for measure in arrangement.measures), Fraction(0))
    around = list(zip([None, *timeline.melody], timeline.melody, [*timeline.melody[1:], None], strict=False))
    gaps = list(_gaps(timeline, end))
    licks: defaultdict[int, list[Played]] = defaultdict(list)
    for played in _licks(timeline, own):
        for number in dict.fromkeys(each.measure.number for each in played.soundings):
            licks[number].append(played)
    tonic = arrangement.key.partition(" ")[0]
    stopped: tuple[int, ...] = ()
    dense = any("too dense" in remark for remark in arrangement.remarks)
    sounding: defaultdict[int, list[Sounding]] = defaultdict(list)
    for each in timeline.soundings:
        sounding[each.measure.number].append(each)
    sung: defaultdict[int, list[tuple[Sung | None, Sung, Sung | None]]] = defaultdict(list)
    for before, note, after in around:
        sung[note.measure.number].append((before, note, after))
    tier = arrangement.measures[0].tier
    for measure in arrangement.measures:
        start = timeline.starts[measure.number]
        behind = start + measure.length
        soundings = tuple(sounding[measure.number])
        yield Scene(
            measure,
            start,
            measure.slot or arrangement.slot,
            arrangement.tuning,
            arrangement.capo,
            pitch_class(tonic),
            soundings,
            tuple(sung[measure.number]),
            tuple(gaps[bisect_right(gaps, start, key=_until) : bisect_left(gaps, behind, key=_since)]),
            tuple(licks[measure.number]),
            tuple(dict.fromkeys(_chords(timeline, start, behind))),
            stopped,
            dense,
            measure.tier != tier,
        )
        tier = measure.tier
        stopped = tuple(each.pluck.fret for each in soundings if each.pluck.fret) or stopped


_since = attrgetter("since")
_until = attrgetter("until")


def _chords(timeline: Timeline, start: Fraction, behind: Fraction) -> Iterator[Chord]:
    first = timeline.chord_at(start)
    if first is not None:
        yield first
    within = slice(
        bisect_right(timeline.chords, start, key=itemgetter(0)), bisect_left(timeline.chords, behind, key=itemgetter(0))
    )
    yield from (chord for _, chord in timeline.chords[within])


def _gaps(timeline: Timeline, end: Fraction) -> Iterator[Gap]:
    scale = timeline.arrangement.source_scale
    onsets: list[Sung | None] = [*timeline.melody, None]
    for sung, then in pairwise(onsets):
        assert sung is not None
        until = end if then is None else then.when
        if until - sung.when >= two_beats(sung.measure, sung.slot, scale):
            yield Gap(sung.when, until, then is None or then.note.phrase_start)


def _licks(timeline: Timeline, own: tuple[Row, ...]) -> Iterator[Played]:
    """Runs of notes of licks; one that begins on a note of the tune is known by its other notes."""
    soundings = timeline.soundings
    groups = groupby(range(len(soundings)), key=lambda k: soundings[k].pluck.role == "lick")
    for run in (list(group) for is_licked, group in groups if is_licked):
        licked = [soundings[k] for k in run]
        lead = [each for each in soundings[max(0, run[0] - 2 * _LEADS) : run[0]] if each.melodic]
        yield _played(licked, lead, timeline.chord_at(licked[0].when), licks_in(timeline.arrangement.tuning, own))


def _played(own: list[Sounding], lead: list[Sounding], chord: Chord | None, licks: Iterable[Lick]) -> Played:
    """The lick that tells a run best, perhaps behind a melody note with which it begins.

    Best is one that is played whole, then one over its chord, then one with many notes, then a short one. A lick that
    is cut short is known by more than half of its notes.
    """
    places = {_place(each, own[0]): each for each in (*lead, *own)}
    best, found = (False, False, 0, 0), Played(None, tuple(own))
    for lick in licks:
        over = chord is not None and lick.chord.root_pc == chord.root_pc
        over = over and chord is not None and lick.chord.pitch_classes <= chord.pitch_classes
        for later in range(2 * _LEADS + 1):
            notes = [places[place] for place in _places(lick, later) if place in places]
            fit = (len(notes) == len(lick.steps), over, len(notes), -len(lick.steps))
            if fit > best and 2 * len(notes) > len(lick.steps) and all(each in notes for each in own):
                best, found = fit, Played(lick, tuple(notes))
    return found


def _place(each: Sounding, first: Sounding) -> _Where:
    """Where a note is: in half slots from another one, string, fret, and how it is sounded."""
    pluck = each.pluck
    return (2 * (each.when - first.when) / first.slot, pluck.string, pluck.fret, pluck.technique)


@lru_cache(maxsize=1024)
def _places(lick: Lick, later: int) -> tuple[_Where, ...]:
    """The same of a lick's notes, counted from so many half slots behind its beginning."""
    return tuple((int(2 * step.at) - later, step.string, step.fret, step.technique) for step in lick.steps)
