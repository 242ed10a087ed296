"""The edits of all tunes of a service: what holds, what can be taken back, and how a change comes to hold.

A change is tried before it holds: the solos that it is about are made with it, and where one cannot be made all stays
as it was. Changes of a tune are taken one behind the other, and each must be made from the solo that stands: of two
pages that edit at once the later one is told to look again. What holds is kept in the data folder.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Coroutine, Iterable
from dataclasses import replace
from typing import Any, Protocol

from coach.arranging.arrangement import TIERS
from coach.arranging.edits import Edits, of_tiers
from coach.errors import ArrangeError, CoachError, InputError
from coach.service import protocol as wire
from coach.service.edit_asked import edit_state, edits_asked
from coach.service.edit_history import History, kept_history
from coach.service.edit_store import EditStore
from coach.service.jobs import Solo, Ways
from coach.service.pieces import Piece

__all__ = ["Asked", "EditDesk", "Solos"]

Asked = wire.Edit | wire.Undo | wire.Redo
"""What a page may ask of the edits of a tune."""

MOST_ASKED = 32
"""Changes that wait for their turn, of all tunes together: a page asks for one after the other."""

_log = logging.getLogger(__name__)


class Solos(Protocol):
    """What a desk needs of the book."""

    async def made(self, piece: Piece) -> Solo:
        """A solo. Raises CoachError where it cannot be made."""

    async def ways(self, digest: str, number: int) -> Ways:
        """The other ways through a measure. Raises CoachError where there are none to be found."""

    def why_not(self, piece: Piece) -> str:
        """Why a solo cannot be edited; empty where it can."""


class EditDesk:
    """The desk.

    Args:
        solos: makes them.
        store: keeps what holds.
        begin: does something in the background.
        changed: told the id of a tune whose edits are others now.
    """

    def __init__(
        self,
        solos: Solos,
        store: EditStore,
        begin: Callable[[Coroutine[Any, Any, None]], None],
        changed: Callable[[str], None],
    ) -> None:
        self._solos = solos
        self._store = store
        self._begin = begin
        self._changed = changed
        self._histories: dict[str, History] = {}
        self._troubles: dict[str, str] = {}
        self._turns: dict[str, asyncio.Lock] = {}
        self._asked_for = 0

    async def meet(self, tunes: Iterable[str]) -> None:
        """Tunes come into the book that can be edited: what was kept of their edits holds again. A file that cannot be
        read is left alone, and :meth:`told` says so."""
        for tune in tunes:
            try:
                edits = await asyncio.to_thread(self._store.read, tune)
            except InputError as error:
                self._distrust(tune, error)
                continue
            if edits is not None and tune not in self._histories:
                self._histories[tune] = kept_history(replace(edits, where="edits"))

    def edits_of(self, tune: str) -> Edits | None:
        """The edits of a tune that hold; None where it has none."""
        history = self._histories.get(tune)
        return history.now if history is not None and history.now.edits else None

    def set_aside(self, tune: str, edits: Edits | None, error: ArrangeError) -> None:
        """The edits of a tune that were kept do not fit it: it goes without them, and their file is left alone. Where
        others hold by now, there is nothing to be done."""
        if self.edits_of(tune) != edits:
            return
        self._histories.pop(tune, None)
        self._distrust(tune, error)
        self._changed(tune)

    def told(self, piece: Piece, solo: Solo | None) -> wire.EditState:
        """What pages are told of the edits of a tune.

        Args:
            piece: the solo that they show, with the edits that it was made with.
            solo: the same; None while it is being made.
        """
        history = self._histories.get(piece.tune)
        return edit_state(
            piece.edits,
            None if solo is None else solo.arrangement,
            undo=history is not None and history.older is not None,
            redo=history is not None and history.newer is not None,
            steps=0 if history is None else history.steps,
            why_not=self._why_not(piece),
        )

    def ask(self, message: Asked, piece: Piece, solo: Solo | None, done: Callable[[CoachError | None], None]) -> None:
        """Change the edits of a tune.

        Args:
            message: what is asked.
            piece: the solo that the page shows, with the edits that it was made with.
            solo: the same; None while it is being made.
            done: told when the change holds, or why it does not; or that it holds and cannot be kept. Also told at
                once, where too many changes wait.
        """
        if self._asked_for >= MOST_ASKED:
            done(InputError("too many edits are asked for at once", cure="wait for those that are being made"))
            return
        self._asked_for += 1
        self._begin(self._in_turn(message, piece, solo, done))

    async def _in_turn(
        self, message: Asked, piece: Piece, solo: Solo | None, done: Callable[[CoachError | None], None]
    ) -> None:
        error: CoachError | None = None
        try:
            async with self._turns.setdefault(piece.tune, asyncio.Lock()):
                await self._change(message, piece, solo)
        except CoachError as raised:
            error = raised
        except Exception:  # noqa: BLE001 - the page waits for an answer
            _log.exception("An edit could not be made")
            error = CoachError("something went wrong in the service", cure="its log has the details")
        finally:
            self._asked_for -= 1
            if not self._asked_for:
                self._turns.clear()  # nobody waits for one
        done(error)

    async def _change(self, message: Asked, piece: Piece, solo: Solo | None) -> None:
        if why_not := self._why_not(piece):
            raise InputError(why_not.removesuffix("."))
        before = self._histories.get(piece.tune) or History((Edits(piece.tune),))
        after = await self._asked(message, piece, solo, before)
        await self._try(piece, before.now, after.now)
        self._histories[piece.tune] = after
        self._changed(piece.tune)
        await asyncio.to_thread(self._store.write, after.now)

    async def _asked(self, message: Asked, piece: Piece, solo: Solo | None, before: History) -> History:
        """The history with what is asked."""
        if isinstance(message, wire.Undo):
            if before.older is None:
                raise InputError("there is no edit to take back", cure="edit a measure first")
            return before.back()
        if isinstance(message, wire.Redo):
            if before.newer is None:
                raise InputError("no edit was taken back that could be done again", cure="edit a measure")
            return before.forth()
        if solo is None or solo.digest != message.digest or piece.edited(before.now) != piece:
            raise InputError("the solo was written anew meanwhile", cure="look at it, and edit it again")
        ways = await self._solos.ways(solo.digest, message.measure) if message.does == "take" else None
        return before.then(edits_asked(message, solo.arrangement, before.now, () if ways is None else ways.measures))

    async def _try(self, piece: Piece, before: Edits, after: Edits) -> None:
        """Make the solos that a change is about, and the one that the page shows.

        Raises:
            CoachError: when one cannot be made.
        """
        for tier in TIERS:
            if of_tiers(before, {tier}).edits != of_tiers(after, {tier}).edits:
                await self._solos.made(Piece(piece.tune, tier).edited(after))
        await self._solos.made(piece.edited(after))

    def _why_not(self, piece: Piece) -> str:
        return self._solos.why_not(piece) or self._troubles.get(piece.tune, "")

    def _distrust(self, tune: str, error: InputError) -> None:
        self._troubles[tune] = (
            f"The edits that were kept of this tune are not used ({str(error).removesuffix('.')}); correct or move "
            f"{self._store.path(tune)} and begin the service anew."
        )
        _log.warning("%s", self._troubles[tune])
