"""What teachers have left for a student, as the records have it: read at first, and whenever it changes.

What is set holds from the moment that it was read on, by the date at the player's place.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Coroutine, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from coach.errors import CoachError
from coach.service import protocol as wire
from coach.service.pages import Page
from coach.studio.rules import Assignment, Rules, is_on, rules_of, rules_words

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from coach.service.session import Session
    from coach.studio.pins import Pinned

__all__ = ["KeptLesson", "Left", "assigned_line", "read_left"]


@dataclass(frozen=True, slots=True)
class Left:
    """What teachers have left for a student.

    Attributes:
        assignments: all that were ever set, the newest first, each with the fastest clean tempo of what it asks for,
            None where there was none.
        pins: all that is pinned, by tune and measure.
    """

    assignments: Sequence[tuple[Assignment, float | None]] = ()
    pins: Sequence[Pinned] = ()


def read_left(connection: Connection, student: str) -> Left:
    """What teachers have left for a student."""
    from coach.studio.assignments import assignments_of, reached
    from coach.studio.pins import pins_of

    given = assignments_of(connection, student)
    return Left([(each, reached(connection, student, each.setting)) for each in given], pins_of(connection, student))


def assigned_line(each: Assignment, reached: float | None, day: str) -> wire.Assignment:
    """An assignment as pages have it, as of a day."""
    setting = each.setting
    capped = setting.cap is not None and (setting.cap_until is None or day <= setting.cap_until)
    return wire.Assignment(
        id=each.id,
        tune=setting.tune,
        title=setting.title,
        tier=setting.tier,
        mix=list(setting.mix),
        goal=setting.goal,
        until=setting.until or "",
        words=setting.words,
        by=each.by,
        cap=setting.cap if capped else None,
        cap_until=(setting.cap_until or "") if capped else "",
        rules=rules_words(setting, day),
        reached=reached,
    )


class KeptLesson:
    """What teachers have left for the player of a session.

    Args:
        session: of the student.
        ask: asks something of the records.
        begin: does something in the background.
        wall: the time of day at the player's place, with its zone.
    """

    def __init__(
        self,
        session: Session,
        ask: Callable[[Callable[[Connection], Left]], Awaitable[Left]],
        begin: Callable[[Coroutine[Any, Any, None]], None],
        wall: Callable[[], datetime],
    ) -> None:
        self._session = session
        self._ask = ask
        self._begin = begin
        self._wall = wall
        self._left: Left | None = None
        self._asked = 0
        self._is_unread = False
        self.reread()

    def joined(self, page: Page) -> None:
        """A page has come (back): it is told of what is set, and of what is pinned to the tune that is chosen."""
        if self._left is not None:
            page.send(self._assigned())
            page.send(self._pins(self._session.chosen.tune))

    def chosen(self, tune: str) -> None:
        """Another tune is chosen: all pages are told of what is pinned to it."""
        if self._left is not None:
            self._session.pages.broadcast(self._pins(tune))

    def reread(self) -> None:
        """Something was pinned, read, set or ended: all pages are told."""
        self._asked += 1
        self._is_unread = False
        self._begin(self._read(self._asked))

    def rules_of(self, tune: str) -> Rules | None:
        """What is set for a tune today; None where nothing is. Where it could not be read, it is asked for again."""
        if self._is_unread:
            self.reread()
        if not self._left or not self._left.assignments:
            return None
        return rules_of((each for each, _ in self._left.assignments), tune, self._today)

    async def _read(self, number: int) -> None:
        try:
            left = await self._ask(lambda connection: read_left(connection, self._session.person.id))
        except CoachError as error:
            self._is_unread = True
            self._session.pages.broadcast(wire.Failure(str(error), "records"))
            return
        if number != self._asked:
            return  # it was asked for again meanwhile
        self._left = left
        self._session.ruled()
        self._session.pages.broadcast(self._assigned())
        self._session.pages.broadcast(self._pins(self._session.chosen.tune))

    @property
    def _today(self) -> str:
        return self._wall().date().isoformat()

    def _assigned(self) -> wire.Assigned:
        today, given = self._today, () if self._left is None else self._left.assignments
        return wire.Assigned([assigned_line(each, best, today) for each, best in given if is_on(each, today)])

    def _pins(self, tune: str) -> wire.Pins:
        pins = () if self._left is None else self._left.pins
        return wire.Pins(
            tune,
            [
                wire.Pin(each.id, each.measure, each.words, each.by, each.made, seen=each.seen is not None)
                for each in pins
                if each.tune == tune
            ],
        )
