"""The messages of the service to a page about the pass that is played; :mod:`~coach.service.protocol` tells their
conventions."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

__all__ = ["Amend", "Begin", "Cue", "HeardMark", "MeasureScored", "Place", "VerdictMark"]


class Cue(Struct, frozen=True, array_like=True):
    """A sound to make: [at, sound, pitch, length, level]; the voice is click, accent, bass, chop or banjo."""

    at: float
    voice: Literal["click", "accent", "bass", "chop", "banjo"]
    pitch: int
    length: float
    level: float


class Begin(Struct, frozen=True, tag_field="kind", tag="begin"):
    """A pass begins: its cues, count-in first.

    Attributes:
        number: of the pass in this session.
        sounds: whether this page is to sound the cues (and to answer with Sounding).
        origin: when position 0 is heard, on *this page's* clock, where it is known already; else null.
        lead: seconds of count-in before position 0.
        length: seconds from position 0 to the end of the pass.
        positions: [measure number, seconds from position 0 of its start], for the moving mark.
        free: in free time: it has begun, nothing sounds, and ``length`` and ``positions`` say only how it would go at
            the tempo that was chosen; where the player is comes as ``place``.
        levels: how loud each part is at first, 0 to 1: click, backing, solo; the levels of cues are within their part.
        learning: no pass, but sixteen clicks to learn the instrument by; ``calibrated`` is its end.
    """

    number: int
    digest: str
    tempo: float
    first: int
    last: int
    sounds: bool
    origin: float | None
    lead: float
    length: float
    positions: list[tuple[int, float]]
    cues: list[Cue]
    free: bool = False
    learning: bool = False
    levels: dict[str, float] = {}


class HeardMark(Struct, frozen=True, tag_field="kind", tag="heard"):
    """At once for each note: the provisional mark. One that is told again is seen otherwise now."""

    number: int
    seat: str
    seq: int
    pitch: int
    string: int | None
    id: str | None
    mark: str
    offset_ms: float | None


class Place(Struct, frozen=True, tag_field="kind", tag="place"):
    """In free time: the measure where the player is, and how fast, in quarters a minute."""

    number: int
    measure: int
    tempo: float


class VerdictMark(Struct, frozen=True, tag_field="kind", tag="verdict"):
    """Final for its place: the verdict of one pluck, or of an extra note (id null)."""

    number: int
    measure: int
    id: str | None
    verdict: str
    offset_ms: float | None
    pitch: int | None
    string: int | None
    fret: int | None = None
    at: str | None = None
    fault: bool = True


class Amend(Struct, frozen=True, tag_field="kind", tag="amend"):
    """A verdict that is seen otherwise once a passage is recognised."""

    number: int
    measure: int
    id: str
    verdict: str
    offset_ms: float | None
    why: str


class MeasureScored(Struct, frozen=True, tag_field="kind", tag="measure"):
    """A measure is done; the fields are those of the report's ``measures``."""

    number: int
    score: dict[str, float | int | bool | None]
