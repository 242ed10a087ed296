"""Strokes: the verdicts of a pass beside the plucks they are on, with what a teacher looks at around each.

A stroke's *slot* is its place in the measure's grid; its *half* is 0 on the first slot of a pair and 1 on the second
(the slots that a bounce makes long and short), None off both or in a metre without such pairs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby

from coach.arranging.arrangement import ArrangedMeasure, Pluck
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult
from coach.listening.verdicts import NoteVerdict

__all__ = ["PassStrokes", "Stroke", "leaders", "strokes_of"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """One expected pluck and what became of it.

    Attributes:
        note: the verdict.
        pluck: what was written.
        pass_number: of its pass.
        step: its slot in the pass, counted from the first measure that is no pickup; None off the grid.
        slot: the number of its slot in the measure, from 0; None off the grid and in a pickup measure.
        half: see the module's text.
        gap_ms: to the nearer neighbouring onset that is written, in milliseconds; None where there is none.
        since_change: how many onsets ago the chord changed, 0 on the change; None further on and before the first.
        since_slide: the same from a slide.
        after_slur: whether the pluck before is slurred and this one is picked.
        open_roll: whether its whole measure is a roll on open strings.
        left_out: whether it was missed, and no extra note of its pitch near it could have been meant for it.
    """

    note: NoteVerdict
    pluck: Pluck
    pass_number: int
    step: int | None
    slot: int | None
    half: int | None
    gap_ms: float | None
    since_change: int | None
    since_slide: int | None
    after_slur: bool
    open_roll: bool
    left_out: bool

    @property
    def measure(self) -> int:
        """The number of its measure."""
        return self.note.pluck.measure

    @property
    def place(self) -> int:
        """The index of its onset in the pass."""
        return self.note.pluck.place

    @property
    def offset_ms(self) -> float | None:
        """Its offset where the time of a picked note counts, else None."""
        timed = self.note.pluck.picked and self.note.played
        return self.note.offset_ms if timed else None


@dataclass(frozen=True, slots=True)
class PassStrokes:
    """A pass: its result, and its strokes in the order of its notes, but for those that a stop cut off.

    ``onsets`` are its leading strokes; see :func:`leaders`.
    """

    result: PassResult
    strokes: tuple[Stroke, ...]
    onsets: tuple[Stroke, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "onsets", tuple(leaders(self.strokes)))  # asked for by each of what looks at it


_NEAR = 3  # onsets after a change or slide that it may still hold up
_LEAST_ROLL = 6  # onsets that make a measure a roll
_MEANT = 300_000  # microseconds: as far as any window reaches


def strokes_of(result: PassResult) -> PassStrokes:
    """The strokes of a pass."""
    settings = {name: each for each in _settings(result.plan) for name in each.plucks}
    times = sorted({note.pluck.time for note in result.notes})
    index = {time: i for i, time in enumerate(times)}
    extras: dict[int, list[int]] = {}
    for extra in result.extras:
        extras.setdefault(extra.pitch, []).append(extra.time)
    last_change = last_slide = None
    before: Pluck | None = None
    strokes = []
    for note in result.reached:
        setting = settings[note.pluck.id]
        pluck, slot = setting.plucks[note.pluck.id]
        time = note.pluck.time
        onset = index[time]
        if pluck.at in setting.changes:
            last_change = onset
        if pluck.technique == "slide":
            last_slide = onset
        gaps = [abs(times[other] - time) for other in (onset - 1, onset + 1) if 0 <= other < len(times)]
        step = None if slot is None or setting.step is None else setting.step + slot
        strokes.append(
            Stroke(
                note=note,
                pluck=pluck,
                pass_number=result.plan.number,
                step=step,
                slot=None if setting.is_pickup else slot,
                half=None if step is None or setting.compound else step % 2,
                gap_ms=min(gaps) / 1000 if gaps else None,
                since_change=_since(last_change, onset),
                since_slide=_since(last_slide, onset),
                after_slur=before is not None and before.technique != "pick" and pluck.technique == "pick",
                open_roll=setting.open_roll,
                left_out=note.verdict == "missed"
                and not any(abs(heard - time) <= _MEANT for heard in extras.get(pluck.pitch, ())),
            )
        )
        before = pluck
    return PassStrokes(result, tuple(strokes))


def leaders(strokes: Sequence[Stroke]) -> Iterator[Stroke]:
    """One timed stroke for each onset, in order: the melody note of a pinch, else its first; those without time are
    passed over."""
    for _, together in groupby(strokes, key=lambda stroke: (stroke.pass_number, stroke.place)):
        timed = [stroke for stroke in together if stroke.offset_ms is not None]
        if timed:
            yield next((stroke for stroke in timed if stroke.note.pluck.melody), timed[0])


@dataclass(frozen=True, slots=True)
class _Setting:
    """What is the same for all plucks of a measure: the plucks with their slots by id, the step on which it starts
    (None off the grid), where other chords come, and of what kind it is."""

    plucks: dict[str, tuple[Pluck, int | None]]
    step: int | None
    changes: frozenset[Fraction]
    is_pickup: bool
    compound: bool
    open_roll: bool


def _settings(plan: PassPlan) -> Iterator[_Setting]:
    grid = plan.arrangement.slot
    phase = plan.tempo_map_from(0.0).phase
    compound = any(measure.meter.compound for measure in plan.measures)
    changes = _changes(plan)
    for measure, start in plan.starts:
        steps, off = divmod(start - phase, grid)
        own = measure.slot or grid
        plucks = {}
        for pluck in measure.plucks:
            slot, rest = divmod(pluck.at, own)
            plucks[pluck.id] = (pluck, None if rest else int(slot))
        yield _Setting(
            plucks=plucks,
            step=None if off or own != grid else int(steps),
            changes=changes.get(measure.number, frozenset()),
            is_pickup=measure.number == 0,
            compound=compound,
            open_roll=_is_open_roll(measure),
        )


def _since(event: int | None, onset: int) -> int | None:
    return None if event is None or onset - event >= _NEAR else onset - event


def _is_open_roll(measure: ArrangedMeasure) -> bool:
    return len({pluck.at for pluck in measure.plucks}) >= _LEAST_ROLL and all(
        pluck.fret == 0 and pluck.technique == "pick" for pluck in measure.plucks
    )


def _changes(plan: PassPlan) -> dict[int, frozenset[Fraction]]:
    """Where, after the start of the pass, another chord comes: positions by the number of the measure."""
    changes: dict[int, frozenset[Fraction]] = {}
    first = plan.measures[0].number
    before = None
    for measure in plan.arrangement.measures:
        found = set()
        for change in measure.chords:
            if before is not None and change.chord != before and (measure.number != first or change.at > 0):
                found.add(change.at)
            before = change.chord
        changes[measure.number] = frozenset(found)
    return changes
