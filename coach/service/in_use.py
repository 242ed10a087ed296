"""Which instrument a session is played on: one that a page hears by its browser, else one on the service's own ports.

One at a time: an instrument that browser and service both hear would sound each note twice, and what is known of an
instrument (its latency, its channels) is known of that one alone. The pad can be played beside either.
"""

from __future__ import annotations

from coach.service.outside import MidiOutside
from coach.service.pages import Page, Pages

__all__ = ["InUse", "in_a_browser"]


def in_a_browser(name: str) -> str:
    """The name of an instrument as a browser hears it, whose latency is another one than on the service's ports."""
    return f"{name} in a browser"


class InUse:
    """The instrument in use.

    Args:
        pages: of the session.
        midi: the ports.
    """

    def __init__(self, pages: Pages, midi: MidiOutside) -> None:
        self._pages = pages
        self._midi = midi

    @property
    def page(self) -> Page | None:
        """The page whose own instrument is in use: that which named its own last; None where no page has one."""
        return self._pages.with_instrument

    @property
    def name(self) -> str:
        """Of the instrument, also while a port has vanished; empty where there is none."""
        page = self.page
        return self._midi.instrument if page is None else in_a_browser(page.instrument)

    @property
    def there(self) -> list[str]:
        """The names of all instruments that are there now."""
        own = [in_a_browser(page.instrument) for page in self._pages.values() if page.instrument]
        return [*self._midi.ports().inputs, *own]

    @property
    def seats(self) -> tuple[str, ...]:
        """The inputs that the instrument in use comes by."""
        page = self.page
        return self._midi.seats() if page is None else (page.instrument_seat,)

    @property
    def all_seats(self) -> list[str]:
        """The inputs that an instrument may come by, in use or not."""
        return [*self._midi.reserved, *(page.instrument_seat for page in self._pages.values())]

    def hears(self, seat: str) -> bool:
        """Whether what comes by an input is played for the coach: by the instrument in use, or on the pad of a page."""
        if seat in self._pages:
            return True
        page = self.page
        return seat in self._midi.reserved if page is None else seat == page.instrument_seat
