"""Every message of the wire, subprotocol ``coach.1``: JSON objects told apart by ``kind``.

Conventions

- ``stamp`` and ``origin`` are seconds on the clock of the one who writes them, unless the field says otherwise: a
  page's clock is ``performance.now() / 1000``, the service's is its monotonic session clock.
- ``at`` in a cue is heard time: seconds from position 0 of the pass; the count-in lies before 0.
- Unknown fields are ignored; new fields have defaults; nothing is retyped (the rules of evolution of msgspec).
- A page may only send the kinds of :data:`FromPage`; the service only those of :data:`FromService`.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta, Struct

__all__ = [
    "Ack",
    "Again",
    "Amend",
    "Begin",
    "Cue",
    "Failure",
    "Foot",
    "FromPage",
    "FromService",
    "HeardMark",
    "Hello",
    "InputNote",
    "Join",
    "Mark",
    "MeasureScored",
    "NextRung",
    "Notes",
    "Ping",
    "Pong",
    "Ports",
    "PracticeReport",
    "Rung",
    "Settings",
    "Sounding",
    "Start",
    "State",
    "Stop",
    "Tunes",
    "TuneLine",
    "VerdictMark",
    "decode_from_page",
    "encode",
]

SUBPROTOCOL = "coach.1"
LARGEST_MESSAGE = 64 * 1024
MOST_NOTES_IN_A_MESSAGE = 256

Name = Annotated[str, Meta(max_length=80)]
ShortText = Annotated[str, Meta(max_length=200)]
Tempo = Annotated[float, Meta(ge=20, le=400)]
Level = Annotated[float, Meta(ge=0, le=1)]
Stamp = Annotated[float, Meta(ge=-1e9, le=1e12)]
Count = Annotated[int, Meta(ge=0, le=2**53)]
SessionId = Annotated[str, Meta(pattern=r"^[a-z0-9-]{1,40}$")]


# ---------------------------------------------------------------------------------------------- from a page


class Join(Struct, frozen=True, tag_field="kind", tag="join"):
    """The first message: which session this page belongs to, and the page's own name for its inputs."""

    session: SessionId = "home"
    seat: SessionId = "pad"


class Pong(Struct, frozen=True, tag_field="kind", tag="pong"):
    """Answers a ping: t1 as it came, t2 when it came and t3 when this leaves, on the page's clock."""

    id: Count
    t1: Stamp
    t2: Stamp
    t3: Stamp


class Settings(Struct, frozen=True, tag_field="kind", tag="settings"):
    """Changes what the next pass will be; a field that is left out (null) stays as it is.

    During a pass it takes effect at the next.
    """

    tune: Name | None = None
    tier: Literal["beginner", "intermediate", "advanced"] | None = None
    tempo: Tempo | None = None
    goal: Tempo | None = None
    floor: Tempo | None = None
    first: Annotated[int, Meta(ge=0, le=2000)] | None = None
    last: Annotated[int, Meta(ge=0, le=2000)] | None = None
    whole: bool = False
    bounce: Annotated[int, Meta(ge=50, le=67)] | None = None
    solo_level: Level | None = None
    backing_level: Level | None = None
    click_level: Level | None = None
    keep_going: bool | None = None
    sound: Literal["page", "midi"] | None = None
    midi_in: ShortText | None = None
    midi_out: ShortText | None = None
    out_delay_ms: Annotated[float, Meta(ge=0, le=500)] | None = None
    latency_ms: Annotated[float, Meta(ge=-50, le=500)] | None = None
    tolerance_ms: Annotated[float, Meta(ge=10, le=150)] | None = None
    string_channels: Literal["auto", "off", "1-5", "11-15"] | None = None
    foot_start: ShortText | None = None
    foot_again: ShortText | None = None
    foot_next: ShortText | None = None
    self_marked: bool | None = None


class Start(Struct, frozen=True, tag_field="kind", tag="start"):
    """Begin a pass with its count-in. ``sounds`` tells whether this page will sound the click."""

    sounds: bool = True


class Stop(Struct, frozen=True, tag_field="kind", tag="stop"):
    """Stop the pass (the rest is not played) or, between passes, pause."""


class Again(Struct, frozen=True, tag_field="kind", tag="again"):
    """Play the last rung once more, whatever the ladder says."""


class NextRung(Struct, frozen=True, tag_field="kind", tag="next_rung"):
    """Go on to the rung that the ladder offers."""


class Mark(Struct, frozen=True, tag_field="kind", tag="mark"):
    """The player marks their own pass as clean or not (no MIDI instrument)."""

    clean: bool


class Sounding(Struct, frozen=True, tag_field="kind", tag="sounding"):
    """This page sounds the pass: position 0 is heard at ``origin`` on its clock, output latency included."""

    number: Count
    origin: Stamp


