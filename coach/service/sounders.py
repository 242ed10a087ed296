"""Who sounds the click of a session: one of its pages, or the MIDI output."""

from __future__ import annotations

from collections.abc import Callable

from coach.errors import InputError
from coach.service.midi_out import TimedMidi
from coach.service.outside import MidiOutside
from coach.service.pages import Page, Pages
from coach.service.settings import Chosen

__all__ = ["Sounders"]


class Sounders:
    """Those who can sound the click.

    Args:
        pages: of the session, by seat.
        midi: the ports.
        chosen: gives the settings.
    """

    def __init__(self, pages: Pages, midi: MidiOutside, chosen: Callable[[], Chosen]) -> None:
        self._pages = pages
        self._midi = midi
        self._chosen = chosen
        self._last = ""

    def page(self, asks: Page | None = None) -> Page | None:
        """The page that asks for a pass, else that which sounded the last one, else that whose own instrument is in
        use, else that which came last; or none."""
        if self._chosen().sound == "midi":
            return None
        if asks is not None:
            return asks
        here = self._pages.here
        last = [page for page in here if page.seat == self._last]
        own = [page for page in here if page is self._pages.with_instrument]
        return next(iter([*last, *own, *reversed(here)]), None)

    def output(self) -> Callable[[list[TimedMidi]], None] | None:
        """What takes timed MIDI, where the MIDI output sounds the click; None where it does not.

        Raises:
            InputError: when no output is open.
        """
        if self._chosen().sound != "midi":
            return None
        send = self._midi.sender()
        if send is None:
            raise InputError("no MIDI output is open", cure="choose one, or let the page sound the click")
        return send

    def sounds(self, page: Page | None) -> None:
        """A page sounds a pass, and is to sound the next."""
        if page is not None:
            self._last = page.seat
