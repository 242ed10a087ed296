"""What a pass has shown, as the ladder sees it."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from coach.ladder.rungs import PassSeen
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult
from coach.service.accompany import length_of, positions_of
from coach.service.memory import days_of
from coach.service.orders import Ended
from coach.service.settings import measures_of

__all__ = ["seconds_of", "seen_of"]

_NEAR = 1e-3  # seconds by which an end may be missed that was waited for
_LEAST = 1e-3  # minutes


def seconds_of(ended: Ended) -> float:
    """How long a pass that came to its first measure was played: from position 0 to its end, or to where it was
    stopped, by the player or by the end of the service."""
    assert ended.result is not None
    plan = ended.result.plan
    if ended.stopped_at is not None:
        return max(0.0, ended.stopped_at - plan.origin)
    return max(0.0, ended.end - plan.origin) if ended.order.free or ended.stopped else length_of(plan)


def seen_of(ended: Ended, *, clean: bool, now: datetime) -> PassSeen:
    """What a pass to the click that came to its first measure has shown.

    Args:
        ended: the pass.
        clean: by its report, or by the player's own mark.
        now: the time of day, with its zone.
    """
    order, result = ended.order, ended.result
    assert result is not None
    marked = order.self_marked
    measures = result.plan.measures
    return PassSeen(
        tier=order.piece.tier,
        tempo=order.tempo,
        is_clean=clean,
        day=days_of(now),
        minutes=max(_LEAST, (order.lead + seconds_of(ended)) / 60),
        clean={} if marked else _clean(ended, result),
        faults={} if marked else _faults(result),
        mix=order.piece.mix,
        whole=not ended.stopped if marked else result.whole,
        all_measures=(measures[0].number, measures[-1].number) == measures_of(result.plan.arrangement),
        judged="marked" if marked else "heard",
        calibrated=order.instrument.calibrated,
        kept_going=None if marked else result.kept_going,
        kind=order.use,
        first=result.plan.first,
        last=result.plan.last,
    )


def measures_over(plan: PassPlan, seconds: float) -> set[int]:
    """The measures, by number, of a pass to the click that were over when it had gone on for so many seconds."""
    starts = positions_of(plan)
    ends = [*(at for _, at in starts[1:]), length_of(plan)]
    return {number for (number, _), end in zip(starts, ends, strict=True) if end <= seconds + _NEAR}


def _clean(ended: Ended, result: PassResult) -> dict[int, bool]:
    """Whether each measure was clean that was played to its end."""
    over = measures_over(result.plan, seconds_of(ended))
    return {score.number: score.clean for score in result.measures if score.number in over}


def _faults(result: PassResult) -> dict[int, str]:
    """What was wrong most with each measure that was not clean; of two that were wrong as often the first named."""
    found = {}
    for score in result.measures:
        if score.clean:
            continue
        timing = Counter(note.timing for note in result.notes if note.pluck.measure == score.number)
        counts = {
            "missed": score.missed,
            "a wrong note": score.wrong,
            "late": timing["late"],
            "early": timing["early"],
            "an extra note": score.extra,
        }
        found[score.number] = max(counts, key=lambda fault: counts[fault])
    return found
