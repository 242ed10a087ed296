"""What is told of each pass of a take beside its verdicts: how it was played, in numbers and in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from coach.listening.findings import Finding
from coach.listening.playing import MeasurePlaying, PassPlaying, playing_of
from coach.listening.saying import Saying, findings_of, say
from coach.listening.scores import PassResult
from coach.listening.slurring import picked_instead
from coach.listening.strokes import PassStrokes, strokes_of

__all__ = ["MOST_PASSES", "Told", "measure_playing_record", "playing_record", "said_records", "tell", "tell_last"]

MOST_PASSES = 3
"""How many passes, the last among them, are looked at for habits: older ones tell of what may be cured by now."""


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of a pass.

    Attributes:
        playing: in numbers.
        said: one to three sentences, the most useful first.
        found: all that was found, said or not, what costs most first.
    """

    playing: PassPlaying
    said: tuple[Saying, ...]
    found: tuple[Finding, ...] = ()


def tell(results: Sequence[PassResult], *, to_click: bool = True) -> tuple[Told, ...]:
    """What is told of each of some passes through a solo, in order; each is seen in the light of those before it.

    Args:
        results: what came of the passes.
        to_click: whether they were played to a click.
    """
    passes = [strokes_of(result) for result in results]
    return tuple(_told(passes[max(0, i + 1 - MOST_PASSES) : i + 1], to_click=to_click) for i in range(len(passes)))


def tell_last(results: Sequence[PassResult], *, to_click: bool = True) -> Told:
    """What is told of the last of some passes through a solo, at least one; see :func:`tell`."""
    return _told([strokes_of(result) for result in results[-MOST_PASSES:]], to_click=to_click)


def _told(seen: Sequence[PassStrokes], *, to_click: bool) -> Told:
    """What is told of the last of the passes that are looked at."""
    picked = tuple(stroke.pluck.id for stroke in picked_instead(seen))
    playing = replace(playing_of(seen[-1]), picked_slurs=picked)
    found = findings_of(seen, to_click=to_click)
    return Told(playing, say(seen, to_click=to_click, found=found), found)


def playing_record(playing: PassPlaying) -> dict[str, Any]:
    """How a pass was played, as it stands in a report."""
    return {
        "pass": playing.pass_number,
        "mean_offset_ms": playing.mean_offset_ms,
        "spread_ms": playing.spread_ms,
        "evenness_ms": playing.evenness_ms,
        "swing": playing.swing,
        "tempo_drift_percent": playing.tempo_drift_percent,
        "melody_heard": playing.melody_heard,
        "melody_db": playing.melody_db,
        "other_strings": playing.other_strings,
        "picked_not_slurred": list(playing.picked_slurs),
        "positions": [{"slot": each.slot, "offset_ms": each.offset_ms} for each in playing.positions],
    }


def measure_playing_record(playing: MeasurePlaying) -> dict[str, Any]:
    """What a measure's entry in a report says after its score."""
    return {
        "evenness_ms": playing.evenness_ms,
        "swing": playing.swing,
        "melody_db": playing.melody_db,
        "other_strings": playing.other_strings,
    }


def said_records(told: Told) -> list[dict[str, Any]]:
    """What was said of a pass, as it stands in a report."""
    return [
        {"pass": told.playing.pass_number, "text": saying.text, "measures": list(saying.measures)}
        for saying in told.said
    ]
