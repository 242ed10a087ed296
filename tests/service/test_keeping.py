"""What cannot be kept is said, and the session goes on."""

import errno
import os
import shutil
from concurrent.futures import Future
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from coach.service import keeping
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

    def full(journal: JournalWriter, entries: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(JournalWriter, "write_all", full)
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


class Later:
    """Does what is given to it when it is told to."""

    def __init__(self) -> None:
        self.given: list[tuple[Any, Any, Future[None]]] = []

    def do(self, work: Any, done: Any) -> Future[None]:
        self.given.append((work, done, Future()))
        return self.given[-1][2]

    def work(self) -> None:
        for work, done, written in self.given:
            result = work()
            written.set_result(None)
            done(result)
        self.given.clear()


def _play(world: Any, page: Any, solos: Any, as_written: Any) -> None:
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = begin.origin or page.now() + 0.2 + begin.lead
    world.play(page, as_written(solos["beginner"], 120.0), until=9.0, origin=origin)


def test_a_report_is_told_when_its_folder_is_written_and_no_pass_goes_on_by_itself_before(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    later = world.session._after._keeper._aside = Later()
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0, keep_going=True))
    _play(world, page, solos, as_written)
    world.run(10)

    assert page.last(wire.State).state == "between passes"
    assert page.all(wire.PracticeReport) == []
    assert (tmp_path / "folder-1" / "journal.jsonl").exists()
    assert not (tmp_path / "folder-1" / "take.mid").exists()

    later.work()
    world.settle()
    assert page.last(wire.PracticeReport).clean
    assert not (tmp_path / "folder-1" / "journal.jsonl").exists()
    assert len(read_session(tmp_path / "folder-1").session.passes) == 1

    world.run(0.2)
    assert page.last(wire.State).state == "counting in"


def test_a_pass_begins_when_the_report_of_the_one_before_is_told_and_nobody_is_held_up_for_it(
    world: Any, solos: Any, as_written: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    later = world.session._after._keeper._aside = Later()
    monkeypatch.setattr(keeping, "wait", lambda futures: pytest.fail("it waits") if not futures[0].done() else None)
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0, keep_going=False))
    _play(world, page, solos, as_written)
    assert later.given

    page.say(wire.Start())
    world.run(0.5)
    assert (page.last(wire.State).state, page.all(wire.PracticeReport)) == ("between passes", [])

    later.work()
    world.run(0.5)
    assert len(page.all(wire.PracticeReport)) == 1
    assert page.last(wire.State).state == "counting in"
    assert (tmp_path / "folder-1" / "journal.jsonl").exists()  # of the pass that is being played


def test_a_folder_takes_so_many_passes_and_the_next_one_begins_another(
    world: Any, solos: Any, as_written: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keeping, "MOST_PASSES", 2)
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0, keep_going=False))
    for _ in range(3):
        _play(world, page, solos, as_written)

    passes = [len(read_session(tmp_path / name).session.passes) for name in ("folder-1", "folder-2")]
    assert passes == [2, 1]
    assert [report.clean for report in page.all(wire.PracticeReport)] == [True] * 3


def test_what_is_played_is_in_the_journal_within_a_second_and_not_note_by_note(
    world: Any, solos: Any, as_written: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[tuple[float, int]] = []
    write_all = JournalWriter.write_all

    def counted(journal: JournalWriter, entries: Any) -> None:
        written.append((world.clock(), len(entries)))
        write_all(journal, entries)

    monkeypatch.setattr(JournalWriter, "write_all", counted)
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = begin.origin or page.now() + 0.2 + begin.lead
    world.play(page, as_written(solos["beginner"], 120.0), until=6.0, origin=origin)
    played = [stamp for stamp, _ in as_written(solos["beginner"], 120.0) if stamp <= 5.0]

    journal = (tmp_path / "folder-1" / "journal.jsonl").read_text("utf-8")
    assert journal.count('"midi"') >= len(played)
    times = [at for at, _ in written]
    assert max(later - before for before, later in pairwise(times)) <= 1.0
    assert max(count for _, count in written) > 1


def test_notes_after_the_last_measure_are_in_the_journal_within_a_second(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page, silent = world.page(), world.page("silent")
    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    begin = page.last(wire.Begin)
    origin = begin.origin or page.now() + 0.2 + begin.lead
    silent.pluck(bytes((0x90, 50, 60)))  # it takes part, and says no more: the pass waits for it
    world.play(page, as_written(solos["beginner"], 120.0), until=begin.length + 1.0, origin=origin)
    page.pluck(bytes((0x90, 62, 101)))
    world.run(1.0)

    assert page.all(wire.PracticeReport) == []
    assert '3e65"' in (tmp_path / "folder-1" / "journal.jsonl").read_text("utf-8")
