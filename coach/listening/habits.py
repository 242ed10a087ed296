"""Habits: what a player does again and again, found so that chance finds none.

Timing
    Causes are weighed together (:mod:`~coach.listening.contrasts`): the fifth string, chord changes, slides, off-beats,
    running away in open rolls; then each slot of the roll. A habit is told when its size lies 1.645 standard errors
    beyond what can be heard (95 % sure that it can) and 4 beyond nothing (4.5 for a slot, since there are eight), and
    shows in at least half of the measures in which it could.
    What can be heard is told by :func:`~coach.listening.findings.audible_ms`.
Shares
    Notes missed by the middle finger or after a slur, against all other notes: Fisher's exact test (hypergeometric
    tail, one side) at most :data:`CHANCE`, and at least twice the others' share.
Levels tell strings and fingers apart only as far as the instrument hears all strings alike; so a soft middle finger is
told from 2 dB on.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import comb, sqrt
from statistics import fmean, median, variance

from coach.listening.contrasts import Weighed, weigh
from coach.listening.fills import cut_fills
from coach.listening.findings import Finding, Name, audible_ms, tolerance_ms
from coach.listening.playing import decibels, sends_velocity
from coach.listening.scores import PassResult
from coach.listening.strokes import PassStrokes, Stroke

__all__ = ["fisher_tail", "habits_of", "of_notes"]

SURE_TO_BE_HEARD = 1.645  # standard errors: 95 % on one side
SURE_TO_BE = 4.0
SURE_OF_A_SLOT = 4.5  # there are eight of them
CHANCE = 0.003
HALF = 0.5

LEAST_NOTES = 4  # touched by a cause
LEAST_SLOT_NOTES = 6
LEAST_BLOCK = 8  # onsets with a mean of their own
ENTRY = 2  # onsets at the start of a pass, which are a matter of their own
LEAST_TIMES = 2  # a thing that is not a matter of time has to happen

CRUSHED_SHARE = 0.4  # of the written time between pick and slur, that it comes too soon
CRUSHED_MS = 40.0
SOFT_DB = 2.0
SURE_OF_LEVELS = 3.0
SOFT_COST = 2.0  # notes: it stands in nobody's way, but is worth a word
LEAST_LEVELS = 6  # notes on each side


def habits_of(passes: Sequence[PassStrokes]) -> tuple[Finding, ...]:
    """The habits of the last of some passes through a solo.

    Args:
        passes: through one solo in order, at least one; the earlier ones add evidence.

    Returns:
        matters of time first.
    """
    return (*_of_time(passes), *_of_shares(passes), *_crushed(passes), *_soft(passes))


def fisher_tail(count: int, of: int, others: int, of_others: int) -> float:
    """Fisher's exact test: the chance of ``count`` or more of ``of`` when faults fall on all notes alike, given how
    many there are in all (``others`` of ``of_others`` besides)."""
    faults = count + others
    ways = comb(of + of_others, faults)
    return sum(comb(of, k) * comb(of_others, faults - k) for k in range(count, min(of, faults) + 1)) / ways


# Time


@dataclass(frozen=True, slots=True)
class _Cause:
    """A cause: how much it touches a stroke, which way it goes, and what it is called then."""

    column: Callable[[Stroke], float]
    late: Name | None
    early: Name | None
    reach: float = 1.0  # units of the column that the told size is for


_CAUSES = {
    "fifth": _Cause(lambda s: s.pluck.string == 5, "fifth string late", "fifth string early"),
    "change": _Cause(lambda s: s.since_change == 0 and s.pluck.technique != "slide", "change late", None),
    "slide": _Cause(lambda s: s.pluck.technique == "slide", "slide late", None),
    "off-beat": _Cause(lambda s: s.half == 1, "off-beats late", "off-beats early"),
    "rush": _Cause(lambda s: float(s.slot or 0) if s.open_roll else 0.0, None, "open roll rushed", reach=7.0),
    # What follows is there so that it is not laid at another's door.
    "change 1": _Cause(lambda s: s.since_change == 1, None, None),
    "change 2": _Cause(lambda s: s.since_change == 2, None, None),
    "slide 1": _Cause(lambda s: s.since_slide == 1, None, None),
    "slide 2": _Cause(lambda s: s.since_slide == 2, None, None),
    "slur": _Cause(lambda s: s.after_slur and s.since_slide is None, None, None),
}


def _of_time(passes: Sequence[PassStrokes]) -> list[Finding]:
    onsets, blocks = _blocks(passes)
    values = [stroke.note.offset_ms or 0.0 for stroke in onsets]
    columns = {name: [float(cause.column(stroke)) for stroke in onsets] for name, cause in _CAUSES.items()}
    weighed = weigh(values, blocks, columns)
    if weighed is None:
        return []
    found = []
    for name, cause in _CAUSES.items():
        touched = [i for i, amount in enumerate(columns[name]) if amount]
        contrast = weighed.contrasts.get(name)
        if contrast is None or len(touched) < LEAST_NOTES:
            continue
        size, error = contrast.effect * cause.reach, contrast.error * cause.reach
        called = cause.late if size > 0 else cause.early
        heard = audible_ms(_gap(onsets, touched), passes[-1].result.tolerance_ms)
        if called is None or abs(size) < max(heard + SURE_TO_BE_HEARD * error, SURE_TO_BE * error):
            continue
        sign = 1 if size > 0 else -1
        effects = _by_measure(onsets, touched, columns[name], contrast.partial)
        shows = {key: sign * cause.reach * effect >= heard for key, effect in effects.items()}
        habit = _as_habit(called, abs(size), [onsets[i] for i in touched], shows, passes)
        if habit is not None:
            found.append(habit)
    return found + _of_slots(onsets, weighed, passes)


def _gap(onsets: Sequence[Stroke], touched: Sequence[int]) -> float:
    """The usual time between onsets where a cause touches, in milliseconds."""
    return median(onsets[i].gap_ms or 0.0 for i in touched)


def _blocks(passes: Sequence[PassStrokes]) -> tuple[list[Stroke], list[int]]:
    """The onsets that have a time, slides among them, and for each the block that it lies in."""
    onsets: list[Stroke] = []
    blocks: list[int] = []
    block = 0
    for each in passes:
        leading = each.onsets[ENTRY:]
        slides = [
            s for s in each.strokes if s.pluck.technique == "slide" and s.note.played and s.note.offset is not None
        ]
        block, size, measure = block + 1, 0, None
        for stroke in sorted([*leading, *slides], key=lambda stroke: stroke.place):
            if stroke.measure != measure and size >= LEAST_BLOCK:
                block, size = block + 1, 0
            measure, size = stroke.measure, size + 1
            onsets.append(stroke)
            blocks.append(block)
    return onsets, blocks


def _by_measure(
    onsets: Sequence[Stroke], touched: Sequence[int], column: Sequence[float], partial: Sequence[float]
) -> dict[tuple[int, int], float]:
    """For each measure that a cause touches its effect there, by pass and measure."""
    within: dict[tuple[int, int], list[tuple[float, float]]] = {}
    for i in touched:
        within.setdefault((onsets[i].pass_number, onsets[i].measure), []).append((column[i], partial[i]))
    return {key: _slope(points) for key, points in within.items()}


def _slope(points: Sequence[tuple[float, float]]) -> float:
    """The mean where the cause touches all alike, else the slope along it."""
    middle = fmean(x for x, _ in points)
    squares = sum((x - middle) ** 2 for x, _ in points)
    return sum((x - middle) * y for x, y in points) / squares if squares else fmean(y for _, y in points)


def _as_habit(
    name: Name,
    size: float,
    touched: Sequence[Stroke],
    shows: dict[tuple[int, int], bool],
    passes: Sequence[PassStrokes],
    slot: int = 0,
) -> Finding | None:
    """A habit of time, if it shows in half of all measures and in half of those of the last pass."""
    last = passes[-1].result.plan.number
    of_last = {measure: shown for (number, measure), shown in shows.items() if number == last}
    if not of_last or fmean(of_last.values()) < HALF or fmean(shows.values()) < HALF:
        return None
    measures = tuple(sorted(measure for measure, shown in of_last.items() if shown))
    notes = [stroke for stroke in touched if stroke.pass_number == last and stroke.measure in measures]
    off = size / tolerance_ms(median(stroke.gap_ms or 0.0 for stroke in notes), passes[-1].result.tolerance_ms)
    return Finding(
        name=name,
        size=round(size, 1),
        count=len(measures),
        of=len(of_last),
        measures=measures,
        cost=round(len(notes) * min(1.0, off) / 2, 3),
        slot=slot,
        before=_showed_before(shows, passes),
    )


def _showed_before(shows: dict[tuple[int, int], bool], passes: Sequence[PassStrokes]) -> bool:
    if len(passes) < 2:
        return False
    before = [shown for (number, _), shown in shows.items() if number == passes[-2].result.plan.number]
    return bool(before) and fmean(before) >= HALF


def _of_slots(onsets: Sequence[Stroke], weighed: Weighed, passes: Sequence[PassStrokes]) -> list[Finding]:
    """The slot of the roll that stands apart most, beyond what the causes explain."""
    by_slot: dict[int, list[int]] = {}
    for i, stroke in enumerate(onsets):
        if stroke.slot is not None and stroke.pluck.technique == "pick":
            by_slot.setdefault(stroke.slot, []).append(i)
    best: tuple[float, Finding] | None = None
    for slot, touched in by_slot.items():
        if len(touched) < LEAST_SLOT_NOTES:
            continue
        rests = [weighed.rests[i] for i in touched]
        # The median: one measure that went astray is no habit.
        size, error = median(rests), 1.2533 * weighed.scale / sqrt(len(rests))
        heard = audible_ms(_gap(onsets, touched), passes[-1].result.tolerance_ms)
        sure = abs(size) / error
        if abs(size) < max(heard + SURE_TO_BE_HEARD * error, SURE_OF_A_SLOT * error):
            continue
        if best is not None and sure <= best[0]:
            continue
        sign = 1 if size > 0 else -1
        effects = _by_measure(onsets, touched, [1.0] * len(onsets), weighed.rests)
        shows = {key: sign * effect >= heard for key, effect in effects.items()}
        name: Name = "slot late" if size > 0 else "slot early"
        habit = _as_habit(name, abs(size), [onsets[i] for i in touched], shows, passes, slot + 1)
        if habit is not None:
            best = sure, habit
    return [] if best is None else [best[1]]


# Notes that are missed, slurs and levels


def _of_shares(passes: Sequence[PassStrokes]) -> list[Finding]:
    picked = []
    for each in passes:
        # What a fill that was cut short has lost says nothing of fingers.
        lost = {stroke.pluck.id for cut in cut_fills(each) for stroke in cut.lost}
        picked.append([s for s in each.strokes if s.note.pluck.picked and s.pluck.id not in lost])
    kinds: list[tuple[Name, Callable[[Stroke], bool]]] = [
        ("swallowed", lambda s: s.after_slur),
        # A note after a slur is a matter of its own, whichever finger has it.
        ("middle missed", lambda s: s.pluck.finger == "M" and not s.after_slur),
    ]
    found = []
    for name, is_of in kinds:
        notes = [s for strokes in picked for s in strokes if name == "swallowed" or not s.after_slur]
        inside = [stroke.left_out for stroke in notes if is_of(stroke)]
        outside = [stroke.left_out for stroke in notes if not is_of(stroke)]
        of_last = [stroke for stroke in picked[-1] if is_of(stroke)]
        missed = [stroke for stroke in of_last if stroke.left_out]
        if len(missed) < LEAST_TIMES or not outside or fmean(inside) < 2 * fmean(outside):
            continue
        if fisher_tail(sum(inside), len(inside), sum(outside), len(outside)) > CHANCE:
            continue
        before = len(picked) > 1 and any(stroke.left_out for stroke in picked[-2] if is_of(stroke))
        share = len(missed) / len(of_last)
        found.append(of_notes(name, share, missed, len(of_last), float(len(missed)), before=before))
    return found


def of_notes(
    name: Name, size: float, strokes: Sequence[Stroke], of: int, cost: float, *, before: bool = False
) -> Finding:
    """A finding that is a matter of notes: those in which it shows, of how many."""
    measures = tuple(sorted({stroke.measure for stroke in strokes}))
    return Finding(name, round(size, 3), len(strokes), of, measures, round(cost, 3), before=before)


def _crushed(passes: Sequence[PassStrokes]) -> list[Finding]:
    """Hammer-ons and pull-offs that come too soon after their pick."""
    counts = [_crushed_in(each) for each in passes]
    crushed, of = counts[-1]
    if len(crushed) < LEAST_TIMES or len(crushed) < CRUSHED_SHARE * of:
        return []
    before = len(counts) > 1 and len(counts[-2][0]) >= max(1, CRUSHED_SHARE * counts[-2][1])
    return [of_notes("crushed", len(crushed) / of, crushed, of, len(crushed) / 2, before=before)]


def _crushed_in(heard: PassStrokes) -> tuple[list[Stroke], int]:
    """The crushed slurs of a pass, and how many were heard. One so early that it came with its pick is an extra there,
    and the slur is missed."""
    by_index = {stroke.note.pluck.index: stroke for stroke in heard.strokes}
    crushed, of = [], 0
    for stroke in heard.strokes:
        index = stroke.note.pluck.source
        source = None if index is None else by_index.get(index)
        if stroke.pluck.technique not in ("hammer-on", "pull-off") or source is None or source.note.offset is None:
            continue
        picked = source.note.pluck.time + source.note.offset
        arrival = _arrival(stroke, picked, heard.result)
        if arrival is None:
            continue
        of += 1
        written = (stroke.note.pluck.time - source.note.pluck.time) / 1000
        if written - (arrival - picked) / 1000 >= max(CRUSHED_SHARE * written, CRUSHED_MS):
            crushed.append(stroke)
    return crushed, of


def _arrival(stroke: Stroke, picked: int, result: PassResult) -> int | None:
    """When a slur was heard, in microseconds of the pass."""
    note = stroke.note
    if note.played:
        return None if note.offset is None else note.pluck.time + note.offset
    return next(
        (
            extra.time
            for extra in result.extras
            if picked < extra.time < note.pluck.time
            and extra.pitch == note.pluck.pitch
            and extra.string in (None, note.pluck.string)
        ),
        None,
    )


def _soft(passes: Sequence[PassStrokes]) -> list[Finding]:
    """A middle finger whose fill is softer than that of the other fingers."""
    fill = [
        stroke
        for each in passes
        for stroke in each.strokes
        if stroke.pluck.finger and not stroke.note.pluck.melody and stroke.note.played and stroke.note.velocity
    ]
    middle = [decibels(stroke) for stroke in fill if stroke.pluck.finger == "M"]
    others = [decibels(stroke) for stroke in fill if stroke.pluck.finger != "M"]
    if min(len(middle), len(others)) < LEAST_LEVELS or not sends_velocity(fill):
        return []
    below = fmean(others) - fmean(middle)
    error = sqrt(variance(middle) / len(middle) + variance(others) / len(others))
    last = passes[-1].result.plan.number
    of_last = [stroke for stroke in fill if stroke.pluck.finger == "M" and stroke.pass_number == last]
    soft = [stroke for stroke in of_last if decibels(stroke) < fmean(others) - SOFT_DB / 2]
    if below - SOFT_DB < SURE_OF_LEVELS * error or not soft:
        return []
    return [of_notes("middle soft", below, soft, len(of_last), SOFT_COST)]
