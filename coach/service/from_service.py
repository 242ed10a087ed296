"""The messages of the service to a page, but for those of a pass (:mod:`~coach.service.pass_messages`);
:mod:`~coach.service.protocol` tells their conventions."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from coach.service.pass_messages import Amend, Begin, HeardMark, MeasureScored, Place, VerdictMark
from coach.service.studio_messages import Assigned, Card, DeskHello, Live, Offer, Pins, Sounded, Steered, Watched

__all__ = [
    "Ack",
    "Calibrated",
    "EditState",
    "Failure",
    "Foot",
    "FromService",
    "Hello",
    "Ping",
    "Played",
    "Ports",
    "PracticeReport",
    "Rung",
    "SittingState",
    "State",
    "StringLearned",
    "TuneLine",
    "Tunes",
]


class Hello(Struct, frozen=True, tag_field="kind", tag="hello"):
    """Answers a join. A page of another digest reloads between passes.

    ``acknowledged`` is how far the notes of the pad have been taken, ``instrument_acknowledged`` how far those of the
    instrument that the page hears itself. ``instrument`` is the one that it said last that it hears: a page that was
    loaded anew, and does not, says so by an ``input`` without a name; else nothing but that one would be listened to.
    ``person`` and ``studio`` are names, empty where the service has no studio.
    """

    version: str
    scoring: int
    page_digest: str
    session: str
    seat: str
    acknowledged: int
    cautions: list[str]
    instrument_acknowledged: int = 0
    instrument: str = ""
    person: str = ""
    role: Literal["alone", "teacher", "student"] = "alone"
    studio: str = ""


class Ping(Struct, frozen=True, tag_field="kind", tag="ping"):
    """The first stamp of the four-stamp exchange (RFC 5905, section 8), on the service's clock."""

    id: int
    t1: float


class Ack(Struct, frozen=True, tag_field="kind", tag="ack"):
    """All messages of the seat up to ``seq`` have been taken."""

    seat: str
    seq: int


class Failure(Struct, frozen=True, tag_field="kind", tag="failure"):
    """Something that was asked cannot be done, in one sentence; or what happened to ports, for all that it concerns."""

    text: str
    about: str = ""


class TuneLine(Struct, frozen=True):
    """A tune in the list: its id, title and what a player wants to know before choosing; or a roll study."""

    id: str
    title: str
    key: str
    meter: str
    measures: int
    study: bool = False


class Tunes(Struct, frozen=True, tag_field="kind", tag="tunes"):
    """The tune book of this service."""

    tunes: list[TuneLine]


class Ports(Struct, frozen=True, tag_field="kind", tag="ports"):
    """MIDI ports as they are now; ``missing`` says in words what is not there.

    ``foot`` is the input of a foot switch that has its own; ``own`` that of the inputs which is no instrument but the
    coach's own, to which another program can be connected, empty where there is none.
    """

    inputs: list[str]
    outputs: list[str]
    input: str | None
    output: str | None
    missing: str
    foot: str | None = None
    own: str = ""


class Played(Struct, frozen=True, tag_field="kind", tag="played"):
    """A note on one of the service's own inputs, for a page that wants to write it down.

    Attributes:
        stamp: when, on *this page's* clock.
        string: null where the instrument does not tell.
        velocity: 1 to 127.
    """

    stamp: float
    pitch: int
    string: int | None
    velocity: int


class EditState(Struct, frozen=True):
    """What a teacher has edited of the tune at hand.

    Attributes:
        locked: the numbers, as played, of measures of the solo at hand that stand as they were locked or taken.
        edited: of those of which single plucks were edited.
        undo, redo: whether there is an edit to be taken back, or done again.
        steps: how many changes lie behind the edits: another number after each change, visible or not.
        remarks: which rules of the hands the edited measures break, a sentence each.
        why_not: why the solo cannot be edited, in a sentence; empty where it can.
    """

    locked: list[int] = []
    edited: list[int] = []
    undo: bool = False
    redo: bool = False
    why_not: str = ""
    remarks: list[str] = []
    steps: int = 0


