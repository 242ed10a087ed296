"""How many students one process on one core carries: ``python tests/bench/load/run.py``.

A service runs on core 0, simulated students on core 1, joined by real websockets. Students are added until the wait
from a note to its provisional mark (``heard``) passes 20 ms at its 99th percentile; then the number is halved in.
Beside it, in the same run, a bare echo of the same websocket library carries messages of the same size. ``--quick``
takes less than two minutes; ``--soak`` looks for ten minutes, or as many as are named, whether memory and waits stay
flat;
``--students`` measures one number alone. ``waited`` is the share of time for which other processes had the core of the
service: where that is more than a little, the waits are theirs, and CPU alone is to be believed.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lines import Line
from students import Crowd, Student, Teacher

CORES = sorted(os.sched_getaffinity(0))
SERVING = Path(__file__).with_name("serving.py")
TUNE, TIER, NOTES_A_SECOND = "Turn the Barrow", "advanced", 8.0
LIMIT_MS = 20.0
MOST = 4096
WATCHED = 30
ECHOES, IN_FLIGHT = 50, 8


class Process:
    """The service or the echo, on a core of its own."""

    def __init__(self, *arguments: str) -> None:
        said = subprocess.DEVNULL if arguments[0] == "echo" else None  # it complains of lines that hang up
        command = [sys.executable, str(SERVING), *arguments]
        self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=said, text=True)
        pin(self._process.pid, 0)
        self.port = int(self._answer()["port"])

    async def ask(self, question: str = "figures") -> dict[str, Any]:
        """Ask for figures."""
        assert self._process.stdin is not None
        self._process.stdin.write(f"{question}\n")
        self._process.stdin.flush()
        return await asyncio.to_thread(self._answer)

    def end(self) -> None:
        """End it."""
        assert self._process.stdin is not None
        self._process.stdin.close()
        try:
            self._process.wait(20)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def _answer(self) -> dict[str, Any]:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        if not line:
            raise SystemExit("the process that serves has ended")
        answer: dict[str, Any] = json.loads(line)
        return answer


@contextmanager
def process(*arguments: str) -> Iterator[Process]:
    """A process that ends with the context."""
    begun = Process(*arguments)
    try:
        yield begun
    finally:
        begun.end()


def pin(pid: int, core: int) -> None:
    """Keep a process, and those that it begins, on one core; 0 is this one."""
    os.sched_setaffinity(pid, {CORES[core % len(CORES)]})


def share(values: list[float], part: float) -> float:
    """The value below which a part of all lies; 0 of none."""
    values = sorted(values)
    return values[min(len(values) - 1, int(len(values) * part))] if values else 0.0


@dataclass(frozen=True, slots=True)
class Figures:
    """What was measured with a number of students; times in ms, memory in MB, shares of 1."""

    students: int
    notes: float
    p50: float
    p99: float
    cpu: float
    waited: float
    client_cpu: float
    mb: float
    held_p99: float
    held_most: float
    garbage: float
    frames: float
    octets: float
    reports: int
    on_time: float
    lost: int

    HEAD = (
        f"{'students':>8} {'notes/s':>8} {'p50 ms':>7} {'p99 ms':>7} {'CPU':>5} {'waited':>6} {'us/note':>8} {'MB':>6}"
        f" {'frames/s':>9} {'held p99':>8} {'most':>6} {'garbage':>7} {'passes':>7} {'on time':>7} {'client':>6}"
    )

    def __str__(self) -> str:
        each = 1e6 * self.cpu / self.notes if self.notes else 0.0
        return (
            f"{self.students:8} {self.notes:8.0f} {self.p50:7.2f} {self.p99:7.2f} {self.cpu:5.0%}"
            f" {self.waited:6.0%} {each:8.0f} {self.mb:6.0f}"
            f" {self.frames:9.0f} {self.held_p99:8.1f} {self.held_most:6.1f} {self.garbage:7.1f}"
            f" {self.reports:7} {self.on_time:7.0%} {self.client_cpu:6.0%}"
            + (f"  {self.lost} lost" if self.lost else "")
        )

    @property
    def holds(self) -> bool:
        """Whether the marks came in time, for all."""
        return 0 < self.p99 <= LIMIT_MS and not self.lost


class Load:
    """Students at a service."""

    def __init__(self, server: Process, *, studio: bool) -> None:
        self.server = server
        self._is_studio = studio
        self._to_come: list[tuple[str, str]] = []  # of the studio that is being filled: the id and cookie of each
        self._filled: dict[str, Student] = {}
        self.crowd = Crowd(f"127.0.0.1:{server.port}", "", TIER, NOTES_A_SECOND)
        self._names = 0
        self._turning = asyncio.ensure_future(self._turn())

    async def open(self) -> None:
        """Wait until the tune is in the book, and nothing else is made ready any more."""
        while True:
            if (await asyncio.to_thread(fetch, f"http://{self.crowd.host}/healthz"))["tunes"] >= 4:
                break
            await asyncio.sleep(0.5)
        cookie = (await self._people(1))[1][1] if self._is_studio else ""
        line = _Lister(self.crowd.host, cookie)
        await join(line)
        line.say(b'{"kind":"join"}' if cookie else b'{"kind":"join","session":"list"}')
        self.crowd.tune = await line.tune
        line.hang_up()
        quiet = 0
        before = (await self.server.ask())["cpu"]
        while quiet < 2:
            await asyncio.sleep(1)
            now = (await self.server.ask())["cpu"]
            quiet = quiet + 1 if now - before < 0.1 else 0
            before = now

    async def bring(self, count: int) -> None:
        """Let students come or go until so many are there."""
        crowd = self.crowd
        while len(crowd.students) > count:
            crowd.students.pop().leave()
            await asyncio.sleep(0.002)
        while len(crowd.students) < count:
            self._names += 1
            student = await (self._in_a_studio() if self._is_studio else self._at_home())
            await join(student)
            student.join()
            crowd.students.append(student)
            await asyncio.sleep(0.01)

    async def _at_home(self) -> Student:
        return Student(self.crowd, f"load-{self._names}")

    async def _in_a_studio(self) -> Student:
        """The next student of a studio; with the first comes the teacher, who watches thirty."""
        if not self._to_come:
            (_, cookie), *self._to_come = await self._people(WATCHED)
            self._filled = {}
            teacher = Teacher(self.crowd, cookie, self._filled)
            await join(teacher)
            self.crowd.later(time.monotonic() + 1, teacher.sit_down)
        person, cookie = self._to_come.pop()
        student = self._filled[person] = Student(self.crowd, f"load-{self._names}", cookie)
        return student

    async def _people(self, students: int) -> list[tuple[str, str]]:
        people: list[tuple[str, str]] = (await self.server.ask(f"studio {students}"))["people"]
        return people

    async def measure(self, seconds: float) -> Figures:
        """Measure for a while."""
        crowd, tallies = self.crowd, self.crowd.tallies
        before, client = await self.server.ask(), time.process_time()
        begun, frames, octets = time.monotonic(), crowd.frames + tallies.sent, crowd.octets + tallies.sent_octets
        tallies.waits, tallies.verdicts, tallies.reports, tallies.shown, tallies.cards = [], Counter(), 0, [], 0
        await asyncio.sleep(seconds)
        took = time.monotonic() - begun
        after = await self.server.ask()
        waits, verdicts = tallies.waits, tallies.verdicts
        for text, times in tallies.failures.items():
            print(f"the service said {times} times: {text}", file=sys.stderr)
        tallies.failures.clear()
        if tallies.cards:
            shown = f"{1000 * share(tallies.shown, 0.5):.1f} and {1000 * share(tallies.shown, 0.99):.1f} ms"
            print(f"at desks: {tallies.cards / took:.0f} cards a second; marks within {shown} (p50, p99)")
        return Figures(
            students=len(crowd.students),
            notes=len(waits) / took,
            p50=1000 * share(waits, 0.5),
            p99=1000 * share(waits, 0.99),
            cpu=(after["cpu"] - before["cpu"]) / took,
            waited=(after["waited"] - before["waited"]) / took,
            client_cpu=(time.process_time() - client) / took,
            mb=after["mb"],
            held_p99=after["held_p99"],
            held_most=after["held_most"],
            garbage=after["garbage"],
            frames=(crowd.frames + tallies.sent - frames) / took,
            octets=(crowd.octets + tallies.sent_octets - octets) / took,
            reports=tallies.reports,
            on_time=verdicts["on time"] / max(1, verdicts.total()),
            lost=sum(student.lost for student in crowd.students),
        )

    async def at(self, count: int, settle: float, seconds: float) -> Figures:
        """Bring so many students, let them begin, and measure."""
        await self.bring(count)
        await asyncio.sleep(settle)
        figures = await self.measure(seconds)
        print(figures, flush=True)
        return figures

    async def close(self) -> None:
        """Let all go."""
        await self.bring(0)
        self._turning.cancel()

    async def _turn(self) -> None:
        while True:
            self.crowd.run_due()
            await asyncio.sleep(0.001)


class _Lister(Line):
    """Finds the id of the tune by its title."""

    def __init__(self, host: str, cookie: str) -> None:
        super().__init__(host, "/ws", "coach.1", cookie)
        self.tune: asyncio.Future[str] = asyncio.get_running_loop().create_future()

    def take(self, text: bytes) -> None:
        message = json.loads(text)
        if message["kind"] == "tunes" and not self.tune.done():
            found = [line["id"] for line in message["tunes"] if line["title"] == TUNE]
            if found:
                self.tune.set_result(found[0])


class _Mirrored(Line):
    """Keeps so many messages on their way to the echo and back."""

    text = b""

    def begin(self) -> None:
        for _ in range(IN_FLIGHT):
            self.say(self.text)

    def take(self, text: bytes) -> None:
        self.say(text)


def fetch(address: str) -> dict[str, Any]:
    """What an address has, as JSON."""
    with urllib.request.urlopen(address) as answer:
        found: dict[str, Any] = json.load(answer)
        return found


async def join(line: Line) -> None:
    """Open a line."""
    host, port = line.host.split(":")
    await asyncio.get_running_loop().create_connection(lambda: line, host, int(port))
    await line.opened


async def echoed(size: int, seconds: float) -> tuple[float, float]:
    """Messages a second that a bare echo takes and sends back, and the share of its core that it needed."""
    with process("echo") as server:
        lines = [_Mirrored(f"127.0.0.1:{server.port}", "/") for _ in range(ECHOES)]
        for line in lines:
            await join(line)
            line.text = b"x" * size
            line.begin()
        await asyncio.sleep(1)
        before, begun, frames = await server.ask(), time.monotonic(), sum(line.frames for line in lines)
        await asyncio.sleep(seconds)
        took, count = time.monotonic() - begun, sum(line.frames for line in lines) - frames
        cpu = (await server.ask())["cpu"] - before["cpu"]
        for line in lines:
            line.hang_up()
    return count / took, cpu / took


async def ladder(load: Load, asked: argparse.Namespace) -> Figures | None:
    """Double until it is too much, and halve in; tells the most that held."""
    settle, seconds = (14.0, 8.0) if asked.quick else (35.0, 30.0)
    best: Figures | None = None
    count, too_many = asked.begin, MOST
    while count < too_many:
        figures = await load.at(count, settle, seconds)
        if figures.holds:
            best = figures
            count = min(2 * count, MOST) if too_many == MOST else (count + too_many) // 2
        else:
            too_many = count
            count = ((best.students if best else 0) + count) // 2
        if too_many < MOST and too_many - (best.students if best else 0) <= max(5, too_many // 10):
            break
    return best


async def soak(load: Load, asked: argparse.Namespace) -> None:
    """See whether memory and waits stay flat."""
    await load.bring(asked.students or 100)
    await asyncio.sleep(60)
    span = asked.soak * 60 / 20
    rows = [await load.at(len(load.crowd.students), 0, span) for _ in range(20)]
    minutes = [index * span / 60 for index in range(len(rows))]
    for name, values in (("MB", [row.mb for row in rows]), ("p99 ms", [row.p99 for row in rows])):
        middle, level = sum(minutes) / len(minutes), sum(values) / len(values)
        over = sum((at - middle) ** 2 for at in minutes)
        slope = sum((at - middle) * (value - level) for at, value in zip(minutes, values, strict=True)) / over
        print(f"{name}: {level:.1f} on average, {slope:+.3f} a minute")


async def run(asked: argparse.Namespace) -> int:
    """Run what was asked for."""
    kind = "studio" if asked.teachers else "serve"
    with tempfile.TemporaryDirectory() as folder, process(kind, folder, str(MOST)) as server:
        load = Load(server, studio=asked.teachers)
        await load.open()
        empty = (await server.ask())["mb"]
        print(f"load of the machine: {os.getloadavg()[0]:.1f}\n{Figures.HEAD}", flush=True)
        if asked.soak:
            await soak(load, asked)
            return 0
        if asked.profile:
            await load.bring(asked.students or 50)
            await asyncio.sleep(30)
            await server.ask("profile")
            await load.measure(20)
            await server.ask("stats")
            return 0
        if asked.students:
            best: Figures | None = await load.at(asked.students, *((14.0, 8.0) if asked.quick else (35.0, 30.0)))
        else:
            best = await ladder(load, asked)
        await load.close()
    if best is None:
        print("not even the fewest students had their marks in time")
        return 1
    size = round(best.octets / best.frames)
    echoes, cpu = await echoed(size, 4 if asked.quick else 10)
    print(
        f"{best.students} students: {1000 * best.cpu / best.students:.2f} ms CPU a second and"
        f" {1000 * (best.mb - empty) / best.students:.0f} kB each; heard within {best.p99:.1f} ms at the 99th"
        f" percentile\nthe service carries {best.frames:.0f} frames a second, in and out, of {size} bytes; a bare echo"
        f" {2 * echoes:.0f} ({echoes:.0f} there and back, at {cpu:.0%} of its core):"
        f" {best.frames / (2 * echoes):.2f} of it, aim 0.25"
    )
    return 0


def main() -> int:
    """Read what is asked, and run it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="in less than two minutes")
    parser.add_argument("--students", type=int, help="this many, and no ladder")
    parser.add_argument("--teachers", action="store_true", help="in studios, with a teacher who watches each thirty")
    parser.add_argument("--begin", type=int, default=50, help="how many the ladder begins with")
    parser.add_argument(
        "--soak", type=float, nargs="?", const=10.0, metavar="MINUTES", help="memory and waits over time"
    )
    parser.add_argument("--profile", action="store_true", help="what the service's time goes into")
    asked = parser.parse_args()
    pin(0, 1)
    return asyncio.run(run(asked))


if __name__ == "__main__":
    sys.exit(main())
