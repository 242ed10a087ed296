"""The messages of a studio: of a teacher's desk, and of what a teacher does for a student who practises.

A desk is a connection of its own. Its first message is ``desk`` in place of ``join``; it has a clock (``ping`` and
``pong``), and no notes. Nothing of these is sent to a page of a service without a studio.
"""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta, Raw, Struct

__all__ = [
    "Answer",
    "Assigned",
    "Assignment",
    "Card",
    "Desk",
    "DeskHello",
    "Live",
    "LookOn",
    "Offer",
    "PassStrip",
    "Pin",
    "Pins",
    "Sounded",
    "Steer",
    "Steered",
    "Watched",
]

PersonId = Annotated[str, Meta(pattern=r"^[a-z0-9-]{0,40}\Z")]

# ---------------------------------------------------------------------------------------------- of a desk


class Desk(Struct, frozen=True, tag_field="kind", tag="desk"):
    """The first message of a teacher's desk: it is told of all students of the studio from now on."""


class LookOn(Struct, frozen=True, tag_field="kind", tag="look_on"):
    """Look at one student, who sees a sign of it; in place of the one before. An empty id ends it."""

    student: PersonId


class Steer(Struct, frozen=True, tag_field="kind", tag="steer"):
    """Ask a student to have the tempo, tier or measures of the next pass set; a field that is left out stays.

    Attributes:
        whole: the whole solo, in place of measures.
    """

    student: PersonId
    tempo: Annotated[float, Meta(ge=20, le=400)] | None = None
    tier: Literal["beginner", "intermediate", "advanced"] | None = None
    first: Annotated[int, Meta(ge=0, le=2000)] | None = None
    last: Annotated[int, Meta(ge=0, le=2000)] | None = None
    whole: bool = False


# ---------------------------------------------------------------------------------------------- of a student's page


class Answer(Struct, frozen=True, tag_field="kind", tag="answer"):
    """What a student says to an offer; ``always``: to all others too, as long as the teacher looks on."""

    offer: Annotated[int, Meta(ge=0, le=2**53)]
    yes: bool
    always: bool = False


# ---------------------------------------------------------------------------------------------- to a desk


class DeskHello(Struct, frozen=True, tag_field="kind", tag="desk_hello"):
    """Answers ``desk``; a card for each student follows."""

    version: str
    page_digest: str
    person: str
    studio: str


class PassStrip(Struct, frozen=True):
    """A pass, as a strip of measures.

    Attributes:
        tune: that was played.
        clean: of each measure, from the first to the last that was played: whether it was clean. Of a pass that the
            player marked one value, of all of it.
        whole: whether it was played to its end.
        marked: whether the player marked it, and nobody listened.
    """

    tune: str
    tier: str
    tempo: float
    first: int
    clean: list[bool]
    whole: bool
    marked: bool = False


class Card(Struct, frozen=True, tag_field="kind", tag="card"):
    """A student as a teacher sees them at a glance; sent at once, and again whenever it changes.

    Attributes:
        student, name: who.
        here: whether a page of theirs is open.
        state: of the wire's ``state``; empty where they are not here.
        gone: they are no longer of the studio; all else says nothing.
        tune, title, tier, mix, tempo, first, last: what is chosen; of the pass while one is played.
        measures: that the solo on their page has.
        measure: that was judged last, or None between passes.
        marks: of the pass that is played, as a strip so far; None between passes.
        strips: the last passes, the latest last, at most eight.
        stuck: the measure that failed four times running, None where there is none; ``times`` how often it has.
        practised: when they were heard last, RFC 3339 in UTC; empty where never.
        watched: whether somebody looks on.
    """

    student: str
    name: str
    here: bool
    gone: bool = False
    state: str = ""
    tune: str = ""
    title: str = ""
    tier: str = ""
    mix: list[int] = []
    tempo: float = 0.0
    first: int = 0
    last: int = 0
    measures: int = 0
    measure: int | None = None
    marks: PassStrip | None = None
    strips: list[PassStrip] = []
    stuck: int | None = None
    times: int = 0
    practised: str = ""
    watched: bool = False


class Live(Struct, frozen=True, tag_field="kind", tag="live"):
    """A message as the student's page was sent it (``state``, ``begin``, ``heard``, ``verdict``, ``amend``,
    ``measure``, ``report``, ``place``), for the desk that looks on; times in it are on the desk's clock. After
    ``look_on`` all that makes up what is seen now comes first."""

    student: str
    message: Raw


class Sounded(Struct, frozen=True, tag_field="kind", tag="sounded"):
    """What the student's instrument sent, for the desk that looks on: it sounds there a moment later.

    Attributes:
        stamp: when, on the desk's clock.
        data: the MIDI message.
        string: null where the instrument does not tell.
    """

    student: str
    stamp: float
    data: list[int]
    string: int | None


class Steered(Struct, frozen=True, tag_field="kind", tag="steered"):
    """What came of an offer: it waits for the student, who agreed, declined, or was not here.

    ``words`` say why it could not be set although they agreed; else they are empty.
    """

    student: str
    answer: Literal["waits", "agreed", "declined", "not here"]
    words: str = ""


# ---------------------------------------------------------------------------------------------- to a student's page


class Watched(Struct, frozen=True, tag_field="kind", tag="watched"):
    """The names of the teachers who look on and listen now; empty for nobody. The page shows a sign as long."""

    by: list[str]


class Offer(Struct, frozen=True, tag_field="kind", tag="offer"):
    """A teacher would set tempo, tier or measures of the next pass; it holds only when the student agrees.

    Attributes:
        id: of the offer; 0 takes back the one before.
        words: what would be set, in words.
    """

    id: int
    by: str
    words: str


class Pin(Struct, frozen=True):
    """Words of a teacher at a measure, as played; ``made`` is RFC 3339 in UTC, ``seen`` whether the student has read
    them."""

    id: str
    measure: int
    words: str
    by: str
    made: str
    seen: bool


class Pins(Struct, frozen=True, tag_field="kind", tag="pins"):
    """What teachers have pinned to measures of the tune that is chosen; sent with each change."""

    tune: str
    pins: list[Pin]


class Assignment(Struct, frozen=True):
    """What a teacher has set.

    Attributes:
        until, cap_until: dates, empty where there is none.
        cap: not above this tempo; null where there is none.
        rules: what holds of the ladder for this tune, in a sentence; empty where all is the student's own.
        reached: the fastest clean pass of the whole in this tier; null where there was none.
    """

    id: str
    tune: str
    title: str
    tier: str
    mix: list[int]
    goal: float
    until: str
    words: str
    by: str
    cap: float | None
    cap_until: str
    rules: str
    reached: float | None


class Assigned(Struct, frozen=True, tag_field="kind", tag="assigned"):
    """All that is set for this student now; sent with each change."""

    assignments: list[Assignment]
