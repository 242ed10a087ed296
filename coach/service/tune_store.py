"""The files with tunes that were brought to a studio, as they came, in the data folder.

A file stands in a folder of its own, named by the digest of its bytes, under its own name as far as that can be the
name of a file. What is beside it, as JSON of the format ``brought/1``, makes it count: it is written last and taken
away first, so a file is there whole or not at all.
"""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import Literal

import msgspec
from msgspec import Struct

from coach.errors import InputError
from coach.service.jobs import plain_name
from coach.service.whole_files import write_whole

__all__ = ["BroughtFile", "TuneStore"]


class BroughtFile(Struct, frozen=True):
    """A file that was brought.

    Attributes:
        file: its name in the folder.
        brought: when, RFC 3339 in UTC.
        left_out: the ids of tunes in it that are not in the book; they were withdrawn, or not shared.
        key: the name of its folder.
    """

    file: str
    brought: str
    left_out: tuple[str, ...] = ()
    key: str = ""
    format: Literal["brought/1"] = "brought/1"


class TuneStore:
    """The files of one owner.

    Args:
        folder: where they are; it need not be there.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def files(self) -> Iterator[BroughtFile | InputError]:
        """What was brought, in the order in which it came; an error for each that cannot be read, which is left alone.

        Raises:
            InputError: when the folder cannot be read.
        """
        found: list[BroughtFile] = []
        try:
            paths = sorted(self._folder.glob("*.json"))
        except OSError as error:
            raise _unreadable(self._folder, error) from error
        for path in paths:
            try:
                found.append(self._file(path.stem))
            except InputError as error:
                yield error
        yield from sorted(found, key=lambda each: (each.brought, each.key))

    def read(self, key: str) -> tuple[BroughtFile, bytes]:
        """A file by its key, and its bytes.

        Raises:
            InputError: when it cannot be read.
        """
        file = self._file(key)
        path = self._folder / key / file.file
        try:
            return file, path.read_bytes()
        except OSError as error:
            raise _unreadable(path, error) from error

    def keep(self, data: bytes, name: str, brought: str, left_out: Iterable[str] = ()) -> str:
        """Keep a file; one with the same bytes is kept once.

        Args:
            data: its bytes.
            name: as it came.
            brought: when, RFC 3339 in UTC.
            left_out: the ids of the tunes in it that are not in the book.

        Returns:
            its key.

        Raises:
            InputError: when it cannot be written.
        """
        key = hashlib.sha256(data).hexdigest()[:32]
        file = BroughtFile(plain_name(name), brought, tuple(sorted(left_out)), key)
        beside: Path | None = None
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            if not self.has(key):
                beside = Path(tempfile.mkdtemp(prefix=".", suffix=".new", dir=self._folder))
                (beside / file.file).write_bytes(data)
                shutil.rmtree(self._folder / key, ignore_errors=True)  # of one that was begun and does not count
                beside.rename(self._folder / key)
            else:
                file = msgspec.structs.replace(self._file(key), left_out=file.left_out)
            self._write(file)
        except OSError as error:
            raise InputError(
                f"the file cannot be kept ({error.strerror or error})", where=file.file, cure="make room in the service"
            ) from error
        finally:
            if beside is not None:
                shutil.rmtree(beside, ignore_errors=True)
        return key

    def leave_out(self, key: str, tunes: Collection[str], *, every: Collection[str]) -> None:
        """Take tunes of a file out of the book; with the last of them goes the file.

        Args:
            key: of the file.
            tunes: their ids.
            every: the ids of all tunes in it.

        Raises:
            InputError: when the folder cannot be written.
        """
        file = self._file(key)
        left_out = {*file.left_out, *tunes}
        try:
            if left_out.issuperset(every):
                self._path(key).unlink(missing_ok=True)
                shutil.rmtree(self._folder / key)
            else:
                self._write(msgspec.structs.replace(file, left_out=tuple(sorted(left_out))))
        except OSError as error:
            raise InputError(
                f"the folder of tunes cannot be written ({error.strerror or error})", where=str(self._folder)
            ) from error

    def clear(self) -> None:
        """Take out all files.

        Raises:
            InputError: when they cannot be taken out.
        """
        try:
            shutil.rmtree(self._folder)
        except FileNotFoundError:
            return
        except OSError as error:
            raise InputError(
                f"the tunes cannot be taken out ({error.strerror or error})", where=str(self._folder)
            ) from error

    def has(self, key: str) -> bool:
        """Whether a file is there, by its key."""
        return self._path(key).exists() and (self._folder / key).is_dir()

    def _path(self, key: str) -> Path:
        return self._folder / f"{key}.json"

    def _file(self, key: str) -> BroughtFile:
        path = self._path(key)
        try:
            file = msgspec.json.decode(path.read_bytes(), type=BroughtFile)
        except OSError as error:
            raise _unreadable(path, error) from error
        except msgspec.MsgspecError as error:
            raise InputError(f"it does not say which file was brought ({error})", where=str(path)) from error
        if (file.key, plain_name(file.file)) != (key, file.file):
            raise InputError("it names a file that is not its own", where=str(path))
        return file

    def _write(self, file: BroughtFile) -> None:
        write_whole(self._path(file.key), msgspec.json.encode(file))


def _unreadable(path: Path, error: OSError) -> InputError:
    return InputError(f"it cannot be read ({error.strerror or error})", where=str(path), cure="check its rights")
