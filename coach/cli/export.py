"""``coach export``: all that is kept of a player, in open formats."""

from __future__ import annotations

import tempfile
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

import click

from coach.cli.kept import open_records, player_option, records_options, told_of
from coach.errors import CoachError, InputError

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

    with open_records(data, records) as store:
        told = told_of(store, data, player)
        texts = store.read(lambda connection: player_files(connection, player))
    with _beside(out) as draft:
        _write_folder(draft, texts, told.folders)
        if out.suffix.lower() == ".zip":
            folder = draft.rename(draft.with_name("folder"))
            _write_zip(draft, folder)
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


def _write_folder(target: Path, texts: Mapping[str, str], folders: Sequence[Path]) -> None:
    target.mkdir()
    for name, text in texts.items():
        (target / name).write_bytes(text.encode())
    for folder in folders:
        _copy_session(folder, target / "sessions" / folder.name)


def _copy_session(folder: Path, target: Path) -> None:
    """Copy a session's folder; of one that was cut off, or is still being played, with the take so far."""
    from coach.takes.sessions import mend

    target.mkdir(parents=True)
    for path in sorted(folder.iterdir()):
        # What begins with a dot is being written.
        if path.is_file() and not path.name.startswith("."):
            with suppress(FileNotFoundError):  # a journal, whose session has ended in this moment
                data = _read(path)
                (target / path.name).write_bytes(data)
    with suppress(CoachError):  # a journal that cannot be read is there as it is
        mend(target)


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except PermissionError as error:
        raise InputError(
            f"the file cannot be read ({error.strerror})", where=str(path), cure="make it readable, and export again"
        ) from error


def _write_zip(target: Path, folder: Path) -> None:
    with zipfile.ZipFile(target, "w") as archive:
        for path in sorted(each for each in folder.rglob("*") if each.is_file()):
            # Without a time of its own, so that the same records give the same bytes.
            entry = zipfile.ZipInfo(path.relative_to(folder).as_posix())
            archive.writestr(entry, path.read_bytes(), zipfile.ZIP_DEFLATED)
