"""Passages: stretches of a pass in which the player was not where the solo was, or played it in another manner.

Kinds (contract of the report)
    ``ahead``, ``behind``: by so many slots for a while, less than a measure away from where the player was before, or
        farther after a silence.
    ``left out``, ``played twice``: a measure, by one step ahead or back over the length of a measure; from there on the
        player goes on ahead or behind, which is not named again.
    ``jumped``: farther; ``slots`` is negative for a jump back.
    ``stopped``: silence over four slots or more in which something was due.
    ``other order``: the tune where it is written, its roll in another order.
    ``plain melody``: the tune without its roll.
Coming back to the written place is not named: it ends a passage.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from coach.listening.places import Expected, Places
from coach.listening.shifts import AS_WRITTEN, OTHER_ORDER, PLAIN, SILENT, State
from coach.listening.slots import Slots

__all__ = ["Passage", "PassageKind", "Run", "passages_of", "runs_of"]

PassageKind = Literal["ahead", "behind", "stopped", "jumped", "left out", "played twice", "other order", "plain melody"]


@dataclass(frozen=True, slots=True)
class Passage:
    """A passage.

    Attributes:
        pass_number: of the pass.
        first, last: the first and the last pluck that it is about.
        kind: see the module's text.
        slots: how many slots of the solo; None where the kind has none.
    """

    pass_number: int
    first: Expected
    last: Expected
    kind: PassageKind
    slots: int | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of slots, ``first`` to ``last``, in one state. ``before`` is the shift before it; silence keeps it."""

    first: int
    last: int
    state: State
    before: int = 0
    after_silence: bool = False

    @property
    def shift(self) -> int:
        """Where the player is taken to be in it."""
        return self.before if self.state.manner == SILENT else self.state.shift


def runs_of(path: Sequence[State]) -> list[Run]:
    """The runs of equal states along a path."""
    runs: list[Run] = []
    for slot, state in enumerate(path):
        if runs and runs[-1].state == state:
            last = runs[-1]
            runs[-1] = Run(last.first, slot, state, last.before, last.after_silence)
        else:
            before = runs[-1].shift if runs else 0
            runs.append(Run(slot, slot, state, before, bool(runs) and runs[-1].state.manner == SILENT))
    return runs


def passages_of(runs: Sequence[Run], slots: Slots, places: Places) -> tuple[Passage, ...]:
    """Name the passages of a path, in order of time.

    Args:
        runs: of the path.
        slots, places: of the pass.
    """
    found = []
    for run in runs:
        named = _named(run, slots)
        if named is None:
            continue
        kind, count, since, until = named
        plucks = [
            pluck
            for place, slot in zip(places.places, slots.of_place, strict=True)
            if since <= slot <= until
            for pluck in place.plucks
        ]
        if plucks:
            found.append(Passage(places.plan.number, plucks[0], plucks[-1], kind, count))
    return tuple(found)


def _named(run: Run, slots: Slots) -> tuple[PassageKind, int | None, int, int] | None:
    """The kind of a run, its number of slots, and the first and last written slot it is about; None for no passage."""
    shift = run.shift * slots.step
    since, until = run.first + shift, run.last + shift
    if run.state.manner == SILENT:
        return "stopped", None, since, until
    if run.state.manner == OTHER_ORDER:
        return "other order", None, since, until
    if run.state.manner == PLAIN:
        return "plain melody", None, since, until
    assert run.state.manner == AS_WRITTEN
    moved = run.shift - run.before
    if run.shift == 0 or moved == 0:
        return None
    at = run.first + run.before * slots.step
    length = slots.measures[min(max(0, at), len(slots.measures) - 1)]
    steps = abs(moved) * slots.step
    if not run.after_silence:
        if moved > 0 and steps == length:
            return "left out", moved, at, since - 1
        if moved < 0 and steps == length:
            return "played twice", -moved, since, at - 1
        if steps > length:
            return "jumped", moved, since, until
    return ("ahead" if run.shift > 0 else "behind"), abs(run.shift), since, until
