"""Picks: the states of a plucked slot, what a slot may be plucked with, and what may follow what in the next slot."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.instrument.hands import FINGERS, may_pick

__all__ = [
    "BEFORE",
    "IMPOSSIBLE",
    "NOWHERE",
    "PINCHES",
    "RESTED",
    "RUNNING",
    "STATES",
    "TOGETHER",
    "Layer",
    "Option",
    "layer",
    "step",
]

NOWHERE = 0  # the state of a measure without plucks
IMPOSSIBLE = 1 << 40
_CROSSED = cost("crossed fingers")

# Pinches of the thumb and the middle finger on string 1, by the states that they join.
PINCHES = {(string, 13): 18 + number for number, string in enumerate((5, 4, 3))}
# What each state strikes: fingers and strings.
STATES: tuple[tuple[tuple[int, int], ...], ...] = (
    *(((finger, string),) for finger in range(3) for string in range(6)),
    *((divmod(low, 6), divmod(high, 6)) for low, high in PINCHES),
)


class Option(NamedTuple):
    """One way of plucking a slot.

    Attributes:
        state: 6 * finger + string, with finger 0 for T, 1 for I, 2 for M, and string 1..5; or one of a pinch.
        price: what it costs.
        fret: of the pluck.
        technique: of a note slurred from it, or empty.
        to_fret: of that note; -1 where there is none.
        slow: whether that note sounds a slot later instead of half a slot.
        pinched: the frets of what is struck with it.
    """

    state: int
    price: int
    fret: int
    technique: str = ""
    to_fret: int = -1
    slow: bool = False
    pinched: tuple[int, ...] = ()


class Layer(NamedTuple):
    """A plucked slot.

    Attributes:
        slot: of its measure.
        fingers: the options by finger T, I, M, each sorted by state, one for each state.
        mask: bit f is set where finger f has an option.
        together: whether it may be picked on the string of the slot before (a melody running on one string).
        note: the melody note it carries, as an index into the measure's notes, or -1.
        last: the slot in which it sounds last; the next one where a note is slurred from it a slot later.
        tied: whether the note slurred from it carries the next melody note.
        role: what the pluck is there for.
        least: the price of the cheapest option of each finger, very dear where there is none.
        cheapest: the price of the cheapest option.
    """

    slot: int
    fingers: tuple[tuple[Option, ...], ...]
    mask: int
    together: bool
    note: int
    role: str
    least: tuple[int, ...]
    last: int
    cheapest: int
    tied: bool = False

    def only(self, finger: int) -> Layer:
        """The same for one finger alone."""
        fingers = tuple(options if f == finger else () for f, options in enumerate(self.fingers))
        least = tuple(price if f == finger else IMPOSSIBLE for f, price in enumerate(self.least))
        return self._replace(fingers=fingers, mask=self.mask & (1 << finger), least=least, cheapest=min(least))


def layer(slot: int, options: Sequence[Option], role: str, *, note: int = -1, together: bool = False) -> Layer:
    """A layer from its options: the cheapest of each state is kept, in order of state."""
    best: dict[int, Option] = {}
    for each in sorted(options, key=lambda o: (o.state, o.price, o)):
        best.setdefault(each.state, each)
    fingers = tuple(tuple(o for o in best.values() if STATES[o.state][0][0] == f) for f in range(3))
    mask = sum(1 << f for f in range(3) if fingers[f])
    least = tuple(min((o.price for o in options), default=IMPOSSIBLE) for options in fingers)
    last = slot + any(option.slow for option in best.values())
    return Layer(slot, fingers, mask, together, note, role, least, last, min(least))


def step(before: int, state: int, *, together: bool = False) -> int | None:
    """What it costs to play a state in the slot behind another; None where a hard rule forbids it."""
    price = (TOGETHER if together else RUNNING)[before][state]
    return None if price >= IMPOSSIBLE else price


def _steps(*, together: bool) -> list[list[int]]:
    return [[_step_price(before, state, together=together) for state in STATES] for before in STATES]


def _at_home(finger: int, string: int) -> bool:
    return may_pick(FINGERS[finger], string)


def _step_price(before: tuple[tuple[int, int], ...], state: tuple[tuple[int, int], ...], *, together: bool) -> int:
    price = 0
    for finger_before, string_before in before:
        for finger, string in state:
            if not string or not string_before:
                continue
            if finger == finger_before or (string == string_before and not together):
                return IMPOSSIBLE
            if string == string_before and 1 not in (finger, finger_before):
                return IMPOSSIBLE  # on one string thumb and index alternate, or index and middle
            leaves_home = not (_at_home(finger, string) and _at_home(finger_before, string_before))
            if together and string != string_before and leaves_home:
                return IMPOSSIBLE  # only in a run on one string does a finger leave its own strings
            if (finger - finger_before) * (string - string_before) > 0:
                price += _CROSSED
    return price


# What a step costs from each state to each: in the next slot, there in a run on one string, and behind a rest; and the
# first of these from each state to a given one.
RUNNING = _steps(together=False)
TOGETHER = _steps(together=True)
RESTED = [[0] * len(STATES) for _ in STATES]
BEFORE = [[row[state] for row in RUNNING] for state in range(len(STATES))]
