"""A service that is killed at any moment: every pass that was reported is remembered, and the next start goes on."""

from __future__ import annotations

import random
import signal
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from demo_solos import demo_solos
from real_parts import Remote, Served

from coach.arranging.files import to_json
from coach.records.played import PlayedPass, passes_of
from coach.records.store import Store, url_of
from coach.takes.sessions import JOURNAL, read_session

TIMES = 4
TEMPO, FLOOR = 400.0, 300.0  # a measure takes 0.6 seconds, or 0.8
AGAIN = 2.1  # seconds from the first report of short passes: until the next one and beyond
SOLO = -0.8, 2.2  # seconds from position 0 of a solo: from its count-in to its fourth measure
TICK = 0.1  # seconds by which the last message may be on its way still
KEPT = 1.0  # seconds of the take that may be lost
FEWEST = 4  # notes that are played a second, at the least: quarters are 6.7, and some are missed


class Evening:
    """A service and its page, until the service is killed."""

    def __init__(self, data: Path, tune: Path) -> None:
        self.served = Served(data, tune, command="demo")
        self.page: Remote = self.served.join()
        self.state = self._state()
        self.origin: float | None = None  # of the pass that runs, on the page's clock

    def _state(self) -> dict[str, Any]:
        while True:
            state = self.page.next()
            if state["kind"] == "state" and state["digest"] and not state["waiting"]:
                return state

    def play_until_killed(self, seconds: float, *, whole: bool) -> float:
        """Play the first measure again and again, or the whole solo; the service is killed so many seconds after the
        first report, or after position 0 of the solo.

        Returns:
            that moment, on the page's clock.
        """
        # With a latency that is told the first pass moves the ladder too.
        self.page.say(
            kind="settings", tempo=TEMPO, goal=TEMPO, floor=FLOOR, whole=True, keep_going=True, latency_ms=0.0
        )
        if not whole:
            self.page.say(kind="settings", last=1)
        self.page.say(kind="start")
        end = None
        while end is None or time.monotonic() < end:
            message = self.page.next_within(TICK)
            now = time.monotonic()
            if message is not None and message["kind"] == "begin" and message["origin"] is None:
                self.origin = now + message["lead"]
                end = self.origin + seconds if whole else end
                self.page.say(kind="sounding", number=message["number"], origin=self.origin)
            elif message is not None and message["kind"] == "report":
                self.origin = None
                end = now + seconds if end is None else end
            self.page.say(kind="notes", seat="test", watermark=now)
        self.served.process.kill()
        killed = time.monotonic()
        assert self.served.wait() == -signal.SIGKILL
        return killed

    def close(self) -> None:
        """End it, where a check failed on the way."""
        if not self.served.ended:
            self.served.end(signal.SIGKILL)


def recorded(data: Path) -> list[PlayedPass]:
    """The passes in the records, which must be sound."""
    with closing(sqlite3.connect(data / "records.db")) as database:
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []
    with closing(Store(url_of(data / "records.db"))) as store:
        return store.read(lambda connection: passes_of(connection, "home"))


def check_folders(folders: list[Path], kept: list[PlayedPass]) -> None:
    """Each pass that is in the records is in its session folder."""
    passes = {(folder.name, each.number): each for folder in folders for each in read_session(folder).session.passes}
    for each in kept:
        assert passes[each.folder, each.number].digest == each.digest
        assert passes[each.folder, each.number].measures == f"{each.first}-{each.last}"


def check_running(folder: Path, since: float, killed: float) -> None:
    """Of a pass that ran when the service was killed all is there, but for the last second at most.

    Args:
        folder: of its session.
        since: when its position 0 was heard.
        killed: when the service was.
    """
    assert (folder / JOURNAL).exists()
    take = read_session(folder).take
    begun, due = take.passes[-1].seconds, killed - since - KEPT - TICK
    assert take.end - begun >= due
    assert sum(each.data[0] & 0xF0 == 0x90 for each in take.messages if each.seconds >= begun) >= due * FEWEST


def check_recalled(state: dict[str, Any], told: dict[str, Any]) -> None:
    """The next start goes on where the last report left off."""
    assert (state["goal"], state["floor"], state["last"], state["keep_going"]) == (TEMPO, FLOOR, 1, True)
    assert state["tempo"] in (pytest.approx(told["rung"]["tempo"]), pytest.approx(told["tempo"], rel=1e-4))
    assert state["rung"] is not None
    for name in ("tier", "tempo", "first", "last", "use", "mix"):
        assert state["rung"][name] == told["rung"][name]


def test_what_was_reported_is_remembered_after_a_kill_at_any_moment(tmp_path: Path) -> None:
    rng = random.Random(8)
    data, tune = tmp_path / "data", tmp_path / "solo.json"
    tune.write_bytes(to_json(demo_solos("mill-lane")["beginner"]))
    before: list[PlayedPass] = []
    told: dict[str, Any] | None = None  # the last report, where nothing is in the records behind it
    known: set[Path] = set()
    reports = running = recalled = 0
    for whole in [False, True] * (TIMES // 2):
        with closing(Evening(data, tune)) as evening:
            if told is not None:
                check_recalled(evening.state, told)
                recalled += 1
            moment = rng.uniform(*SOLO) if whole else rng.uniform(0.0, AGAIN)
            killed = evening.play_until_killed(moment, whole=whole)

        kept = recorded(data)
        new = kept[len(before) :]
        assert kept[: len(before)] == before
        seen = evening.page.all("report")
        # One may have been written and not be told any more.
        assert len(seen) <= len(new) <= len(seen) + 1
        assert [(each.clean, each.whole) for each in new][: len(seen)] == [
            (report["clean"], report["whole"]) for report in seen
        ]
        folders = evening.served.folders()
        check_folders([folder for folder in folders if folder not in known], new)
        if whole and evening.origin is not None and killed > evening.origin + KEPT + TICK:
            running += 1
            check_running(folders[-1], evening.origin, killed)
        reports += len(seen)
        told = seen[-1] | {"tempo": new[-1].tempo} if seen and len(new) == len(seen) else None
        if told is not None and told["rung"]["use"] != "part":
            told = None  # it was clean at the goal; the next sitting begins with what was chosen, once more
        before, known = kept, set(folders)

    # The moments were such that there was something to lose.
    assert reports >= TIMES // 2
    assert running >= 2
    assert recalled >= 1