class InputNote(Struct, frozen=True):
    """One captured MIDI message: its number on its seat, the stamp of its capture, and its bytes."""

    seq: Count
    stamp: Stamp
    data: Annotated[list[Annotated[int, Meta(ge=0, le=255)]], Meta(min_length=1, max_length=3)]


class Notes(Struct, frozen=True, tag_field="kind", tag="notes"):
    """Captured messages of one seat, in order, and the watermark: nothing before it is still to come.

    Sent again after a reconnect from the first one that was not acknowledged; recognised by ``seq``.
    """

    seat: SessionId
    items: Annotated[list[InputNote], Meta(max_length=MOST_NOTES_IN_A_MESSAGE)] = []
    watermark: Stamp | None = None


FromPage = Join | Pong | Settings | Start | Stop | Again | NextRung | Mark | Sounding | Notes

# ---------------------------------------------------------------------------------------------- from the service


class Hello(Struct, frozen=True, tag_field="kind", tag="hello"):
    """Answers a join. A page of another digest reloads between passes."""

    version: str
    scoring: int
    page_digest: str
    session: str
    seat: str
    acknowledged: int
    cautions: list[str]


class Ping(Struct, frozen=True, tag_field="kind", tag="ping"):
    """The first stamp of the four-stamp exchange (RFC 5905, section 8), on the service's clock."""

    id: int
    t1: float


class Ack(Struct, frozen=True, tag_field="kind", tag="ack"):
    """All messages of the seat up to ``seq`` have been taken."""

    seat: str
    seq: int


class Failure(Struct, frozen=True, tag_field="kind", tag="failure"):
    """Something that was asked cannot be done, in one sentence."""

    text: str
    about: str = ""


class TuneLine(Struct, frozen=True):
    """A tune in the list: its id, title and what a player wants to know before choosing."""

    id: str
    title: str
    key: str
    meter: str
    measures: int


class Tunes(Struct, frozen=True, tag_field="kind", tag="tunes"):
    """The tune book of this service."""

    tunes: list[TuneLine]


class Ports(Struct, frozen=True, tag_field="kind", tag="ports"):
    """MIDI ports as they are now; ``missing`` says in words what is not there."""

    inputs: list[str]
    outputs: list[str]
    input: str | None
    output: str | None
    missing: str


class Rung(Struct, frozen=True):
    """What the ladder offers next, and why."""

    tier: str
    tempo: float
    first: int
    last: int
    why: str
    offer_tier: str | None = None


class State(Struct, frozen=True, tag_field="kind", tag="state"):
    """The session as it is; sent whole at every change."""

    state: Literal["ready", "counting in", "playing", "between passes", "paused"]
    number: int
    tune: str
    title: str
    digest: str
    tier: str
    tempo: float
    goal: float
    floor: float
    first: int
    last: int
    measures: int
    bounce: int
    solo_level: float
    backing_level: float
    click_level: float
    keep_going: bool
    sound: str
    self_marked: bool
    foot_start: str
    foot_again: str
    foot_next: str
    latency_ms: float
    out_delay_ms: float
    tolerance_ms: float | None
    string_channels: str
    rung: Rung | None
    waiting: str = ""


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


class HeardMark(Struct, frozen=True, tag_field="kind", tag="heard"):
    """At once for each note: the provisional mark."""

    number: int
    seat: str
    seq: int
    pitch: int
    string: int | None
    id: str | None
    mark: str
    offset_ms: float | None


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


class PracticeReport(Struct, frozen=True, tag_field="kind", tag="report"):
    """A pass is done: its measures, its summary, sentences, the next rung, and where the files lie."""

    number: int
    whole: bool
    clean: bool
    self_marked: bool
    measures: list[dict[str, float | int | bool | None]]
    summary: dict[str, float | None]
    sentences: list[str]
    rung: Rung | None
    take: str
    report: str


class Foot(Struct, frozen=True, tag_field="kind", tag="foot"):
    """A foot switch was pressed, and what it did."""

    switch: str
    did: str


FromService = (
    Hello
    | Ping
    | Ack
    | Failure
    | Tunes
    | Ports
    | State
    | Begin
    | HeardMark
    | VerdictMark
    | Amend
    | MeasureScored
    | PracticeReport
    | Foot
)

_decoder: msgspec.json.Decoder[FromPage] = msgspec.json.Decoder(FromPage)
_encoder = msgspec.json.Encoder()


def decode_from_page(text: str | bytes) -> FromPage:
    """Read a message from a page.

    Raises:
        msgspec.ValidationError: when it is of no known kind, or a field breaks its bounds; the text has the path.
        msgspec.DecodeError: when it is not JSON.
    """
    return _decoder.decode(text)


def encode(message: FromService) -> str:
    """Write a message of the service as JSON text."""
    return _encoder.encode(message).decode()
