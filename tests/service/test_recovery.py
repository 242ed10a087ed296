"""Sessions that were cut off."""

from __future__ import annotations

import asyncio
import contextlib
import shutil
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import pytest

from coach.service import protocol as wire
from coach.service import recovery
from coach.service.recovery import keep_owned, owned, recover_all
from coach.takes.sessions import read_session


def test_a_session_that_was_cut_off_is_brought_back_with_its_report(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    origin = page.now() + 0.2 + page.last(wire.Begin).lead
    world.play(page, as_written(solos["beginner"], 120.0), until=5.0, origin=origin)

    (sentence,) = recover_all(tmp_path)

    folder = tmp_path / "folder-1"
    assert sentence == f"The session in {folder} was cut off; its take is kept up to the last second."
    assert not (folder / "journal.jsonl").exists()
    assert '"whole": false' in (read_session(folder).report or "")
    assert recover_all(tmp_path) == []


def test_a_journal_that_cannot_be_read_is_said_and_left_alone(tmp_path: Path) -> None:
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "journal.jsonl").write_text("nonsense\n")

    sentences = recover_all(tmp_path)

    assert len(sentences) == 2
    assert all("cannot be brought back" in sentence for sentence in sentences)
    assert (tmp_path / "a" / "journal.jsonl").exists()


def test_the_folder_of_all_sessions_has_one_owner_at_a_time(tmp_path: Path) -> None:
    with owned(tmp_path / "new") as first, owned(tmp_path / "new") as second:
        assert (first, second) == (True, False)
    with owned(tmp_path / "new") as third:
        assert third


def test_a_folder_that_cannot_be_written_keeps_no_other_from_being_brought_back(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    origin = page.now() + 0.2 + page.last(wire.Begin).lead
    world.play(page, as_written(solos["beginner"], 120.0), until=5.0, origin=origin)
    shutil.copytree(tmp_path / "folder-1", tmp_path / "a")
    (tmp_path / "a" / "take.mid" / "in the way").mkdir(parents=True)

    first, second = recover_all(tmp_path)

    assert "cannot be brought back" in first
    assert "its take is kept" in second


@contextlib.asynccontextmanager
async def a_service(root: Path, told: Callable[[str], None] = print) -> AsyncIterator[None]:
    """A service that keeps what is played in a folder; it ends with the context."""
    task = asyncio.create_task(keep_owned(root, told))
    yield
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)


async def is_kept(root: Path) -> bool:
    """Whether a folder has an owner before long."""
    for _ in range(1000):
        await asyncio.sleep(0)
        with owned(root) as ours:
            if not ours:
                return True
    return False


async def test_a_service_brings_back_what_was_cut_off(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "journal.jsonl").write_text("nonsense\n")
    told: asyncio.Queue[str] = asyncio.Queue()

    async with a_service(tmp_path, told.put_nowait):
        assert "cannot be brought back" in await asyncio.wait_for(told.get(), 20)


async def test_the_next_service_owns_the_folder_and_leaves_what_may_be_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[Path] = []
    told: asyncio.Queue[str] = asyncio.Queue()
    monkeypatch.setattr(recovery, "AGAIN", 0.0)
    monkeypatch.setattr(recovery, "recover_all", lambda root: begun.append(root) or ["brought back"])
    async with contextlib.AsyncExitStack() as later:
        async with a_service(tmp_path, told.put_nowait):
            await asyncio.wait_for(told.get(), 20)
            await later.enter_async_context(a_service(tmp_path))
            await asyncio.sleep(0)  # it sees that it is not the first

        assert await is_kept(tmp_path)
        await asyncio.get_running_loop().shutdown_default_executor()  # what it has begun is done

    assert begun == [tmp_path]
