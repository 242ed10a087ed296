"""Fingers of the right hand for strings that someone else has chosen: the least-cost row, found exactly.

Which string is picked when is given, some of the fingers perhaps too. The rest follows from what hands can do
(:mod:`coach.instrument.hands`): each finger on its strings, none twice in running slots, and where one string is
picked again and again, fingers that alternate on it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import permutations

from coach.instrument.hands import FINGERS, RELUCTANCE, Finger, may_pick, pinch_is_legal

__all__ = ["Picked", "fingers_for"]

# In the unit of RELUCTANCE. A finger on a string that is not its own is a lesser evil than one that plays twice in a
# row: so a string that is picked twice running gets two fingers, one of them the index, which alternates with both.
_NOT_ITS_OWN: Mapping[Finger, int] = {"T": 12, "I": 10, "M": 12}
_TWICE = 20
_NO_PINCH = 50

_Choice = Mapping[int, Finger]


@dataclass(frozen=True, slots=True)
class Picked:
    """What is picked at one position.

    Attributes:
        when: in quarters from the start.
        slot: the grid there, in quarters; what follows within it is running.
        strings: each string (1..5) with its finger, None where that is to be found; at least one.
    """

    when: Fraction
    slot: Fraction
    strings: Mapping[int, Finger | None]


def fingers_for(row: Sequence[Picked]) -> list[dict[int, Finger]]:
    """A finger for each string of each position, the given ones kept; of equal rows the first in the order T, I, M.

    What no three fingers can strike at once gets a finger all the same: the thumb sweeps the lowest strings.
    """
    choices = [_choices(picked.strings) for picked in row]
    # For each choice the least that it and all behind it cost.
    costs: list[list[int]] = [[]] * len(row)
    for index in range(len(row) - 1, -1, -1):
        running = index + 1 < len(row) and _runs(row[index], row[index + 1])
        costs[index] = [
            own
            + min(
                (
                    later + (_between(choice, after) if running else 0)
                    for (after, _), later in zip(choices[index + 1], costs[index + 1], strict=True)
                ),
                default=0,
            )
            if index + 1 < len(row)
            else own
            for choice, own in choices[index]
        ]
    found: list[dict[int, Finger]] = []
    for index, picked in enumerate(row):
        running = index > 0 and _runs(row[index - 1], picked)
        totals = [
            cost + (_between(found[-1], choice) if running else 0)
            for (choice, _), cost in zip(choices[index], costs[index], strict=True)
        ]
        found.append(dict(choices[index][totals.index(min(totals))][0]))
    return found


def _choices(strings: Mapping[int, Finger | None]) -> list[tuple[_Choice, int]]:
    """The ways to strike the strings of one position, in the order T, I, M from the lowest string, with their costs."""
    order = sorted(strings, reverse=True)
    if len(order) <= len(FINGERS):
        every = [dict(zip(order, fingers, strict=True)) for fingers in permutations(FINGERS, len(order))]
        fitting = [each for each in every if all(strings[string] in (None, each[string]) for string in order)]
        if fitting:
            return [(each, _cost(each)) for each in fitting]
    thumb: list[Finger] = ["T"] * (len(order) - 2)
    swept = (*thumb, FINGERS[1], FINGERS[2])
    return [({string: strings[string] or finger for string, finger in zip(order, swept, strict=True)}, 0)]


def _cost(choice: _Choice) -> int:
    if len(choice) > 1 and not pinch_is_legal(choice):
        return _NO_PINCH
    return sum(
        RELUCTANCE[finger][string] if may_pick(finger, string) else _NOT_ITS_OWN[finger]
        for string, finger in choice.items()
    )


def _between(before: _Choice, after: _Choice) -> int:
    return _TWICE * len(set(before.values()) & set(after.values()))


def _runs(before: Picked, after: Picked) -> bool:
    return after.when - before.when <= max(before.slot, after.slot)
