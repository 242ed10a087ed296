"""A sitting: what is played in the minutes that there are, from the warm-up to something known at the end.

Order
    A warm-up on a roll study, below what is ready; then whole passes with trouble spots between them, each spot looped
    a few times at most before something else comes (material that is mixed and spaced is kept better than material
    that is hammered: J. B. Shea & R. L. Morgan 1979, J. Exp. Psychol.: Hum. Learn. Mem. 5, 179-187; N. J. Cepeda et
    al. 2006, Psychol. Bull. 132, 354-380; both from memory); at the end something that the player can do.
Care
    After each half hour of playing a rest is asked for, behind a pass. In a sitting that is longer than the last one no
    tempo goes above the highest of that one: players name sudden increases of load as a main cause of complaints
    (C. Chan & B. Ackermann 2014, Front. Psychol. 5:706), so only one of tempo and minutes is raised. Pain, numbness or
    tingling means stop; what lasts is for a clinician.

Sizes without a source are common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from coach.ladder.spots import Spot

__all__ = ["Kind", "Rung", "Sitting", "Stand", "next_rung", "played", "rest_is_due"]

Kind = Literal["warm-up", "whole", "spot", "known"]

REST_EVERY = 30.0  # minutes
WARM_UP_SHARE, MOST_WARM_UP = 0.15, 5.0  # of the minutes, and minutes
KNOWN_SHARE, MOST_KNOWN = 0.15, 5.0
WARM_UP_TEMPO = 0.75  # of the ready tempo of the whole
LOOPS = 3  # passes through a spot before something else comes


@dataclass(frozen=True, slots=True)
class Rung:
    """What to play next.

    Attributes:
        kind: what for.
        tempo: of the click, in quarters a minute.
        first, last: the numbers of the measures, lead-in included; None for all.
        why: one sentence.
    """

    kind: Kind
    tempo: float
    first: int | None
    last: int | None
    why: str


@dataclass(frozen=True, slots=True)
class Stand:
    """Where the player stands with a solo.

    Attributes:
        ready: the ready tempo of the whole.
        goal: the tempo that is wished.
        next_tempo: at which the whole is to be played next, by the rule of the tempo.
        spots: the trouble spots, the worst first.
        has_known: whether there is a tune that the player can do at its goal.
    """

    ready: float
    goal: float
    next_tempo: float
    spots: tuple[Spot, ...] = ()
    has_known: bool = False


@dataclass(frozen=True, slots=True)
class Sitting:
    """A sitting, as far as it has gone.

    Attributes:
        minutes: that there are, > 0.
        most_tempo: no tempo is to go above this; None for no such limit.
        elapsed: minutes that were played.
        rested: the elapsed minutes at the last rest.
        kinds: of the passes so far, in order; of a spot with its first measure.
    """

    minutes: float
    most_tempo: float | None = None
    elapsed: float = 0.0
    rested: float = 0.0
    kinds: tuple[tuple[Kind, int | None], ...] = ()

    @staticmethod
    def begun(minutes: float, *, last_minutes: float | None, last_tempo: float | None) -> Sitting:
        """A sitting that begins.

        Args:
            minutes: that there are.
            last_minutes, last_tempo: how long the last sitting was, and the highest tempo played in it; None where
                there was none.

        Raises:
            ValueError: when there are no minutes.
        """
        if not minutes > 0:
            raise ValueError(f"a sitting needs minutes, got {minutes!r}")
        is_longer = last_minutes is not None and minutes > last_minutes
        return Sitting(minutes, most_tempo=last_tempo if is_longer else None)


def played(sitting: Sitting, rung: Rung, minutes: float) -> Sitting:
    """The sitting after a pass that took some minutes."""
    entry = (rung.kind, rung.first if rung.kind == "spot" else None)
    return replace(sitting, elapsed=sitting.elapsed + minutes, kinds=(*sitting.kinds, entry))


def rest_is_due(sitting: Sitting) -> bool:
    """Whether a rest is to be asked for now; ask between passes only, and note it down in ``rested``."""
    return sitting.elapsed - sitting.rested >= REST_EVERY


def next_rung(sitting: Sitting, stand: Stand) -> Rung:
    """What to play next in a sitting."""
    left = sitting.minutes - sitting.elapsed
    if sitting.elapsed < min(MOST_WARM_UP, WARM_UP_SHARE * sitting.minutes):
        tempo = WARM_UP_TEMPO * stand.ready
        return Rung("warm-up", _at_most(sitting, tempo), None, None, f"To warm up: a roll, slowly, at {tempo:.0f}.")
    if stand.has_known and left <= min(MOST_KNOWN, KNOWN_SHARE * sitting.minutes):
        return Rung("known", stand.goal, None, None, "To end with: something that you can do.")
    spot = _spot_that_is_due(sitting.kinds, stand.spots)
    if spot is not None:
        tempo = _at_most(sitting, spot.tempo)
        name = f"Measure {spot.first}" if spot.first == spot.last else f"Measures {spot.first} to {spot.last}"
        holds = "holds" if spot.first == spot.last else "hold"
        return Rung(
            "spot",
            tempo,
            spot.lead_in,
            spot.last,
            f"{name} {holds} the tempo back: alone, with a lead-in, at {tempo:.0f}.",
        )
    tempo = _at_most(sitting, stand.next_tempo)
    if tempo < stand.next_tempo:
        why = f"The whole at {tempo:.0f}: today there are more minutes, so the tempo stays."
    else:
        why = f"The whole at {tempo:.0f}."
    return Rung("whole", tempo, None, None, why)


def _at_most(sitting: Sitting, tempo: float) -> float:
    return tempo if sitting.most_tempo is None else min(tempo, sitting.most_tempo)


def _spot_that_is_due(kinds: Sequence[tuple[Kind, int | None]], spots: Sequence[Spot]) -> Spot | None:
    """The spot to loop now: behind each whole pass the spots by turns, a few loops each; None for the whole."""
    wholes = sum(kind == "whole" for kind, _ in kinds)
    if not spots or not wholes:
        return None
    since = 0
    for kind, _ in reversed(kinds):
        if kind != "spot":
            break
        since += 1
    if since >= LOOPS:
        return None
    return spots[(wholes - 1) % len(spots)]
