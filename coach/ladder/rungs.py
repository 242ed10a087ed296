"""What the ladder is told of a tune, and what it answers with: plain values.

Tempos are quarters a minute of the solo's notation. Measures go by their numbers as played. Tiers are names, the
easiest first. A mixed solo is told as a tier and the measures in which the next tier has come in already.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

__all__ = ["Course", "Judged", "Kind", "MeasurePlan", "PassSeen", "Rung", "TierPlan", "Wanted"]

Kind = Literal["whole", "part", "spot", "warm-up", "known", "jam"]
"""What a rung is for: the whole solo; measures that the player chose; a trouble spot with its lead-in; a roll to warm
up; something known to end with; a run as in a jam."""

Judged = Literal["heard", "marked"]
"""Who judged a pass: the coach, or the player by their own mark."""


@dataclass(frozen=True, slots=True)
class MeasurePlan:
    """A measure of a solo.

    Attributes:
        number: as played.
        difficulty: its index, >= 0.
        quarters: its length, > 0.
    """

    number: int
    difficulty: float
    quarters: float


@dataclass(frozen=True, slots=True)
class TierPlan:
    """The solo of a tier.

    Attributes:
        name: of the tier.
        measures: in order; at least one.
        load: its plucks a quarter, > 0.
    """

    name: str
    measures: tuple[MeasurePlan, ...]
    load: float


@dataclass(frozen=True, slots=True)
class Course:
    """A tune as the ladder sees it.

    Attributes:
        tune: its id.
        tiers: the easiest first; at least one.
        repeats: the number of each measure that repeats another, with the number of that one: such measures have one
            tier in a mixed solo.
        can_jam: whether it is something to be played in a jam, and no study.
        by_ear: whether it has a melody, to be learned by ear; a study has none.
        apart: mixed solos that cannot be had, since no hand could join their measures: tier and mix of each.
    """

    tune: str
    tiers: tuple[TierPlan, ...]
    repeats: Mapping[int, int]
    can_jam: bool = True
    by_ear: bool = True
    apart: Collection[tuple[str, tuple[int, ...]]] = ()


@dataclass(frozen=True, slots=True)
class PassSeen:
    """What a pass has shown.

    Attributes:
        tier: of the solo; of a mixed one the tier it came from.
        mix: the measures that were of the next tier.
        tempo: at which it was played.
        clean: by measure, for each measure that was played to its end; empty where the player marked the pass.
        faults: by measure that was not clean what was wrong with it most, in a word or two of the trade ("late",
            "early", "a wrong note", "an extra note", "missed").
        is_clean: the pass as a whole, by the report or by the player's own mark.
        whole: it was played to its end.
        all_measures: it went through the whole solo.
        judged: by whom.
        calibrated: the instrument's latency is known.
        kept_going: whether the player never stopped; None where nobody listened.
        kind: of the rung that was played.
        minutes: that it took, > 0.
        day: when it ended, in days (of 24 hours) since a fixed moment.
        first, last: the numbers of its measures, lead-in included; None for the solo's own.
    """

    tier: str
    tempo: float
    is_clean: bool
    day: float
    minutes: float
    clean: Mapping[int, bool]
    faults: Mapping[int, str]
    mix: tuple[int, ...] = ()
    whole: bool = True
    all_measures: bool = True
    judged: Judged = "heard"
    calibrated: bool = True
    kept_going: bool | None = None
    kind: Kind = "whole"
    first: int | None = None
    last: int | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the player has chosen for the next pass, whatever was offered.

    Attributes:
        tier: of the solo; of a mixed one the tier it comes from.
        tempo: of the click.
        mix: the measures that are of the next tier.
        first, last: the numbers of the measures; None for the solo's own.
    """

    tier: str
    tempo: float
    mix: tuple[int, ...] = ()
    first: int | None = None
    last: int | None = None


@dataclass(frozen=True, slots=True)
class Rung:
    """What to play next.

    Attributes:
        kind: what for.
        tune: its id; empty for a roll to warm up on, whichever there is.
        tier: of the solo; of a mixed one the tier it comes from.
        mix: the measures that are of the next tier; empty where the solo is not mixed.
        tempo: of the click.
        first, last: the numbers of the measures, lead-in included; None for the solo's own.
        solo: whether the solo is to sound along, to be learned by ear.
        backing: whether the accompaniment is to sound along.
        why: one sentence.
        offers: the tier that this rung brings in, where it is new; else empty.
    """

    kind: Kind
    tune: str
    tier: str
    tempo: float
    why: str
    mix: tuple[int, ...] = ()
    first: int | None = None
    last: int | None = None
    solo: bool = False
    backing: bool = True
    offers: str = ""
