"""Files of the data folder: written whole, or as they were before."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.service.whole_files import write_whole


def test_a_file_is_written_in_folders_that_are_made_and_written_over(tmp_path: Path) -> None:
    path = tmp_path / "studios" / "mill" / "licks.json"

    write_whole(path, b"one")
    write_whole(path, b"two")

    assert path.read_bytes() == b"two"
    assert [each.name for each in path.parent.iterdir()] == ["licks.json"]


def test_what_cannot_be_put_in_its_place_leaves_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "licks.json"
    path.mkdir()

    with pytest.raises(OSError, match=r"licks\.json"):
        write_whole(path, b"one")

    assert [each.name for each in tmp_path.iterdir()] == ["licks.json"]
    assert path.is_dir()
