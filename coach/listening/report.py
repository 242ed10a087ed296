"""The report of a take: what became of every expected pluck, format ``report/1``.

:func:`score` drives the :class:`~coach.listening.listener.Listener` that listens live. It hears a take twice: the first
hearing tells the player's lean and the traits of player and instrument, which a live session, and its replay, can only
learn from the passes before. But for these two a recorded take gets the verdicts that it got when it was played.
"""

from __future__ import annotations

import json
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from coach.arranging.files import digest
from coach.listening.heard import Sound
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan, Settings
from coach.listening.scores import MeasureScore, PassResult, Summary, following, lean_of, summarise
from coach.listening.told import Told, measure_playing_record, playing_record, said_records, tell
from coach.listening.traits import Traits

__all__ = [
    "FORMAT",
    "SCORING",
    "Report",
    "Scored",
    "boundary",
    "make_report",
    "measure_record",
    "score",
    "score_passes",
    "with_boundaries",
]

FORMAT = "report/1"

SCORING = 3
"""The version of the scorer; it rises when verdicts or scores come out otherwise for the same take."""

EARLY_WINDOW = 0.3  # seconds before the first place of a pass that belong to it


@dataclass(frozen=True, slots=True)
class Report:
    """A report.

    Attributes:
        results: the passes, in order; at least one, all of one arrangement.
        lean_ms: what was taken off before early and late were judged; that of the last pass where they differ.
        remarks: what the reader should know of how it was judged, one sentence each.
        known: what is told of each pass, where that is known already.
    """

    results: tuple[PassResult, ...]
    lean_ms: float
    remarks: tuple[str, ...]
    known: tuple[Told, ...] | None = None

    @property
    def summary(self) -> Summary:
        """The take in four numbers."""
        return summarise(self.results)

    @property
    def told(self) -> tuple[Told, ...]:
        """For each pass how it was played, in numbers and sentences."""
        return tell(self.results) if self.known is None else self.known

    def to_json(self) -> str:
        """The report as JSON text, keys in their order, a line for each entry, with a newline at the end."""
        told = self.told
        summary = self.summary
        single: dict[str, Any] = {
            "summary": {
                "played_share": summary.played_share,
                "mean_offset_ms": summary.mean_offset_ms,
                "spread_ms": summary.spread_ms,
                "tempo_drift_percent": summary.tempo_drift_percent,
            }
        }
        if self.remarks:
            single["remarks"] = list(self.remarks)
        lines = [*_lines(self._head()), *_lists(self._entries(told)), *_lines(single), *_lists(_told_entries(told))]
        return "{\n" + ",\n".join(lines) + "\n}\n"

    def _head(self) -> dict[str, Any]:
        plan = self.results[-1].plan
        arrangement = plan.arrangement
        return {
            "format": FORMAT,
            "scoring": SCORING,
            "tune": arrangement.tune,
            "digest": digest(arrangement),
            "title": arrangement.title,
            "tier": arrangement.tier,
            "tempo": round(plan.tempo, 3),
            "lean_ms": self.lean_ms,
            "bounce": plan.tempo_map.bounce,
        }

    def _entries(self, told: Sequence[Told]) -> dict[str, list[dict[str, Any]]]:
        return {
            "notes": [
                {
                    "id": note.pluck.id,
                    "measure": note.pluck.measure,
                    "pass": result.plan.number,
                    "verdict": note.verdict,
                    "offset_ms": note.offset_ms,
                    "pitch": note.pitch,
                    "string": note.string,
                }
                for result in self.results
                for note in result.notes
            ],
            "extra": [
                {
                    "measure": extra.measure,
                    "pass": result.plan.number,
                    "at": str(extra.at),
                    "pitch": extra.pitch,
                    "string": extra.string,
                    "fault": extra.fault,
                }
                for result in self.results
                for extra in result.extras
            ],
            "dropped": [
                {"seconds": round(dropped.seconds, 6), "pitch": dropped.pitch, "reason": dropped.reason}
                for result in self.results
                for dropped in result.dropped
            ],
            "passages": [
                {
                    "pass": passage.pass_number,
                    "from": passage.first.id,
                    "to": passage.last.id,
                    "kind": passage.kind,
                    "slots": passage.slots,
                }
                for result in self.results
                for passage in result.passages
            ],
            "measures": [
                measure_record(measure) | measure_playing_record(playing)
                for result, each in zip(self.results, told, strict=True)
                for measure, playing in zip(result.measures, each.playing.measures, strict=True)
            ],
            "passes": [
                {
                    "pass": result.plan.number,
                    "tempo": round(result.plan.tempo, 3),
                    "measures": result.plan.span,
                    "whole": result.whole,
                    "clean": result.clean,
                    "kept_going": result.kept_going,
                }
                for result in self.results
            ],
        }


def measure_record(score: MeasureScore) -> dict[str, Any]:
    """A measure's score as it stands in a report."""
    return {
        "number": score.number,
        "pass": score.pass_number,
        "expected": score.expected,
        "played": score.played,
        "missed": score.missed,
        "wrong": score.wrong,
        "extra": score.extra,
        "off_time": score.off_time,
        "mean_offset_ms": score.mean_offset_ms,
        "spread_ms": score.spread_ms,
        "melody_heard": score.melody_heard,
        "clean": score.clean,
    }


