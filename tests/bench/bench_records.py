"""A year of daily practice in the records: its size, and what opening, the next rung and all pictures take.

Run it as a script: ``python tests/bench/bench_records.py``. The year has 10,000 passes of 16 measures through ten tunes
in three tiers and a roll study, on 330 days. The best of several rounds counts, since others use the machine too, and
beside it the seconds of the processor alone. The aim is under 200 ms for each of the three. Beside each stands a
yardstick of the same run: the bare driver that opens the same file, reads what the next rung needs, and reads the
passes and measures that the pictures are drawn from; for a pass that is kept, as many bytes written to a file and
synchronised.
"""

from __future__ import annotations

import argparse
import dataclasses
import gc
import json
import os
import random
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from sqlalchemy import Connection

from coach.errors import CoachError
from coach.ladder.curve import after_pass, begin, to_bytes
from coach.ladder.rungs import Course, MeasurePlan, PassSeen, TierPlan, Wanted
from coach.ladder.standing import Wishes
from coach.records.entry import Entry, keep_entry
from coach.records.known import KnownCurve, keep_curves, keep_ladder
from coach.records.played import PlayedMeasure, PlayedPass, add_pass, moment
from coach.records.progress import progress_of
from coach.records.sittings import PlayedSitting, keep_sitting
from coach.records.store import Store, url_of
from coach.service.archive import FILE, Archive
from coach.service.climb import Climb, Recalled
from coach.service.memory import Remembered, days_of
from coach.service.progress import progress_json

PASSES, MEASURES, DAYS = 10_000, 16, 330
A_DAY = PASSES // DAYS + 1
TIERS = ("beginner", "intermediate", "advanced")
TUNES = tuple((f"tune-{number}-{number:08x}", f"Tune {number}") for number in range(1, 11))
STUDY = ("study-0badf00d", "Forward roll over G C D G")
BEGAN = datetime(2026, 1, 1, 18, tzinfo=UTC)
NOW = BEGAN + timedelta(days=365)
WISHES = Wishes(50.0, 120.0)


