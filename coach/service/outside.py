"""What a session needs of MIDI ports, and a session that has none."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from coach.errors import InputError
from coach.service import protocol as wire
from coach.service.midi_out import TimedMidi

__all__ = ["MidiOutside", "NoMidi"]


class MidiOutside(Protocol):
    """The MIDI ports as a session uses them."""

    reserved: frozenset[str]
    """The seats that are the service's own, open or not."""

    def ports(self) -> wire.Ports:
        """As they are now."""
        ...

    def choose(self, *, midi_in: str | None, midi_out: str | None) -> None:
        """Use other ports; None leaves one as it is, an empty name is none.

        Raises:
            PortError: when one is not there.
        """
        ...

    def seats(self) -> tuple[str, ...]:
        """The seats of the service's own inputs that are open."""
        ...

    def sender(self) -> Callable[[list[TimedMidi]], None] | None:
        """What takes timed MIDI; None while no output is open."""
        ...

    def silence(self) -> None:
        """All that is queued is forgotten, all notes end."""
        ...


class NoMidi:
    """A session without ports."""

    reserved: frozenset[str] = frozenset()

    def ports(self) -> wire.Ports:
        """None."""
        return wire.Ports([], [], None, None, "MIDI ports of this computer belong to the session 'home'.")

    def choose(self, *, midi_in: str | None, midi_out: str | None) -> None:
        """Nothing can be chosen."""
        if midi_in or midi_out:
            raise InputError("this session has no MIDI ports", cure="use the session 'home'")

    def seats(self) -> tuple[str, ...]:
        """None."""
        return ()

    def sender(self) -> None:
        """None."""
        return

    def silence(self) -> None:
        """Nothing sounds."""
