"""Faults of a single pass: what need not repeat to be worth a word.

Fill cut short
    See :mod:`~coach.listening.fills`.
Late kick-off
    The first onset of the solo is later than the player's own time by more than the tolerance and 3.5 times their
    scatter, and the second has not made up for it.
Gaining, falling behind
    A line through the mean offsets of the measures rises or falls over the pass by more than the tolerance, by three
    standard errors.
Scattered
    The offsets around the mean of their measures scatter by more than 4 % of a beat, at least 30 ms (their standard
    deviation, robust). Taps of the untrained along a click scatter by 4 % of its interval and more, of musicians by
    about 2 % (Repp 2005, Psychon. Bull. Rev. 12(6), 969-992, from memory); two real players of running notes showed
    15 ms on 114 and 208 ms (measured on open performance files), so that half of the limit is even playing.
Leaning
    A steady lead or lag of 30 ms and more. Musicians tap 0 to 30 ms before a click, others 20 to 80 ms (Aschersleben
    2002, Brain & Cognition 48, 66-79; Repp 2005; both from memory): it is no mistake, and costs nothing up to the
    40 ms that are taken off.
Melody hidden
    The melody is less than 1 dB above the fill (a level difference just heard is about 1 dB, from memory), and by two
    standard errors less than 2 dB.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from statistics import fmean, median, variance

from coach.listening.fills import cut_fills
from coach.listening.findings import Finding, Name, tolerance_ms
from coach.listening.habits import of_notes
from coach.listening.plan import MOST_LEAN_MS
from coach.listening.playing import levels, sends_velocity
from coach.listening.strokes import PassStrokes, Stroke

__all__ = ["EVEN_SHARE", "faults_of", "scatter_limit_ms", "scatter_ms"]

LATE_SCATTERS = 3.5
LATE_COST = 4.0

LEAST_MEASURES = 6
SURE = 3.0
DRIFT_SHARE = 0.5  # of the tolerance

LEAST_SCATTER_MS = 30.0
SCATTER_SHARE = 0.04  # of a quarter
EVEN_SHARE = 0.5  # of the limit
LEAST_ONSETS = 12

LEAN_MS = 30.0

HIDDEN_DB = 1.0
SURELY_HIDDEN_DB = 2.0
HIDDEN_COST = 3.0
LEAST_LEVELS = 4

LEAST_CAUGHT = 3
NEIGHBOURS = ({1, 2}, {2, 3}, {3, 4}, {4, 5})

_TO_DEVIATION = 1.4826  # of a normal distribution, from its median absolute deviation


def faults_of(heard: PassStrokes) -> tuple[Finding, ...]:
    """The faults of a pass."""
    return (
        *_cut_fills(heard),
        *_late_start(heard),
        *_neighbours(heard),
        *_drift(heard),
        *_scattered(heard),
        *_hidden(heard),
        *_leaning(heard),
    )


def _cut_fills(heard: PassStrokes) -> list[Finding]:
    cut = cut_fills(heard)
    if not cut:
        return []
    early = {each.early for each in cut}
    slots = early.pop() if len(early) == 1 else None
    size = 0.0 if slots is None else float(slots * heard.result.plan.arrangement.slot)
    lost = sum(len(each.lost) for each in cut)
    return [of_notes("fill cut short", size, [each.lost[0] for each in cut], len(cut), float(lost))]


def _late_start(heard: PassStrokes) -> list[Finding]:
    """Only where the solo itself starts; nothing is told of an entry in its middle."""
    onsets = heard.onsets
    plan = heard.result.plan
    if len(onsets) < LEAST_ONSETS or plan.measures[0] is not plan.arrangement.measures[0] or onsets[0].place != 0:
        return []
    offsets = [stroke.offset_ms or 0.0 for stroke in onsets]
    own, scatter = median(offsets), scatter_ms(heard) or 0.0
    late, then = offsets[0] - own, offsets[1] - own
    limit = max(tolerance_ms(onsets[0].gap_ms or 0.0, heard.result.tolerance_ms), LATE_SCATTERS * scatter)
    if late <= limit or then <= late / 4:
        return []
    return [Finding("kick-off late", round(late, 1), 1, 1, (onsets[0].measure,), LATE_COST)]


def _neighbours(heard: PassStrokes) -> list[Finding]:
    """A neighbouring string is caught, so that another pitch sounds. Only where channels tell strings."""
    caught = [
        stroke
        for stroke in heard.strokes
        if stroke.note.verdict == "wrong note" and {stroke.pluck.string, stroke.note.string} in NEIGHBOURS
    ]
    if len(caught) < LEAST_CAUGHT:
        return []
    picked = sum(stroke.note.pluck.picked for stroke in heard.strokes)
    pairs = Counter((stroke.pluck.string, stroke.note.string or 0) for stroke in caught)
    pair, times = min(pairs.items(), key=lambda item: (-item[1], item[0]))
    found = of_notes("neighbour string", len(caught) / picked, caught, picked, float(len(caught)))
    return [replace(found, strings=pair) if 2 * times > len(caught) else found]


def _drift(heard: PassStrokes) -> list[Finding]:
    means = _means(heard)
    if len(means) < LEAST_MEASURES:
        return []
    xs = [fmean(stroke.note.pluck.time / 1000 for stroke in inside) for inside in means.values()]
    ys = [fmean(stroke.offset_ms or 0.0 for stroke in inside) for inside in means.values()]
    x, y = fmean(xs), fmean(ys)
    squares = sum((each - x) ** 2 for each in xs)
    slope = sum((each - x) * value for each, value in zip(xs, ys, strict=True)) / squares
    rests = [value - y - slope * (each - x) for each, value in zip(xs, ys, strict=True)]
    reach = xs[-1] - xs[0]
    error = sqrt(sum(rest * rest for rest in rests) / (len(xs) - 2) / squares) * reach
    change = slope * reach
    limit = tolerance_ms(median(stroke.gap_ms or 0.0 for stroke in heard.onsets), heard.result.tolerance_ms)
    if abs(change) - limit * DRIFT_SHARE < SURE * error:
        return []
    name: Name = "gaining" if change < 0 else "falling behind"
    measures = tuple(means)
    return [Finding(name, round(abs(change), 1), len(measures), len(measures), measures, 3 * abs(change) / limit)]


def scatter_ms(heard: PassStrokes) -> float | None:
    """How far the offsets scatter around the mean of their measure: standard deviation, in milliseconds, robust; None
    where there are too few."""
    rests = [rest for inside in _means(heard).values() for rest in _rests(inside)]
    if len(rests) < LEAST_ONSETS:
        return None
    return median(map(abs, rests)) * _TO_DEVIATION


def scatter_limit_ms(heard: PassStrokes) -> float:
    """The scatter from which on it is worth a word, in milliseconds."""
    told = heard.result.tolerance_ms
    return max(LEAST_SCATTER_MS if told is None else told, SCATTER_SHARE * 60_000 / heard.result.plan.tempo)


def _scattered(heard: PassStrokes) -> list[Finding]:
    scatter, limit = scatter_ms(heard), scatter_limit_ms(heard)
    if scatter is None or scatter <= limit:
        return []
    inside = _means(heard)
    loose = tuple(measure for measure, strokes in inside.items() if fmean(map(abs, _rests(strokes))) > 0.8 * limit)
    return [Finding("scattered", round(scatter, 1), len(loose), len(inside), loose, 5 * scatter / limit)]


def _means(heard: PassStrokes) -> dict[int, list[Stroke]]:
    """The onsets of each measure that has three."""
    inside: dict[int, list[Stroke]] = {}
    for stroke in heard.onsets:
        inside.setdefault(stroke.measure, []).append(stroke)
    return {measure: strokes for measure, strokes in inside.items() if len(strokes) >= 3}


def _rests(strokes: Sequence[Stroke]) -> list[float]:
    """The offsets less their mean, as large as if the mean had been known beforehand."""
    offsets = [stroke.offset_ms or 0.0 for stroke in strokes]
    mean, much = fmean(offsets), sqrt(len(offsets) / (len(offsets) - 1))
    return [(offset - mean) * much for offset in offsets]


def _hidden(heard: PassStrokes) -> list[Finding]:
    melody, fill = levels(heard.strokes)
    if min(len(melody), len(fill)) < LEAST_LEVELS or not sends_velocity(heard.strokes):
        return []
    above = fmean(melody) - fmean(fill)
    error = sqrt(variance(melody) / len(melody) + variance(fill) / len(fill))
    if above >= HIDDEN_DB or above + 2 * error >= SURELY_HIDDEN_DB:
        return []
    measures = tuple(sorted({stroke.measure for stroke in heard.strokes if stroke.note.pluck.melody}))
    return [Finding("melody hidden", round(above, 1), len(measures), len(measures), measures, HIDDEN_COST)]


def _leaning(heard: PassStrokes) -> list[Finding]:
    offsets = [stroke.offset_ms or 0.0 for stroke in heard.onsets]
    if len(offsets) < LEAST_ONSETS or abs(median(offsets)) < LEAN_MS:
        return []
    name: Name = "leaning ahead" if median(offsets) < 0 else "leaning behind"
    measures = tuple(sorted({stroke.measure for stroke in heard.onsets}))
    size = abs(median(offsets))
    cost = 0.0 if size <= MOST_LEAN_MS else size / MOST_LEAN_MS
    return [Finding(name, round(size, 1), len(measures), len(measures), measures, round(cost, 3))]
