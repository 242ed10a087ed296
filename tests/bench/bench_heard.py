"""From a note's stamp in the MIDI callback to its ``heard`` frame at a client, against a bare websocket echo.

Run it as a script: ``python tests/bench/bench_heard.py``. It starts a JACK server, a service with a pass running, and a
bare echo of the same websocket library, each in a process of its own, and sends notes and echoes by turns. The aim is a
99th percentile of at most twice the echo's, one JACK period aside. All clocks are the system's monotonic one.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from pathlib import Path
from typing import Any

import rtmidi
import websockets
from websockets.asyncio.client import ClientConnection

from coach.service.app import create_app
from coach.service.clock import Now, monotonic
from coach.service.ports import VIRTUAL_INPUT, Received, RtMidiDriver
from coach.service.service import Service

GAP = 0.02
PERIOD_MS = 128 / 48000 * 1000


class StampedDriver(RtMidiDriver):
    """Writes down the stamp of each message, by its number."""

    def __init__(self, file: Path, now: Now = monotonic) -> None:
        super().__init__(now)
        self._file = file.open("w")

    def open_input(self, name: str, received: Received) -> None:
        def stamped(stamp: float, data: bytes) -> None:
            received(stamp, data)
            self._file.write(f"{stamp!r}\n")
            self._file.flush()

        super().open_input(name, stamped)


async def serve(folder: Path) -> None:
    """The service in a process of its own; prints its port."""
    from coach.cli.serve import _listen, _server

    listening = _listen("127.0.0.1", 0)
    service = Service(folder, driver=StampedDriver(folder / "stamps"))

    def ready() -> None:
        print(listening.getsockname()[1], flush=True)

    server = _server(create_app(service), service.given_read, ready)
    await server.serve(sockets=[listening])


async def echo() -> None:
    """The bare echo in a process of its own; prints its port."""

    async def back(socket: Any) -> None:
        async for message in socket:
            await socket.send(message)

    async with websockets.serve(back, "127.0.0.1", 0, compression=None) as server:
        print(next(iter(server.sockets)).getsockname()[1], flush=True)
        await asyncio.Event().wait()


async def begin_pass(socket: ClientConnection) -> None:
    """Join, choose our own input, and begin a slow pass that is long enough; return when it is being played."""
    await socket.send(json.dumps({"kind": "join", "seat": "bench"}))
    await socket.send(json.dumps({"kind": "settings", "midi_in": VIRTUAL_INPUT, "tempo": 60, "click_level": 0}))
    begun = False
    async for text in socket:
        message = json.loads(text)
        if message["kind"] == "state" and message["digest"] and not begun:
            begun = True
            await socket.send(json.dumps({"kind": "start", "sounds": False}))
        if message["kind"] == "state" and message["state"] == "playing":
            return


async def measure(service: int, bare: int, notes: int) -> tuple[dict[int, float], list[float]]:
    """When each note's ``heard`` came, by its number; and the times of the echoes."""
    came: dict[int, float] = {}
    echoes: list[float] = []
    options: dict[str, Any] = {"compression": None, "max_queue": None}
    async with (
        websockets.connect(f"ws://127.0.0.1:{service}/ws", subprotocols=["coach.1"], **options) as socket,  # type: ignore[list-item]
        websockets.connect(f"ws://127.0.0.1:{bare}", **options) as mirror,
    ):
        await begin_pass(socket)
        out = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="bench")
        out.open_port(out.get_ports().index("coach:in"), "out")
        ready = asyncio.Event()

        async def listen() -> None:
            async for text in socket:
                now = monotonic()
                message = json.loads(text)
                if message["kind"] == "heard":
                    came[message["seq"]] = now
                    if len(came) >= notes:
                        ready.set()
                elif message["kind"] == "ping":
                    stamps = {"t1": message["t1"], "t2": now, "t3": now}
                    await socket.send(json.dumps({"kind": "pong", "id": message["id"], **stamps}))

        listening = asyncio.ensure_future(listen())
        padding = json.dumps({"kind": "heard", "text": "x" * 120})
        for number in range(notes):
            out.send_message((0x90, 50 + number % 12, 80))
            await asyncio.sleep(GAP / 2)
            sent = monotonic()
            await mirror.send(padding)
            await mirror.recv()
            echoes.append(monotonic() - sent)
            await asyncio.sleep(GAP / 2)
        await asyncio.wait_for(ready.wait(), 10)
        listening.cancel()
        out.close_port()
        out.delete()
    return came, echoes


def row(name: str, values: list[float]) -> tuple[str, float]:
    """A line of the table, and the 99th percentile in ms."""
    ms = sorted(1000 * value for value in values)
    p99 = ms[min(len(ms) - 1, int(len(ms) * 0.99))]
    return f"{name:34} {statistics.median(ms):8.3f} {p99:8.3f} {ms[-1]:8.3f}", p99


def main() -> int:
    """Run everything and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--notes", type=int, default=1000)
    parser.add_argument("--part", choices=["serve", "echo"])
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    if asked.part == "serve":
        asyncio.run(serve(asked.folder))
        return 0
    if asked.part == "echo":
        asyncio.run(echo())
        return 0
    name = f"bench-{uuid.uuid4().hex[:8]}"
    os.environ["JACK_DEFAULT_SERVER"] = name
    settings = ["--realtime", "-S", "-d", "dummy", "-r", "48000", "-p", "128"]
    jack = subprocess.Popen(["jackd", "-n", name, *settings], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    started = [jack]
    try:
        subprocess.run(["jack_wait", "-s", name, "-w", "-t", "20"], check=True, capture_output=True)
        with tempfile.TemporaryDirectory() as folder:
            ports = []
            for part in ("serve", "echo"):
                command = [sys.executable, __file__, "--part", part, "--folder", folder]
                process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
                started.append(process)
                assert process.stdout is not None
                ports.append(int(process.stdout.readline()))
            time.sleep(4)  # let the service warm up its workers: they would compete for the cores
            came, echoes = asyncio.run(measure(ports[0], ports[1], asked.notes))
            stamps = [float(line) for line in (Path(folder) / "stamps").read_text().splitlines()]
    finally:
        for process in reversed(started):
            process.terminate()
            process.wait()
    heard, heard_p99 = row("stamp in the callback to heard", [at - stamps[seq - 1] for seq, at in came.items()])
    bare, bare_p99 = row("bare echo, there and back", echoes)
    print(f"{asked.notes} notes, ms{'':18} {'p50':>8} {'p99':>8} {'max':>8}", heard, bare, sep="\n")
    met = heard_p99 <= 2 * bare_p99 + PERIOD_MS
    print(
        f"p99 is {heard_p99 / bare_p99:.2f} of the echo's; aim (2, and a JACK period of {PERIOD_MS:.2f} ms): "
        f"{'met' if met else 'MISSED'}"
    )
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
