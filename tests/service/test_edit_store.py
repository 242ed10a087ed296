"""Edits in the data folder."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from coach.arranging.edit_files import edits_to_json
from coach.arranging.edits import Edits, LeaveOut
from coach.errors import ArrangeError, InputError
from coach.service.edit_store import EditStore

EDITS = Edits("lane-12345678", (LeaveOut("beginner", 1, Fraction(1, 2), 3),))


def test_what_is_kept_is_there_again_in_a_file_of_its_tune(tmp_path: Path) -> None:
    store = EditStore(tmp_path / "edits")
    assert store.read(EDITS.tune) is None

    store.write(EDITS)

    assert store.read(EDITS.tune) == EDITS
    assert store.read("other") is None
    assert [path.name for path in (tmp_path / "edits").iterdir()] == ["lane-12345678.json"]
    assert store.path(EDITS.tune).read_bytes() == edits_to_json(EDITS)


def test_a_file_that_is_none_is_said_with_its_place(tmp_path: Path) -> None:
    store = EditStore(tmp_path)
    path = store.path("lane")
    path.write_bytes(b"{")
    with pytest.raises(ArrangeError, match=r"lane\.json: this is no JSON"):
        store.read("lane")
    path.unlink()
    path.mkdir()
    with pytest.raises(InputError, match=r"lane\.json: the file cannot be read"):
        store.read("lane")


def test_a_folder_that_cannot_be_written_is_said_and_nothing_is_left(tmp_path: Path) -> None:
    (tmp_path / "edits").write_text("in the way")
    with pytest.raises(InputError, match="the edits cannot be kept"):
        EditStore(tmp_path / "edits").write(EDITS)
    store = EditStore(tmp_path)
    store.path(EDITS.tune).mkdir()
    with pytest.raises(InputError, match="the edits cannot be kept"):
        store.write(EDITS)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["edits", f"{EDITS.tune}.json"]
