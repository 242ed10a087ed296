"""What is known of a player in one tune: a curve for each measure of each tier, and how passes change it.

Where measures repeat others (``Course.repeats``), the first of them has the curve of all: each time that any of them is
played tells of it. A measure that was never played has a curve that is borrowed from its difficulty
(:mod:`~coach.ladder.borrowed`), and gets one of its own when it is. Forgetting is reckoned when a curve is asked for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from coach.ladder.borrowed import Evidence, Expected, expected, taught_by_others
from coach.ladder.curve import Curve, Ready, after_days, after_evidence, begin_ready, ready, shares
from coach.ladder.rungs import Course, MeasurePlan, PassSeen
from coach.ladder.whole import without_each

__all__ = ["Kept", "Known", "curves", "learned", "places", "ready_tempos"]

Key = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Kept:
    """The curve of a measure as it was at its last pass.

    Attributes:
        curve: then.
        day: when, in days (of 24 hours) since the fixed moment of :class:`~coach.ladder.rungs.PassSeen`.
    """

    curve: Curve
    day: float


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a player in one tune.

    Attributes:
        curves: by the name of the tier and the number of the measure; of measures that repeat others only the first.
            Never changed: what a pass taught comes with the new value of :func:`learned`, where curves that the pass
            left alone are the same objects.
    """

    curves: Mapping[str, Mapping[int, Kept]] = field(default_factory=dict)


def places(course: Course, tier: str, mix: tuple[int, ...] = ()) -> dict[int, tuple[str, MeasurePlan]]:
    """Of which tier each measure of a solo is, and its plan there, by number and in order.

    Args:
        course: of the tune.
        tier: of the solo; of a mixed one the tier it comes from.
        mix: the numbers of the measures that are of the next tier.

    Raises:
        ValueError: when the course has no such tier, or the last one is to be mixed with a next.
    """
    names = [each.name for each in course.tiers]
    if tier not in names:
        raise ValueError(f"the tiers are {', '.join(names)}; there is no {tier!r}")
    at = names.index(tier)
    if mix and at + 1 == len(names):
        raise ValueError(f"no tier follows {tier!r}, so measures {mix} cannot be of the next")
    found = {plan.number: (tier, plan) for plan in course.tiers[at].measures}
    harder = {plan.number: plan for plan in course.tiers[at + 1].measures} if mix else {}
    if strange := [number for number in mix if number not in found or number not in harder]:
        raise ValueError(f"measures {strange} are not in both tiers, so they cannot be mixed in")
    return found | {number: (names[at + 1], harder[number]) for number in mix}


def learned(known: Known, course: Course, seen: PassSeen) -> Known:
    """What is known after a pass.

    Each measure that was played to its end teaches of itself, in a mixed solo of the tier that it came from, and of
    others that are played for the first time with it. Where the
    player marked the pass, each measure is taught what the mark makes likely of it, all the others being as they were
    expected to be. Nothing is learned from a jam run, whose measures are not those of the solo, nor from a marked pass
    that was stopped.

    The caller leaves out passes whose verdicts are not to be trusted, as the first on an instrument that was never
    calibrated.

    Raises:
        ValueError: as :func:`places`.
    """
    if seen.kind == "jam" or (seen.judged == "marked" and not seen.whole):
        return known
    solo = places(course, seen.tier, seen.mix)
    told = _by_mark(known, course, seen) if seen.judged == "marked" else _by_ear(seen)
    # A curve that several measures share is taught once by each of them, one after the other.
    sweeps: list[dict[Key, Evidence]] = []
    for number, evidence in told.items():
        if number in solo:
            key = _key(course, solo, number)
            free = next((sweep for sweep in sweeps if key not in sweep), None)
            if free is None:
                sweeps.append({key: evidence})
            else:
                free[key] = evidence
    if not sweeps:
        return known
    now, sweeps[0] = _before(known, course, sweeps[0], seen)
    for sweep in sweeps:
        now |= zip(sweep, after_evidence([now[key] for key in sweep], seen.tempo, list(sweep.values())), strict=True)
    tiers = {tier: dict(measures) for tier, measures in known.curves.items()}
    for (tier, number), curve in now.items():
        tiers.setdefault(tier, {})[number] = Kept(curve, seen.day)
    return Known(tiers)