class Rung(Struct, frozen=True):
    """What the ladder offers next, and why.

    Attributes:
        use: what it is for.
        tune, title: where it is another tune than the one at hand; else empty.
        mix: the measures that are of the next tier.
        solo, backing: whether they are to sound along.
    """

    tier: str
    tempo: float
    first: int
    last: int
    why: str
    offer_tier: str | None = None
    use: Literal["whole", "part", "spot", "warm-up", "known", "jam"] = "whole"
    tune: str = ""
    title: str = ""
    mix: list[int] = []
    solo: bool = False
    backing: bool = True


class SittingState(Struct, frozen=True):
    """A sitting that is on: its minutes, how many were played, and whether a rest is due before the next pass."""

    minutes: float
    played: float
    rest: bool


class State(Struct, frozen=True, tag_field="kind", tag="state"):
    """The session as it is; sent whole at every change.

    Attributes:
        instrument: what is played on, as it is known.
        latency_by_string: what is taken off the notes of each string, where that was learned; else empty.
        is_learned: whether its latency was learned.
        learning: whether it is being learned now, in place of a pass.
        learning_foot: what the foot switch will do whose press is waited for: start, again, next; empty for none.
        foot_words: what the player is to do meanwhile.
        mix: the measures of the solo that are of the next tier.
        sitting: the one that is on; null for none.
        thinks: what the coach thinks of what the player has chosen, in a sentence; empty where it agrees.
        solos: the digests of the tier's own solos of the tune that are written, by tier, the easiest first.
        edits: of the tune.
        levels: how loud each part is by what is chosen now, as in ``begin``; a page that sounds follows them at once.
    """

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
    free_time: bool = False
    instrument: str = ""
    latency_by_string: dict[str, float] = {}
    is_learned: bool = False
    learning: bool = False
    learning_foot: str = ""
    foot_words: str = ""
    mix: list[int] = []
    jam: bool = False
    with_solo: bool = False
    with_backing: bool = True
    policy: str = "coach"
    step: float = 4.0
    clean_needed: int = 2
    sitting: SittingState | None = None
    thinks: str = ""
    solos: dict[str, str] = {}
    edits: EditState = EditState()
    levels: dict[str, float] = {}


class PracticeReport(Struct, frozen=True, tag_field="kind", tag="report"):
    """A pass is done: its measures, its summary, sentences, the next rung, and where the files lie.

    One that ``asks`` is still to be marked by the player; it is told once more when it is.
    ``rest`` is the reminder of a rest, where one is due. ``kept_going`` is null where nobody listened.
    Of a pass in ``free`` time each measure has the player's ``tempo`` (null where too little tells it) in place of its
    mean offset, and so has the summary.
    """

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
    free: bool = False
    asks: bool = False
    rest: str = ""
    kept_going: bool | None = None


class StringLearned(Struct, frozen=True):
    """What was learned of a string: what is taken off its notes, and how many they were and how far apart."""

    string: int
    latency_ms: float
    spread_ms: float
    count: int


class Calibrated(Struct, frozen=True, tag_field="kind", tag="calibrated"):
    """The instrument was to be learned: what came of it, in milliseconds.

    Attributes:
        instrument: its name.
        trusted: whether it is used from now on.
        sentence: what was learned, or why nothing was and what to do.
        lag_ms: how much after the click the notes came; its standard error is ``error_ms``.
        spread_ms: standard deviation of the notes.
        latency_ms: what of the lag is the instrument's, and from and to where it may lie.
        lean_ms: what of it is the player's.
        by_string: where channels tell strings.
        offsets_ms: the lag at each click; null where it had no note.
    """

    instrument: str
    trusted: bool
    sentence: str
    lag_ms: float
    error_ms: float
    spread_ms: float
    latency_ms: float
    latency_from_ms: float
    latency_to_ms: float
    lean_ms: float
    by_string: list[StringLearned]
    offsets_ms: list[float | None]


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
    | Place
    | VerdictMark
    | Amend
    | MeasureScored
    | PracticeReport
    | Calibrated
    | Foot
    | Played
    | Watched
    | Offer
    | Pins
    | Assigned
    | DeskHello
    | Card
    | Live
    | Sounded
    | Steered
)
