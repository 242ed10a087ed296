"""Sessions that were cut off: brought back from their journals when the service starts again."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO

from coach.errors import CoachError
from coach.takes.replay import replay, report_text
from coach.takes.sessions import JOURNAL, REPORT, mend, read_session

__all__ = ["OWNER", "keep_owned", "owned", "recover_all"]

OWNER = "owner.lock"
"""The file in the folder of all sessions that the service which keeps its takes there holds locked."""

AGAIN = 1.0
"""Seconds after which a service that is not the owner sees whether it can be."""


async def keep_owned(root: Path, told: Callable[[str], None]) -> None:
    """Bring back what was cut off, and own the folder of all sessions until this is cancelled.

    Where another service is the owner, this one takes its place when it ends; nothing is brought back then, since what
    has a journal may be what is played here.

    Args:
        root: the folder.
        told: what was brought back, in sentences.
    """
    is_first = True
    while True:
        with owned(root) as ours:
            if ours and is_first:
                for sentence in await asyncio.to_thread(recover_all, root):
                    told(sentence)
            if ours:
                await asyncio.Event().wait()
        is_first = False
        await asyncio.sleep(AGAIN)


@contextlib.contextmanager
def owned(root: Path) -> Iterator[bool]:
    """Own the folder of all sessions; False where another service does, whose journals are not cut off but alive."""
    root.mkdir(parents=True, exist_ok=True)
    with (root / OWNER).open("ab") as file:
        yield _lock(file)


def recover_all(root: Path) -> list[str]:
    """Bring back every session under ``root`` that has a journal; a sentence for each."""
    sentences = []
    for journal in sorted(root.glob(f"*/{JOURNAL}")):
        folder = journal.parent
        try:
            mend(folder)
            reports = replay(read_session(folder))
            if reports:
                (folder / REPORT).write_text(report_text(reports), "utf-8")
            sentences.append(f"The session in {folder} was cut off; its take is kept up to the last second.")
        except (CoachError, OSError) as error:
            sentences.append(f"The session in {folder} was cut off and cannot be brought back: {error}")
    return sentences


def _lock(file: IO[bytes]) -> bool:
    """Lock a file until it is closed; the system lets go of it when the process ends, however it ends."""
    try:
        import fcntl
    except ImportError:  # Windows has its own
        import msvcrt

        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        except OSError:
            return False
        return True
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
