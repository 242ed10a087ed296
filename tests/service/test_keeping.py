"""What cannot be kept is said, and the session goes on."""

import errno
import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from coach.service import protocol as wire
from coach.takes.sessions import JournalWriter, read_session


def test_a_pass_that_cannot_be_kept_is_not_begun_and_the_next_one_is(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    in_the_way = tmp_path / "folder-1"
    in_the_way.write_text("a file where the folder is to be", "utf-8")

    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    world.run(0.5)

    assert page.last(wire.State).state == "ready"
    assert page.last(wire.Failure).text.startswith(f"{tmp_path}: the pass cannot be kept (File exists)")

    in_the_way.unlink()
    page.say(wire.Start())
    origin = page.last(wire.Begin).origin or page.now() + 0.2 + page.last(wire.Begin).lead
    world.play(page, as_written(solos["beginner"], 120.0), until=9.0, origin=origin)
    assert page.last(wire.PracticeReport).clean


def test_a_disk_that_fills_in_mid_pass_costs_no_note_and_the_end_writes_what_the_journal_could_not(
    world: Any, solos: Any, as_written: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    origin = page.last(wire.Begin).origin or page.now() + 0.2 + page.last(wire.Begin).lead

    def full(journal: JournalWriter, entry: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(JournalWriter, "write", full)
    world.play(page, as_written(solos["beginner"], 120.0), until=9.0, origin=origin)

    assert page.last(wire.PracticeReport).clean
    assert page.last(wire.Failure).text.startswith(
        f"{tmp_path / 'folder-1'}: what was played could not be written (No space left on device)"
    )
    assert len(read_session(tmp_path / "folder-1").session.passes) == 1


def test_a_folder_that_is_gone_at_the_end_of_a_pass_costs_no_report(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    origin = page.last(wire.Begin).origin or page.now() + 0.2 + page.last(wire.Begin).lead
    shutil.rmtree(tmp_path / "folder-1")
    (tmp_path / "folder-1").write_text("a file where the folder was", "utf-8")

    world.play(page, as_written(solos["beginner"], 120.0), until=9.0, origin=origin)

    assert page.last(wire.PracticeReport).clean
    assert "what was played could not be written" in page.last(wire.Failure).text
