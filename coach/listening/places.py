"""Places: the distinct expected onsets of a pass, with their windows.

Heard time is counted here in whole microseconds from the start of the pass, so that limits and ties are exact and do
not depend on where on a clock the pass lies.

Windows and tolerances (contract of the report)
    A window reaches half the gap to the neighbour on its side, at least 60 ms, at most 300 ms (also where there is
    no neighbour). On time is within 20 % of the gap to the nearer neighbour, at least 30 ms, at most 80 ms.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from operator import attrgetter, itemgetter

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.arranging.same import Same
from coach.listening.plan import PassPlan
from coach.tempo import TempoMap

__all__ = ["MICROSECONDS", "Expected", "Place", "Places", "Slur", "Span", "SpanSlot", "places_of", "windows_at"]

MICROSECONDS = 1_000_000

LEAST_WINDOW = 60_000
MOST_WINDOW = 300_000
LEAST_TOLERANCE = 30_000
MOST_TOLERANCE = 80_000
TOLERANCE_SHARE = 5  # a fifth of the gap

_start, _position = attrgetter("start"), itemgetter(0)


@dataclass(frozen=True, slots=True)
class Expected:
    """A pluck that a pass expects.

    Attributes:
        index: its number in the pass, from 0, in the order of the ids.
        id: as in the arrangement.
        measure: the number of its measure.
        place: the index of its place.
        time: of its place, in microseconds from the start of the pass.
        pitch, string: what should sound.
        fretted: whether a finger is down on the string.
        open_pitch: what its string sounds without that finger.
        picked: whether the right hand plays it; a slurred one is sounded by the left.
        melody: whether it carries the tune.
        source: for a slurred pluck the index of the one it leaves, None where that lies before the pass.
        pick: the index of the pick that its slur began with, likewise.
        group: plucks of one pinch or one slur share a group; a group counts as one fault.
    """

    index: int
    id: str
    measure: int
    place: int
    time: int
    pitch: int
    string: int
    fretted: bool
    open_pitch: int
    picked: bool
    melody: bool
    source: int | None
    pick: int | None
    group: int


@dataclass(frozen=True, slots=True)
class Slur:
    """What a slurred pluck sets out from and how long a bend to it counts.

    Attributes:
        pluck: the slurred pluck.
        slide: whether it is a slide, which may pass pitches on its way.
        source_pitch: the pitch it leaves.
        source_place: the index of the place where that one sounds.
        opens, closes: a bend between these times, in microseconds, can be its arrival.
    """

    pluck: Expected
    slide: bool
    source_pitch: int
    source_place: int
    opens: int
    closes: int


@dataclass(frozen=True, slots=True)
class Place:
    """One expected onset.

    Attributes:
        index: its number in the pass, from 0.
        time: in microseconds from the start of the pass.
        early, late: its windows before and after, in microseconds.
        tolerance: what is on time, in microseconds.
        half_slot: half a slot around here, in microseconds.
        plucks: by id, at least one.
        slurs: those of its plucks that are slurred, with where they come from.
        slides: the slides that are under way here.
        held: for each string the last pluck at or before this place, if it is fretted.
    """

    index: int
    time: int
    early: int
    late: int
    tolerance: int
    half_slot: int
    plucks: tuple[Expected, ...]
    slurs: tuple[Slur, ...]
    slides: tuple[Slur, ...]
    held: tuple[Expected, ...]

    @property
    def opens(self) -> int:
        """The first microsecond of its window."""
        return self.time - self.early

    @property
    def closes(self) -> int:
        """The last microsecond of its window."""
        return self.time + self.late


@dataclass(frozen=True, slots=True)
class SpanSlot:
    """A slot of a measure.

    Attributes:
        at: where it begins, in quarters from the start of the measure.
        is_written: whether a pluck is written in it.
        tones: the written pitch classes of the chord that holds at its beginning; none where there is no chord.
    """

    at: Fraction
    is_written: bool
    tones: frozenset[int]


@dataclass(frozen=True, slots=True)
class Span:
    """A measure of the pass.

    Attributes:
        measure: the measure.
        start, end: from when to when, in microseconds from the start of the pass.
        at, grid: where it lies in the pass and how long its slots are, in quarters; a float is enough to place a note.
        slots: of the measure, in order.
    """

    measure: ArrangedMeasure
    start: int
    end: int
    at: float
    grid: float
    slots: tuple[SpanSlot, ...]


@dataclass(frozen=True, slots=True)
class Places:
    """The places of a pass, all that is expected in it, and where its measures lie.

    Attributes:
        plan: the pass.
        places: in order of time.
        times: their times.
        expected: all plucks by index.
        spans: the measures.
        tempo_map: on the clock of the pass.
    """

    plan: PassPlan
    places: tuple[Place, ...]
    times: tuple[int, ...]
    expected: tuple[Expected, ...]
    spans: tuple[Span, ...]
    tempo_map: TempoMap

    def span_at(self, time: int) -> int:
        """The index of the measure in which ``time`` lies; the first and the last reach on outwards."""
        return max(0, bisect_right(self.spans, time, key=_start) - 1)

    def at(self, time: int) -> Place | None:
        """The place that a note at ``time`` belongs to: the nearest in whose window it lies, the earlier in a tie."""
        right = bisect_left(self.times, time)
        nearest = right
        if right and (right == len(self.times) or time - self.times[right - 1] <= self.times[right] - time):
            nearest = right - 1
        if not self.times:
            return None
        place = self.places[nearest]
        # Half the gap lies within any window of less than the most, so the nearest place alone has to be asked.
        return place if -place.early <= time - place.time <= place.late else None

    def before(self, time: int) -> Place | None:
        """The last place at or before ``time``."""
        index = bisect_right(self.times, time) - 1
        return self.places[index] if index >= 0 else None

    @property
    def end(self) -> int:
        """The last microsecond at which a note still belongs to the pass."""
        end = self.spans[-1].end
        return max(end, self.places[-1].closes) if self.places else end


def places_of(plan: PassPlan, tolerance_ms: float | None = None) -> Places:
    """The places of a pass.

    Args:
        plan: the pass.
        tolerance_ms: what is on time, in milliseconds either way; None for a share of the gap.

    They depend on the solo, its measures, tempo and bounce alone; they are kept for those who play the same again.
    """
    laid_out = _laid_out(Same(plan.arrangement), plan.tempo, plan.first, plan.last, plan.bounce, tolerance_ms)
    return replace(laid_out, plan=plan)


@lru_cache(maxsize=64)
def _laid_out(
    solo: Same[Arrangement],
    tempo: float,
    first: int | None,
    last: int | None,
    bounce: int,
    tolerance_ms: float | None,
) -> Places:
    """The places of a pass, whenever it is played and by whom."""
    plan = PassPlan(solo.value, tempo, first=first, last=last, bounce=bounce)
    tempo_map = plan.tempo_map_from(0.0)

    def microseconds(at: Fraction) -> int:
        return round(tempo_map.seconds(at) * MICROSECONDS)

    starts = plan.starts
    slots = {
        start + pluck.at: measure.slot or plan.arrangement.slot for measure, start in starts for pluck in measure.plucks
    }
    positions = sorted(slots)
    times = tuple(microseconds(at) for at in positions)
    expected = _expected(plan, {at: index for index, at in enumerate(positions)}, times)
    plucks = _by_place(expected, len(times))
    windows = [windows_at(times, index) for index in range(len(times))]
    slurs: list[list[Slur]] = [[] for _ in times]
    slides: list[list[Slur]] = [[] for _ in times]
    for slur in _slurs(plan, expected, times, windows):
        slurs[slur.pluck.place].append(slur)
        if slur.slide:
            for index in range(slur.source_place, slur.pluck.place + 1):
                slides[index].append(slur)
    held: dict[int, Expected] = {}
    places: list[Place] = []
    for index, time in enumerate(times):
        held.update((pluck.string, pluck) for pluck in plucks[index])
        places.append(
            Place(
                index=index,
                time=time,
                early=windows[index][0],
                late=windows[index][1],
                tolerance=_tolerance(times, index) if tolerance_ms is None else round(tolerance_ms * 1000),
                half_slot=round(tempo_map.quarter * float(slots[positions[index]]) * MICROSECONDS / 2),
                plucks=plucks[index],
                slurs=tuple(slurs[index]),
                slides=tuple(slides[index]),
                held=tuple(pluck for _, pluck in sorted(held.items()) if pluck.fretted),
            )
        )
    tones = _tones(plan)
    spans = tuple(
        Span(
            measure,
            microseconds(start),
            microseconds(start + measure.length),
            float(start),
            float(measure.slot or plan.arrangement.slot),
            tuple(_span_slots(measure, start, measure.slot or plan.arrangement.slot, tones)),
        )
        for measure, start in starts
    )
    return Places(plan, tuple(places), times, expected, spans, tempo_map)


def _tones(plan: PassPlan) -> list[tuple[Fraction, frozenset[int]]]:
    """The pitch classes of all chords of the solo, with their positions in the pass (negative before it), in order."""
    starts = plan.arrangement.starts()
    origin = starts[plan.measures[0].number]
    return [
        (starts[measure.number] + change.at - origin, change.chord.pitch_classes)
        for measure in plan.arrangement.measures
        for change in measure.chords
    ]


def _span_slots(
    measure: ArrangedMeasure, start: Fraction, grid: Fraction, tones: Sequence[tuple[Fraction, frozenset[int]]]
) -> Iterator[SpanSlot]:
    """The slots of a measure that starts at a position in the pass, given what :func:`_tones` says."""
    written = {pluck.at // grid for pluck in measure.plucks}
    for number in range(-(-measure.length // grid)):
        at = number * grid
        holds = bisect_right(tones, start + at, key=_position) - 1
        yield SpanSlot(at, number in written, tones[holds][1] if holds >= 0 else frozenset())


def _expected(plan: PassPlan, places: dict[Fraction, int], times: tuple[int, ...]) -> tuple[Expected, ...]:
    """The plucks of the pass, given the index of the place at each position and the times of the places."""
    carriers = {note.pluck for measure in plan.arrangement.measures for note in measure.melody if note.kept}
    expected: list[Expected] = []
    last_on: dict[int, Expected] = {}
    groups: dict[int, int] = {}  # by place
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            place = places[start + pluck.at]
            picked = pluck.technique == "pick"
            source = None if picked else last_on.get(pluck.string)
            group = groups.setdefault(place, len(expected) if source is None else source.group)
            if source is not None and source.group != group:
                # A slur that ends in a pinch: one group from here on.
                expected = [replace(e, group=group) if e.group == source.group else e for e in expected]
                source = expected[source.index]
                groups = {known: group if g == source.group else g for known, g in groups.items()}
            pick = None if source is None else source.index if source.picked else source.pick
            new = Expected(
                index=len(expected),
                id=pluck.id,
                measure=measure.number,
                place=place,
                time=times[place],
                pitch=pluck.pitch,
                string=pluck.string,
                fretted=pluck.fret > 0,
                open_pitch=plan.arrangement.tuning.open_pitch(pluck.string) + plan.arrangement.capo,
                picked=picked,
                melody=pluck.role == "melody" or pluck.id in carriers,
                source=None if source is None else source.index,
                pick=pick,
                group=group,
            )
            expected.append(new)
            last_on[pluck.string] = new
    return tuple(expected)


def _by_place(expected: tuple[Expected, ...], count: int) -> list[tuple[Expected, ...]]:
    """The plucks of each place, by id."""
    plucks: list[list[Expected]] = [[] for _ in range(count)]
    for pluck in expected:
        plucks[pluck.place].append(pluck)
    return [tuple(group) for group in plucks]


def _slurs(
    plan: PassPlan, expected: tuple[Expected, ...], times: tuple[int, ...], windows: list[tuple[int, int]]
) -> list[Slur]:
    """The slurs of the pass, in order."""
    written = {pluck.id: pluck for measure in plan.measures for pluck in measure.plucks}
    slurs = []
    for pluck in expected:
        if pluck.picked:
            continue
        score = written[pluck.id]
        source_place = pluck.place if pluck.source is None else expected[pluck.source].place
        slurs.append(
            Slur(
                pluck=pluck,
                slide=score.technique == "slide",
                source_pitch=pluck.pitch - score.fret + (score.fret if score.from_fret is None else score.from_fret),
                source_place=source_place,
                opens=times[source_place] - windows[source_place][0],
                closes=times[pluck.place] + windows[pluck.place][1],
            )
        )
    return slurs


def windows_at(times: Sequence[int], index: int) -> tuple[int, int]:
    """How far the window of a place reaches before and after it, in microseconds, given the times of all places."""

    def window(gap: int) -> int:
        return max(LEAST_WINDOW, min(MOST_WINDOW, gap // 2))

    early = window(times[index] - times[index - 1]) if index else MOST_WINDOW
    late = window(times[index + 1] - times[index]) if index + 1 < len(times) else MOST_WINDOW
    return early, late


def _tolerance(times: tuple[int, ...], index: int) -> int:
    """How far from a place is still on time."""
    gaps = [abs(times[other] - times[index]) for other in (index - 1, index + 1) if 0 <= other < len(times)]
    return max(LEAST_TOLERANCE, min(MOST_TOLERANCE, min(gaps, default=MOST_WINDOW * 2) // TOLERANCE_SHARE))
