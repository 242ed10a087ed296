"""The pages of a session: where each can be reached, its clock, and which of its notes have been taken.

A page is named by its seat. It may lose its connection and come back: then it is the same page, on the same clock, and
sends again what was not acknowledged. One that was loaded anew keeps its seat but begins a new clock.

A page may hear a MIDI instrument by its browser. That one has a seat of its own, with its own numbers, on the page's
clock.
"""

from __future__ import annotations

import logging
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from coach.errors import InputError
from coach.service.clock import ClockFilter, ClockMap, Now
from coach.service.protocol import FromService, InputNote, Notes, Ping, Pong

__all__ = ["AWAY", "INSTRUMENT_SEAT", "MOST_PAGES", "Observer", "Page", "Pages", "Sender", "TakenNotes"]

MOST_PAGES = 64
FORGOTTEN = 600.0
"""Seconds after which a page that went away is another one when it comes back."""

AWAY = 20.0
"""Seconds for which a page that went away is waited for."""

INSTRUMENT_SEAT = "-midi"
"""What is put behind the seat of a page for that of the instrument that it hears."""

QUICK_PINGS = 8
QUICK_GAP = 0.15
SLOW_GAP = 3.0
MOST_UNANSWERED = 16

NEW_CLOCK = 0.5
"""Seconds by which two mappings of one clock never differ: the page was loaded anew."""

_log = logging.getLogger(__name__)


class Sender(Protocol):
    """Where messages to a page go."""

    def send(self, message: FromService) -> None:
        """Queue a message; never waits, never fails."""
        ...


class Observer(Protocol):
    """Who sees what the pages of a session are told."""

    def told(self, message: FromService) -> None:
        """All pages are told something."""
        ...

    def pages_changed(self) -> None:
        """A page has come or gone."""
        ...


@dataclass(slots=True)
class TakenNotes:
    """How far the notes of one seat have been taken; 0 before the first."""

    seq: int = 0

    def new(self, message: Notes) -> list[InputNote]:
        """The notes of a message that were not taken before, in the order of their numbers."""
        fresh = []
        for item in message.items:
            if item.seq > self.seq:
                self.seq = item.seq
                fresh.append(item)
        return fresh


@dataclass(slots=True)
class Page:
    """A page.

    Attributes:
        seat: its name.
        link: where it can be reached; None while it is away.
        clock: the exchanges with it since it came (back).
        away_since: when it went away, on the service's clock.
        instrument: the name of the MIDI instrument that it hears; empty where there is none.
        named_at: when it named that instrument, on the service's clock.
        instrument_taken: how far that one's notes have been taken.
    """

    seat: str
    link: Sender | None
    clock: ClockFilter = field(default_factory=ClockFilter)
    taken: TakenNotes = field(default_factory=TakenNotes)
    away_since: float | None = None
    instrument: str = ""
    named_at: float = 0.0
    instrument_taken: TakenNotes = field(default_factory=TakenNotes)
    _pings: dict[int, float] = field(default_factory=dict)
    _ping: int = 0
    _next_ping: float = 0.0

    @property
    def instrument_seat(self) -> str:
        """The seat of the instrument that it hears."""
        return self.seat + INSTRUMENT_SEAT

    @property
    def is_settling(self) -> bool:
        """Whether its clock is being learned: its exchanges follow one another quickly."""
        return self._ping < QUICK_PINGS

    def is_gone(self, now: float) -> bool:
        """Whether it has been away for longer than it is waited for."""
        return self.away_since is not None and now - self.away_since > AWAY

    def send(self, message: FromService) -> None:
        """Send a message, if the page can be reached."""
        if self.link is not None:
            self.link.send(message)

    def come(self, link: Sender, now: float) -> None:
        """The page is here (again)."""
        self.link = link
        self.away_since = None
        self.clock = ClockFilter()
        self._pings = {}
        self._ping = 0
        self._next_ping = now

    def go(self, now: float) -> None:
        """The page is away."""
        self.link = None
        self.away_since = now

    def ping_if_due(self, now: float) -> None:
        """Begin an exchange: quickly at first, then now and then."""
        if self.link is None or now < self._next_ping:
            return
        self._ping += 1
        self._pings[self._ping] = now
        while len(self._pings) > MOST_UNANSWERED:
            del self._pings[min(self._pings)]
        self._next_ping = now + (QUICK_GAP if self._ping < QUICK_PINGS else SLOW_GAP)
        self.link.send(Ping(id=self._ping, t1=now))

    def take_pong(self, pong: Pong, now: float) -> None:
        """End an exchange; one that nobody began is passed over. The service's own stamp counts, not the echo."""
        sent = self._pings.pop(pong.id, None)
        if sent is not None:
            self.clock.add(sent, pong.t2, pong.t3, now)

    def is_new_clock(self, frozen: ClockMap) -> bool:
        """Whether the page's clock is another one than when a mapping was frozen."""
        latest = self.clock.latest
        if latest is None:
            return False
        return abs(latest.theta - frozen.to_page(latest.at) + latest.at) > NEW_CLOCK + (latest.delta + frozen.delta) / 2


