"""What a page asks of a measure, as a teacher's edits.

A pluck is edited as it is seen: what comes of it is the measure on the page with that one change. Edits of a measure
begin with what the search writes where nothing is edited. Where that may not be what is seen at the place, the measure
is locked as it stands first: it was edited there before, or the measure was written anew beside others that are edited
or at the seam of a mixed solo.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from fractions import Fraction

from coach.arranging.applying import told_wishes
from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.arranging.edits import (
    Addition,
    Edit,
    Edits,
    LeaveOut,
    Lock,
    Replacement,
    WrittenPluck,
    added,
    check_pluck,
    freed,
    lock,
)
from coach.errors import ArrangeError, InputError
from coach.service import protocol as wire
from coach.service.pieces import measure_at

__all__ = ["edit_state", "edits_asked"]


def edits_asked(
    message: wire.Edit, solo: Arrangement, edits: Edits | None, ways: Sequence[ArrangedMeasure] = ()
) -> Edits:
    """The edits of a tune with one that a page asks for.

    Args:
        message: which ``does`` it is, and what it needs.
        solo: that the page shows, made with the edits.
        edits: of the tune until now; None for none.
        ways: the other ways through the measure, for ``take``.

    Raises:
        InputError: when the message lacks something, or what it names is not there.
    """
    measure = measure_at(solo, message.measure)
    before = replace(edits or Edits(solo.tune), tune=solo.tune, tuning=solo.tuning.name, position=solo.key)
    after = _changed(message, solo, measure, before, ways)
    if set(after.edits) == set(before.edits):
        raise InputError("it stands like that already", where=f"measure {measure.number}", cure="leave it as it is")
    return after


def edit_state(
    edits: Edits | None, solo: Arrangement | None, *, undo: bool, redo: bool, steps: int, why_not: str
) -> wire.EditState:
    """What pages are told of the edits of a tune.

    Args:
        edits: of the tune; None for none.
        solo: on the page, made with them; None where there is none.
        undo, redo: whether there is an edit to be taken back, or done again.
        steps: how many changes lie behind.
        why_not: why the solo cannot be edited; empty where it can.
    """
    if solo is None or why_not:
        return wire.EditState(undo=undo, redo=redo, why_not=why_not, steps=steps)
    own = edits or Edits(solo.tune)

    def with_any(is_meant: Callable[[Edit], bool]) -> list[int]:
        places = {(each.tier, each.source_measure) for each in own.edits if is_meant(each)}
        return [measure.number for measure in solo.measures if (measure.tier, measure.source_measure) in places]

    return wire.EditState(
        locked=with_any(lambda each: isinstance(each, Lock)),
        edited=with_any(lambda each: not isinstance(each, Lock)),
        undo=undo,
        redo=redo,
        remarks=told_wishes(solo),
        steps=steps,
    )


def _changed(
    message: wire.Edit, solo: Arrangement, measure: ArrangedMeasure, before: Edits, ways: Sequence[ArrangedMeasure]
) -> Edits:
    if message.does == "take":
        return added(before, lock(solo, _way(message, ways)))
    if message.does == "lock":
        return added(before, lock(solo, measure))
    if message.does == "free":
        return freed(before, measure.tier, measure.source_measure)
    edit = _single(message, solo, measure)
    own = [each for each in before.edits if each.tier == measure.tier]
    here = [each for each in own if each.source_measure == measure.source_measure]
    is_beside_others = bool(own) and not here
    if solo.tier == "mixed" or is_beside_others or _place(edit) in map(_place, here):
        before = added(before, lock(solo, measure))
    return added(before, edit)


def _way(message: wire.Edit, ways: Sequence[ArrangedMeasure]) -> ArrangedMeasure:
    if message.way is None:
        raise InputError("which way to take is not said", cure="give its number")
    if message.way > len(ways):
        raise InputError(
            f"measure {message.measure} has {len(ways)} other ways, not {message.way}", cure="choose one of them"
        )
    return ways[message.way - 1]


def _single(message: wire.Edit, solo: Arrangement, measure: ArrangedMeasure) -> Edit:
    """The edit of a single pluck."""
    where = f"measure {measure.number}"
    if message.at is None:
        raise InputError("where in the measure is not said", where=where, cure="give the position")
    at = Fraction(message.at)
    if at >= measure.length:
        raise ArrangeError(
            f"position {at} lies behind its end", where=where, cure=f"stay below {measure.length} quarters"
        )
    strings = {pluck.string for pluck in measure.plucks if pluck.at == at}
    where += f", position {at}"
    place = measure.tier, measure.source_measure
    if message.does == "add":
        pluck = _pluck(message, at / solo.source_scale, where)
        _free(pluck.string, strings, where)
        return Addition(*place, pluck)
    if message.string is None:
        raise InputError("whose pluck is not said", where=where, cure="give its string")
    if message.string not in strings:
        raise InputError(f"string {message.string} is not sounded there", where=where, cure="choose a pluck, or add it")
    if message.does == "leave out":
        return LeaveOut(*place, at / solo.source_scale, message.string)
    pluck = _pluck(message, at / solo.source_scale, where)
    if pluck.string != message.string:
        _free(pluck.string, strings, where)
    return Replacement(*place, message.string, pluck)


def _pluck(message: wire.Edit, at: Fraction, where: str) -> WrittenPluck:
    asked = message.pluck
    if asked is None:
        raise InputError("which pluck to write is not said", where=where, cure="give its string, fret and finger")
    pluck = WrittenPluck(at, asked.string, asked.fret, asked.finger, asked.technique, asked.from_fret)
    check_pluck(pluck, where)
    return pluck


def _free(string: int, strings: Collection[int], where: str) -> None:
    if string in strings:
        raise InputError(f"string {string} is sounded there already", where=where, cure="replace that pluck")


def _place(edit: Edit) -> Fraction | None:
    """The position of an edit in its measure; None for a lock, which is about all of it."""
    if isinstance(edit, Lock):
        return None
    return edit.at if isinstance(edit, LeaveOut) else edit.pluck.at
