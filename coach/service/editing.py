"""What a session does with a teacher's edits: they are asked for between passes, of the solo that its pages show."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from coach.arranging.edits import Edits
from coach.errors import CoachError
from coach.service.choice import Choice
from coach.service.edit_desk import Asked
from coach.service.jobs import Solo
from coach.service.orders import Order
from coach.service.pages import Page
from coach.service.pieces import Piece
from coach.service.protocol import EditState, Failure

__all__ = ["Desk", "Editing"]


class Desk(Protocol):
    """Where the edits of all tunes are; the methods are those of :class:`coach.service.edit_desk.EditDesk`."""

    def edits_of(self, tune: str) -> Edits | None:
        """The edits of a tune that hold."""

    def told(self, piece: Piece, solo: Solo | None) -> EditState:
        """What pages are told of them."""

    def ask(self, message: Asked, piece: Piece, solo: Solo | None, done: Callable[[CoachError | None], None]) -> None:
        """Change them."""


class Editing:
    """The edits of a session.

    Args:
        desk: where they are.
        choice: of the session.
        refuse: raises InputError while a pass is played.
    """

    def __init__(self, desk: Desk, choice: Choice, refuse: Callable[[], None]) -> None:
        self._desk = desk
        self._choice = choice
        self._refuse = refuse

    def ask(self, page: Page, message: Asked) -> None:
        """A page asks for a change; when it cannot be made, or kept, the page is told."""

        def done(error: CoachError | None) -> None:
            if error is not None:
                page.send(Failure(str(error), "edit"))

        try:
            self._refuse()
        except CoachError as error:
            done(error)
        else:
            self._desk.ask(message, self._choice.piece, self._choice.solo, done)

    def changed(self, tune: str) -> None:
        """The edits of a tune are others now: the session goes on with the solos that they make, from the next pass."""
        if tune == self._choice.chosen.tune:
            self._choice.renew()

    def told(self, order: Order | None) -> EditState:
        """What pages are told of the edits of the solo that they show: that of a pass while it is played."""
        if order is not None:
            return self._desk.told(order.piece, order.solo)
        return self._desk.told(self._choice.piece, self._choice.solo)
