"""Every message of the wire, subprotocol ``coach.1``: JSON objects told apart by ``kind``.

Conventions

- ``stamp`` and ``origin`` are seconds on the clock of the one who writes them, unless the field says otherwise: a
  page's clock is ``performance.now() / 1000``, the service's is its monotonic session clock.
- ``at`` in a cue is heard time: seconds from position 0 of the pass; the count-in lies before 0.
- Unknown fields are ignored; new fields have defaults; nothing is retyped (the rules of evolution of msgspec).
- A page may only send the kinds of :data:`FromPage`; the service only those of :data:`FromService`.
"""

from __future__ import annotations

import msgspec

from coach.service.from_page import (
    MOST_NOTES_IN_A_MESSAGE,
    Again,
    Calibrate,
    Edit,
    EditedPluck,
    Enter,
    FromPage,
    Input,
    InputNote,
    Join,
    LearnFoot,
    Mark,
    NextRung,
    Notes,
    Pong,
    Redo,
    Settings,
    Sitting,
    Sounding,
    Start,
    Stop,
    Undo,
)
from coach.service.from_service import (
    Ack,
    Calibrated,
    EditState,
    Failure,
    Foot,
    FromService,
    Hello,
    Ping,
    Played,
    Ports,
    PracticeReport,
    Rung,
    SittingState,
    State,
    StringLearned,
    TuneLine,
    Tunes,
)
from coach.service.pass_messages import Amend, Begin, Cue, HeardMark, MeasureScored, Place, VerdictMark
from coach.service.studio_messages import (
    Answer,
    Assigned,
    Assignment,
    Card,
    Desk,
    DeskHello,
    Live,
    LookOn,
    Offer,
    PassStrip,
    Pin,
    Pins,
    Sounded,
    Steer,
    Steered,
    Watched,
)

__all__ = [
    "Ack",
    "Again",
    "Amend",
    "Answer",
    "Assigned",
    "Assignment",
    "Begin",
    "Calibrate",
    "Calibrated",
    "Card",
    "Cue",
    "Desk",
    "DeskHello",
    "Edit",
    "EditState",
    "EditedPluck",
    "Enter",
    "Failure",
    "Foot",
    "FromPage",
    "FromService",
    "HeardMark",
    "Hello",
    "Input",
    "InputNote",
    "Join",
    "LARGEST_MESSAGE",
    "LearnFoot",
    "Live",
    "LookOn",
    "MOST_NOTES_IN_A_MESSAGE",
    "Mark",
    "MeasureScored",
    "NextRung",
    "Notes",
    "Offer",
    "PassStrip",
    "Pin",
    "Ping",
    "Pins",
    "Place",
    "Played",
    "Pong",
    "Ports",
    "PracticeReport",
    "Redo",
    "Rung",
    "SUBPROTOCOL",
    "Settings",
    "Sitting",
    "SittingState",
    "Sounded",
    "Sounding",
    "Start",
    "State",
    "Steer",
    "Steered",
    "Stop",
    "StringLearned",
    "TuneLine",
    "Tunes",
    "Undo",
    "VerdictMark",
    "Watched",
    "decode_from_page",
    "encode",
]

SUBPROTOCOL = "coach.1"
LARGEST_MESSAGE = 64 * 1024

_decoder: msgspec.json.Decoder[FromPage] = msgspec.json.Decoder(FromPage)
_encoder = msgspec.json.Encoder()


def decode_from_page(text: str | bytes) -> FromPage:
    """Read a message from a page.

    Raises:
        msgspec.ValidationError: when it is of no known kind, or a field breaks its bounds; the text has the path.
        msgspec.DecodeError: when it is not JSON.
    """
    return _decoder.decode(text)


def encode(message: FromService) -> bytes:
    """Write a message of the service as JSON text, in UTF-8."""
    return _encoder.encode(message)
