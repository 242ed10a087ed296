"""The edits of tunes in the data folder: a file ``edits/1`` for each tune that has some."""

from __future__ import annotations

from pathlib import Path

from coach.arranging.edit_files import edits_from_json, edits_to_json
from coach.arranging.edits import Edits
from coach.errors import InputError
from coach.service.whole_files import write_whole

__all__ = ["EditStore"]


class EditStore:
    """A folder of edits.

    Args:
        folder: where they are; it need not be there.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def path(self, tune: str) -> Path:
        """The file of a tune, by its id."""
        return self._folder / f"{tune}.json"

    def read(self, tune: str) -> Edits | None:
        """The edits of a tune; None where none are kept.

        Raises:
            InputError: when the file cannot be read.
        """
        path = self.path(tune)
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise InputError(
                f"the file cannot be read ({error.strerror or error})", where=path.name, cure="check its rights"
            ) from error
        return edits_from_json(data, path.name)

    def write(self, edits: Edits) -> None:
        """Keep the edits of a tune, in place of those that were kept.

        Raises:
            InputError: when the file cannot be written.
        """
        path = self.path(edits.tune)
        try:
            write_whole(path, edits_to_json(edits))
        except OSError as error:
            raise InputError(
                f"the edits cannot be kept ({error.strerror or error})",
                where=str(path),
                cure="make room there; until the coach ends they hold all the same",
            ) from error
