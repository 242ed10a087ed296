"""Edits as JSON, format ``edits/1``: writing, and reading at the border where shape and sense are checked in words.

::

    {"format": "edits/1", "tune": "mill-lane-1f3a9c20", "edits": [
     {"kind": "lock", "tier": "advanced", "source_measure": 3, "plucks": [
       {"at": "0", "string": 3, "fret": 0, "finger": "T", "role": "melody"},
       {"at": "1/2", "string": 2, "fret": 1, "finger": "I"},
       {"at": "3/4", "string": 2, "fret": 0, "finger": null, "technique": "pull-off", "from_fret": 1}]},
     {"kind": "replace", "tier": "advanced", "source_measure": 5, "string": 2, "pluck": {…}},
     {"kind": "add", "tier": "beginner", "source_measure": 7, "pluck": {…}},
     {"kind": "leave out", "tier": "beginner", "source_measure": 7, "at": "1", "string": 5}],
     "tuning": "open G", "position": "G major"}

``technique`` is ``pick`` where it is not said, ``role`` may be left out; so may ``tuning``, which is open G then, and
``position``, the key that the player thinks in, which is not compared then. The meaning of the fields is told in
:mod:`coach.arranging.edits`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any, Literal, get_args

import msgspec

from coach.arranging.arrangement import Finger, Role, Technique, Tier
from coach.arranging.edits import (
    Addition,
    Edit,
    Edits,
    LeaveOut,
    Lock,
    Replacement,
    WrittenPluck,
    check,
    check_pluck,
    check_string,
)
from coach.errors import ArrangeError
from coach.instrument.tuning import OPEN_G, TUNINGS

__all__ = ["FORMAT", "edits_from_json", "edits_to_json"]

FORMAT = "edits/1"

_LARGEST = 2_000_000  # bytes
_FRACTION = re.compile(r"(\d{1,6})(?:/([1-9]\d{0,5}))?")
_PATH = re.compile(r" - at `\$(.*)`$")
_PLACE = re.compile(r"\.edits\[(\d+)\](?:\.plucks\[(\d+)\])?")


_KINDS = ("lock", "replace", "add", "leave out")
_CHOICES: Mapping[str, tuple[str, ...]] = {
    "tier": get_args(Tier),
    "finger": get_args(Finger),
    "technique": get_args(Technique),
    "role": get_args(Role),
}


class _Record(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A record of the file; a misspelt key is an error, not something to lose."""


class _Pluck(_Record, frozen=True):
    at: str
    string: int
    fret: int
    finger: Finger | None
    technique: Technique = "pick"
    from_fret: int | None = None
    role: Role | None = None


class _Edit(_Record, frozen=True, tag_field="kind"):
    tier: Tier
    source_measure: int


class _Lock(_Edit, frozen=True, tag="lock"):
    plucks: tuple[_Pluck, ...]


class _Replacement(_Edit, frozen=True, tag="replace"):
    string: int
    pluck: _Pluck


class _Addition(_Edit, frozen=True, tag="add"):
    pluck: _Pluck


class _LeaveOut(_Edit, frozen=True, tag="leave out"):
    at: str
    string: int


class _File(_Record, frozen=True):
    format: Literal["edits/1"]
    tune: str
    edits: tuple[_Lock | _Replacement | _Addition | _LeaveOut, ...]
    tuning: str = OPEN_G.name
    position: str | None = None


def edits_to_json(edits: Edits) -> bytes:
    """The file of edits: UTF-8, one line for each edit and each pluck of a lock."""
    rows = ",\n".join(_edit_text(edit) for edit in edits.edits)
    setting = f'"tuning": {_text(edits.tuning)}'
    if edits.position is not None:
        setting += f', "position": {_text(edits.position)}'
    return f'{{"format": "{FORMAT}", "tune": {_text(edits.tune)}, "edits": [\n{rows}],\n {setting}}}\n'.encode()


