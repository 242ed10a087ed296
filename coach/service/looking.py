"""What desks and sessions say to each other over the bus: topics, and messages as JSON.

A desk speaks to a student's session by :func:`to`; the session shows itself by :func:`cards` to all desks of the
studio, and by :func:`live` to those that look on; it answers a desk by :func:`at_desk`. Times are seconds on the
service's clock.
"""

from __future__ import annotations

from typing import Literal

import msgspec
from msgspec import Raw, Struct

from coach.service.protocol import FromService, Steer
from coach.studio.people import StudioName

__all__ = [
    "Answered",
    "Ask",
    "FromStudent",
    "Leave",
    "Look",
    "Outcome",
    "Overheard",
    "Propose",
    "Reread",
    "Shown",
    "ToStudent",
    "at_desk",
    "cards",
    "live",
    "of_people",
    "pack",
    "shown",
    "to",
    "to_desk",
    "to_student",
]


def cards(studio: StudioName) -> str:
    """The topic of the cards of a studio's students: ``card`` of the wire."""
    return f"cards/{studio.id}"


def live(person: str) -> str:
    """The topic of what a student plays, for those who look on."""
    return f"live/{person}"


def to(person: str) -> str:
    """The topic of what is said to a student's session."""
    return f"to/{person}"


def at_desk(desk: str) -> str:
    """The topic of what is said to one desk alone: what came of its proposals."""
    return f"desk/{desk}"


def of_people(studio: StudioName) -> str:
    """The topic of who belongs to a studio: whatever is said there, the list of its people is to be read anew."""
    return f"people/{studio.id}"


# ---------------------------------------------------------------------------------------------- to a session


class Ask(Struct, frozen=True, tag_field="kind", tag="ask"):
    """A desk has come: the card is to be shown."""


class Look(Struct, frozen=True, tag_field="kind", tag="look"):
    """Somebody looks on from now: by which desk, who, and by what name. Said again it changes nothing."""

    desk: str
    by: str
    name: str


class Leave(Struct, frozen=True, tag_field="kind", tag="leave"):
    """Who looked on by this desk does not any more; ``gone``: the desk is closed, and what it has offered with it."""

    desk: str
    gone: bool = False


class Propose(Struct, frozen=True, tag_field="kind", tag="propose"):
    """A teacher would set something: by which desk, who, by what name, and what."""

    desk: str
    by: str
    name: str
    steer: Steer


class Reread(Struct, frozen=True, tag_field="kind", tag="reread"):
    """What is set for the student, or pinned, is to be read anew."""


ToStudent = Ask | Look | Leave | Propose | Reread

# ---------------------------------------------------------------------------------------------- to desks

Outcome = Literal["waits", "agreed", "declined", "not here"]


class Shown(Struct, frozen=True, tag_field="kind", tag="shown"):
    """A message that the student's pages were sent.

    Attributes:
        message: as JSON; the origin of a ``begin`` is on the service's clock.
        of: its kind.
        desk: that it is for alone; empty for all that look on.
    """

    message: Raw
    of: str
    desk: str = ""


class Overheard(Struct, frozen=True, tag_field="kind", tag="overheard"):
    """A MIDI message of the student's instrument, and the string where that is known."""

    stamp: float
    data: list[int]
    string: int | None


class Answered(Struct, frozen=True, tag_field="kind", tag="answered"):
    """What came of a proposal of a desk to a student, as in the wire's ``steered``."""

    student: str
    answer: Outcome
    words: str = ""


FromStudent = Shown | Overheard | Answered

# ---------------------------------------------------------------------------------------------- bytes

_encoder = msgspec.json.Encoder()
_to_student: msgspec.json.Decoder[ToStudent] = msgspec.json.Decoder(ToStudent)
_to_desk: msgspec.json.Decoder[FromStudent] = msgspec.json.Decoder(FromStudent)


def pack(message: Struct) -> bytes:
    """A message as it goes over the bus."""
    return _encoder.encode(message)


def shown(message: FromService, desk: str = "") -> bytes:
    """A message that pages were sent, packed; for one desk or for all."""
    return pack(Shown(Raw(_encoder.encode(message)), str(message.__struct_config__.tag), desk))


def to_student(data: bytes) -> ToStudent:
    """Read what is said to a session.

    Raises:
        msgspec.MsgspecError: when it is nothing of that kind.
    """
    return _to_student.decode(data)


def to_desk(data: bytes) -> FromStudent:
    """Read what a session says to desks.

    Raises:
        msgspec.MsgspecError: when it is nothing of that kind.
    """
    return _to_desk.decode(data)
