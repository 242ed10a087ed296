"""Cutting a stream of MIDI bytes into whole messages of channels.

What a cable carries, and some drivers hand on as it came (MIDI 1.0 Detailed Specification, from memory): a status byte
that repeats is left out (running status); real-time bytes (F8 to FF: clock, active sensing and the like) stand
anywhere, also inside another message; system exclusive runs from F0 to the next status byte; the other system messages
(F1 to F7) end running status. Only messages of channels come out, each with its status byte.
"""

from __future__ import annotations

__all__ = ["MidiSplitter"]

_SYSTEM = 0xF0
_REAL_TIME = 0xF8


class MidiSplitter:
    """Cuts the bytes of one input, in whatever portions they come.

    Data bytes that belong to nothing are skipped, and so is a message that another status byte breaks off.
    """

    __slots__ = ("_data", "_status")

    def __init__(self) -> None:
        self._status = 0  # the running status; 0 where data bytes belong to no message of a channel
        self._data: list[int] = []  # the data bytes of the message under way

    def feed(self, data: bytes) -> list[bytes]:
        """The messages that end with some more bytes, in order: two or three bytes each, the first a status byte."""
        messages: list[bytes] = []
        for byte in data:
            if byte >= _REAL_TIME:
                continue
            if byte >= 0x80:
                self._status = byte if byte < _SYSTEM else 0
                self._data.clear()
            elif self._status:
                self._data.append(byte)
                if len(self._data) == _data_bytes(self._status):
                    messages.append(bytes((self._status, *self._data)))
                    self._data.clear()
        return messages


def _data_bytes(status: int) -> int:
    """How many data bytes follow a status byte of a channel: program change and channel pressure have one."""
    return 1 if status & 0xE0 == 0xC0 else 2