def curves(known: Known, course: Course, tier: str, mix: tuple[int, ...], day: float) -> dict[int, Curve]:
    """The curves of a solo's measures as of a day, by number and in order: forgetting counted, borrowed where a measure
    was never played (such a curve rests on 0 passes). Measures that repeat one another have one curve, the same object.

    Args:
        known, course: of the tune.
        tier, mix: of the solo, as in :func:`places`.
        day: as in :class:`Kept`.

    Raises:
        ValueError: as :func:`places`.
    """
    solo = places(course, tier, mix)
    keys = {number: _key(course, solo, number) for number in solo}
    different = list(dict.fromkeys(keys.values()))
    found = dict(zip(different, _as_of(known, course, different, day), strict=True))
    return {number: found[key] for number, key in keys.items()}


def ready_tempos(known: Known, course: Course, tier: str, mix: tuple[int, ...], day: float) -> dict[int, Ready]:
    """The ready tempo of each measure of a solo with its interval; see :func:`curves`."""
    return {number: ready(curve) for number, curve in curves(known, course, tier, mix, day).items()}


def _key(course: Course, solo: Mapping[int, tuple[str, MeasurePlan]], number: int) -> Key:
    """Where the curve of a measure is kept."""
    return solo[number][0], course.repeats.get(number, number)


def _by_ear(seen: PassSeen) -> dict[int, Evidence]:
    return {number: (1.0, 0.0) if clean else (0.0, 1.0) for number, clean in seen.clean.items()}


def _by_mark(known: Known, course: Course, seen: PassSeen) -> dict[int, Evidence]:
    """How likely the player's mark is if a measure came clean, and if it did not, the others being as expected."""
    all_of_it = curves(known, course, seen.tier, seen.mix, seen.day)
    first = -math.inf if seen.first is None else seen.first
    last = math.inf if seen.last is None else seen.last
    played = {number: curve for number, curve in all_of_it.items() if first <= number <= last}
    expected_shares = shares(list(played.values()), np.array([seen.tempo]))[:, 0]
    if_clean, if_not = without_each(expected_shares)
    if not seen.is_clean:
        if_clean, if_not = 1 - if_clean, 1 - if_not
    return dict(zip(played, zip(if_clean.tolist(), if_not.tolist(), strict=True), strict=True))


def _before(
    known: Known, course: Course, told: dict[Key, Evidence], seen: PassSeen
) -> tuple[dict[Key, Curve], dict[Key, Evidence]]:
    """The curves of what a pass tells of, before each is taught by its own evidence, and this evidence.

    Of measures that were never played the curves are borrowed, and taught by how the others came. A mark that a player
    gives to such measures tells of all of them alike, and nothing more of each.
    """
    new = [key for key in told if _kept(known, key) is None]
    if not new:
        return dict(zip(told, _as_of(known, course, list(told), seen.day), strict=True)), told
    old = [key for key in told if key not in new]
    now = dict(zip(old, _as_of(known, course, old, seen.day), strict=True))
    mark = seen.is_clean if seen.judged == "marked" else None
    thought = _thought(known, course, new, seen.day)
    taught = taught_by_others(thought, seen.tempo, [told[key] for key in new], mark=mark)
    now |= zip(new, (begin_ready(*each) for each in taught), strict=True)
    return {key: now[key] for key in told}, told if mark is None else told | dict.fromkeys(new, (1.0, 1.0))


def _as_of(known: Known, course: Course, keys: Sequence[Key], day: float) -> list[Curve]:
    """The curves that are kept under some keys as of a day, or borrowed ones."""
    new = [key for key in keys if _kept(known, key) is None]
    thought = dict(zip(new, _thought(known, course, new, day), strict=True))
    return [
        begin_ready(*thought[key]) if (kept := _kept(known, key)) is None else after_days(kept.curve, day - kept.day)
        for key in keys
    ]


def _kept(known: Known, key: Key) -> Kept | None:
    tier, number = key
    return known.curves.get(tier, {}).get(number)


def _thought(known: Known, course: Course, new: Sequence[Key], day: float) -> list[Expected]:
    """What is thought of measures that were never played."""
    seen = _seen(known, course, day) if new else []
    return [expected(_difficulty(course, *key), seen) for key in new]


def _seen(known: Known, course: Course, day: float) -> list[tuple[float, Ready]]:
    """Difficulty and ready tempo of all measures of the course that were played."""
    return [
        (plan.difficulty, ready(after_days(kept.curve, day - kept.day)))
        for tier in course.tiers
        for plan in tier.measures
        if (kept := _kept(known, (tier.name, plan.number))) is not None
    ]


def _difficulty(course: Course, tier: str, number: int) -> float:
    (plans,) = (each.measures for each in course.tiers if each.name == tier)
    return next(plan.difficulty for plan in plans if plan.number == number)
