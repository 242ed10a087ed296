"""Real parts as the end-to-end tests use them: the served program, a page's end of the websocket, a player."""

from __future__ import annotations

import contextlib
import json
import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterable, Sequence
from contextlib import ExitStack
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import IO, Any, Self

import mido
from click.testing import CliRunner
from websockets.sync.client import ClientConnection, connect

from coach.cli import main

PATIENCE = 60.0
"""Seconds after which something that ought to come is not waited for any more."""

ROOT = Path(__file__).parents[2]
DEMO_TUNES = ROOT / "coach" / "tunes" / "demo"


def coach(*words: object) -> str:
    """What a command prints; it is run in this process, which spares a second of starting another."""
    done = CliRunner().invoke(main, [*map(str, words)], prog_name="coach")
    assert (done.exit_code, done.stderr) == (0, ""), done.exception
    return done.stdout


def coach_process(*words: object) -> subprocess.CompletedProcess[str]:
    """Run a command to its end as a process of its own, as a user does."""
    return subprocess.run(
        [sys.executable, "-m", "coach", *map(str, words)],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
        timeout=PATIENCE,
    )


class Lines:
    """The lines of a stream, read by a thread of their own so that they can be waited for."""

    def __init__(self, stream: IO[str]) -> None:
        self.seen: list[str] = []
        self._coming: queue.Queue[str | None] = queue.Queue()
        self._stream = stream
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        for line in self._stream:
            self._coming.put(line.rstrip("\n"))
        self._coming.put(None)

    def until(self, words: str) -> str:
        """The next line with some words in it."""
        end = time.monotonic() + PATIENCE
        while True:
            line = self._coming.get(timeout=max(0.01, end - time.monotonic()))
            if line is None:
                raise AssertionError(f"no line with {words!r} came, only: {self.seen}")
            self.seen.append(line)
            if words in line:
                return line

    def rest(self) -> list[str]:
        """All lines, once the stream has ended."""
        self._thread.join(PATIENCE)
        while (line := self._coming.get(timeout=PATIENCE)) is not None:
            self.seen.append(line)
        self._stream.close()
        return self.seen


def put_first(process: subprocess.Popen[str]) -> None:
    """Let a process that keeps musical time go before browsers and other tests, where that is allowed.

    A player and an instrument are no programs that share two cores with a test suite. The priority stays below that of
    the JACK server, and what the process starts does not inherit it.
    """
    with contextlib.suppress(PermissionError):
        os.sched_setscheduler(process.pid, os.SCHED_FIFO | os.SCHED_RESET_ON_FORK, os.sched_param(5))


