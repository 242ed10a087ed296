"""The instrument that a session is played on: what is known of it is what is set, and what is set is known of it."""

from __future__ import annotations

from dataclasses import replace

from coach.listening.calibration import Calibration
from coach.listening.heard import Latency, StringChannels
from coach.listening.plan import MOST_LEAN_MS
from coach.service.after_pass import AfterPass
from coach.service.choice import Choice
from coach.service.from_page import Settings
from coach.service.in_use import InUse
from coach.service.instruments import Instruments, KnownInstrument
from coach.takes.sessions import Instrument

__all__ = ["PlayedOn"]


class PlayedOn:
    """Keeps the settings of a session and what is known of its instrument the same.

    A player's own setting of the latency holds, also the next time, until the instrument is learned again.

    Args:
        instruments: that are known.
        in_use: the instrument.
        choice: whose settings are kept.
        after: knows how far the player leans.
        pad: the name of what is played on where no instrument is in use.
    """

    def __init__(
        self,
        instruments: Instruments,
        in_use: InUse,
        choice: Choice,
        after: AfterPass,
        pad: str,
    ) -> None:
        self._instruments = instruments
        self._in_use = in_use
        self._choice = choice
        self._after = after
        self._pad = pad
        self._known = KnownInstrument("")

    @property
    def name(self) -> str:
        """Of the instrument, as it is known."""
        return self._known.name

    @property
    def is_latency_known(self) -> bool:
        """Whether its latency was learned, or told by the player."""
        return self._known.latency is not None

    @property
    def is_learned(self) -> bool:
        """Whether its latency was learned."""
        return self._known.is_learned

    @property
    def tells_strings(self) -> bool:
        """Whether it is known to tell strings by its channels, since it was learned by string."""
        return self._known.latency is not None and self._known.latency.by_string != ()

    def as_played(self, channels: StringChannels | None) -> Instrument:
        """The instrument as it is kept with a pass.

        Args:
            channels: of its strings; None where channels tell nothing.
        """
        latency = self._choice.chosen.latency(channels)
        return Instrument(self._in_use.name, channels, latency, self.is_latency_known)

    def trouble(self) -> str:
        """What was wrong with what was kept of instruments, said once; empty where nothing was."""
        trouble, self._instruments.trouble = self._instruments.trouble, ""
        return trouble

    def meet(self) -> bool:
        """See what is played on; where it is another instrument, what is known of it is set.

        Returns:
            whether it is another one.
        """
        name = self._in_use.name or self._pad
        if name == self._known.name:
            return False
        self._known = self._instruments.find(name, self._in_use.there) or KnownInstrument(name)
        self._set()
        return True

    def told(self, message: Settings) -> None:
        """The player has set what is known of an instrument themselves.

        Raises:
            InputError: when it cannot be written.
        """
        if message.latency_ms is None and message.string_channels is None:
            return
        known = self._known
        if message.latency_ms is not None:
            known = replace(known, latency=Latency(message.latency_ms), spread_ms=None, lean_ms=0.0, is_learned=False)
        if message.string_channels is not None:
            known = replace(known, string_channels=message.string_channels)
        self._known = known
        self._keep()

    def learned(self, found: Calibration) -> None:
        """It was learned anew.

        Raises:
            InputError: when it cannot be written.
        """
        self._known = replace(
            self._known,
            latency=found.latency,
            spread_ms=round(found.spread_ms, 1),
            lean_ms=round(max(-MOST_LEAN_MS, min(MOST_LEAN_MS, found.lean_ms)), 1),
            is_learned=True,
        )
        self._set()
        self._keep()

    def _keep(self) -> None:
        self._instruments.keep(self._known, self._in_use.there)

    def _set(self) -> None:
        latency = self._known.latency or Latency()
        self._choice.chosen = replace(
            self._choice.chosen,
            latency_ms=latency.ms,
            latency_by_string=latency.by_string,
            string_channels=self._known.string_channels,
        )
        self._after.lean_ms = self._known.lean_ms
