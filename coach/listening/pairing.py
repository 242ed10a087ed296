"""Pairing the plucks and the heard notes of one place at least total cost.

Costs
    right pitch and string t, right pitch on another string t + 0.1, wrong pitch 1 + t, a missed pluck 1, an extra
    note 1, where t = |offset| / (2 * window) with the window of the side on which the note lies. A pluck that may be
    silent (a slurred note on an instrument that shows no slurs, or one that was heard by a bend) costs nothing when
    it is missed and takes none but its own note.
Ties
    Notes in order of time, each to a pluck rather than to none, and to the pluck with the lower id.

All costs are whole numbers (a common denominator is taken out), so that a tie is a tie.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Candidate", "Wanted", "cost_table", "nearest", "pair", "unit"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A pluck to be paired: its pitch and string, and whether it may be silent."""

    pitch: int
    string: int
    silent: bool = False


@dataclass(frozen=True, slots=True)
class Candidate:
    """A heard note to be paired: its offset from the place in microseconds, its pitch and, where known, its string."""

    offset: int
    pitch: int
    string: int | None = None


def unit(early: int, late: int) -> int:
    """What a cost of 1 is in whole numbers for windows of so many microseconds."""
    return 20 * early * late


def cost_table(
    wanted: Sequence[Wanted], candidates: Sequence[Candidate], early: int, late: int
) -> list[list[int | None]]:
    """The cost of each pair, ``table[candidate][pluck]``, in :func:`unit`; None where they cannot be paired.

    Args:
        wanted: the plucks of the place.
        candidates: its notes; their offsets lie within the windows.
        early, late: the windows before and after the place, in microseconds, > 0.
    """
    one = unit(early, late)
    table: list[list[int | None]] = []
    for note in candidates:
        t = 10 * -note.offset * late if note.offset < 0 else 10 * note.offset * early
        row: list[int | None] = []
        for pluck in wanted:
            if note.pitch != pluck.pitch:
                row.append(None if pluck.silent else one + t)
            elif note.string is not None and note.string != pluck.string:
                row.append(None if pluck.silent else one // 10 + t)
            else:
                row.append(t)
        table.append(row)
    return table


def pair(wanted: Sequence[Wanted], candidates: Sequence[Candidate], early: int, late: int) -> tuple[int | None, ...]:
    """The pairing of least total cost: for each candidate the index of its pluck, or None for an extra.

    Args:
        wanted: the plucks of the place by id, at most a handful (one a string).
        candidates: its notes by time.
        early, late: the windows before and after the place, in microseconds, > 0.

    Returns:
        One entry for each candidate. Where every note is what a pluck of its own wants, nothing can cost less than
        that. Else an exact dynamic programme over the sets of plucks that are left: at most
        2 ** len(wanted) * len(candidates) steps.
    """
    if not candidates:
        return ()
    sure = _as_wanted(wanted, candidates)
    if sure is not None:
        return sure
    one = unit(early, late)
    table = cost_table(wanted, candidates, early, late)
    everything = (1 << len(wanted)) - 1
    # rest[left] is the least cost of the candidates still to come when the plucks in the set `left` are still free.
    rest = [
        sum(one for k, pluck in enumerate(wanted) if left >> k & 1 and not pluck.silent)
        for left in range(everything + 1)
    ]
    layers = [rest]
    for row in reversed(table):
        rest = [
            min(
                [one + rest[left]]
                + [cost + rest[left & ~(1 << k)] for k, cost in enumerate(row) if cost is not None and left >> k & 1]
            )
            for left in range(everything + 1)
        ]
        layers.append(rest)
    layers.reverse()
    chosen: list[int | None] = []
    left = everything
    for i, row in enumerate(table):
        best, after = layers[i][left], layers[i + 1]
        choice = next(
            (
                k
                for k, cost in enumerate(row)
                if cost is not None and left >> k & 1 and cost + after[left & ~(1 << k)] == best
            ),
            None,
        )
        chosen.append(choice)
        if choice is not None:
            left &= ~(1 << choice)
    return tuple(chosen)


def nearest(pitch: int, string: int, heard: Sequence[tuple[int, int, int | None]], early: int, late: int) -> int:
    """The pairing of a single pluck that may not be silent: the index of its note.

    Args:
        pitch, string: of the pluck.
        heard: the notes of its place by time, at least one: offset, pitch and string as in :class:`Candidate`.
        early, late: as in :func:`pair`.

    Within the window a note costs less than a missed pluck and an extra note, so one is taken, the first of the
    cheapest.
    """
    one = unit(early, late)
    least, chosen = 2 * one, 0
    for i, (offset, its_pitch, its_string) in enumerate(heard):
        cost = 10 * -offset * late if offset < 0 else 10 * offset * early
        if its_pitch != pitch:
            cost += one
        elif its_string is not None and its_string != string:
            cost += one // 10
        if cost < least:
            least, chosen = cost, i
    return chosen


def _as_wanted(wanted: Sequence[Wanted], candidates: Sequence[Candidate]) -> tuple[int | None, ...] | None:
    """The pairing where each note is what one pluck alone wants; None where that is not so.

    A note costs its distance at least and a pluck without a note is missed, whatever is paired: so this is the only
    pairing of least cost. With plucks of one pitch, or such as may be silent, it need not be.
    """
    free = {pluck.pitch: k for k, pluck in enumerate(wanted) if not pluck.silent}
    if len(free) < len(wanted):
        return None
    chosen: list[int | None] = []
    for note in candidates:
        k = free.pop(note.pitch, None)
        if k is None or (note.string is not None and note.string != wanted[k].string):
            return None
        chosen.append(k)
    return tuple(chosen)
