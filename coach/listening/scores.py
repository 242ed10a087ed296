"""Scores of measures and passes: counts, averages, and what is clean.

Clean (contract of the report)
    A measure is clean when every melody pluck was played, the rest has at most one fault (missed, wrong, extra; a
    pinch or slur counts once), and off-time plucks are at most one, or 20 % where that is more. A measure in which
    plucks are expected and none was played is not clean. A pass is clean when it was played to its end and at most one
    in eight of its measures (rounded down) was not clean.
Averages
    Over picked notes that were played; spread is the population standard deviation; all in milliseconds, raw.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import sqrt
from statistics import fmean, median

from coach.listening.passages import Passage
from coach.listening.plan import MOST_LEAN_MS, PassPlan
from coach.listening.traits import Traits
from coach.listening.verdicts import Extra, NoteVerdict

__all__ = [
    "Dropped",
    "MeasureScore",
    "PassResult",
    "Summary",
    "following",
    "lean_of",
    "pass_is_clean",
    "score_measure",
    "summarise",
]

OFF_TIME_SHARE = 5  # one in five
UNCLEAN_SHARE = 8  # one in eight


@dataclass(frozen=True, slots=True)
class MeasureScore:
    """The score of a measure in a pass; see the module's text. Averages are None where nothing was timed."""

    number: int
    pass_number: int
    expected: int
    played: int
    missed: int
    wrong: int
    extra: int
    off_time: int
    mean_offset_ms: float | None
    spread_ms: float | None
    melody_heard: float | None
    clean: bool


@dataclass(frozen=True, slots=True)
class Dropped:
    """A note that was no note of the player's: its stamp in the take, pitch and the reason."""

    seconds: float
    pitch: int
    reason: str
    seq: int


@dataclass(frozen=True, slots=True)
class PassResult:
    """All that came of a pass.

    Attributes:
        plan: what was played.
        notes: one for each expected pluck, in order.
        extras, dropped: by time.
        measures: by number.
        whole: it was played to its end.
        clean: see the module's text.
        slurs_shown: the instrument has shown a slur by the end of the pass.
        passages: where the player was not where the solo was, or played it in another manner, in order.
        kept_going: the player never fell silent before the end: the first rule of a jam.
        tolerance_ms: what was set to be on time, in milliseconds either way; None for a share of the gap.
        traits: what the passes up to this one have shown of the player and the instrument.
    """

    plan: PassPlan
    notes: tuple[NoteVerdict, ...]
    extras: tuple[Extra, ...]
    dropped: tuple[Dropped, ...]
    measures: tuple[MeasureScore, ...]
    whole: bool
    clean: bool
    slurs_shown: bool
    tolerance_ms: float | None = None
    passages: tuple[Passage, ...] = ()
    kept_going: bool = True
    traits: Traits = field(default=Traits())

    @property
    def reached(self) -> tuple[NoteVerdict, ...]:
        """The notes up to the last that was heard; all of them where the pass was played to its end.

        What a stop cut off is missed, and no fault of the player's.
        """
        if self.whole:
            return self.notes
        heard = [index for index, note in enumerate(self.notes) if note.verdict != "missed"]
        return self.notes[: heard[-1] + 1] if heard else ()

    @property
    def reached_passages(self) -> tuple[Passage, ...]:
        """The passages, but for the silence that goes on to where the pass was stopped."""
        notes = self.reached
        last = notes[-1].pluck.index if notes else -1
        return tuple(each for each in self.passages if each.kind != "stopped" or each.first.index <= last or self.whole)


@dataclass(frozen=True, slots=True)
class Summary:
    """A take in four numbers; None where there is nothing to average."""

    played_share: float | None
    mean_offset_ms: float | None
    spread_ms: float | None
    tempo_drift_percent: float | None


def following(plan: PassPlan, before: PassResult | None) -> PassPlan:
    """The plan of a pass with what the pass before, None for the first, has taught of the player and the instrument."""
    if before is None:
        return plan
    return replace(plan, slurs_shown=plan.slurs_shown or before.slurs_shown, traits=before.traits)


