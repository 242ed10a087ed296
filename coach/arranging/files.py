"""Arrangements as JSON, format ``arrangement/1``: writing, reading, and the digest that names one.

Conventions
    Keys stand in one fixed order; positions and lengths are strings that hold an exact fraction of a quarter note.
    ``sounding_key`` is written only with a capo, ``same_as`` and ``slot`` only in measures that have them, ``moved``
    only for shifted melody notes, ``from_fret`` only for slurred plucks, ``left`` only where it is told; ``lyric``,
    ``pluck`` and ``finger`` are always there and may be null. The same arrangement gives the same bytes.

Digest
    SHA-256, in hex, of the arrangement's JSON without the ``digest`` field: keys in their order, no white space,
    UTF-8. So it does not depend on how a file is laid out. A file made by hand may leave it out; one that is there
    must be right, since takes are kept under it.
"""

from __future__ import annotations

import hashlib
import json
from fractions import Fraction
from typing import Any

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, MelodyNote, Pluck
from coach.arranging.reading import read_arrangement
from coach.errors import TuneError

__all__ = ["FORMAT", "digest", "from_json", "measure_values", "to_json"]

FORMAT = "arrangement/1"

_LARGEST = 5_000_000  # bytes; a solo of 500 measures takes about one million


def to_json(arrangement: Arrangement) -> bytes:
    """The file of an arrangement: UTF-8, one line for each melody note and each pluck."""
    body = _body(arrangement)
    measures = body.pop("measures")
    head = {"format": body.pop("format"), "tune": body.pop("tune"), "digest": digest(arrangement), **body}
    lines = [f" {_text(key)}: {_text(value)}," for key, value in head.items()]
    rows = ",\n".join(_measure_text(measure) for measure in measures)
    return ("{\n" + "\n".join(lines) + f'\n "measures": [\n{rows}]}}\n').encode()


def digest(arrangement: Arrangement) -> str:
    """The SHA-256, in hex, that names an arrangement; see the module's text for what it covers."""
    plain = json.dumps(_body(arrangement), ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(plain.encode()).hexdigest()


def from_json(data: bytes, where: str) -> Arrangement:
    """Read an arrangement file.

    Args:
        data: the bytes of the file.
        where: its name, for the errors.

    Raises:
        TuneError: when it is no arrangement; the sentence names the measure and pluck.
    """
    if len(data) > _LARGEST:
        raise TuneError(f"the file has {len(data)} bytes, more than any solo needs", where=where, cure="check the file")
    arrangement, named = read_arrangement(data, where)
    if named is not None and named != digest(arrangement):
        raise TuneError(
            "the digest does not fit the rest of the file",
            where=where,
            cure="take the line with the digest out if the change was made on purpose",
        )
    return arrangement


def _body(arrangement: Arrangement) -> dict[str, Any]:
    """The arrangement as plain values, keys in order, without the digest."""
    sounding = {} if arrangement.sounding_key is None else {"sounding_key": arrangement.sounding_key}
    return {
        "format": FORMAT,
        "tune": arrangement.tune,
        "title": arrangement.title,
        "rights": arrangement.rights,
        "tier": arrangement.tier,
        "key": arrangement.key,
        **sounding,
        "capo": arrangement.capo,
        "meter": str(arrangement.meter),
        "slot": str(arrangement.slot),
        "source_scale": str(arrangement.source_scale),
        "bounce": arrangement.bounce,
        "tuning": {
            "name": arrangement.tuning.name,
            "strings": {str(string): arrangement.tuning.open_pitch(string) for string in (1, 2, 3, 4, 5)},
        },
        "remarks": list(arrangement.remarks),
        "measures": [measure_values(measure) for measure in arrangement.measures],
    }


def measure_values(measure: ArrangedMeasure) -> dict[str, Any]:
    """A measure as it stands in the file: plain values, keys in order."""
    return {
        "number": measure.number,
        "source_measure": measure.source_measure,
        **({} if measure.same_as is None else {"same_as": measure.same_as}),
        "meter": str(measure.meter),
        "length": str(measure.length),
        "tier": measure.tier,
        **_unless_none("slot", measure.slot),
        "chords": [{"at": str(change.at), "symbol": change.chord.symbol} for change in measure.chords],
        "melody": [_melody_note(note) for note in measure.melody],
        "plucks": [_pluck(pluck) for pluck in measure.plucks],
    }


def _melody_note(note: MelodyNote) -> dict[str, Any]:
    return {
        "at": str(note.at),
        "length": str(note.length),
        "pitch": note.pitch,
        "lyric": note.lyric,
        "phrase_start": note.phrase_start,
        "kept": note.kept,
        "pluck": note.pluck,
        **_unless_none("moved", note.moved),
    }


def _pluck(pluck: Pluck) -> dict[str, Any]:
    return {
        "id": pluck.id,
        "at": str(pluck.at),
        "length": str(pluck.length),
        "string": pluck.string,
        "fret": pluck.fret,
        "pitch": pluck.pitch,
        "finger": pluck.finger,
        "role": pluck.role,
        "technique": pluck.technique,
        **({} if pluck.from_fret is None else {"from_fret": pluck.from_fret}),
        **({} if pluck.left is None else {"left": pluck.left}),
    }


def _unless_none(key: str, value: Fraction | None) -> dict[str, str]:
    return {} if value is None else {key: str(value)}


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def _measure_text(measure: dict[str, Any]) -> str:
    """A measure over several lines: its own values, then a line for each melody note and each pluck."""
    rows = {key: measure[key] for key in ("melody", "plucks")}
    head = ", ".join(f"{_text(key)}: {_text(value)}" for key, value in measure.items() if key not in rows)
    lists = [f"   {_text(key)}: [" + ",\n    ".join(_text(row) for row in value) + "]" for key, value in rows.items()]
    return f"  {{{head},\n" + ",\n".join(lists) + "}"
