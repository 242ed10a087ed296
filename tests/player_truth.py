"""The truth of a simulated pass: the verdict on each pluck, from what the player really did.

By the words of the report's contract, and by nothing of the listener's: which stroke was for which pluck is known here,
so nothing is paired, and no artefact is there. A stroke outside the windows of its pluck is no playing of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from player_noise import Stroke

from coach.arranging.arrangement import Pluck
from coach.listening.plan import PassPlan

__all__ = ["true_verdicts"]

PINCH = 0.060  # seconds that an added note of a pinch may be from its melody note to go with it
LEAST_WINDOW, MOST_WINDOW = 0.060, 0.300
LEAST_TOLERANCE, MOST_TOLERANCE = 0.030, 0.080


@dataclass(frozen=True, slots=True)
class _Due:
    """A pluck that is due, with its windows and its tolerance in seconds."""

    pluck: Pluck
    early: float
    late: float
    tolerance: float
    melody: bool


def true_verdicts(
    plan: PassPlan, strokes: Sequence[Stroke], *, tells_strings: bool, shows_slurs: bool
) -> tuple[dict[str, str], dict[str, float]]:
    """The verdict on each pluck of a pass, and by id the offset in seconds of what was played for it.

    Args:
        plan: of the pass; its lean is taken off.
        strokes: what was really played.
        tells_strings: whether the instrument tells strings; no note is called ``other string`` where it does not.
        shows_slurs: whether it shows slurs; where it does not, a slurred pluck counts as played with its pick.

    Of what was played twice the better counts. Inside a passage offsets are from where the player was.
    """
    due = _due(plan)
    moments: dict[int, list[Stroke]] = {}
    for stroke in strokes:
        if stroke.id in due:
            moments.setdefault(round(stroke.meant * 1e6), []).append(stroke)
    half_slot = plan.tempo_map_from(0.0).seconds(plan.arrangement.slot) / 2
    verdicts = dict.fromkeys(due, "missed")
    offsets: dict[str, float] = {}
    for _, together in sorted(moments.items()):
        leader = _leader(together, due)
        for stroke in together:
            pluck = due[stroke.id or ""]
            offset = stroke.seconds - stroke.meant
            if not -pluck.early <= offset <= pluck.late:
                continue
            goes_along = leader is not None and stroke.pitch == pluck.pluck.pitch and not _is_slurred(pluck.pluck)
            if leader is not None and goes_along and abs(stroke.seconds - leader.seconds) <= min(PINCH, half_slot):
                offset = leader.seconds - leader.meant
            verdict = _timing(offset - plan.lean_ms / 1000, pluck.tolerance)
            if stroke.pitch != pluck.pluck.pitch:
                verdict = "wrong note"
            elif stroke.string != pluck.pluck.string and tells_strings:
                verdict = "other string"
            elif _is_slurred(pluck.pluck):
                verdict = "on time"
            if _worth(verdict) > _worth(verdicts[pluck.pluck.id]):
                verdicts[pluck.pluck.id] = verdict
                offsets[pluck.pluck.id] = stroke.seconds - stroke.meant
    if not shows_slurs:
        for slurred, pick in _picks(due.values()):
            if verdicts[pick] not in ("missed", "wrong note"):
                verdicts[slurred] = "on time"
    return verdicts, offsets


def _due(plan: PassPlan) -> dict[str, _Due]:
    """What is due in a pass, by id."""
    seconds = plan.tempo_map_from(0.0).seconds
    times = sorted({seconds(start + pluck.at) for measure, start in plan.starts for pluck in measure.plucks})
    gaps = [after - before for before, after in pairwise(times)]
    carriers = {note.pluck for measure in plan.measures for note in measure.melody if note.kept}
    due = {}
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            at = times.index(seconds(start + pluck.at))
            sides = [gaps[at - 1] if at else 2 * MOST_WINDOW, gaps[at] if at < len(gaps) else 2 * MOST_WINDOW]
            early, late = (min(MOST_WINDOW, max(LEAST_WINDOW, gap / 2)) for gap in sides)
            tolerance = min(MOST_TOLERANCE, max(LEAST_TOLERANCE, min(sides) / 5))
            melody = pluck.role == "melody" or pluck.id in carriers
            due[pluck.id] = _Due(pluck, early, late, tolerance, melody)
    return due


def _leader(together: Sequence[Stroke], due: dict[str, _Due]) -> Stroke | None:
    """The stroke by which a pinch is timed: that of its melody, else the first; None where no two were picked right."""
    picked = [s for s in together if not _is_slurred(due[s.id or ""].pluck) and s.pitch == due[s.id or ""].pluck.pitch]
    if len(picked) < 2:
        return None
    return next((s for s in picked if due[s.id or ""].melody), min(picked, key=lambda s: s.seconds))


def _picks(due: Iterable[_Due]) -> list[tuple[str, str]]:
    """For each slurred pluck the pick that its slur began with."""
    picks: list[tuple[str, str]] = []
    last: dict[int, str] = {}
    for each in due:
        pluck = each.pluck
        if not _is_slurred(pluck):
            last[pluck.string] = pluck.id
        elif pluck.string in last:
            picks.append((pluck.id, last[pluck.string]))
    return picks


def _is_slurred(pluck: Pluck) -> bool:
    return pluck.technique != "pick"


def _timing(offset: float, tolerance: float) -> str:
    return "early" if offset < -tolerance else "late" if offset > tolerance else "on time"


def _worth(verdict: str) -> int:
    """How much is heard: nothing, something, the pluck."""
    return {"missed": 0, "wrong note": 1}.get(verdict, 2)
