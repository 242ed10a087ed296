"""What a session learns when asked to: the instrument, from notes to the click, and foot switches, from a press."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from coach.errors import CoachError
from coach.listening.heard import StringChannels
from coach.service.choice import Choice
from coach.service.foot import DID, read_switch
from coach.service.learning import CalibratingEar, calibrated, learning_order
from coach.service.midi_out import TimedMidi
from coach.service.orders import Ended, Order
from coach.service.pages import Page
from coach.service.played_on import PlayedOn
from coach.service.port_names import unnumbered
from coach.service.protocol import Calibrated, Failure, Foot, FromService, Settings

__all__ = ["Lessons"]

_ANOTHER = "Another instrument came into use meanwhile: learn it from its own notes."


class Lessons:
    """The lessons of a session.

    Args:
        choice: the settings.
        played_on: the instrument.
        broadcast: sends a message to every page of the session.

    Attributes:
        learned: what was learned last of the instrument that is played on; None for nothing yet.
    """

    def __init__(self, choice: Choice, played_on: PlayedOn, broadcast: Callable[[FromService], None]) -> None:
        self.learned: Calibrated | None = None
        self._choice = choice
        self._played_on = played_on
        self._broadcast = broadcast
        self._count = 0
        self._of = ""  # the instrument whose lesson is under way

    def order(
        self,
        channels: StringChannels | None,
        sounder: Page | None,
        send: Callable[[list[TimedMidi]], None] | None,
    ) -> Order:
        """What is played to learn the instrument.

        Args:
            channels: of the strings; None where they do not tell strings, or it is not known yet.
            sounder: the page that sounds the click; None for the service.
            send: takes timed MIDI, where the service sounds the click on a port.
        """
        self.learned = None
        self._of = self._played_on.name
        self._count += 1
        return learning_order(self._count, self._choice.chosen, channels, sounder, send)

    def over(self, ended: Ended) -> None:
        """It was played: what was learned is told, and used where it is to be trusted."""
        found = ended.ear.calibration if isinstance(ended.ear, CalibratingEar) else None
        if found is None:
            return
        if unnumbered(self._of) != unnumbered(self._played_on.name):
            self._broadcast(Failure(_ANOTHER, "instrument"))
            return
        self.learned = calibrated(found, self._played_on.name)
        self._broadcast(self.learned)
        if found.trusted:
            try:
                self._played_on.learned(found)
            except CoachError as error:
                self._broadcast(Failure(str(error), "instrument"))

    def set_switch(self, does: str, name: str) -> None:
        """A switch was pressed to be set, and does nothing else any more; without a name none was pressed in time."""
        if not name:
            self._broadcast(Failure("No foot switch was heard: see that its input is the one in use.", "foot"))
            return
        pressed, switches = read_switch(name), self._choice.chosen.switches
        freed = {f"foot_{other}": "" for other, switch in switches.items() if switch == pressed}
        self._choice.change(msgspec.convert(freed | {f"foot_{does}": name}, Settings))
        moved = "".join(
            f", and no longer for {DID[other]}"
            for other, switch in switches.items()
            if switch == pressed and other != does
        )
        self._broadcast(Foot(name, f"set, for {DID[does]}{moved}"))
