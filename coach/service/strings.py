"""Which inputs tell strings: learned from the channels that their notes come on."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, StringChannels

__all__ = ["StringEar"]


class StringEar:
    """Listens to the channels of all inputs of a session.

    Args:
        is_known: whether an input is known to have each string on a channel of its own, without listening.
    """

    def __init__(self, is_known: Callable[[str], bool]) -> None:
        self._is_known = is_known
        self._heard: dict[str, set[int]] = {}

    def hear(self, seat: str, data: bytes) -> None:
        """Look at a message of an input."""
        if data and data[0] & 0xF0 == 0x90:
            self._heard.setdefault(seat, set()).add((data[0] & 0x0F) + 1)

    @property
    def seats(self) -> frozenset[str]:
        """The inputs that have sent notes."""
        return frozenset(self._heard)

    def forget(self, seats: Iterable[str]) -> None:
        """These inputs have sent nothing, as far as the next pass is concerned."""
        for seat in seats:
            self._heard.pop(seat, None)

    def channels(self, otherwise: Iterable[str]) -> StringChannels | None:
        """The channels of the strings, all inputs being read alike; None where one of them does not tell strings.

        Args:
            otherwise: the inputs to go by where none has sent a note yet.
        """
        seats = self._heard or list(otherwise)
        return STRINGS_ON_OWN_CHANNELS if all(self._tells(seat) for seat in seats) else None

    def _tells(self, seat: str) -> bool:
        known = self._heard.get(seat, set()) & set(STRINGS_ON_OWN_CHANNELS)
        return self._is_known(seat) or len(known) > 1
