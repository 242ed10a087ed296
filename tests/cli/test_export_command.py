"""The export command, as a user runs it."""

from __future__ import annotations

import csv
import json
import random
import resource
import subprocess
import sys
import zipfile
from pathlib import Path

import mido
import pytest

SESSIONS = ["20260301T180000-reed", "20260302T180000-reed"]


def files_of(folder: Path) -> dict[str, bytes]:
    """All files below a folder."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_folder_has_records_and_takes_of_the_player_alone(practised, tmp_path: Path) -> None:
    out = tmp_path / "reed"
    done = practised.run("export", "--player", "reed", "-o", out)

    assert (done.exit_code, done.stderr) == (0, "")
    assert done.stdout == f"Wrote 3 passes of 2 tunes on 2 days and 2 session folders to {out}.\n"
    assert sorted(path.name for path in out.iterdir()) == [
        "measures.csv",
        "passes.csv",
        "player.json",
        "sessions",
        "sittings.csv",
    ]
    assert sorted(path.name for path in (out / "sessions").iterdir()) == SESSIONS
    assert len(json.loads((out / "player.json").read_text("utf-8"))["passes"]) == 3
    with (out / "passes.csv").open(newline="") as table:
        assert [row["player"] for row in csv.DictReader(table)] == ["reed"] * 3


def test_a_session_is_copied_whole(practised, tmp_path: Path) -> None:
    practised.run("export", "--player", "reed", "-o", tmp_path / "reed")

    assert files_of(tmp_path / "reed" / "sessions" / SESSIONS[0]) == files_of(practised.data / "sessions" / SESSIONS[0])


def test_of_a_session_that_was_cut_off_there_is_the_take_so_far(practised, tmp_path: Path) -> None:
    practised.run("export", "--player", "reed", "-o", tmp_path / "reed")
    cut_off = tmp_path / "reed" / "sessions" / SESSIONS[1]

    take = mido.MidiFile(cut_off / "take.mid")  # another reader of the format
    assert [message.note for message in take if message.type == "note_on"] == [67]
    assert not (cut_off / "journal.jsonl").exists()
    assert (practised.data / "sessions" / SESSIONS[1] / "journal.jsonl").exists()  # it is the service's to bring back


def test_a_journal_that_cannot_be_read_is_copied_as_it_is(practised, tmp_path: Path) -> None:
    journal = practised.data / "sessions" / SESSIONS[1] / "journal.jsonl"
    journal.write_text("no line of a journal\n")

    done = practised.run("export", "--player", "reed", "-o", tmp_path / "reed")

    assert done.exit_code == 0
    assert (tmp_path / "reed" / "sessions" / SESSIONS[1] / "journal.jsonl").read_text() == "no line of a journal\n"


def test_a_zip_file_holds_the_same_and_is_the_same_each_time(practised, tmp_path: Path) -> None:
    for out in ("reed", "one.zip", "two.ZIP"):
        assert practised.run("export", "--player", "reed", "-o", tmp_path / out).exit_code == 0

    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == files_of(tmp_path / "reed")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.ZIP").read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["data", "one.zip", "reed", "two.ZIP"]


@pytest.mark.parametrize("name", ["there", "there.zip"])
def test_what_is_there_already_is_left_alone(practised, tmp_path: Path, name: str) -> None:
    out = tmp_path / name
    out.write_text("a letter")

    said = practised.refused("export", "--player", "reed", "-o", out)

    assert said == f"coach: {out}: there is something of this name; name another, or take it away."
    assert out.read_text() == "a letter"


def test_a_folder_that_is_not_there_is_said(practised, tmp_path: Path) -> None:
    out = tmp_path / "none" / "reed.zip"

    said = practised.refused("export", "--player", "reed", "-o", out)

    assert said == (
        f"coach: {out}: the export cannot be written (No such file or directory); check the folder, and that there is"
        " room."
    )


def test_without_room_nothing_is_left_half_done(practised, tmp_path: Path) -> None:
    # A limit on the size of a file stands for a disk that is full: it comes in the middle of writing, too.
    (practised.data / "sessions" / SESSIONS[0] / "report.json").write_bytes(random.Random(1).randbytes(90_000))
    words = ["export", "--data", practised.data, "--player", "reed", "-o", tmp_path / "reed"]
    done = subprocess.run(
        [sys.executable, "-m", "coach", *map(str, words)],
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (80_000, 80_000)),
    )

    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        f"coach: {tmp_path / 'reed'}: the export cannot be written (File too large);"
        " check the folder, and that there is room.\n"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["data"]


def test_one_who_is_not_known_is_said(practised, tmp_path: Path) -> None:
    said = practised.refused("export", "-o", tmp_path / "out")

    assert said == "coach: --player: the records have no player 'home'; they have reed, sedge."


def test_takes_from_before_there_were_records_are_exported_too(practised, tmp_path: Path) -> None:
    (practised.data / "sessions" / "20260201T180000-home").mkdir()

    done = practised.run("export", "-o", tmp_path / "out")

    assert done.stdout.startswith("Wrote 0 passes of 0 tunes on 0 days and 1 session folder to ")


def test_what_is_theirs_alone_in_a_studio_is_there_too(practised, tmp_path: Path) -> None:
    own = practised.data / "studios" / "mill" / "people" / "reed"
    own.mkdir(parents=True)
    (own / "instruments.json").write_text("{}")
    (own / ".instruments.json.new").write_text("{")

    practised.run("export", "--player", "reed", "-o", tmp_path / "reed")

    assert [path.name for path in (tmp_path / "reed" / "files").iterdir()] == ["instruments.json"]
