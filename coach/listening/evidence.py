"""What speaks for a stretch of a path: how much of what its state expects was heard, and where.

The path of least cost always has an answer, also where somebody plays what is written nowhere: there another manner is
only the cheapest way not to expect much. So it counts only with evidence (common practice, no source):

The plain melody: two thirds of its notes were heard, and two thirds of what was heard is that. Notes drawn at random
agree in one of four or five.
The roll in another order: three right notes for each that is missing or another, and four more. Notes drawn at random
agree in about half, and somewhere in a solo in three of four for a measure or two.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from coach.listening.shifts import OTHER_ORDER, PLAIN, State
from coach.listening.slot_costs import fits, solid_count
from coach.listening.slots import Slots

__all__ = ["Evidence", "Heard", "evidence_of"]

Heard = Mapping[int, Sequence[tuple[int, int]]]
"""The notes that were heard in each slot of a pass, each with its pitch and velocity."""

_PLAIN_OF = 3
_PLAIN_RIGHT = 2
_RIGHT_FOR_A_WRONG = 3
_RIGHT_BESIDES = 4


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for a stretch.

    Attributes:
        manner: of its state.
        expected: how many notes its state expects.
        heard: how many notes were heard; ghosts, and slurs of the plain melody, are left out.
        right: how many of them are expected ones.
        span: the first and the last slot in which the playing was what the state expects; None where it never was.
    """

    manner: int
    expected: int
    heard: int
    right: int
    span: tuple[int, int] | None

    @property
    def is_enough(self) -> bool:
        """Whether another manner may be told and the plucks put where it has them."""
        whole = max(self.expected, self.heard)
        if self.manner == OTHER_ORDER:
            return self.right - _RIGHT_FOR_A_WRONG * (whole - self.right) >= _RIGHT_BESIDES
        return self.right > 0 and _PLAIN_OF * self.right >= _PLAIN_RIGHT * whole


def evidence_of(state: State, first: int, last: int, slots: Slots, heard: Heard) -> Evidence:
    """What speaks for a state in a stretch of slots.

    Args:
        state: of the path; no silence.
        first, last: slots of the pass.
        slots: of the pass.
        heard: in it.

    Of a roll in another order each note of a measure counts once, in whichever slot of the roll it was heard.
    """
    expected = count = right = 0
    span: tuple[int, int] | None = None
    rolls: dict[int, Counter[int]] = {}  # by the first slot of a measure, what was heard where its roll is due
    shift = state.shift * slots.step
    for at in range(max(first, -shift), min(last + 1, len(slots.written) - shift)):
        written, notes = slots.written[at + shift], heard.get(at, ())
        fitting = {pitch for pitch, _ in notes if fits(written, pitch)[state.manner]}
        count += solid_count([note for note in notes if note[0] in fitting or note[0] not in written.slurred])
        expected += len(set(written.melody if state.manner == PLAIN else written.due))
        if state.manner == OTHER_ORDER and not written.melody:
            rolls.setdefault(_line(slots, at + shift), Counter()).update(fitting)
        else:
            right += len(fitting)
        if fitting or (state.manner == PLAIN and written.due and not written.melody and not notes):
            span = (at if span is None else span[0], at)
    right += sum((found & _roll(slots, line)).total() for line, found in rolls.items())
    return Evidence(state.manner, expected, count, right, span)


def _line(slots: Slots, at: int) -> int:
    """The first slot of the measure of a written slot."""
    while at and not slots.written[at].line:
        at -= 1
    return at


def _roll(slots: Slots, line: int) -> Counter[int]:
    """How often each pitch is due in the roll of a measure that begins in a slot."""
    roll: Counter[int] = Counter()
    for at in range(line, len(slots.written)):
        written = slots.written[at]
        if at > line and written.line:
            break
        if not written.melody:
            roll.update({*written.due, *written.slurred})
    return roll
