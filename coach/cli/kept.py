"""What is kept of players, as commands reach it: the data folder, and the records in it or elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coach.errors import InputError

if TYPE_CHECKING:
    from coach.records.leaving import Holding
    from coach.records.store import Store

__all__ = [
    "Told",
    "counted",
    "data_folder",
    "known_player",
    "open_records",
    "player_option",
    "records_options",
    "sessions_folder",
    "told_of",
]

player_option = click.option("--player", default="home", show_default=True, help="Whose; the name of the session.")


def records_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of a command on what is kept: ``data`` and ``records``."""
    for option in (
        click.option(
            "--records",
            metavar="URL",
            help="Database of the records; records.db in the data folder where it is left out.",
        ),
        click.option(
            "--data",
            type=click.Path(path_type=Path, file_okay=False),
            help="Folder of what was played; the platform's data folder where it is left out.",
        ),
    ):
        command = option(command)
    return command


def data_folder(data: Path | None) -> Path:
    """The folder of what was played: the one that was named, or the platform's."""
    if data is not None:
        return data
    import platformdirs

    return platformdirs.user_data_path("banjo-practice-coach", appauthor=False)


@contextmanager
def open_records(data: Path | None, records: str | None) -> Iterator[Store]:
    """Open records that are there.

    Args:
        data: the data folder as it was named.
        records: the URL of the database as it was named.

    Raises:
        InputError: when there are none.
        RecordsError: when they cannot be read.
    """
    from coach.records.store import Store, file_of, url_of
    from coach.service.archive import FILE

    url = records or url_of(data_folder(data) / FILE)
    path = file_of(url)
    if path is not None and not path.is_file():
        raise InputError(
            "no records are there",
            where=str(path),
            cure="practise first (coach serve), or name the folder by --data" if records is None else "check the URL",
        )
    store = Store(url)
    try:
        yield store
    finally:
        store.close()


@dataclass(frozen=True, slots=True)
class Told:
    """How much is kept of a player; as text it is a phrase.

    Attributes:
        holding: in the records.
        folders: the session folders.
    """

    holding: Holding
    folders: tuple[Path, ...]

    def __str__(self) -> str:
        passes, tunes, days = self.holding.passes, self.holding.tunes, self.holding.days
        return (
            f"{counted(passes, 'pass')} of {counted(tunes, 'tune')} on {counted(days, 'day')}"
            f" and {counted(len(self.folders), 'session folder')}"
        )


def told_of(store: Store, data: Path | None, player: str) -> Told:
    """How much is kept of a player.

    Raises:
        InputError: when nothing is.
    """
    from coach.records.leaving import holding_of, players_by_folder
    from coach.records.played import players_in
    from coach.service.leaving import session_folders

    folders = session_folders(sessions_folder(data), player, store.read(players_by_folder))
    if not folders:
        known_player(player, store.read(players_in))
    return Told(store.read(lambda connection: holding_of(connection, player)), tuple(folders))


def sessions_folder(data: Path | None) -> Path:
    """The folder of all session folders."""
    return data_folder(data) / "sessions"


def known_player(player: str, known: Sequence[str]) -> str:
    """A player of those that are known.

    Raises:
        InputError: when it is none of them.
    """
    if player not in known:
        names = ", ".join(known)
        raise InputError(
            f"the records have no player {player!r}",
            where="--player",
            cure=f"they have {names}" if names else "nobody has practised yet",
        )
    return player


def counted(count: int, word: str) -> str:
    """So many of something: ``2 passes``."""
    return f"{count} {word}" if count == 1 else f"{count} {word}es" if word.endswith("s") else f"{count} {word}s"