class Pages(Mapping[str, Page]):
    """The pages of a session by their seats, in the order in which they came.

    Args:
        now: the service's clock.
        reserved: the seats that are the service's own.

    Attributes:
        observer: who sees what they are told; whatever goes wrong there, they go on. None for nobody.
    """

    def __init__(self, now: Now, reserved: Collection[str]) -> None:
        self.observer: Observer | None = None
        self._now = now
        self._reserved = reserved
        self._pages: dict[str, Page] = {}

    def __getitem__(self, seat: str) -> Page:
        return self._pages[seat]

    def __iter__(self) -> Iterator[str]:
        return iter(self._pages)

    def __len__(self) -> int:
        return len(self._pages)

    @property
    def here(self) -> list[Page]:
        """Those that can be reached."""
        return [page for page in self.values() if page.link is not None]

    @property
    def with_instrument(self) -> Page | None:
        """That which named an instrument of its own last, of those that are here or still waited for."""
        now = self._now()
        heard = [page for page in self.values() if page.instrument and not page.is_gone(now)]
        return max(heard, key=lambda page: page.named_at, default=None)

    def come(self, seat: str, link: Sender) -> Page:
        """A page comes, or comes back.

        Raises:
            InputError: when its seat is one of the service's own or of instruments, or there are too many pages.
        """
        if seat in self._reserved:
            raise InputError(f"the seat {seat!r} is the service's own", cure="take another name")
        if seat.endswith(INSTRUMENT_SEAT):
            raise InputError(f"the seat {seat!r} is that of a page's instrument", cure="take another name")
        if seat not in self and len(self) >= MOST_PAGES:
            raise InputError(f"the session has {MOST_PAGES} pages already", cure="close one of them")
        page = self._pages.setdefault(seat, Page(seat, None))
        page.come(link, self._now())
        self._changed()
        return page

    def leave(self, page: Page, link: Sender) -> None:
        """A page's connection is gone; a newer one of the same page stays."""
        if page.link is link:
            page.go(self._now())
            self._changed()

    def broadcast(self, message: FromService) -> None:
        """Send a message to every page."""
        for page in self.values():
            page.send(message)
        self.show(message)

    def show(self, message: FromService) -> None:
        """Let the observer see what pages were told each in its own way."""
        if self.observer is not None:
            try:
                self.observer.told(message)
            except Exception:  # noqa: BLE001 - pages go on
                _log.exception("What pages were told could not be shown")

    def tick(self) -> None:
        """Time goes on."""
        for page in self.values():
            page.ping_if_due(self._now())

    def forget(self) -> list[str]:
        """Forget those that have been away for long; tells their seats and those of their instruments."""
        now = self._now()
        gone = [page for page in self.values() if page.away_since is not None and now - page.away_since > FORGOTTEN]
        for page in gone:
            del self._pages[page.seat]
        return [seat for page in gone for seat in (page.seat, page.instrument_seat)]

    def _changed(self) -> None:
        if self.observer is not None:
            try:
                self.observer.pages_changed()
            except Exception:  # noqa: BLE001 - pages go on
                _log.exception("The pages that are here could not be shown")
