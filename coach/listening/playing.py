"""Measures of playing: how even, how swung, how far the melody stands out, in numbers.

Evenness
    How unevenly neighbouring notes follow each other, whatever the mean and the drift: for every three neighbouring
    onsets that are evenly spaced on paper, u = the offset of the middle one less the mean of the offsets beside it;
    evenness is sqrt(mean(u²) / 1.5), which for independent offsets is their standard deviation. Smaller is more even.
Positions
    Each slot of the roll against the others: the mean, over the measures in rolls, of its offset less the mean offset
    of the other onsets of its measure. Positive is late.
Swing
    Long to short: the time from the first to the second slot of a pair over the time from there to the next pair,
    each summed over the pairs of which all three onsets were played. 1 is straight, 2 a triplet feel; a pass that is
    asked to bounce by b percent is asked for b / (100 - b).
Melody in decibels
    The mean level of melody plucks less that of the fill; a level is 10 · log10 of the squared velocity. None where the
    instrument does not send how strongly it was played.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log10, sqrt
from statistics import fmean

from coach.listening.scores import summarise
from coach.listening.strokes import PassStrokes, Stroke

__all__ = [
    "MeasurePlaying",
    "PassPlaying",
    "Position",
    "decibels",
    "evenness",
    "levels",
    "melody_db",
    "playing_of",
    "sends_velocity",
    "swing",
]

LEAST_ONSETS = 6  # that make a measure a roll
LEAST_ROLLS = 3  # measures before a position of the roll means anything
LEAST_VELOCITIES = 5  # different ones, before an instrument counts as sending how strongly it was played


@dataclass(frozen=True, slots=True)
class MeasurePlaying:
    """How a measure was played; see the module's text. None where there is too little to tell.

    Attributes:
        number, pass_number: of the measure.
        evenness_ms: in milliseconds, >= 0.
        swing: long to short, > 0.
        melody_db: the melody above the fill.
        other_strings: notes of right or wrong pitch on another string than written.
    """

    number: int
    pass_number: int
    evenness_ms: float | None
    swing: float | None
    melody_db: float | None
    other_strings: int


@dataclass(frozen=True, slots=True)
class Position:
    """A slot of the roll, counted from 1, and how late (positive) it comes against the others, in milliseconds."""

    slot: int
    offset_ms: float


@dataclass(frozen=True, slots=True)
class PassPlaying:
    """How a pass was played; see the module's text and :class:`MeasurePlaying`.

    Attributes:
        pass_number: of the pass.
        mean_offset_ms, spread_ms, tempo_drift_percent: as in the summary of a report, of this pass alone.
        melody_heard: the share of melody plucks that were played; None where there are none.
        positions: of the roll; empty where there are too few measures in rolls.
        picked_slurs: the ids of slurred plucks that were picked instead, in order.
        measures: by number.
    """

    pass_number: int
    mean_offset_ms: float | None
    spread_ms: float | None
    evenness_ms: float | None
    swing: float | None
    tempo_drift_percent: float | None
    melody_heard: float | None
    melody_db: float | None
    other_strings: int
    positions: tuple[Position, ...]
    measures: tuple[MeasurePlaying, ...]
    picked_slurs: tuple[str, ...] = ()


def playing_of(heard: PassStrokes) -> PassPlaying:
    """How a pass was played."""
    result, strokes, onsets = heard.result, heard.strokes, heard.onsets
    loud = sends_velocity(strokes)
    unevens = _unevens(onsets)
    pairs = _pairs(onsets)
    measures = []
    for score in result.measures:
        inside = [stroke for stroke in strokes if stroke.measure == score.number]
        measures.append(
            MeasurePlaying(
                number=score.number,
                pass_number=score.pass_number,
                evenness_ms=evenness([uneven for measure, uneven in unevens if measure == score.number]),
                swing=swing([pair for measure, pair in pairs if measure == score.number]),
                melody_db=melody_db(inside) if loud else None,
                other_strings=sum(_is_elsewhere(stroke) for stroke in inside),
            )
        )
    melody = [note.played for note in result.notes if note.pluck.melody]
    summary = summarise([result])
    return PassPlaying(
        pass_number=result.plan.number,
        mean_offset_ms=summary.mean_offset_ms,
        spread_ms=summary.spread_ms,
        evenness_ms=evenness([uneven for _, uneven in unevens]),
        swing=swing([pair for _, pair in pairs]),
        tempo_drift_percent=summary.tempo_drift_percent,
        melody_heard=round(fmean(melody), 4) if melody else None,
        melody_db=melody_db(strokes) if loud else None,
        other_strings=sum(measure.other_strings for measure in measures),
        positions=_positions(onsets),
        measures=tuple(measures),
    )


def evenness(unevens: Sequence[float]) -> float | None:
    """Evenness from the second differences u, in milliseconds; None where there are none."""
    return round(sqrt(fmean(u * u for u in unevens) / 1.5), 3) if unevens else None


def swing(pairs: Sequence[tuple[float, float]]) -> float | None:
    """Long to short, from the first and second parts of pairs of slots; None where there are none."""
    first, second = sum(pair[0] for pair in pairs), sum(pair[1] for pair in pairs)
    return round(first / second, 3) if first > 0 and second > 0 else None


def sends_velocity(strokes: Sequence[Stroke]) -> bool:
    """Whether the instrument sends how strongly it was played."""
    return len({stroke.note.velocity for stroke in strokes} - {None}) >= LEAST_VELOCITIES


def levels(strokes: Sequence[Stroke]) -> tuple[list[float], list[float]]:
    """The levels, in decibels of squared velocity, of the melody's plucks and of the fill's; what is struck together
    with a melody note and what is slurred is neither."""
    struck = [stroke for stroke in strokes if stroke.offset_ms is not None and stroke.note.velocity]
    with_melody = {(stroke.pass_number, stroke.place) for stroke in struck if stroke.note.pluck.melody}
    melody = [stroke for stroke in struck if stroke.note.pluck.melody]
    fill = [stroke for stroke in struck if (stroke.pass_number, stroke.place) not in with_melody]
    return [decibels(stroke) for stroke in melody], [decibels(stroke) for stroke in fill]


def decibels(stroke: Stroke) -> float:
    """The level of a stroke that was heard: 20 · log10 of its velocity."""
    return 20 * log10(stroke.note.velocity or 1)


def melody_db(strokes: Sequence[Stroke]) -> float | None:
    """How far the mean level of the melody stands above that of the fill; None where one of them is missing."""
    melody, fill = levels(strokes)
    return round(fmean(melody) - fmean(fill), 3) + 0.0 if melody and fill else None


def _unevens(onsets: Sequence[Stroke]) -> list[tuple[int, float]]:
    """The second differences of the offsets of neighbouring onsets, with the measure of the middle one."""
    found = []
    for before, middle, after in zip(onsets, onsets[1:], onsets[2:], strict=False):
        if _are_neighbours(before, middle, after):
            one, two, three = (stroke.offset_ms or 0.0 for stroke in (before, middle, after))
            found.append((middle.measure, two - (one + three) / 2))
    return found


def _pairs(onsets: Sequence[Stroke]) -> list[tuple[int, tuple[float, float]]]:
    """The first and second parts, in milliseconds, of pairs of slots, with their measures."""
    found = []
    for first, second, third in zip(onsets, onsets[1:], onsets[2:], strict=False):
        if first.half == 0 and second.half == 1 and _are_neighbours(first, second, third):
            one, two, three = (_heard_ms(stroke) for stroke in (first, second, third))
            found.append((first.measure, (two - one, three - two)))
    return found


def _are_neighbours(one: Stroke, two: Stroke, three: Stroke) -> bool:
    """Whether nothing is written between three onsets, and they are evenly spaced on paper."""
    if one.step is None or two.step is None or three.step is None:
        return False
    return two.place - one.place == three.place - two.place == 1 and two.step - one.step == three.step - two.step


def _heard_ms(stroke: Stroke) -> float:
    return stroke.note.pluck.time / 1000 + (stroke.offset_ms or 0.0)


def _positions(onsets: Sequence[Stroke]) -> tuple[Position, ...]:
    by_measure: dict[int, list[tuple[int, float]]] = {}
    for stroke in onsets:
        if stroke.slot is not None and stroke.offset_ms is not None:
            by_measure.setdefault(stroke.measure, []).append((stroke.slot, stroke.offset_ms))
    rolls = [measure for measure in by_measure.values() if len(measure) >= LEAST_ONSETS]
    if len(rolls) < LEAST_ROLLS:
        return ()
    found: dict[int, list[float]] = {}
    for measure in rolls:
        total = sum(offset for _, offset in measure)
        for slot, offset in measure:
            found.setdefault(slot, []).append(offset - (total - offset) / (len(measure) - 1))
    return tuple(
        Position(slot + 1, round(fmean(values), 3) + 0.0)
        for slot, values in sorted(found.items())
        if len(values) >= LEAST_ROLLS
    )


def _is_elsewhere(stroke: Stroke) -> bool:
    """Whether another string was caught: told by its channel."""
    return stroke.note.pitch is not None and stroke.note.string not in (None, stroke.pluck.string)
