"""The messages of a page to the service; :mod:`~coach.service.protocol` tells their conventions."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta, Struct

from coach.service.studio_messages import Answer, Desk, LookOn, Steer

__all__ = [
    "Again",
    "Calibrate",
    "Edit",
    "EditedPluck",
    "Enter",
    "FromPage",
    "Input",
    "InputNote",
    "Join",
    "LearnFoot",
    "MOST_NOTES_IN_A_MESSAGE",
    "Mark",
    "NextRung",
    "Notes",
    "Pong",
    "Redo",
    "Settings",
    "Sitting",
    "Sounding",
    "Start",
    "Stop",
    "Undo",
]

MOST_NOTES_IN_A_MESSAGE = 256

Name = Annotated[str, Meta(max_length=80)]
ShortText = Annotated[str, Meta(max_length=200)]
Tempo = Annotated[float, Meta(ge=20, le=400)]
Level = Annotated[float, Meta(ge=0, le=1)]
Stamp = Annotated[float, Meta(ge=-1e9, le=1e12)]
Count = Annotated[int, Meta(ge=0, le=2**53)]
SessionId = Annotated[str, Meta(pattern=r"^[a-z0-9-]{1,40}\Z")]


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

    Attributes:
        mix: the measures, as played, that are to be of the next tier; an empty list for none.
        jam: whether the solo is to be played as in a jam: kick-off, break, back-up, break, ending.
        with_solo: whether the solo sounds along to be learned by ear, also where its level is 0.
        with_backing: whether the accompaniment sounds along, at its level.
        policy: how the tempo moves: as the coach thinks, up after three clean passes and down after one that is not, a
            little after every pass, or by fixed steps.
        step, clean_needed: of the fixed steps, in quarters a minute, and after how many clean passes in a row they go
            up; down they go after two in a row that are not clean.
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
    midi_foot: ShortText | None = None
    midi_out: ShortText | None = None
    out_delay_ms: Annotated[float, Meta(ge=0, le=500)] | None = None
    latency_ms: Annotated[float, Meta(ge=-50, le=500)] | None = None
    tolerance_ms: Annotated[float, Meta(ge=10, le=150)] | None = None
    string_channels: Literal["auto", "off", "1-5", "11-15"] | None = None
    foot_start: ShortText | None = None
    foot_again: ShortText | None = None
    foot_next: ShortText | None = None
    self_marked: bool | None = None
    free_time: bool | None = None
    mix: Annotated[list[Annotated[int, Meta(ge=0, le=2000)]], Meta(max_length=2000)] | None = None
    jam: bool | None = None
    with_solo: bool | None = None
    with_backing: bool | None = None
    policy: Literal["coach", "three clean", "every pass", "steps"] | None = None
    step: Annotated[float, Meta(ge=1, le=40)] | None = None
    clean_needed: Annotated[int, Meta(ge=1, le=10)] | None = None


class Sitting(Struct, frozen=True, tag_field="kind", tag="sitting"):
    """Begin a sitting of so many minutes: the coach chooses what is played. 0 ends the one that is on."""

    minutes: Annotated[float, Meta(ge=0, le=240)]


class Start(Struct, frozen=True, tag_field="kind", tag="start"):
    """Begin a pass: with its count-in, or in free time at once. ``sounds``: whether this page will sound the click."""

    sounds: bool = True


class Stop(Struct, frozen=True, tag_field="kind", tag="stop"):
    """Stop the pass (the rest is not played) or, between passes, pause."""


class Again(Struct, frozen=True, tag_field="kind", tag="again"):
    """Play the last rung once more, whatever the ladder says."""


class NextRung(Struct, frozen=True, tag_field="kind", tag="next_rung"):
    """Go on to the rung that the ladder offers."""


class Calibrate(Struct, frozen=True, tag_field="kind", tag="calibrate"):
    """Learn the instrument from notes to the click. ``sounds`` tells whether this page will sound the click."""

    sounds: bool = True


class LearnFoot(Struct, frozen=True, tag_field="kind", tag="learn_foot"):
    """Set a foot switch by the next press; an empty name ends the waiting."""

    does: Literal["start", "again", "next", ""] = ""


class Mark(Struct, frozen=True, tag_field="kind", tag="mark"):
    """The player marks their own pass as clean or not (no MIDI instrument)."""

    clean: bool


class Sounding(Struct, frozen=True, tag_field="kind", tag="sounding"):
    """This page sounds the pass: position 0 is heard at ``origin`` on its clock, output latency included."""

    number: Count
    origin: Stamp


class Input(Struct, frozen=True, tag_field="kind", tag="input"):
    """The MIDI instrument that the page itself hears: its name, empty where there is none (any more).

    Its notes come under the seat of the page with ``-midi`` behind it, numbered and acknowledged by themselves; those
    of the pad under the page's own. ``stamp`` is when the page saw it come or go; sent again after a reconnect.
    """

    name: ShortText
    stamp: Stamp | None = None


class Enter(Struct, frozen=True, tag_field="kind", tag="enter"):
    """Whether the page wants to know between passes what is played on the service's own inputs: to write it down."""

    on: bool


class EditedPluck(Struct, frozen=True):
    """A pluck as a teacher writes it; ``finger`` is null for a slurred one, which comes from ``from_fret``."""

    string: Annotated[int, Meta(ge=1, le=5)]
    fret: Annotated[int, Meta(ge=0, le=22)]
    finger: Literal["T", "I", "M"] | None = None
    technique: Literal["pick", "slide", "hammer-on", "pull-off"] = "pick"
    from_fret: Annotated[int, Meta(ge=0, le=22)] | None = None


class Edit(Struct, frozen=True, tag_field="kind", tag="edit"):
    """A teacher's edit of a measure of the solo that is shown, between passes.

    Attributes:
        digest: of the solo that the page shows; for another than the one at hand it is refused.
        measure: its number as played; the edit holds wherever its measure on paper comes again.
        does: ``take`` the way of this number; ``lock`` the measure as it stands; ``free`` it from all edits;
            ``replace`` the pluck on ``string`` at ``at`` by the written one; ``add`` the written one; ``leave out`` the
            pluck on ``string`` at ``at``.
        way: for ``take``.
        at: quarters from the start of the measure as the solo is notated, an exact fraction.
        string: whose pluck it is about.
        pluck: as the teacher writes it, at ``at``; for ``replace`` and ``add``.
    """

    digest: Annotated[str, Meta(max_length=64)]
    measure: Annotated[int, Meta(ge=0, le=2000)]
    does: Literal["take", "lock", "free", "replace", "add", "leave out"]
    way: Annotated[int, Meta(ge=1, le=99)] | None = None
    at: Annotated[str, Meta(pattern=r"^[0-9]{1,3}(/[1-9][0-9]{0,2})?\Z")] | None = None
    string: Annotated[int, Meta(ge=1, le=5)] | None = None
    pluck: EditedPluck | None = None


class Undo(Struct, frozen=True, tag_field="kind", tag="undo"):
    """Take back the last edit of the tune at hand."""


class Redo(Struct, frozen=True, tag_field="kind", tag="redo"):
    """Do again the edit that was taken back last."""


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


FromPage = (
    Join
    | Pong
    | Settings
    | Sitting
    | Start
    | Stop
    | Again
    | NextRung
    | Calibrate
    | LearnFoot
    | Mark
    | Sounding
    | Notes
    | Input
    | Enter
    | Edit
    | Undo
    | Redo
    | Answer
    | Desk
    | LookOn
    | Steer
)
