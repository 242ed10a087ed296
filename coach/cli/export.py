"""``coach export``: all that is kept of a player, in open formats."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from coach.cli.kept import data_folder, open_records, player_option, records_options, told_of
from coach.errors import InputError

__all__ = ["export"]


@click.command(epilog="Example: coach export --player home -o home.zip")
@player_option
@click.option(
    "-o",
    "--out",
    required=True,
    type=click.Path(path_type=Path),
    metavar="OUT",
    help="A folder to be made, or a .zip file.",
)
@records_options
def export(player: str, out: Path, data: Path | None, records: str | None) -> None:
    """Write all that is kept of a player to OUT: records as JSON and CSV, takes as MIDI in their session folders."""
    from coach.records.leaving import player_files
    from coach.service.leaving import person_folders, write_folder, write_zip

    with open_records(data, records) as store:
        told = told_of(store, data, player)
        texts = store.read(lambda connection: player_files(connection, player))
    with _beside(out) as draft:
        write_folder(draft, texts, told.folders, person_folders(data_folder(data), player))
        if out.suffix.lower() == ".zip":
            folder = draft.rename(draft.with_name("folder"))
            write_zip(draft, folder)
    click.echo(f"Wrote {told} to {out}.")


@contextmanager
def _beside(out: Path) -> Iterator[Path]:
    """A place beside ``out`` for what is being written; it is moved there when all of it is done, or taken away.

    Raises:
        InputError: when there is something of that name already, or it cannot be written.
    """
    if out.exists() or out.is_symlink():
        raise InputError("there is something of this name", where=str(out), cure="name another, or take it away")
    try:
        with tempfile.TemporaryDirectory(dir=out.parent, prefix=f".{out.name}.") as room:
            draft = Path(room) / out.name
            yield draft
            draft.rename(out)
    except OSError as error:
        raise InputError(
            f"the export cannot be written ({error.strerror or error})",
            where=str(out),
            cure="check the folder, and that there is room",
        ) from error
