"""Foot switches: a control change, program change or note that starts, stops, repeats or goes on.

A switch is named as it stands in the settings: ``CC 64``, ``PC 1`` or ``note 36``; the numbers are those of the MIDI
messages, 0..127, on any channel.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from coach.errors import InputError

__all__ = ["DID", "FOOT_SEAT", "HALF_WAY", "FootBoard", "Switch", "read_switch"]

FOOT_SEAT = "foot"
"""The seat of the input of a foot switch that has its own."""

DID = {"start": "start and stop", "again": "the same again", "next": "next rung"}
"""What a switch has done, in words."""

_NAME = re.compile(r"(CC|PC|note)\s*(\d{1,3})", re.IGNORECASE)
_STATUS = {"CC": 0xB0, "PC": 0xC0, "note": 0x90}

HALF_WAY = 64
"""A control change of this value or more is a pedal pressed: MIDI 1.0, the on/off rule of controllers 64 to 69."""


@dataclass(frozen=True, slots=True)
class Switch:
    """A foot switch.

    Attributes:
        kind: what it sends.
        number: of the controller, program or note, 0..127.
    """

    kind: Literal["CC", "PC", "note"]
    number: int

    @property
    def name(self) -> str:
        """The name in the settings."""
        return f"{self.kind} {self.number}"

    def is_of(self, data: bytes) -> bool:
        """Whether a message comes from this switch, pressed or let go."""
        if len(data) < 2 or data[1] != self.number:
            return False
        status = data[0] & 0xF0
        return status == _STATUS[self.kind] or (self.kind == "note" and status == 0x80)

    def value(self, data: bytes) -> bool:
        """Whether a message of this switch says that it is down."""
        if self.kind == "PC":
            return True
        if len(data) < 3 or data[0] & 0xF0 == 0x80:
            return False
        return data[2] >= (HALF_WAY if self.kind == "CC" else 1)


def read_switch(name: str) -> Switch | None:
    """Read the name of a switch; an empty one is none.

    Raises:
        InputError: when it is no name of a switch.
    """
    if not name.strip():
        return None
    match = _NAME.fullmatch(name.strip())
    if match is None or int(match[2]) > 127:
        raise InputError(f"{name!r} is no foot switch", cure="name it like CC 64, PC 1 or note 36")
    kind: Literal["CC", "PC", "note"] = (
        "note" if match[1].lower() == "note" else "CC" if match[1].upper() == "CC" else "PC"
    )
    return Switch(kind, int(match[2]))


class FootBoard:
    """Knows which message is a switch, and when one goes down (a held pedal that sends again is pressed once)."""

    def __init__(self) -> None:
        self._down: set[tuple[str, Switch]] = set()

    def pressed(self, seat: str, data: bytes, switches: Mapping[str, Switch | None]) -> tuple[bool, str | None]:
        """Look at a message.

        Args:
            seat: the input that it came from.
            data: its bytes.
            switches: by what each does.

        Returns:
            whether the message belongs to a switch at all (then it is no note), and what a switch that has just gone
            down does, else None.
        """
        for does, switch in switches.items():
            if switch is None or not switch.is_of(data):
                continue
            if not switch.value(data):
                self._down.discard((seat, switch))
                return True, None
            if (seat, switch) in self._down and switch.kind != "PC":
                return True, None
            self._down.add((seat, switch))
            return True, does
        return False, None

    def let_go(self, seat: str) -> None:
        """An input is gone: whatever was down there is not held any more, and its coming up was never heard."""
        self._down = {(other, switch) for other, switch in self._down if other != seat}
