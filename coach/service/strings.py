"""What is learned of an input by listening to all it sends, in passes and between: its channels, and its bend range."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable

from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, StringChannels
from coach.takes.take import is_channel_message

__all__ = ["StringEar", "string_of"]

# The controllers that choose a parameter and set it (MIDI 1.0: NRPN 98 and 99, RPN 100 and 101, data entry 6 and 38).
_PARAMETERS = frozenset({6, 38, 98, 99, 100, 101})
_KEPT = 8


def string_of(data: bytes, channels: StringChannels | None) -> int | None:
    """The string that a message of a channel is of; None where channels do not tell strings."""
    channel = (data[0] & 0x0F) + 1
    return None if channels is None or channel not in channels else channels.index(channel) + 1


class StringEar:
    """Listens to the channels of all inputs of a session.

    Args:
        is_known: whether an input is known to have each string on a channel of its own, without listening.
    """

    def __init__(self, is_known: Callable[[str], bool]) -> None:
        self._is_known = is_known
        self._heard: dict[str, set[int]] = {}
        self._parameters: dict[str, dict[int, deque[bytes]]] = {}

    def hear(self, seat: str, data: bytes) -> None:
        """Look at a message of an input."""
        if not is_channel_message(data):
            return
        kind, channel = data[0] & 0xF0, (data[0] & 0x0F) + 1
        if kind == 0x90 and data[2]:
            self._heard.setdefault(seat, set()).add(channel)
        if kind == 0xB0 and data[1] in _PARAMETERS:
            told = self._parameters.setdefault(seat, {}).setdefault(channel, deque(maxlen=_KEPT))
            told.append(data)

    def setup(self, seat: str) -> tuple[bytes, ...]:
        """The messages by which an input told its bend range, the last of each channel; each pass begins with them."""
        return tuple(data for told in self._parameters.get(seat, {}).values() for data in told)

    @property
    def seats(self) -> frozenset[str]:
        """The inputs that have sent notes."""
        return frozenset(self._heard)

    def forget(self, seats: Iterable[str]) -> None:
        """These inputs have sent nothing, as far as the next pass is concerned."""
        for seat in seats:
            self._heard.pop(seat, None)

    def replace(self, seat: str) -> None:
        """Another instrument comes by this input: what the one before sent says nothing of it."""
        self.forget([seat])
        self._parameters.pop(seat, None)

    def channels(self, instrument: Iterable[str], *, own: bool = False) -> StringChannels | None:
        """The channels of the strings, all inputs being read alike; None where one of them does not tell strings.

        Args:
            instrument: the inputs to go by where none has sent a note yet.
            own: whether to go by them also where others have: a player who lets a page hear an instrument plays it.
        """
        seats = {*self._heard, *instrument} if own else self._heard or list(instrument)
        return STRINGS_ON_OWN_CHANNELS if all(self._tells(seat) for seat in seats) else None

    def _tells(self, seat: str) -> bool:
        known = self._heard.get(seat, set()) & set(STRINGS_ON_OWN_CHANNELS)
        return self._is_known(seat) or len(known) > 1
