"""A teacher's desk: one connection that sees the students of a studio, looks on at one of them, and offers.

What students do comes over the bus; those who are not here come from the records. A desk has a clock, as a page has,
and what it is told of a pass is on that clock.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Coroutine, Mapping
from typing import Any

import msgspec
from msgspec import Raw, structs

from coach.errors import CoachError, InputError
from coach.service.bus import Bus
from coach.service.clock import Now
from coach.service.looking import (
    Answered,
    Ask,
    Leave,
    Look,
    Overheard,
    Propose,
    Shown,
    at_desk,
    cards,
    live,
    of_people,
    pack,
    to,
    to_desk,
)
from coach.service.pages import Page, Sender
from coach.service.protocol import Begin, Card, DeskHello, Failure, Live, LookOn, Pong, Sounded, Steer, Steered
from coach.service.steering import check
from coach.studio.people import Person

__all__ = ["Desk", "Students", "StudentsOf"]

Students = Mapping[str, tuple[Person, str]]
"""By their ids: students of a studio, and when they practised last, empty where they never did."""

StudentsOf = Callable[[], Awaitable[Students]]
"""Asks for the students of the studio."""

MOST_WAITING = 50
"""What may be asked of a desk before its students are known."""

AGAIN = 5.0
"""Seconds after which students are asked for again, where the records could not be read."""

_card: msgspec.json.Decoder[Card] = msgspec.json.Decoder(Card)
_begin: msgspec.json.Decoder[Begin] = msgspec.json.Decoder(Begin)


class Desk:
    """A desk.

    Args:
        id: of the connection, unlike that of all others.
        teacher: whose desk it is.
        link: where it can be reached.
        bus: by which students are seen.
        students: asks for those of the studio.
        begin: does something in the background.
        hello: the greeting.
        now: the service's clock.
    """

    def __init__(
        self,
        id: str,  # noqa: A002 - it is called so
        teacher: Person,
        link: Sender,
        bus: Bus,
        students: StudentsOf,
        *,
        begin: Callable[[Coroutine[Any, Any, None]], None],
        hello: DeskHello,
        now: Now,
    ) -> None:
        self._id = id
        self._teacher = teacher
        self._link = link
        self._bus = bus
        self._ask_for_students = students
        self._do = begin
        self._now = now
        self._students: Students = {}
        self._cards: dict[str, Card] = {}
        self._looking = ""
        self._offered: set[str] = set()
        self._begun: Begin | None = None  # on the service's clock, of the one who is looked at
        self._page = Page("desk", link)
        self._is_open = self._is_closed = self._is_reading = self._is_stale = False
        self._read_again: float | None = None
        self._waiting: list[Callable[[], None]] = []
        self._end_live: Callable[[], None] = lambda: None
        link.send(hello)
        self._ends = [
            bus.subscribe(cards(teacher.studio), self._take_card),
            bus.subscribe(of_people(teacher.studio), lambda _: self._read()),
            bus.subscribe(at_desk(id), self._take_answer),
        ]
        self._page.come(link, now())
        self.tick()
        self._read()

    # ------------------------------------------------------------------------------------------ of the teacher

    def when_open(self, call: Callable[[], None]) -> None:
        """Do something as soon as the students are known.

        Raises:
            InputError: when too much waits for that already.
        """
        if self._is_open:
            call()
        elif len(self._waiting) < MOST_WAITING:
            self._waiting.append(call)
        else:
            raise InputError("the students of the studio are not known yet", cure="try again in a moment")

    def student(self, id: str) -> Person | None:  # noqa: A002 - it is called so
        """A student of the studio by their id; None where there is none."""
        return self._students[id][0] if id in self._students else None

    def take(self, message: LookOn | Steer) -> None:
        """Do what the teacher asks about a student of the studio.

        Raises:
            InputError: when it cannot be done.
        """
        if isinstance(message, LookOn):
            self.look_on(message)
        else:
            self.steer(message)

    def look_on(self, message: LookOn) -> None:
        """Look at a student of the studio, in place of the one before, or at nobody any more."""
        self._look_away()
        if not message.student:
            return
        self._looking = message.student
        self._end_live = self._bus.subscribe(live(message.student), self._take_live)
        self._look()

    def steer(self, message: Steer) -> None:
        """Offer something to a student of the studio.

        Raises:
            InputError: when it sets nothing, or contradicts itself.
        """
        check(message)
        card = self._cards.get(message.student)
        if card is None or not card.here:
            self._link.send(Steered(message.student, "not here"))
            return
        self._offered.add(message.student)
        proposal = Propose(self._id, self._teacher.id, self._teacher.name, message)
        self._bus.publish(to(message.student), pack(proposal))

    def take_pong(self, pong: Pong) -> None:
        """An exchange of stamps ends."""
        is_first = self._page.clock.is_empty
        self._page.take_pong(pong, self._now())
        if is_first and self._begun is not None:
            self._send_begin(self._begun)  # now it is known when position 0 is heard on its clock

    def tick(self) -> None:
        """Time goes on."""
        self._page.ping_if_due(self._now())
        if self._read_again is not None and self._now() >= self._read_again:
            self._read()

    def close(self) -> None:
        """The connection is gone: nobody looks on by it any more, and what it offered does not stand."""
        self._is_closed = True
        for end in self._ends:
            end()
        self._end_live()
        for student in self._offered | ({self._looking} if self._looking else set()):
            self._bus.publish(to(student), pack(Leave(self._id, gone=True)))
        self._looking = ""

    # ------------------------------------------------------------------------------------------ of students

    def _look(self) -> None:
        self._bus.publish(to(self._looking), pack(Look(self._id, self._teacher.id, self._teacher.name)))

    def _look_away(self) -> None:
        self._end_live()
        self._begun = None
        if self._looking:
            student, self._looking = self._looking, ""
            self._bus.publish(to(student), pack(Leave(self._id)))

    def _take_card(self, data: bytes) -> None:
        card = _card.decode(data)
        if card.student not in self._students:
            if self._is_open:
                self._read()  # somebody new
            return
        self._show(card)
        if card.student == self._looking and not card.watched:
            self._look()  # their session has begun anew

    def _show(self, card: Card) -> None:
        card = structs.replace(card, practised=card.practised or self._students[card.student][1])
        self._cards[card.student] = card
        self._link.send(card)

    def _take_live(self, data: bytes) -> None:
        match to_desk(data):
            case Shown(message, of, desk) if desk in ("", self._id):
                if of == "begin":
                    self._begun = _begin.decode(message)
                    self._send_begin(self._begun)
                else:
                    if of == "report":
                        self._begun = None
                    self._link.send(Live(self._looking, message))
            case Overheard(stamp, data_, string):
                if (best := self._page.clock.best) is not None:
                    self._link.send(Sounded(self._looking, best.to_page(stamp), data_, string))
            case _:
                pass

    def _send_begin(self, begin: Begin) -> None:
        best = self._page.clock.best
        origin = None if begin.origin is None or best is None else best.to_page(begin.origin)
        here = structs.replace(begin, origin=origin)
        self._link.send(Live(self._looking, Raw(msgspec.json.encode(here))))

    def _take_answer(self, data: bytes) -> None:
        match to_desk(data):
            case Answered(student, answer, words):
                if answer != "waits":
                    self._offered.discard(student)
                self._link.send(Steered(student, answer, words))
            case _:
                pass

    # ------------------------------------------------------------------------------------------ the studio

    def _read(self) -> None:
        """Ask for the students of the studio; once more where something changes meanwhile."""
        self._is_stale = True
        self._read_again = None
        if not self._is_reading:
            self._is_reading = True
            self._do(self._read_all())

    async def _read_all(self) -> None:
        try:
            while self._is_stale and not self._is_closed:
                self._is_stale = False
                students = await self._ask_for_students()
                if not self._is_closed:
                    self._meet(students)
        except CoachError as error:
            self._link.send(Failure(str(error), "desk"))
            self._read_again = self._now() + AGAIN
        finally:
            self._is_reading = False

    def _meet(self, students: Students) -> None:
        before, self._students = self._students, students
        self._is_open = True
        for id_ in before.keys() - students.keys():
            self._cards.pop(id_, None)
            if id_ == self._looking:
                self._look_away()
            self._link.send(Card(id_, "", here=False, gone=True))
        for id_ in (id_ for id_ in students if id_ not in before):
            self._bus.publish(to(id_), pack(Ask()))
        for id_, (person, practised) in students.items():
            if id_ not in self._cards:
                self._show(Card(id_, person.name, here=False, practised=practised))
        waiting, self._waiting = self._waiting, []
        for call in waiting:
            call()
