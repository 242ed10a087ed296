"""What a session needs of MIDI ports, and a session that has none."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from coach.errors import InputError
from coach.listening.plan import PassPlan
from coach.service import protocol as wire
from coach.service.midi_out import TimedMidi
from coach.service.passes import CapturedNote

__all__ = ["MidiOutside", "NoMidi"]


class MidiOutside(Protocol):
    """The MIDI ports as a session uses them."""

    reserved: frozenset[str]
    """The seats that are the service's own, open or not."""

    def ports(self) -> wire.Ports:
        """As they are now."""
        ...

    @property
    def instrument(self) -> str:
        """The input that is played on, also while it has vanished; empty where there is none."""
        ...

    def choose(self, *, midi_in: str | None, midi_out: str | None, midi_foot: str | None = None) -> None:
        """Use other ports; None leaves one as it is, an empty name is none.

        Raises:
            PortError: when one is not there.
        """
        ...

    def seats(self) -> tuple[str, ...]:
        """The seats of the service's own inputs that are open."""
        ...

    def tells_strings(self, seat: str) -> bool:
        """Whether one of these inputs is known to have each string on a channel of its own."""
        ...

    def due(self) -> list[tuple[str, CapturedNote]]:
        """Notes of inputs that are asked for theirs, by seat: those that have sounded by now."""
        ...

    def pass_begins(self, plan: PassPlan, origin: float) -> None:
        """A pass is played whose position 0 is heard at ``origin`` on the service's clock."""
        ...

    def pass_ends(self) -> None:
        """The pass is over."""
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

    @property
    def instrument(self) -> str:
        """None."""
        return ""

    def choose(self, *, midi_in: str | None, midi_out: str | None, midi_foot: str | None = None) -> None:
        """Nothing can be chosen."""
        if midi_in or midi_out or midi_foot:
            raise InputError("this session has no MIDI ports", cure="use the session 'home'")

    def seats(self) -> tuple[str, ...]:
        """None."""
        return ()

    def tells_strings(self, seat: str) -> bool:  # noqa: ARG002
        """There are none."""
        return False

    def due(self) -> list[tuple[str, CapturedNote]]:
        """None."""
        return []

    def pass_begins(self, plan: PassPlan, origin: float) -> None:
        """Nobody is told."""

    def pass_ends(self) -> None:
        """Nobody is told."""

    def sender(self) -> None:
        """None."""
        return

    def silence(self) -> None:
        """Nothing sounds."""