def make_report(results: Sequence[PassResult], told: Sequence[Told] | None = None) -> Report:
    """The report on passes of one arrangement.

    Args:
        results: what came of the passes, in order.
        told: what is told of each, as ``told.tell_last`` gave it when it was over; None to find it out.

    Raises:
        ValueError: when there are none.
    """
    if not results:
        raise ValueError("a report needs at least one pass")
    assumed = sum(note.assumed for result in results for note in result.notes)
    remarks = []
    if assumed:
        some = "1 slurred note was" if assumed == 1 else f"{assumed} slurred notes were"
        remarks.append(f"The instrument has shown no slurs: {some} counted as played with the pick before.")
    known = None if told is None else tuple(told)
    return Report(tuple(results), results[-1].plan.lean_ms, tuple(remarks), known)


@dataclass(frozen=True, slots=True)
class Scored:
    """A pass to be scored: its plan, and when the player stopped it (seconds of the take), if so."""

    plan: PassPlan
    stopped: float | None = None


def score(
    passes: Sequence[Scored],
    sounds: Iterable[Sound],
    *,
    end: float | None = None,
    lean_ms: float | None = None,
    settings: Settings | None = None,
) -> Report:
    """Score a take.

    Args:
        passes: its passes in order, all of one arrangement.
        sounds: all notes and bends of the take.
        end: its end in seconds; plucks after it are not expected.
        lean_ms: what to take for the player's lean; None for the median of the take.
        settings: of the player and the instrument.

    Raises:
        ValueError: when there is no pass.
    """
    bounded = with_boundaries(passes)
    heard = sorted(sounds, key=lambda sound: (sound.seconds, sound.seq))
    # Offsets and pairs do not depend on the lean, so it can be read off a first hearing.
    first = score_passes(_leaning(bounded, lean_ms or 0.0), heard, end=end, settings=settings)
    traits = first[-1].traits if first else None
    lean_ms = lean_of(first) if lean_ms is None else lean_ms
    return make_report(score_passes(_leaning(bounded, lean_ms), heard, end=end, settings=settings, traits=traits))


def score_passes(
    passes: Sequence[Scored],
    heard: Sequence[Sound],
    *,
    end: float | None = None,
    settings: Settings | None = None,
    traits: Traits | None = None,
) -> list[PassResult]:
    """Score passes with the lean and the boundaries that each plan has; ``heard`` is in order of time.

    ``traits`` are those of the player and the instrument in all passes; None to learn them from the passes before.
    """
    results: list[PassResult] = []
    for entry in passes:
        plan = following(entry.plan, results[-1] if results else None)
        listener = Listener(plan if traits is None else replace(plan, traits=traits), settings)
        if entry.stopped is not None:
            listener.stop(entry.stopped)
        reach = 1.0 + abs(listener.settings.latency.most) / 1000
        since = bisect_left(heard, entry.plan.origin - reach, key=lambda sound: sound.seconds)
        for sound in heard[since:]:
            if entry.plan.closes is not None and sound.seconds > entry.plan.closes + reach:
                break
            listener.take(sound)
        listener.finish(end)
        assert listener.result is not None
        results.append(listener.result)
    return results


def with_boundaries(passes: Sequence[Scored]) -> list[Scored]:
    """Set where each pass gives way to the next; see :func:`boundary`."""
    bounded = list(passes)
    for i in range(len(bounded) - 1):
        between = boundary(bounded[i].plan, bounded[i + 1].plan, bounded[i].stopped)
        bounded[i] = replace(bounded[i], plan=replace(bounded[i].plan, closes=between))
        bounded[i + 1] = replace(bounded[i + 1], plan=replace(bounded[i + 1].plan, opens=between))
    return bounded


def boundary(plan: PassPlan, following: PassPlan, stopped: float | None = None) -> float:
    """When, in seconds of the take, one pass gives way to the next.

    300 ms before the first place of the next, or half-way from the last place before that where this is nearer (places
    after the stop of a pass do not count). A pass that has not come to its end by then ended there.
    """
    first = min(_onsets(following), default=following.origin)
    until = first if stopped is None else min(first, stopped)
    before = max((onset for onset in _onsets(plan) if onset < until), default=None)
    early = EARLY_WINDOW if before is None else min(EARLY_WINDOW, (first - before) / 2)
    return first - early


def _onsets(plan: PassPlan) -> list[float]:
    """The seconds of the places of a pass."""
    tempo_map = plan.tempo_map
    return [tempo_map.seconds(start + pluck.at) for measure, start in plan.starts for pluck in measure.plucks]


def _leaning(passes: Sequence[Scored], lean_ms: float) -> list[Scored]:
    return [replace(entry, plan=replace(entry.plan, lean_ms=lean_ms)) for entry in passes]


def _told_entries(told: Sequence[Told]) -> dict[str, list[dict[str, Any]]]:
    return {
        "playing": [playing_record(each.playing) for each in told],
        "said": [record for each in told for record in said_records(each)],
    }


def _lines(values: Mapping[str, object]) -> list[str]:
    return [f' "{key}": {_text(value)}' for key, value in values.items()]


def _lists(values: Mapping[str, Sequence[object]]) -> list[str]:
    """Lists with a line for each entry."""
    bodies = {key: ",\n".join(f"  {_text(entry)}" for entry in entries) for key, entries in values.items()}
    return [f' "{key}": [\n{body}\n ]' if body else f' "{key}": []' for key, body in bodies.items()]


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)
