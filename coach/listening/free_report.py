"""The report of a take in free time: format ``report/1`` with the player's tempo in place of offsets from a click.

What differs from the report of a take with a click: ``tempo`` is the player's own, the median over measures;
``offset_ms``, ``mean_offset_ms`` and ``tempo_drift_percent`` are null and ``lean_ms`` is 0, since there is no click;
``spread_ms`` is around the player's own line in each measure. Each measure has its ``tempo`` at the end (null where too
few onsets tell it), and the report ends with ``"free": true``. What is told of evenness, swing, the roll and the melody
goes by offsets from the player's own line; nothing is said that only a click can tell.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from coach.listening.free_time import Detour, FreePass, hear_freely
from coach.listening.heard import Sound
from coach.listening.plan import Settings
from coach.listening.report import Report, Scored, make_report
from coach.listening.told import Told, tell

__all__ = ["FreeReport", "score_freely"]

EARLY_WINDOW = 0.3  # seconds before a downbeat that belong to its pass, as with a click


@dataclass(frozen=True, slots=True)
class FreeReport:
    """A report of passes in free time.

    Attributes:
        passes: at least one, all of one arrangement.
        known: what is told of each, where that is known already.
    """

    passes: tuple[FreePass, ...]
    known: tuple[Told, ...] | None = None

    @property
    def report(self) -> Report:
        """The same as a report with a click; its offsets are from the player's own line."""
        return make_report([each.result for each in self.passes], self.told)

    @property
    def told(self) -> tuple[Told, ...]:
        """For each pass how it was played, in numbers and sentences."""
        if self.known is not None:
            return self.known
        return tell([each.result for each in self.passes], to_click=False)

    def to_json(self) -> str:
        """The report as JSON text, keys in their order, a line for each entry, with a newline at the end."""
        data: dict[str, Any] = json.loads(self.report.to_json())
        data["lean_ms"] = 0.0
        for note in data["notes"]:
            note["offset_ms"] = None
        tempos = [tempo for each in self.passes for tempo in each.tempos]
        for measure, tempo in zip(data["measures"], tempos, strict=True):
            measure["mean_offset_ms"] = None
            measure["tempo"] = tempo
        detours = [_record(detour, each.result.plan.number) for each in self.passes for detour in each.detours]
        data["passages"] = detours + data["passages"]
        data["summary"]["mean_offset_ms"] = data["summary"]["tempo_drift_percent"] = None
        for playing in data["playing"]:
            playing["mean_offset_ms"] = playing["tempo_drift_percent"] = None
        data["free"] = True
        return "{\n" + ",\n".join(_line(key, value) for key, value in data.items()) + "\n}\n"


def score_freely(
    passes: Sequence[Scored], sounds: Iterable[Sound], *, marked: bool = True, settings: Settings | None = None
) -> FreeReport:
    """Score a take in free time.

    Args:
        passes: its passes in order, all of one arrangement.
        sounds: all notes and bends of the take.
        marked: whether the passes begin at their downbeats; else there is one and all of the take belongs to it.
        settings: of the player and the instrument.

    Raises:
        ValueError: when there is no pass.
    """
    heard = sorted(sounds, key=lambda sound: (sound.seconds, sound.seq))
    opens = [entry.plan.origin - EARLY_WINDOW if marked else float("-inf") for entry in passes]
    results: list[FreePass] = []
    slurs_shown = False
    for entry, (since, until) in zip(passes, pairwise([*opens, float("inf")]), strict=True):
        until = until if entry.stopped is None else min(until, entry.stopped)
        inside = [sound for sound in heard if since <= sound.seconds < until]
        plan = replace(entry.plan, slurs_shown=entry.plan.slurs_shown or slurs_shown)
        results.append(hear_freely(plan, inside, settings))
        slurs_shown = results[-1].result.slurs_shown
    if not results:
        raise ValueError("a report needs at least one pass")
    return FreeReport(tuple(results))


def _record(detour: Detour, pass_number: int) -> dict[str, Any]:
    return {
        "pass": pass_number,
        "from": detour.first.id,
        "to": detour.last.id,
        "kind": detour.kind,
        "slots": detour.slots,
    }


def _line(key: str, value: object) -> str:
    if isinstance(value, list) and value and isinstance(value[0], dict):
        body = ",\n".join(f"  {json.dumps(entry, ensure_ascii=False)}" for entry in value)
        return f' "{key}": [\n{body}\n ]'
    return f' "{key}": {json.dumps(value, ensure_ascii=False)}'
