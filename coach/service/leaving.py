"""What a player takes along, or leaves no trace of: records, session folders, and all else in the data folder."""

from __future__ import annotations

import re
import shutil
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from coach.errors import CoachError, InputError

__all__ = ["person_folders", "session_folders", "take_away", "write_folder", "write_zip", "zipped"]

_MOMENT = re.compile(r"\d{8}T\d{6}")


def session_folders(root: Path, player: str, owners: Mapping[str, str]) -> list[Path]:
    """The session folders of a player, by name.

    Args:
        root: the folder of all session folders; it need not be there.
        player: whose.
        owners: whose each folder is by the passes in the records; of others their name tells, which begins with the
            moment and goes on with the session, and a count where there was one of that moment already.
    """
    inside = root.iterdir() if root.is_dir() else ()
    names = sorted(each.name for each in inside if each.is_dir() and not each.is_symlink())

    def is_theirs(name: str) -> bool:
        if name in owners:
            return owners[name] == player
        moment, _, rest = name.partition("-")
        session, _, count = rest.rpartition("-")
        return bool(_MOMENT.fullmatch(moment)) and (
            rest == player or (session == player and count.isdecimal() and f"{moment}-{session}" in names)
        )

    return [root / name for name in names if is_theirs(name)]


def person_folders(data: Path, person: str) -> list[Path]:
    """The folders of what is somebody's alone in a studio: none, or one, in a data folder that need not be there."""
    return [people / person for people in (data / "studios").glob("*/people") if (people / person).is_dir()]


def take_away(folders: Sequence[Path]) -> None:
    """Take folders away.

    Raises:
        InputError: when one cannot be.
    """
    for folder in folders:
        try:
            shutil.rmtree(folder)
        except OSError as error:
            raise InputError(
                f"what was played cannot be taken away ({error.strerror or error})",
                where=str(folder),
                cure="see whose the folder is; the records are still there, so try again",
            ) from error


def zipped(texts: Mapping[str, str], folders: Sequence[Path], own: Sequence[Path]) -> Path:
    """A new file, alone in its folder, with all that :func:`write_folder` writes; whoever asks for it takes the folder
    away."""
    room = Path(tempfile.mkdtemp(prefix="coach-export-"))
    try:
        write_folder(room / "folder", texts, folders, own)
        write_zip(room / "export.zip", room / "folder")
        shutil.rmtree(room / "folder")
    except BaseException:
        shutil.rmtree(room, ignore_errors=True)
        raise
    return room / "export.zip"


def write_folder(target: Path, texts: Mapping[str, str], folders: Sequence[Path], own: Sequence[Path]) -> None:
    """Write texts by their names, copies of session folders, and what is in other folders, into one that is made."""
    target.mkdir()
    for name, text in texts.items():
        (target / name).write_bytes(text.encode())
    for folder in folders:
        _copy_session(folder, target / "sessions" / folder.name)
    for folder in own:
        # What begins with a dot is being written.
        shutil.copytree(folder, target / "files", ignore=shutil.ignore_patterns(".*"), dirs_exist_ok=True)


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


def write_zip(target: Path, folder: Path) -> None:
    """Pack a folder; the same files give the same bytes."""
    with zipfile.ZipFile(target, "w") as archive:
        for path in sorted(each for each in folder.rglob("*") if each.is_file()):
            # Without a time of its own, so that the same records give the same bytes.
            entry = zipfile.ZipInfo(path.relative_to(folder).as_posix())
            archive.writestr(entry, path.read_bytes(), zipfile.ZIP_DEFLATED)
