"""A sitting: what is played between sitting down and rising, with its phases, its rests and its limit of the tempo.

Phases of a sitting that was planned
    A warm-up on a roll study, below what is ready; then practice: whole passes and trouble spots; at the end something
    that the player can do. An open sitting is practice from the first pass to the last.
Rests
    After each half hour of playing a rest is asked for, once, behind a pass. A pause of :data:`REST` minutes is one.
Limit
    Players name sudden increases of load as a main cause of complaints (C. Chan & B. Ackermann 2014, Front. Psychol.
    5:706), so only one of tempo and minutes is raised: in a sitting that is longer than the last one, whether it was
    planned so or has become so by more than a pass, no tempo goes above the highest of that one. Pain, numbness or
    tingling means stop; what lasts is for a clinician.

Sizes without a source are common practice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from coach.ladder.rungs import PassSeen

__all__ = [
    "COUNTS",
    "Phase",
    "Sitting",
    "asked_to_rest",
    "begun",
    "most_tempo",
    "phase",
    "played",
    "rest_is_due",
    "without_rest",
]

Phase = Literal["warm-up", "practice", "known", "over"]

COUNTS = 5.0
"""A sitting of fewer minutes sets no limit to the one after it: to look at a tune for once is no practice."""

REST_EVERY, REST = 30.0, 5.0  # minutes
OVERRUN = 2.0  # minutes: the pass that is being played when the minutes are over may run on
LEFT = 120.0  # minutes: who comes back later than that has risen meanwhile
WARM_UP_SHARE, MOST_WARM_UP = 0.15, 5.0  # of the minutes, and minutes
KNOWN_SHARE, MOST_KNOWN = 0.15, 5.0
MINUTES_A_DAY = 1440.0


@dataclass(frozen=True, slots=True)
class Sitting:
    """A sitting, as far as it has gone.

    Attributes:
        minutes: that were planned, > 0; None for an open sitting.
        last_minutes, last_tempo: how long the last sitting was that counted, and the highest tempo played in it; None
            where there was none.
        began, ended: when its first pass began and its last one ended, in days; None before that.
        elapsed: minutes that were played.
        rested: the elapsed minutes at the last rest; below 0 where that was before it began.
        is_asked: a rest was asked for behind the last pass.
        top_tempo: the highest tempo that was played, 0 before the first pass.
    """

    minutes: float | None = None
    last_minutes: float | None = None
    last_tempo: float | None = None
    began: float | None = None
    ended: float | None = None
    elapsed: float = 0.0
    rested: float = 0.0
    is_asked: bool = False
    top_tempo: float = 0.0


def begun(
    minutes: float | None,
    *,
    last_minutes: float | None = None,
    last_tempo: float | None = None,
    without_rest: float = 0.0,
) -> Sitting:
    """A sitting that begins.

    Args:
        minutes: that there are; None where nothing is planned.
        last_minutes, last_tempo: of the last sitting of at least :data:`COUNTS` minutes; None where there was none.
        without_rest: minutes that were played just before, since the last rest.

    Raises:
        ValueError: when there are no minutes.
    """
    if minutes is not None and not 0 < minutes < float("inf"):
        raise ValueError(f"a sitting needs minutes, got {minutes!r}")
    return Sitting(minutes, last_minutes, last_tempo, rested=-without_rest)


def without_rest(sitting: Sitting, day: float | None = None) -> float:
    """The minutes that were played since the last rest; on a day, 0 where the player has paused since."""
    if day is not None and sitting.ended is not None and (day - sitting.ended) * MINUTES_A_DAY >= REST:
        return 0.0
    return sitting.elapsed - sitting.rested


def played(sitting: Sitting, seen: PassSeen) -> Sitting:
    """The sitting after a pass; a new, open one where the player was away long before it."""
    start = seen.day - seen.minutes / MINUTES_A_DAY
    away = 0.0 if sitting.ended is None else (start - sitting.ended) * MINUTES_A_DAY
    if away >= LEFT:
        sitting = _after(sitting)
    elif away >= REST:
        sitting = replace(sitting, rested=sitting.elapsed)
    return replace(
        sitting,
        began=start if sitting.began is None else sitting.began,
        ended=seen.day,
        elapsed=sitting.elapsed + seen.minutes,
        is_asked=False,
        top_tempo=max(sitting.top_tempo, seen.tempo),
    )


def rest_is_due(sitting: Sitting) -> bool:
    """Whether a rest is to be asked for now; ask behind a pass only, and say so by :func:`asked_to_rest`."""
    return without_rest(sitting) >= REST_EVERY


def asked_to_rest(sitting: Sitting) -> Sitting:
    """The sitting after a rest was asked for; the next half hour begins."""
    return replace(sitting, rested=sitting.elapsed, is_asked=True)


def most_tempo(sitting: Sitting) -> float | None:
    """The tempo, in whole quarters a minute, that none of this sitting is to go above; None for no limit."""
    last, tempo = sitting.last_minutes, sitting.last_tempo
    if last is None or tempo is None:
        return None
    is_longer = (sitting.minutes or 0.0) > last or sitting.elapsed > last + OVERRUN
    return float(math.floor(tempo)) if is_longer else None


def phase(sitting: Sitting) -> Phase:
    """Which part of it is on."""
    if sitting.minutes is None:
        return "practice"
    left = sitting.minutes - sitting.elapsed
    if left <= 0:
        return "over"
    if sitting.elapsed < min(MOST_WARM_UP, WARM_UP_SHARE * sitting.minutes):
        return "warm-up"
    return "known" if left <= min(MOST_KNOWN, KNOWN_SHARE * sitting.minutes) else "practice"


def _after(sitting: Sitting) -> Sitting:
    """The open sitting after one from which the player has risen."""
    if sitting.elapsed < COUNTS:
        return Sitting(None, sitting.last_minutes, sitting.last_tempo)
    return Sitting(None, sitting.elapsed, sitting.top_tempo)
