"""The service as ``coach serve`` sets it up, in a process of its own, and a bare echo of its websocket library.

Beside the service runs a ticker of 10 ms that sees for how long the event loop is held. What is asked on standard
input, a line at a time, is answered on standard output as JSON; the end of the input ends the process.
"""

from __future__ import annotations

import asyncio
import contextlib
import cProfile
import gc
import json
import os
import pstats
import socket
import sys
import time
from pathlib import Path
from typing import Any

TICK = 0.01


class Ticker:
    """Sees for how long the event loop is held, and how much of that is the longest collection of garbage."""

    def __init__(self) -> None:
        self.held: list[float] = []
        self.collected = self._collecting = 0.0
        gc.callbacks.append(self._collects)

    def _collects(self, phase: str, info: dict[str, int]) -> None:
        if phase == "start":
            self._collecting = time.monotonic()
        else:
            self.collected = max(self.collected, time.monotonic() - self._collecting)

    async def run(self) -> None:
        """Tick until cancelled."""
        last = time.monotonic()
        while True:
            await asyncio.sleep(TICK)
            now = time.monotonic()
            self.held.append(now - last - TICK)
            last = now

    def take(self) -> dict[str, float]:
        """How long it was held since this was asked last, in ms: 99th percentile, most, and most for garbage."""
        held, self.held = sorted(self.held) or [0.0], []
        collected, self.collected = self.collected, 0.0
        p99, most = held[int(len(held) * 0.99)], held[-1]
        return {"held_p99": 1000 * p99, "held_most": 1000 * most, "garbage": 1000 * collected}


def resident() -> float:
    """Resident memory of this process, in MB."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def waited() -> float:
    """Seconds for which the thread of the loop was ready to run and other processes had its core, as Linux counts."""
    return int(Path(f"/proc/self/task/{os.getpid()}/schedstat").read_text().split()[1]) / 1e9


async def found_studio(service: Any, students: int) -> list[tuple[str, str]]:
    """A studio with a teacher, who comes first, and students; of each the id, and the cookie of a device."""
    from coach.service.accounts import new_id
    from coach.studio.members import add_person, open_studio

    when = "2026-01-01T00:00:00Z"

    def add(connection: Any) -> list[Any]:
        studio = open_studio(connection, f"Studio {new_id()[:8]}", when)
        roles = ["teacher"] + ["student"] * students
        return [
            add_person(connection, id=new_id(), name=f"Player {number}", role=role, studio=studio, when=when)
            for number, role in enumerate(roles)
        ]

    people = await service.archive.change(add)
    return [(each.id, f"coach={await service.accounts.sign_in(each, 'bench')}") for each in people]


async def answer(ticker: Ticker, service: Any = None) -> None:
    """Answer what is asked until nothing more is."""
    loop = asyncio.get_running_loop()
    questions: asyncio.Queue[str] = asyncio.Queue()

    def read() -> None:
        line = sys.stdin.readline()
        questions.put_nowait(line.strip() if line else "end")

    loop.add_reader(sys.stdin.fileno(), read)
    profile = cProfile.Profile()
    while (question := await questions.get()) != "end":
        if question == "profile":
            profile.enable()
        elif question == "stats":
            profile.disable()
            stats = pstats.Stats(profile, stream=sys.stderr)
            stats.sort_stats("tottime").print_stats(60)
        figures: dict[str, Any] = {"cpu": time.process_time(), "mb": resident(), "waited": waited(), **ticker.take()}
        if question.startswith("studio"):
            figures["people"] = await found_studio(service, int(question.split()[1]))
        print(json.dumps(figures), flush=True)
    loop.remove_reader(sys.stdin.fileno())


async def serve(folder: Path, students: int, *, studio: bool) -> None:
    """The service, for so many students, of studios or each at home."""
    from coach.cli.serve import _listen, _server
    from coach.service.app import create_app
    from coach.service.service import Service
    from coach.service.undisturbed import leave_undisturbed

    listening = _listen("127.0.0.1", 0)
    service = Service(folder, most_sessions=students + 1, studio=studio)

    def ready() -> None:
        leave_undisturbed(service.is_played)  # as the command does
        print(json.dumps({"port": listening.getsockname()[1]}), flush=True)

    server = _server(create_app(service), service.given_read, ready)
    ticker = Ticker()
    ticking = asyncio.ensure_future(ticker.run())
    serving = asyncio.ensure_future(server.serve(sockets=[listening]))
    await answer(ticker, service)
    ticking.cancel()
    server.should_exit = True
    await serving


async def echo() -> None:
    """The bare echo."""
    import websockets

    async def back(connection: Any) -> None:
        with contextlib.suppress(websockets.ConnectionClosed):
            async for message in connection:
                await connection.send(message)

    with socket.create_server(("127.0.0.1", 0)) as listening:
        async with websockets.serve(back, sock=listening, compression=None):
            print(json.dumps({"port": listening.getsockname()[1]}), flush=True)
            ticker = Ticker()
            ticking = asyncio.ensure_future(ticker.run())
            await answer(ticker)
            ticking.cancel()


if __name__ == "__main__":
    if sys.argv[1] == "echo":
        asyncio.run(echo())
    else:
        asyncio.run(serve(Path(sys.argv[2]), int(sys.argv[3]), studio=sys.argv[1] == "studio"))
