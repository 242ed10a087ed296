"""A repertoire as one person's practice session sees it: the tunes they may choose, their solos, and the edits."""

from __future__ import annotations

from collections.abc import Callable

from msgspec import structs

from coach.arranging.arrangement import Tier
from coach.arranging.edits import Edits
from coach.errors import ArrangeError, CoachError, ForbiddenError, InputError
from coach.service.edit_desk import Asked
from coach.service.jobs import Solo
from coach.service.pieces import Piece
from coach.service.protocol import EditState, TuneLine
from coach.service.repertoire import Repertoire
from coach.service.writing import TakeSolos, write_solos
from coach.studio.people import Person

__all__ = ["PlayersBook"]

TEACHERS_EDIT = "Solos are edited by the teachers of the studio: ask them for a change."


class PlayersBook:
    """What a person has of a repertoire.

    Args:
        repertoire: of their studio.
        person: who they are.
    """

    def __init__(self, repertoire: Repertoire, person: Person) -> None:
        self._repertoire = repertoire
        self._person = person

    def lines(self) -> list[TuneLine]:
        """The list of tunes."""
        return self._repertoire.lines_for(self._person)

    def fetch(self, tune: str, first: Tier, edits: Edits | None, done: TakeSolos) -> None:
        """Ask for all tiers' own solos of a tune, as :data:`coach.service.writing.Fetch` does."""
        if not self._repertoire.sees_tune(self._person, tune):
            done(_no_tune(tune))
            return
        self._repertoire.begin(self._fetch(tune, first, edits, done))

    def make(self, piece: Piece, done: Callable[[Solo | CoachError], None]) -> None:
        """Ask for a solo, as :data:`coach.service.writing.Make` does."""
        if not self._repertoire.sees_tune(self._person, piece.tune):
            done(_no_tune(piece.tune))
            return
        self._repertoire.begin(self._make(piece, done))

    def edits_of(self, tune: str) -> Edits | None:
        """The edits of a tune that hold; None where it has none."""
        return self._repertoire.desk.edits_of(tune)

    def told(self, piece: Piece, solo: Solo | None) -> EditState:
        """What pages are told of the edits of a tune, as :meth:`coach.service.edit_desk.EditDesk.told` says; a student
        sees them and does not make any."""
        state = self._repertoire.desk.told(piece, solo)
        if self._person.role != "student":
            return state
        return structs.replace(state, undo=False, redo=False, why_not=state.why_not or TEACHERS_EDIT)

    def ask(self, message: Asked, piece: Piece, solo: Solo | None, done: Callable[[CoachError | None], None]) -> None:
        """Change the edits of a tune, as :meth:`coach.service.edit_desk.EditDesk.ask` does."""
        if self._person.role == "student":
            done(ForbiddenError(TEACHERS_EDIT.removesuffix(".")))
            return
        self._repertoire.desk.ask(message, piece, solo, done)

    async def _fetch(self, tune: str, first: Tier, edits: Edits | None, done: TakeSolos) -> None:
        try:
            await write_solos(self._repertoire.book, tune, first, edits, done)
        except ArrangeError as error:
            self._repertoire.desk.set_aside(tune, edits, error)

    async def _make(self, piece: Piece, done: Callable[[Solo | CoachError], None]) -> None:
        solo: Solo | CoachError
        try:
            solo = await self._repertoire.book.made(piece)
        except CoachError as error:
            solo = error
        done(solo)


def _no_tune(tune: str) -> InputError:
    return InputError(f"there is no tune {tune!r} in this book", cure="choose one of the list")