def year() -> Iterator[PlayedPass]:
    """The passes of a year, in order."""
    rng = random.Random(7)
    for number in range(PASSES):
        day, of_day = divmod(number, A_DAY)
        began = BEGAN + timedelta(days=day * 365 // DAYS, minutes=of_day)
        at = len(TUNES) if of_day < 2 else (day // 33 + 3 * (of_day > 22)) % len(TUNES)
        tune, title = (*TUNES, STUDY)[at]
        clean = {measure: rng.random() < 0.93 for measure in range(1, MEASURES + 1)}
        yield PlayedPass(
            player="home",
            tune=tune,
            title=title,
            digest=f"{at:x}{day % 33 // 11}" * 32,
            tier=TIERS[day % 33 // 11],
            tempo=60.0 + day % 33 * 2 + rng.randint(-4, 4),
            goal=120.0,
            first=1,
            last=MEASURES,
            began=moment(began),
            day=began.date().isoformat(),
            seconds=rng.uniform(30, 60),
            whole=True,
            clean=sum(not each for each in clean.values()) <= MEASURES // 8,
            judged="heard",
            folder=f"{began:%Y%m%d}T180000-home",
            number=of_day + 1,
            scoring=1,
            kind="warm-up" if of_day < 2 else "whole",
            kept_going=True,
            measures=tuple(
                PlayedMeasure(measure, 8, 8 - (not good), 0, int(not good), 0, round(rng.gauss(-4, 12), 3), clean=good)
                for measure, good in clean.items()
            ),
        )


def course(tune: str) -> Course:
    """A tune of the year as the ladder sees it."""
    tiers = [
        TierPlan(name, tuple(MeasurePlan(number, 1.0 + at, 4.0) for number in range(1, MEASURES + 1)), 1.0 + at)
        for at, name in enumerate(TIERS)
    ]
    return Course(tune, tuple(tiers), {})


def standing_of(tune: str) -> str:
    """Where the ladder of a tune stands after some passes, as the records keep it."""
    climb = Climb()
    climb.arrived(course(tune))
    for number in range(12):
        clean = {measure: (number + measure) % 9 > 0 for measure in range(1, MEASURES + 1)}
        seen = PassSeen(TIERS[0], 70.0 + 2 * number, number % 4 > 0, days_of(NOW) - 3, 0.8, clean, {})
        climb.over(tune, seen, WISHES)
    return json.dumps(climb.standing_of(tune))


def fill(store: Store) -> None:
    """Write the year down."""
    rng = random.Random(3)
    curves = []
    for _ in range(40):
        curve = begin(80)
        for _ in range(12):
            curve = after_pass(curve, rng.uniform(60, 110), clean=rng.random() < 0.8)
        curves.append(to_bytes(curve))

    def write(connection: Connection) -> None:
        last = ""
        for each in year():
            add_pass(connection, each)
            last = each.began
        for tune, _ in (*TUNES, STUDY):
            known = {
                tier: {measure: KnownCurve(rng.choice(curves), 12, last) for measure in range(1, MEASURES + 1)}
                for tier in TIERS
            }
            keep_curves(connection, "home", tune, known)
            keep_ladder(connection, "home", tune, standing_of(tune), last)
        for day in range(DAYS):
            began = moment(BEGAN + timedelta(days=day * 365 // DAYS))
            keep_sitting(connection, PlayedSitting("home", began, 30.0, 28.0, 110.0))

    store.write(write).result()


def best(rounds: int, work: Callable[[], object]) -> tuple[float, float]:
    """The least time of several rounds, and the least of the processor, in milliseconds."""
    times, processor = [], []
    for _ in range(rounds):
        gc.collect()
        before = time.perf_counter(), time.process_time()
        work()
        times.append(time.perf_counter() - before[0])
        processor.append(time.process_time() - before[1])
    return 1000 * min(times), 1000 * min(processor)


def next_rung(folder: Path) -> None:
    """From records that are closed to the next rung, as the service does it."""
    found: list[Remembered | CoachError] = []
    archive = Archive(folder, None, lambda call: call())
    archive.recall("home", found.append)
    archive.close()  # waits for what was asked
    (remembered,) = found
    if isinstance(remembered, CoachError):
        raise remembered
    climb = Climb()
    climb.remember(remembered.standings.values())
    tune = TUNES[0][0]
    climb.arrived(course(tune), Recalled(remembered.standings[tune], remembered.known[tune]))
    rung = climb.offer(Wanted(TIERS[0], 80.0), WISHES, days_of(NOW))
    if rung is None or not rung.why:
        sys.exit("no rung was offered")


def plainly(path: Path, *queries: str) -> Callable[[], None]:
    """The bare driver opens a file and reads all that is asked for."""

    def read() -> None:
        file = sqlite3.connect(path)
        for query in queries:
            file.execute(query).fetchall()
        file.close()

    return read


def keep_one(store: Store) -> Callable[[], None]:
    """Keep a pass with all that it leaves behind, a new one each time."""
    given = next(year())
    curve = KnownCurve(to_bytes(begin(80)), 1, given.began)
    numbers = count(1)

    def keep() -> None:
        played = dataclasses.replace(given, folder="another", number=next(numbers))
        known = {"beginner": dict.fromkeys(range(1, MEASURES + 1), curve)}
        sitting = PlayedSitting("home", given.began, 30.0, 28.0, 110.0)
        entry = Entry(played, known, "{}", {"bounce": "50"}, sitting)
        store.write(lambda connection: keep_entry(connection, entry)).result()

    return keep


def synchronised(path: Path, size: int) -> Callable[[], None]:
    """So many bytes on the disk."""

    def write() -> None:
        with path.open("ab") as file:
            file.write(bytes(size))
            file.flush()
            os.fsync(file.fileno())

    return write


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=9)
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / FILE
        store = Store(url_of(path))
        fill(store)
        store.close()
        print(f"{PASSES} passes of {MEASURES} measures: {path.stat().st_size / 1e6:.1f} MB on disk")

        def row(name: str, ours: Callable[[], object], yardstick: Callable[[], object]) -> None:
            (took, processor), (plain, _) = best(rounds, ours), best(rounds, yardstick)
            print(
                f"{name:34} {took:6.1f} ms ({processor:5.1f} of the processor), plainly {plain:6.1f} ms,"
                f" ratio {took / plain:5.1f}"
            )

        tune = TUNES[0][0]
        of_tune = f"player = 'home' AND tune = '{tune}'"
        row("opening", lambda: Store(url_of(path)).close(), plainly(path, "SELECT version_num FROM alembic_version"))
        curves_and_ladders = ("SELECT * FROM curves", "SELECT * FROM ladders", "SELECT * FROM sittings")
        row("the next rung, opening included", lambda: next_rung(Path(folder)), plainly(path, *curves_and_ladders))
        store = Store(url_of(path))
        for what, each in (("tune", tune), ("study", STUDY[0])):
            row(
                f"all pictures of a {what}",
                lambda each=each: progress_json(store.read(lambda c: progress_of(c, "home", each, NOW))),
                plainly(
                    path,
                    "SELECT day, tune, seconds FROM passes WHERE player = 'home'",
                    f"SELECT * FROM passes WHERE {of_tune}",
                    f"SELECT * FROM curves WHERE {of_tune}",
                    f"SELECT measures.* FROM measures JOIN passes ON pass = passes.id WHERE {of_tune} LIMIT 960",
                ),
            )
        size = MEASURES * 1300 + 2000
        row("a pass kept, to the disk", keep_one(store), synchronised(Path(folder) / "plain", size))
        store.close()


if __name__ == "__main__":
    main()
