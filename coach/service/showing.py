"""A session shows itself to the teachers of its student.

It observes what its pages are told. To all desks of the studio it shows a card, at most four times a second; to those
that look on, of which the student's pages show a sign, all that is judged and heard as it comes. Nothing is written
where nobody takes it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from typing import Final

from coach.service.bus import Bus
from coach.service.card import Seen, card_of, see
from coach.service.clock import Now
from coach.service.inputs import Hearer, Sent
from coach.service.link import TokenBucket
from coach.service.looking import (
    Answered,
    Ask,
    Leave,
    Look,
    Outcome,
    Overheard,
    Propose,
    Reread,
    at_desk,
    cards,
    live,
    pack,
    shown,
    to,
    to_student,
)
from coach.service.pages import Page, Pages
from coach.service.protocol import (
    Amend,
    Answer,
    Begin,
    FromService,
    HeardMark,
    MeasureScored,
    Place,
    PracticeReport,
    Settings,
    State,
    VerdictMark,
    Watched,
)
from coach.service.steering import Steering
from coach.studio.people import Person

__all__ = ["Showing"]

CARD_GAP = 0.25
"""Seconds between two cards of a student at least."""

NOTES_A_SECOND = 100.0
NOTES_AT_ONCE = 200.0
"""Messages of an instrument that are let to be heard: hands play 16 notes a second, each of which ends, and bends."""

_ON_CARDS: Final = frozenset[type]({State, Begin, MeasureScored, Place, PracticeReport})
_LIVE: Final = _ON_CARDS | {HeardMark, VerdictMark, Amend}


class Showing:
    """A session as teachers see it.

    Args:
        student: whose session it is.
        bus: by which it is shown.
        pages: of the session.
        scene: gives all messages that make up what its pages see now.
        choose: changes its settings, as if the student had.
        overhear: has the notes of the session told to what it is given; to nobody any more where that is None.
        reread: called when what is set or pinned is to be read anew.
        wake: has time go on in the session by then, on the service's clock.
        now: the service's clock.
        wall: the time of day, with its zone.
    """

    def __init__(
        self,
        student: Person,
        bus: Bus,
        pages: Pages,
        *,
        scene: Callable[[], Iterable[FromService]],
        choose: Callable[[Settings], None],
        overhear: Callable[[Hearer | None], None],
        reread: Callable[[], None],
        wake: Callable[[float], None],
        now: Now,
        wall: Callable[[], datetime],
    ) -> None:
        self._student = student
        self._bus = bus
        self._pages = pages
        self._scene = scene
        self._overhear = overhear
        self._reread = reread
        self._wake = wake
        self._now = now
        self._wall = wall
        self._seen = Seen()
        self._looking: dict[str, Look] = {}
        self._steering = Steering(pages, choose, self._answered, lambda: {look.by for look in self._looking.values()})
        self._bucket = TokenBucket(NOTES_A_SECOND, NOTES_AT_ONCE, now)
        self._is_due = False
        self._next_card = now()
        self._cards, self._live = cards(student.studio), live(student.id)
        self._end = bus.subscribe(to(student.id), self._hear)

    # ------------------------------------------------------------------------------------------ of the session

    def told(self, message: FromService) -> None:
        """Pages are told something."""
        kind = type(message)
        if kind in _ON_CARDS:
            seen = see(self._seen, message, self._moment() if kind is PracticeReport else "")
            if seen is not self._seen:
                self._seen = seen
                self._show_card_when_due()
        if self._looking and _is_live(message):
            self._bus.publish(self._live, shown(message))

    def pages_changed(self) -> None:
        """A page of the student has come or gone."""
        self._show_card_when_due()

    def joined(self, page: Page) -> None:
        """A page of the student has come (back), and was told how the session stands."""
        if self._looking:
            page.send(self._watched())
        self._steering.joined(page)

    def answer(self, answer: Answer) -> None:
        """The student answers an offer.

        Raises:
            CoachError: when no such offer is open, or what was agreed to cannot be set.
        """
        self._steering.answer(answer)

    @property
    def due(self) -> float:
        """When the next card is to be shown, on the service's clock; infinite where nothing has changed."""
        return self._next_card if self._is_due else math.inf

    def tick(self) -> None:
        """Time goes on: a card that is due is shown."""
        if self._now() >= self.due:
            self._show_card()

    def close(self) -> None:
        """The session is no more."""
        self._end()
        self._overhear(None)

    # ------------------------------------------------------------------------------------------ of desks

    def _hear(self, data: bytes) -> None:
        match to_student(data):
            case Ask():
                self._show_card()
            case Look() as look:
                self._look(look)
            case Leave(desk, gone):
                self._leave(desk, gone=gone)
            case Propose() as proposal:
                self._steering.propose(proposal)
            case Reread():
                self._reread()

    def _look(self, look: Look) -> None:
        if look.desk in self._looking:
            return
        self._looking[look.desk] = look
        self._pages.broadcast(self._watched())  # before anything is shown
        self._overhear(self._overheard)
        for message in self._scene():
            if _is_live(message):
                self._bus.publish(self._live, shown(message, look.desk))
        self._show_card_when_due()

    def _leave(self, desk: str, *, gone: bool) -> None:
        if self._looking.pop(desk, None) is not None:
            if not self._looking:
                self._overhear(None)
            self._pages.broadcast(self._watched())
            self._show_card_when_due()
        self._steering.left(desk, gone=gone)

    def _watched(self) -> Watched:
        return Watched(list(dict.fromkeys(look.name for look in self._looking.values())))

    def _overheard(self, notes: Sequence[Sent]) -> None:
        for stamp, data, string in notes:
            if not self._bucket.take():
                return
            self._bus.publish(self._live, pack(Overheard(stamp, list(data), string)))

    def _answered(self, desk: str, answer: Outcome, words: str) -> None:
        self._bus.publish(at_desk(desk), pack(Answered(self._student.id, answer, words)))

    # ------------------------------------------------------------------------------------------ cards

    def _show_card_when_due(self) -> None:
        self._is_due = True
        self.tick()
        self._wake(self.due)

    def _show_card(self) -> None:
        self._is_due = False
        self._next_card = self._now() + CARD_GAP
        if self._bus.is_wanted(self._cards):
            here = bool(self._pages.here)
            self._bus.publish(
                self._cards, pack(card_of(self._seen, self._student, here=here, watched=bool(self._looking)))
            )

    def _moment(self) -> str:
        return self._wall().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _is_live(message: FromService) -> bool:
    """Whether those who look on are shown it; clicks to learn an instrument by are no pass."""
    return type(message) in _LIVE and not (isinstance(message, Begin) and message.learning)