class Served:
    """A served program as a process of its own, on a free port, with a data folder of its own; it may be run inside
    something, like a network of its own, by the words that do so."""

    def __init__(self, data: Path, *words: object, command: str = "serve", inside: Sequence[str] = ()) -> None:
        self.data = data
        self.process = subprocess.Popen(
            [*inside, sys.executable, "-m", "coach", command, "--port", "0", "--data", str(data), *map(str, words)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        put_first(self.process)
        assert self.process.stdout is not None
        assert self.process.stderr is not None
        self.said = Lines(self.process.stdout)
        self.complaints = Lines(self.process.stderr)
        self._pages: list[Remote] = []
        self.ended = False
        self.url = self.said.until("Open http").split()[1]

    def join(self, session: str = "home", seat: str = "test") -> Remote:
        """Join a session as a page does; the page goes away with the service at the latest."""
        remote = Remote(self.url)
        self._pages.append(remote)
        remote.say(kind="join", session=session, seat=seat)
        remote.until("hello")
        return remote

    def folders(self) -> list[Path]:
        """The session folders, in order of their names."""
        return sorted(path for path in (self.data / "sessions").iterdir() if path.is_dir())

    def report_of(self, session: str) -> dict[str, Any]:
        """The report in the only folder of a session."""
        (folder,) = [folder for folder in self.folders() if folder.name.endswith(f"-{session}")]
        read: dict[str, Any] = json.loads((folder / "report.json").read_text("utf-8"))
        return read

    def end(self, by: signal.Signals = signal.SIGINT) -> int:
        """End it; returns its exit code."""
        self.process.send_signal(by)
        return self.wait()

    def wait(self) -> int:
        """Wait for its end; returns its exit code. All that it said is in ``said`` and ``complaints`` then."""
        code = self.process.wait(PATIENCE)
        self.ended = True
        for page in self._pages:
            page.close()
        self.said.rest()
        self.complaints.rest()
        return code

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if not self.ended:
            self.end()


class Remote:
    """A page's end of the websocket; answers pings by itself while it waits for something."""

    def __init__(self, url: str) -> None:
        self._line = ExitStack()
        opening = connect(url.replace("http", "ws", 1) + "ws", subprotocols=["coach.1"], compression=None)
        self.socket: ClientConnection = self._line.enter_context(opening)
        self.heard: list[dict[str, Any]] = []

    def say(self, **message: Any) -> None:
        """Send a message."""
        self.socket.send(json.dumps(message))

    def next(self) -> dict[str, Any]:
        """The next message that is no ping."""
        while True:
            message = self._read(PATIENCE)
            if message is not None:
                return message

    def _read(self, patience: float) -> dict[str, Any] | None:
        """Read a message; None for a ping, which is answered."""
        message: dict[str, Any] = json.loads(self.socket.recv(patience))
        if message["kind"] != "ping":
            self.heard.append(message)
            return message
        now = time.monotonic()
        self.say(kind="pong", id=message["id"], t1=message["t1"], t2=now, t3=now)
        return None

    def next_within(self, seconds: float) -> dict[str, Any] | None:
        """The next message that is no ping; None where none comes in time."""
        end = time.monotonic() + seconds
        while True:
            try:
                message = self._read(max(0.0, end - time.monotonic()))
            except TimeoutError:
                return None
            if message is not None:
                return message

    def until(self, kind: str, **fields: Any) -> dict[str, Any]:
        """The next message of a kind with these fields."""
        while True:
            message = self.next()
            if message["kind"] == kind and all(message[name] == value for name, value in fields.items()):
                return message

    def all(self, kind: str) -> list[dict[str, Any]]:
        """The messages of a kind that came so far."""
        return [message for message in self.heard if message["kind"] == kind]

    def choose(self, title: str, **settings: Any) -> dict[str, Any]:
        """Choose a tune by its title, and other settings; returns the state once its solo is there."""
        tune = None
        while tune is None:
            lists = self.all("tunes")
            tune = next((line["id"] for line in lists[-1]["tunes"] if line["title"] == title), None) if lists else None
            if tune is None:
                self.next()
        self.say(kind="settings", tune=tune, **settings)
        while True:
            state = self.next()
            if state["kind"] == "failure":
                raise AssertionError(state["text"])
            if state["kind"] != "state" or not state["digest"] or state["waiting"]:
                continue
            if all(state[name] == value for name, value in {"tune": tune, **settings}.items()):
                return state

    def use_ports(self, midi_in: str, midi_out: str = "") -> None:
        """Play on this input, and sound on this output where one is named, once they are there."""
        outputs = [midi_out] if midi_out else []
        while not any(midi_in in told["inputs"] and {*outputs} <= {*told["outputs"]} for told in self.all("ports")):
            self.next()
        sound = "midi" if midi_out else "page"
        self.say(kind="settings", midi_in=midi_in, midi_out=midi_out, sound=sound)
        self.until("ports", input=midi_in, output=midi_out or None)

    def close(self) -> None:
        """Go away."""
        self._line.close()


class Program:
    """A program beside this file, which ends with its input."""

    def __init__(self, name: str, *words: object) -> None:
        self.process = subprocess.Popen(
            [sys.executable, str(Path(__file__).with_name(name)), *map(str, words)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        put_first(self.process)
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.input_stream = self.process.stdin
        self.said = Lines(self.process.stdout)

    def end(self) -> list[str]:
        """End it; returns all that it said."""
        self.input_stream.close()
        self.process.wait(PATIENCE)
        return self.said.rest()

    def __enter__(self) -> Self:
        self.said.until("ready")
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is not None:
            self.process.kill()
        if not self.input_stream.closed:
            self.end()


class Player(Program):
    """The player's process."""

    def __init__(self, name: str = "banjo") -> None:
        self.input, self.output = f"{name}:out", f"{name}-ears:in"
        super().__init__("player.py", name)

    def tune(self) -> None:
        """Sound the open strings."""
        self._order(do="tune")
        self.said.until("tune")

    def begin(
        self,
        notes: Iterable[tuple[float, bytes]],
        *,
        clicks: int = 4,
        every: float = 1.0,
        unplugged: Iterable[float] = (),
    ) -> None:
        """Play when the next count-in has been heard; notes in quarters from position 0.

        The instrument may be unplugged from one position to another.
        """
        played = [(at, data.hex()) for at, data in notes]
        self._order(do="play", clicks=clicks, every=every, notes=played, unplugged=list(unplugged))

    def play_freely(self, notes: Iterable[tuple[float, bytes]]) -> None:
        """Play without a click, notes in seconds from now, in order; comes back when all is played."""
        self._order(do="play freely", notes=[(seconds, data.hex()) for seconds, data in notes])
        self.said.until("play freely")

    def finish(self) -> float:
        """Wait until all is played; returns the tempo that was found."""
        return float(json.loads(self.said.until("play"))["tempo"])

    def _order(self, **order: Any) -> None:
        self.input_stream.write(json.dumps(order) + "\n")
        self.input_stream.flush()


def solo_notes(path: Path) -> list[tuple[Fraction, bytes]]:
    """The note-ons of the solo in an exported MIDI file, each with its position in quarters."""
    file = mido.MidiFile(path)
    notes = []
    track = next(track for track in file.tracks if track.name == "solo")
    tick = 0
    for message in track:
        tick += message.time
        if message.type == "note_on" and message.velocity > 0:
            notes.append((Fraction(tick, file.ticks_per_beat), bytes(message.bytes())))
    return sorted(notes)
