"""Solos that are given as such: an arrangement (.json), or a teacher's tablature in MusicXML."""

from __future__ import annotations

from pathlib import Path

import click

from coach.arranging.arrangement import Arrangement
from coach.arranging.complaints import complaints
from coach.arranging.files import from_json
from coach.cli.files import read_file

__all__ = ["gives_solo", "read_solo"]

_SCORES = {".musicxml", ".mxl", ".xml"}


def gives_solo(path: Path, tier: str | None) -> bool:
    """Whether a file is taken as a solo: an arrangement always, a score with a tablature where no tier is named.

    With a tier named, the tune of the score is arranged anew.
    """
    if path.suffix.lower() == ".json":
        return True
    if tier is not None or path.suffix.lower() not in _SCORES or not path.is_file():
        return False
    from coach.sheets.tab_reading import holds_tab

    return holds_tab(read_file(path))


def read_solo(path: Path) -> Arrangement:
    """Read a solo, and say on standard error what hands cannot do in it.

    Raises:
        InputError: when it is none.
    """
    data = read_file(path)
    if path.suffix.lower() == ".json":
        solo = from_json(data, str(path))
    else:
        from coach.sheets.tab_reading import read_tab

        solo = read_tab(data, str(path))
    for sentence in complaints(solo):
        click.echo(f"coach: {sentence}", err=True)
    return solo
