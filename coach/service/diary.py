"""What a session remembers: it is asked for once, and every pass is written down before its report is told.

Where nothing can be written the practice goes on: the report is told all the same, behind a sentence about the trouble,
and the pass is in its session folder; the memory writes it down with the next one that it can. Where nothing could be
read, what the records have of standings, curves and settings is left alone: what begins anew today must not take its
place.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from coach.errors import CoachError, RecordsError
from coach.ladder.known import Kept, Known
from coach.service.clock import Now
from coach.service.memory import KeptPass, Memory, Remembered

__all__ = ["Diary"]

PATIENCE = 12.0
"""Seconds for which a report waits for the records, which themselves wait for another program for ten."""


_IN_ITS_FOLDER = "The pass is in its session folder, and is written down with the next one that can be."


@dataclass(slots=True)
class _Page:
    """A pass that is being written down."""

    tell: Callable[[], None] | None
    until: float


@dataclass(slots=True)
class _Settings:
    """What is kept of the settings, what is to be, and whether it is on its way."""

    kept: Mapping[str, Any] = field(default_factory=dict)
    wanted: Mapping[str, Any] = field(default_factory=dict)
    is_busy: bool = False


class Diary:
    """What a player's session writes down and finds again.

    Args:
        player: the name of the session.
        memory: remembers.
        now: the service's clock.
        wall: the time of day at the player's place, with its zone.
        failed: told of trouble, in a sentence; the same trouble once, until something was kept.

    Attributes:
        remembered: of the player; nothing before it was recalled.
        is_open: whether it has been, or is not waited for any more.
    """

    def __init__(
        self, player: str, memory: Memory, now: Now, wall: Callable[[], datetime], failed: Callable[[str], None]
    ) -> None:
        self.player = player
        self.remembered = Remembered()
        self.is_open = False
        self._memory = memory
        self._now = now
        self._wall = wall
        self._failed = failed
        self._is_read = False
        self._opened: Callable[[], None] = lambda: None
        self._open_until = math.inf
        self._pages: list[_Page] = []
        self._known: dict[str, Known] = {}
        self._settings = _Settings()
        self._said: list[str] = []
        self._unread = ""

    @property
    def today(self) -> datetime:
        """The time of day, with its zone."""
        return self._wall()

    @property
    def is_writing(self) -> bool:
        """Whether a pass is being written down whose report is not told yet."""
        return bool(self._pages)

    @property
    def trouble(self) -> str:
        """The trouble that is not over yet, in a sentence; empty where there is none."""
        return self._said[-1] if self._said else self._unread

    def recall(self, opened: Callable[[], None]) -> None:
        """Ask for what is remembered; ``opened`` is called when the diary is open."""
        self._opened = opened
        self._open_until = self._now() + PATIENCE
        self._memory.recall(self.player, self._recalled)

    def keep(self, kept: KeptPass, known: Known | None, tell: Callable[[], None]) -> None:
        """Write a pass down.

        Args:
            kept: the pass; its curves are put in here.
            known: the curves of the tune after it; None where nothing was learned.
            tell: called when the pass is on the disk, or cannot be brought there.
        """
        page = _Page(tell, self._now() + PATIENCE)
        self._pages.append(page)
        if not self._is_read:
            kept, known = replace(kept, standing=None), None
        if known is not None:
            kept = replace(kept, curves=_changed(self._known.get(kept.tune), known))

        def done(error: CoachError | None) -> None:
            if error is None and known is not None:
                self._known[kept.tune] = known
            self._written(page, error)

        self._memory.keep_pass(kept, done)

    def keep_settings(self, settings: Mapping[str, Any]) -> None:
        """Write settings down, as plain values by their names; of many changes in a row the last."""
        self._settings.wanted = settings
        self._write_settings()

    def tick(self) -> None:
        """Time goes on: who does not answer is not waited for for ever."""
        now = self._now()
        if not self.is_open and now > self._open_until:
            self._recalled(RecordsError("the records do not answer", cure="see that their database can be reached"))
        for page in [page for page in self._pages if now > page.until]:
            self._written(
                page, RecordsError("the records do not answer", cure="see that their database can be reached")
            )

    def _recalled(self, found: Remembered | CoachError) -> None:
        if self.is_open:
            return
        self.is_open = True
        if isinstance(found, CoachError):
            # Passes may be written later all the same, but this is asked for once.
            self._unread = f"{found} What was played before is not known today, and stays as it was."
            self._say(self._unread)
        else:
            self._is_read = True
            self.remembered = found
            self._known = dict(found.known)
            self._settings.kept = found.settings
        self._opened()

    def _written(self, page: _Page, error: CoachError | None) -> None:
        tell, page.tell = page.tell, None
        if page in self._pages:
            self._pages.remove(page)
        if error is None:
            self._said.clear()
        elif tell is not None:
            self._say(f"{error} {_IN_ITS_FOLDER}")
        if tell is not None:
            tell()

    def _write_settings(self) -> None:
        settings = self._settings
        if settings.is_busy or not self._is_read or settings.wanted == settings.kept:
            return
        settings.is_busy = True
        going = settings.wanted

        def done(error: CoachError | None) -> None:
            settings.is_busy = False
            if error is None:
                self._said.clear()
                settings.kept = going
                self._write_settings()
            else:
                self._say(str(error))

        fresh = {name: value for name, value in going.items() if settings.kept.get(name) != value}
        self._memory.keep_settings(self.player, fresh, self._wall(), done)

    def _say(self, trouble: str) -> None:
        if trouble not in self._said:
            self._said.append(trouble)
            self._failed(trouble)


def _changed(before: Known | None, after: Known) -> dict[str, dict[int, Kept]]:
    """The curves that are not the same any more."""
    old = {} if before is None else before.curves
    return {
        tier: {measure: kept for measure, kept in curves.items() if old.get(tier, {}).get(measure) is not kept}
        for tier, curves in after.curves.items()
    }
