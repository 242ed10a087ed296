"""Pages that want to know between passes what is played on the service's own inputs, to write it down.

Each gets the notes on its own clock, as :class:`~coach.service.protocol.Played`. A note is told once and not again:
what a page missed while it was away is not written down behind its player's back.
"""

from __future__ import annotations

from collections.abc import Iterable

from coach.listening.heard import StringChannels
from coach.service.clock import Now
from coach.service.link import TokenBucket
from coach.service.pages import Page
from coach.service.passes import CapturedNote
from coach.service.protocol import Played
from coach.service.strings import string_of

__all__ = ["Entering"]

NOTES_A_SECOND = 40.0
NOTES_AT_ONCE = 80.0
"""More than hands can play; what an input sends beyond it is dropped."""

_NOTE_ON = 0x90


class Entering:
    """Tells notes to the pages that asked for them.

    Args:
        now: the service's clock.
    """

    def __init__(self, now: Now) -> None:
        self._bucket = TokenBucket(NOTES_A_SECOND, NOTES_AT_ONCE, now)
        self._pages: dict[str, Page] = {}

    def ask(self, page: Page, *, on: bool) -> None:
        """Whether a page wants to be told from now on."""
        if on:
            self._pages[page.seat] = page
        else:
            self.forget(page.seat)

    def forget(self, seat: str) -> None:
        """The page of this seat is another one from now on, or gone."""
        self._pages.pop(seat, None)

    def hear(self, notes: Iterable[CapturedNote], channels: StringChannels | None) -> None:
        """Tell what an input of the service sent.

        Args:
            notes: whole messages; of those that are no note-on nothing is told.
            channels: of the strings; None where the input does not tell strings.
        """
        for note in notes if self._pages else ():
            if len(note.data) != 3 or note.data[0] & 0xF0 != _NOTE_ON or not note.data[2]:
                continue
            if not self._bucket.take():
                return
            string = string_of(note.data, channels)
            for page in self._pages.values():
                if (best := page.clock.best) is not None:
                    page.send(Played(best.to_page(note.stamp), note.data[1], string, note.data[2]))