def score_measure(number: int, pass_number: int, notes: Sequence[NoteVerdict], extras: Sequence[Extra]) -> MeasureScore:
    """Score a measure.

    Args:
        number: of the measure.
        pass_number: of the pass.
        notes: the verdicts on its plucks.
        extras: the extras in it.
    """
    offsets: list[float] = []
    played = missed = wrong = off_time = melody = melody_played = 0
    groups = set()
    for note in notes:
        pluck, verdict = note.pluck, note.verdict
        if note.timing == "early" or note.timing == "late":
            off_time += 1
        if pluck.melody:
            melody += 1
        if note.played:
            played += 1
            melody_played += pluck.melody
            if pluck.picked and note.offset is not None:
                offsets.append(note.offset / 1000)
        else:
            missed += verdict == "missed"
            wrong += verdict == "wrong note"
            if not pluck.melody:
                groups.add(pluck.group)
    faults = len(groups) + sum([extra.fault for extra in extras])
    is_clean = (
        melody_played == melody
        and faults <= 1
        and (off_time <= 1 or off_time * OFF_TIME_SHARE <= len(notes))
        and (played > 0 or not notes)
    )
    counts = (len(notes), played, missed, wrong, len(extras), off_time)
    mean_ms = spread_ms = None
    if offsets:
        mean = fmean(offsets)
        mean_ms, spread_ms = _rounded(mean), _rounded(_spread(offsets, mean))
    heard = _rounded(melody_played / melody, 4) if melody else None
    return MeasureScore(number, pass_number, *counts, mean_ms, spread_ms, heard, is_clean)


def pass_is_clean(measures: Sequence[MeasureScore], *, whole: bool) -> bool:
    """Whether a pass is clean, given its measures and whether it was played to its end."""
    return whole and sum(not measure.clean for measure in measures) <= len(measures) // UNCLEAN_SHARE


def lean_of(results: Iterable[PassResult]) -> float:
    """The player's lean in milliseconds: the median offset of picked notes that were played, limited to ±40 ms.

    0 where there are none.
    """
    offsets = [offset for result in results for offset in _timed(result.notes)]
    return max(-MOST_LEAN_MS, min(MOST_LEAN_MS, _rounded(median(offsets)))) if offsets else 0.0


def summarise(results: Sequence[PassResult]) -> Summary:
    """Sum up the passes of a take."""
    notes = [note for result in results for note in result.notes]
    offsets = _timed(notes)
    return Summary(
        played_share=_rounded(sum(note.played for note in notes) / len(notes), 4) if notes else None,
        mean_offset_ms=_rounded(fmean(offsets)) if offsets else None,
        spread_ms=_rounded(_spread(offsets, fmean(offsets))) if offsets else None,
        tempo_drift_percent=_drift(results),
    )


def _drift(results: Sequence[PassResult]) -> float | None:
    """How much faster than the click, in percent, the player's line through the offsets runs.

    The least-squares slope of offset over click time, with an intercept for each pass; a slope b means that a click's
    second takes the player 1 + b.
    """
    products = squares = 0.0
    for result in results:
        points = [
            (note.pluck.time, note.offset) for note in result.notes if note.offset is not None and _is_timed(note)
        ]
        if points:
            middle = fmean(time for time, _ in points)
            mean = fmean(offset for _, offset in points)
            products += sum((time - middle) * (offset - mean) for time, offset in points)
            squares += sum((time - middle) ** 2 for time, _ in points)
    # Offsets lie nearer to their own place than to the next, so the slope stays above -1.
    return _rounded((1 / (1 + products / squares) - 1) * 100) if squares else None


def _is_timed(note: NoteVerdict) -> bool:
    return note.pluck.picked and note.played


def _timed(notes: Iterable[NoteVerdict]) -> list[float]:
    """The offsets, in milliseconds, of picked notes that were played."""
    return [note.offset / 1000 for note in notes if note.offset is not None and _is_timed(note)]


def _spread(offsets: Sequence[float], mean: float) -> float:
    """The population standard deviation; the exact one of the standard library takes longer than all the rest."""
    return sqrt(fmean([(offset - mean) ** 2 for offset in offsets]))


def _rounded(value: float, digits: int = 3) -> float:
    """A number without the noise of floats; never minus zero."""
    return round(value, digits) + 0.0
