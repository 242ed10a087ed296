"""Files with tunes that were brought: whole or not at all, under names that harm nobody."""

from __future__ import annotations

from pathlib import Path

import pytest

from coach.errors import InputError
from coach.service.tune_store import BroughtFile, TuneStore

DAY = "2026-01-01T00:00:00Z"


def files(store: TuneStore) -> list[BroughtFile]:
    found = list(store.files())
    assert all(isinstance(each, BroughtFile) for each in found)
    return [each for each in found if isinstance(each, BroughtFile)]


@pytest.mark.parametrize(
    "name",
    [
        "gate.abc",
        "../../gate.abc",
        "..",
        "/etc/gate",
        "a\\b\\..\\gate.abc",
        "ga\x00te\n\x1b[2J.abc",
        "\u202egate",
        "",
        "é" * 300,
        ".json",
        "x" * 500 + ".abc",
    ],
)
def test_a_file_comes_back_as_it_was_and_stays_in_its_folder(tmp_path: Path, name: str) -> None:
    store = TuneStore(tmp_path / "tunes")
    key = store.keep(b"X:1\n", name, DAY)
    file, data = store.read(key)

    assert data == b"X:1\n"
    assert file.file.isprintable()
    assert files(store) == [file]
    outside = [path for path in tmp_path.rglob("*") if not path.is_relative_to(tmp_path / "tunes")]
    assert outside == []
    assert sorted(path.name for path in (tmp_path / "tunes").iterdir()) == [key, f"{key}.json"]


def test_files_come_in_the_order_in_which_they_were_brought(tmp_path: Path) -> None:
    store = TuneStore(tmp_path)
    later = store.keep(b"later", "a.abc", "2026-01-02T00:00:00Z")
    sooner = store.keep(b"sooner", "b.abc", DAY)
    assert [each.key for each in files(store)] == [sooner, later]


def test_the_same_bytes_are_kept_once_and_take_back_what_was_left_out(tmp_path: Path) -> None:
    store = TuneStore(tmp_path)
    key = store.keep(b"X:1\n", "gate.abc", DAY, ["one"])
    assert store.keep(b"X:1\n", "other.abc", "2026-02-01T00:00:00Z") == key
    (file,) = files(store)
    assert (file.file, file.brought, file.left_out) == ("gate.abc", DAY, ())


def test_a_file_goes_with_the_last_of_its_tunes(tmp_path: Path) -> None:
    store = TuneStore(tmp_path)
    key = store.keep(b"X:1\n", "gate.abc", DAY)
    store.leave_out(key, {"one"}, every=("one", "two"))
    assert files(store)[0].left_out == ("one",)
    store.leave_out(key, {"two"}, every=("one", "two"))
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_was_not_kept_to_its_end_does_not_count_and_can_be_brought_again(tmp_path: Path) -> None:
    store = TuneStore(tmp_path)
    key = store.keep(b"X:1\n", "gate.abc", DAY)
    (tmp_path / f"{key}.json").unlink()
    (tmp_path / key / "gate.abc").write_bytes(b"X:")
    assert files(store) == []
    store.keep(b"X:1\n", "gate.abc", DAY)
    assert store.read(key)[1] == b"X:1\n"


@pytest.mark.parametrize(
    "told", [b"{", b'{"file": "../x", "brought": "", "key": "KEY"}', b'{"file": "x", "brought": ""}']
)
def test_what_cannot_be_read_is_said_and_left_alone(tmp_path: Path, told: bytes) -> None:
    store = TuneStore(tmp_path)
    key = store.keep(b"X:1\n", "gate.abc", DAY)
    other = store.keep(b"X:2\n", "stile.abc", DAY)
    (tmp_path / f"{key}.json").write_bytes(told.replace(b"KEY", key.encode()))
    found = list(store.files())
    assert [type(each) for each in found] == [InputError, BroughtFile]
    assert isinstance(found[1], BroughtFile)
    assert found[1].key == other
    assert (tmp_path / key / "gate.abc").exists()


def test_where_nothing_can_be_written_a_sentence_says_so(tmp_path: Path) -> None:
    (tmp_path / "tunes").write_bytes(b"")
    with pytest.raises(InputError, match=r"gate\.abc: the file cannot be kept"):
        TuneStore(tmp_path / "tunes").keep(b"X:1\n", "gate.abc", DAY)


def test_all_goes_at_once(tmp_path: Path) -> None:
    store = TuneStore(tmp_path / "tunes")
    store.clear()
    store.keep(b"X:1\n", "gate.abc", DAY)
    store.clear()
    assert not (tmp_path / "tunes").exists()
    assert files(store) == []
