"""A program that writes is killed at any moment: what was acknowledged is there, and the file is whole."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

from sqlalchemy import text

from coach.records.played import passes_of
from coach.records.store import Store, url_of

WRITER = Path(__file__).with_name("writer.py")
TIMES = 6


def killed_after(url: str, since: int, count: int) -> int:
    """Let the program write until it has acknowledged so many passes, kill it; gives the last that it acknowledged."""
    words = [sys.executable, str(WRITER), url, str(since)]
    # What tests share lies one folder up.
    environment = {**os.environ, "PYTHONPATH": str(WRITER.parents[1])}
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment) as writer:
        assert writer.stdout is not None
        acknowledged = since
        for _ in range(count):
            acknowledged = int(writer.stdout.readline())
        writer.kill()
        # What it said before it was killed was acknowledged too.
        return max([acknowledged, *(int(line) for line in writer.stdout if line.endswith("\n"))])


def test_what_was_acknowledged_is_there_after_a_kill(tmp_path: Path) -> None:
    url = url_of(tmp_path / "records.db")
    rng = random.Random(5)
    last = 0
    for _ in range(TIMES):
        last = killed_after(url, last, rng.randint(1, 12))
        store = Store(url)
        found = [each.number for each in store.read(lambda c: passes_of(c, "reed"))]
        sound = store.read(lambda c: c.execute(text("PRAGMA integrity_check")).scalar())
        store.close()

        assert sound == "ok"
        assert found[:last] == list(range(1, last + 1))
        assert len(found) <= last + 1  # one may have been written and not been said any more
        last = len(found)