def edits_from_json(data: bytes, where: str) -> Edits:
    """Read a file of edits.

    Args:
        data: the bytes of the file.
        where: its name, for the errors.

    Raises:
        ArrangeError: when it is none, or two of its edits contradict each other; the sentence names the edit.
    """
    if len(data) > _LARGEST:
        raise ArrangeError(f"the file has {len(data)} bytes, more than any edits need", where=where)
    try:
        raw = msgspec.json.decode(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise ArrangeError(f"this is no JSON ({error})", where=where, cure="check the file") from None
    if not isinstance(raw, dict) or raw.get("format") != FORMAT:
        raise ArrangeError(f'these are no edits: "format" is not "{FORMAT}"', where=where, cure="check the file")
    try:
        file = msgspec.convert(raw, _File)
    except msgspec.ValidationError as error:
        raise _in_words(str(error), where) from None
    if file.tuning not in TUNINGS:
        raise ArrangeError(
            f"{file.tuning[:24]!r} is no tuning that is known", where=where, cure=f"choose one of {', '.join(TUNINGS)}"
        )
    edits = Edits(
        file.tune,
        tuple(_edit(each, f"{where}, edit {number}") for number, each in enumerate(file.edits, start=1)),
        file.tuning,
        file.position,
        where,
    )
    check(edits, where)
    return edits


def _in_words(message: str, where: str) -> ArrangeError:
    """An error of the decoder with its path told in edits and plucks."""
    found = _PATH.search(message)
    what = _PATH.sub("", message).replace("`", "'")
    place = _PLACE.match(found[1]) if found else None
    field = found[1].rpartition(".")[2] if found else ""
    chosen = what.startswith("Invalid")
    if place is not None:
        where += f", edit {int(place[1]) + 1}" + (f", pluck {int(place[2]) + 1}" if place[2] else "")
    # A kind that is none is told at its edit, without the name of its field.
    choices = _CHOICES.get(field, _KINDS) if chosen else ()
    cure = f"choose one of {', '.join(choices)}" if choices else "write it as the format says"
    what = what.replace("Invalid enum value", f"Invalid {field}").replace("Invalid value", "Invalid kind")
    return ArrangeError(what[:1].lower() + what[1:], where=where, cure=cure)


def _edit(edit: _Lock | _Replacement | _Addition | _LeaveOut, where: str) -> Edit:
    if edit.source_measure < 0:
        raise ArrangeError(f"there is no measure {edit.source_measure}", where=where, cure="count from 0 or 1")
    if isinstance(edit, _Lock):
        plucks = tuple(_pluck(each, f"{where}, pluck {k}") for k, each in enumerate(edit.plucks, start=1))
        spots: set[tuple[Fraction, int]] = set()
        for pluck in plucks:
            if (pluck.at, pluck.string) in spots:
                what = f"string {pluck.string} is sounded twice at {pluck.at}"
                raise ArrangeError(what, where=where, cure="take one out")
            spots.add((pluck.at, pluck.string))
        return Lock(edit.tier, edit.source_measure, plucks)
    if isinstance(edit, _Replacement):
        check_string(edit.string, where)
        return Replacement(edit.tier, edit.source_measure, edit.string, _pluck(edit.pluck, where))
    if isinstance(edit, _Addition):
        return Addition(edit.tier, edit.source_measure, _pluck(edit.pluck, where))
    check_string(edit.string, where)
    return LeaveOut(edit.tier, edit.source_measure, _position(edit.at, where), edit.string)


def _pluck(pluck: _Pluck, where: str) -> WrittenPluck:
    written = WrittenPluck(
        _position(pluck.at, where),
        pluck.string,
        pluck.fret,
        pluck.finger,
        pluck.technique,
        pluck.from_fret,
        pluck.role,
    )
    check_pluck(written, where)
    return written


def _position(text: str, where: str) -> Fraction:
    match = _FRACTION.fullmatch(text)
    if match is None:
        raise ArrangeError(f"{text!r} is no position", where=where, cure="write quarters like 0, 3 or 1/2")
    return Fraction(int(match[1]), int(match[2] or 1))


def _edit_text(edit: Edit) -> str:
    head: dict[str, Any] = {"kind": "", "tier": edit.tier, "source_measure": edit.source_measure}
    if isinstance(edit, Lock):
        head["kind"] = "lock"
        rows = ",\n   ".join(_text(_written(pluck)) for pluck in edit.plucks)
        return f' {_text(head)[:-1]}, "plucks": [' + (f"\n   {rows}" if rows else "") + "]}"
    if isinstance(edit, Replacement):
        head |= {"kind": "replace", "string": edit.string, "pluck": _written(edit.pluck)}
    elif isinstance(edit, Addition):
        head |= {"kind": "add", "pluck": _written(edit.pluck)}
    else:
        head |= {"kind": "leave out", "at": str(edit.at), "string": edit.string}
    return f" {_text(head)}"


def _written(pluck: WrittenPluck) -> dict[str, Any]:
    return {
        "at": str(pluck.at),
        "string": pluck.string,
        "fret": pluck.fret,
        "finger": pluck.finger,
        **({} if pluck.technique == "pick" else {"technique": pluck.technique, "from_fret": pluck.from_fret}),
        **({} if pluck.role is None else {"role": pluck.role}),
    }


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)
