"""Who sounds the click of a session: one of its pages, or the MIDI output."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from coach.errors import InputError
from coach.service.midi_out import TimedMidi
from coach.service.outside import MidiOutside
from coach.service.pages import Page
from coach.service.settings import Chosen

__all__ = ["Sounders"]


class Sounders:
    """Those who can sound the click.

    Args:
        pages: of the session, by seat.
        midi: the ports.
        chosen: gives the settings.
    """

    def __init__(self, pages: Mapping[str, Page], midi: MidiOutside, chosen: Callable[[], Chosen]) -> None:
        self._pages = pages
        self._midi = midi
        self._chosen = chosen
        self._last = ""

    def page(self, asks: Page | None = None) -> Page | None:
        """The page that asks for a pass, else that which sounded the last one, else that which came last; or none."""
        if self._chosen().sound == "midi":
            return None
        if asks is not None:
            return asks
        here = {seat: page for seat, page in self._pages.items() if page.link is not None}
        return here.get(self._last) or next(reversed(here.values()), None)

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
