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
Coming back to the written place is not named: it ends a passage. A passage reaches from the first to the last pluck
that was heard where it has them, a stop from the first to the last that was not; of the plain melody what was left out
of the roll belongs to it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from coach.listening.evidence import Heard, evidence_of
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
    """A stretch of slots in one state.

    Attributes:
        first, last: slots of the pass.
        state: what the player is taken to do in it.
        before: the shift before it; silence keeps it.
        after_silence: whether it follows a silence.
        span: the first and the last slot in which the playing was what the state expects; None in silence, at the
            written place, and where it never was.
    """

    first: int
    last: int
    state: State
    before: int = 0
    after_silence: bool = False
    span: tuple[int, int] | None = None

    @property
    def shift(self) -> int:
        """Where the player is taken to be in it."""
        return self.before if self.state.manner == SILENT else self.state.shift


def runs_of(path: Sequence[State], slots: Slots, heard: Heard) -> list[Run]:
    """The runs of equal states along a path, as far as what was heard bears them out.

    Args:
        path: the state in each slot.
        slots: of the pass.
        heard: in it.

    Another manner without enough evidence is none: the player is taken to play as written where it was before.
    """
    stretches: list[tuple[int, int, State]] = []
    shift = 0
    for first, last, state in _stretches(path):
        is_manner = state.manner in (OTHER_ORDER, PLAIN)
        if is_manner and not evidence_of(state, first, last, slots, heard).is_enough:
            state = State(shift)
        shift = shift if state.manner == SILENT else state.shift
        if stretches and stretches[-1][2] == state:
            first = stretches.pop()[0]
        stretches.append((first, last, state))
    runs: list[Run] = []
    for first, last, state in stretches:
        is_home = state.manner == SILENT or state == State()
        span = None if is_home else evidence_of(state, first, last, slots, heard).span
        before, silence = (runs[-1].shift, runs[-1].state.manner == SILENT) if runs else (0, False)
        runs.append(Run(first, last, state, before, silence, span))
    return runs


def _stretches(path: Sequence[State]) -> Iterator[tuple[int, int, State]]:
    """The stretches of equal states along a path, each with its first and its last slot."""
    last = -1
    for state, same in groupby(path):
        first, last = last + 1, last + sum(1 for _ in same)
        yield first, last, state


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
    if run.state.manner == SILENT:
        return "stopped", None, run.first + shift, run.last + shift
    if run.span is None:
        return None
    since, until = run.span[0] + shift, run.span[1] + shift
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
            return "left out", moved, at, run.first + shift - 1
        if moved < 0 and steps == length:
            return "played twice", -moved, run.first + shift, at - 1
        if steps > length:
            return "jumped", moved, since, until
    return ("ahead" if run.shift > 0 else "behind"), abs(run.shift), since, until
