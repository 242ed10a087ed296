"""What the next pass will be: the settings, and the solos of the tune that is chosen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from coach.arranging.arrangement import Tier
from coach.errors import CoachError
from coach.listening.free_ear import FreeEar
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.service.accompany import lead_of, played_along
from coach.service.jobs import Solo
from coach.service.midi_out import TimedMidi
from coach.service.orders import Order
from coach.service.pages import Page
from coach.service.protocol import Rung, Settings
from coach.service.settings import Chosen, changed, fitted
from coach.takes.grid import click_tempo
from coach.takes.sessions import Instrument

__all__ = ["Choice", "Fetch", "Solos"]

Solos = Mapping[Tier, Solo]
Fetch = Callable[[str, Callable[[Solos | CoachError], None]], None]
"""Asks for the solos of a tune; they are handed over, now or later, on the event loop."""


class Choice:
    """The choice of a session.

    Args:
        fetch: asks for solos.
        arrived: called when solos have come, or with the reason why they do not.

    Attributes:
        chosen: the settings.
        solos: of the tune that is chosen, by tier; empty while they are being written.
        waiting: what is waited for, or why there is no solo, in words.
    """

    def __init__(self, fetch: Fetch, arrived: Callable[[CoachError | None], None]) -> None:
        self.chosen = Chosen()
        self.solos: Solos = {}
        self.waiting = ""
        self._fetch = fetch
        self._arrived = arrived

    @property
    def solo(self) -> Solo | None:
        """The solo that is chosen; None while it is being written."""
        return self.solos.get(self.chosen.tier)

    def order(
        self,
        number: int,
        solo: Solo,
        instrument: Instrument,
        *,
        lean_ms: float,
        sounder: Page | None,
        send: Callable[[list[TimedMidi]], None] | None,
    ) -> Order:
        """The next pass as it is chosen now.

        Args:
            number: of the pass on the wire.
            solo: what is played.
            instrument: what is played on.
            lean_ms: how far the player leans against the click.
            sounder: the page that sounds the click; None for the service.
            send: takes timed MIDI, where the service sounds the click on a port.
        """
        chosen = self.chosen
        free = chosen.free_time
        plan = PassPlan(
            solo.arrangement,
            click_tempo(chosen.tempo),
            first=chosen.first,
            last=chosen.last,
            bounce=chosen.bounce,
            lean_ms=0.0 if free else lean_ms,
        )
        return Order(
            number=number,
            solo=solo,
            plan=plan,
            parts=[] if free else played_along(plan, chosen.levels),
            lead=0.0 if free else lead_of(plan),
            listen=partial(FreeEar if free else Listener, settings=chosen.listening(instrument.string_channels)),
            tolerance_ms=chosen.tolerance_ms,
            instrument=instrument,
            tempo=chosen.tempo,
            self_marked=chosen.self_marked,
            sounder=None if free else sounder,
            send=None if free else send,
            out_delay=0.0 if free else chosen.out_delay_ms / 1000,
            free=free,
        )

    def change(self, message: Settings) -> Chosen:
        """Change the settings; returns those of before.

        Raises:
            InputError: when they contradict each other.
        """
        before = self.chosen
        self.chosen = changed(before, message)
        if self.chosen.tune != before.tune:
            self._want_solos()
        else:
            self._fit()
        return before

    def take_rung(self, rung: Rung) -> None:
        """Choose what the ladder offers: it is climbed to a click."""
        tier: Tier | None = next((tier for tier in self.solos if tier == rung.tier), None)
        self.change(Settings(tier=tier, tempo=rung.tempo, first=rung.first, last=rung.last, free_time=False))

    def take_again(self, solo: Solo, tempo: float, first: int | None, last: int | None) -> None:
        """Choose what was played before, as far as its solo is one of those that are chosen now."""
        tier = next((tier for tier, own in self.solos.items() if own.digest == solo.digest), None)
        if tier is not None:
            self.change(Settings(tier=tier, tempo=tempo, whole=first is None and last is None))
            self.change(Settings(first=first, last=last))

    def _want_solos(self) -> None:
        tune = self.chosen.tune
        self.solos = {}
        self.waiting = "Writing the solos …"

        def arrived(solos: Solos | CoachError) -> None:
            if self.chosen.tune != tune:
                return
            if isinstance(solos, CoachError):
                self.waiting = str(solos)
                self._arrived(solos)
                return
            self.waiting = ""
            self.solos = solos
            self._fit()
            if self.solo is not None:
                self.chosen = changed(self.chosen, Settings(bounce=self.solo.arrangement.bounce))
            self._arrived(None)

        self._fetch(tune, arrived)

    def _fit(self) -> None:
        """Make the settings fit the solos: a tier that there is, measures that it has."""
        solo = self.solo or next(iter(self.solos.values()), None)
        if solo is not None:
            self.chosen = fitted(self.chosen, solo.arrangement)
