"""How the next tier comes in: a measure at a time, the easiest first.

A mixed solo is the solo of a tier in which some measures are of the next. What repeats comes in together, so that the
player learns one way to play it. When the mixed solo is clean, the next measures come in; when all are in, it is the
next tier's own solo. Measures that no hand could join to the others wait; where none can be joined, all come in.
"""

from __future__ import annotations

from collections.abc import Mapping

from coach.ladder.curve import Ready
from coach.ladder.rungs import Course, TierPlan

__all__ = ["following", "groups", "more_mixed"]


def following(course: Course, tier: str) -> TierPlan | None:
    """The tier behind one; None behind the last, and where the two have not the same measures to be mixed."""
    names = [each.name for each in course.tiers]
    at = names.index(tier)
    if at + 1 == len(names):
        return None
    here, behind = course.tiers[at], course.tiers[at + 1]
    same = [each.number for each in here.measures] == [each.number for each in behind.measures]
    return behind if same else None


def groups(course: Course, tier: str) -> tuple[tuple[int, ...], ...]:
    """The measures of a tier, in groups that are alike, each in order and by their first."""
    alike: dict[int, list[int]] = {}
    for measure in next(each for each in course.tiers if each.name == tier).measures:
        alike.setdefault(course.repeats.get(measure.number, measure.number), []).append(measure.number)
    return tuple(tuple(group) for group in alike.values())


def more_mixed(
    course: Course, tier: str, mix: tuple[int, ...], ready: Mapping[int, Ready]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The mix that comes next.

    Args:
        course: of the tune.
        tier: of the solo that is mixed; one has to follow it.
        mix: the measures that are of the next tier already.
        ready: the ready tempo of each measure in the next tier.

    Returns:
        all the measures that are to be of the next tier, and those of them that are new, both in order. Nothing is new
        where all are in.
    """
    waiting = [group for group in groups(course, tier) if not set(group) <= set(mix)]
    for group in sorted(waiting, key=lambda group: (-min(ready[number].tempo for number in group), group[0])):
        new = tuple(number for number in group if number not in mix)
        mixed = tuple(sorted((*mix, *new)))
        if (tier, mixed) not in course.apart:
            return mixed, new
    rest = tuple(sorted(number for group in waiting for number in group if number not in mix))
    return tuple(sorted((*mix, *rest))), rest
