"""The licks of a studio: what its teachers have kept, in a file ``licks/1`` of the data folder."""

from __future__ import annotations

import asyncio
import hashlib
import logging
from pathlib import Path

from coach.arranging.lick_table import Row
from coach.arranging.own_licks import check_licks, licks_from_json, licks_to_json
from coach.errors import InputError, NotThereError
from coach.service.whole_files import write_whole

__all__ = ["LickShelf", "lick_id"]

_log = logging.getLogger(__name__)


def lick_id(row: Row) -> str:
    """The name of a lick in addresses: 12 hex digits of the SHA-256 of what is in it."""
    return hashlib.sha256(repr(tuple(row)).encode()).hexdigest()[:12]


class LickShelf:
    """The licks.

    Args:
        path: of the file, which need not be there; None where none are kept.

    Attributes:
        rows: the licks, in the order in which they came.
    """

    def __init__(self, path: Path | None) -> None:
        self.rows: tuple[Row, ...] = ()
        self._path = path
        self._trouble = ""
        self._changing = asyncio.Lock()

    async def open(self) -> None:
        """Read what was kept. A file that cannot be read is left alone: there are no licks then, and none can be
        kept, and the log says so."""
        if self._path is None:
            return
        async with self._changing:
            try:
                self.rows = await asyncio.to_thread(_read, self._path)
            except InputError as error:
                self._trouble = str(error).removesuffix(".")
                _log.warning("%s", error)

    async def add(self, row: Row) -> str:
        """Keep a lick; returns its id.

        Raises:
            InputError: when it cannot be played, is there already, or cannot be kept.
        """
        async with self._changing:
            await self._change((*self.rows, row))
        return lick_id(row)

    async def withdraw(self, id: str) -> None:  # noqa: A002 - it is called so
        """Take a lick out.

        Raises:
            NotThereError: when there is none of this id.
            InputError: when the file cannot be written.
        """
        async with self._changing:
            rows = tuple(row for row in self.rows if lick_id(row) != id)
            if rows == self.rows:
                raise NotThereError("there is no such lick in your studio", cure="choose one of the list")
            await self._change(rows)

    async def _change(self, rows: tuple[Row, ...]) -> None:
        if self._path is None:
            raise InputError("licks are kept in a studio", cure="name a file of them to coach arrange with --licks")
        if self._trouble:
            raise InputError(
                f"the licks that were kept cannot be read ({self._trouble})", cure="correct or move that file"
            )
        check_licks(rows)
        await asyncio.to_thread(_write, self._path, rows)
        self.rows = rows


def _read(path: Path) -> tuple[Row, ...]:
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise InputError(
            f"the file cannot be read ({error.strerror or error})", where=str(path), cure="check its rights"
        ) from error
    return licks_from_json(data, str(path))


def _write(path: Path, rows: tuple[Row, ...]) -> None:
    try:
        write_whole(path, licks_to_json(rows))
    except OSError as error:
        raise InputError(
            f"the licks cannot be kept ({error.strerror or error})", where=str(path), cure="make room there"
        ) from error
