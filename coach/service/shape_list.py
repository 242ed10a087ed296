"""Chord shapes for the pad, as the page asks for them.

``GET /shapes.json?strings=62,59,55,50,67&chords=G,C,D7`` answers with the usual shape of each chord that was asked for,
in that order, and with the other chords that are met every day; frets of strings 4, 3, 2, 1 from the capo, null for a
string that is not played::

    {"format": "shapes/1", "strings": [62, 59, 55, 50, 67],
     "shapes": [{"chord": "G", "frets": [0, 0, 0, 0]}],
     "more": [{"chord": "C", "frets": [2, 0, 1, 2]}]}

``strings`` are the open pitches of strings 1 to 5, MIDI, without capo. A chord that has no name that is known is left
out: the solo that it comes from has its own word on that.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

import msgspec
from msgspec import Meta, Struct

from coach.errors import InputError, TuneError
from coach.instrument.shapes import shape
from coach.instrument.tuning import TUNINGS, Tuning
from coach.tunes.chords import Chord, read_chord

__all__ = ["FORMAT", "ShapesAsked", "read_asked", "shapes_json"]

FORMAT = "shapes/1"

MOST_CHORDS = 48

# Common practice, no source: the chords of the usual positions and their neighbours, the plainest first.
_EVERY_DAY = (
    *("G", "C", "D", "D7", "Em", "Am", "F", "A", "E", "Bm", "B7", "Dm", "G7", "B", "F#m", "Bb"),
    *("A7", "E7", "C7", "Gm", "Cm"),
)

Pitch = Annotated[int, Meta(ge=24, le=96)]


class ShapesAsked(Struct, frozen=True):
    """What a page asks for: the open strings, 1 to 5, and the names of chords."""

    strings: tuple[Pitch, Pitch, Pitch, Pitch, Pitch]
    chords: Annotated[list[Annotated[str, Meta(max_length=24)]], Meta(max_length=MOST_CHORDS)] = []


class _Shape(Struct, frozen=True):
    chord: str
    frets: tuple[int | None, int | None, int | None, int | None]


class _Shapes(Struct, frozen=True):
    format: str
    strings: tuple[int, int, int, int, int]
    shapes: list[_Shape]
    more: list[_Shape]


def read_asked(query: Mapping[str, str]) -> ShapesAsked:
    """What the query of an address asks for.

    Raises:
        InputError: when it cannot be meant.
    """
    given = {name: [part for part in text.split(",") if part] for name, text in query.items()}
    try:
        return msgspec.convert(given, ShapesAsked, strict=False)
    except msgspec.ValidationError as error:
        raise InputError(f"these shapes cannot be asked for: {error}", cure="load the page anew") from error


def shapes_json(asked: ShapesAsked) -> bytes:
    """The answer, as JSON."""
    tuning = next(
        (tuning for tuning in TUNINGS.values() if tuning.strings == asked.strings), Tuning("own", asked.strings)
    )
    wanted = {chord.symbol: chord for chord in map(_chord, asked.chords) if chord is not None}
    other = {name: read_chord(name) for name in _EVERY_DAY if name not in wanted}
    answer = _Shapes(FORMAT, asked.strings, _listed(wanted, tuning), _listed(other, tuning))
    return msgspec.json.encode(answer)


def _chord(name: str) -> Chord | None:
    try:
        return read_chord(name)
    except TuneError:
        return None


def _listed(chords: Mapping[str, Chord], tuning: Tuning) -> list[_Shape]:
    return [_Shape(name, shape(chord.root_pc, chord.pitch_classes, tuning).frets) for name, chord in chords.items()]
