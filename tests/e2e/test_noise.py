"""Noise on the MIDI port and on the websocket of a served program, while somebody else plays."""

from __future__ import annotations

import json
import random
import string
import time
import urllib.request
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from real_parts import PATIENCE, Program, Served
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect

from coach.arranging.arrangement import Arrangement
from coach.arranging.files import from_json

pytestmark = pytest.mark.usefixtures("jack_server")

TEMPO = 60
LAST = 2
FRIENDLY = ("join", "pong", "settings", "start", "stop", "again", "next_rung", "mark", "sounding", "notes")
FIELDS = ("session", "seat", "id", "t1", "tune", "tempo", "first", "items", "watermark", "clean", "number", "origin")


def junk(chance: random.Random) -> str | bytes:
    """What no page sends: bytes, text, JSON of any shape, and messages of known kinds with impossible fields."""
    kind = chance.randrange(4)
    if kind == 0:
        return chance.randbytes(chance.randrange(1, 300))
    if kind == 1:
        return "".join(chance.choice(string.printable) for _ in range(chance.randrange(1, 300)))
    if kind == 2:
        return json.dumps(_value(chance, 4))
    told = {chance.choice(FIELDS): _value(chance, 2) for _ in range(chance.randrange(6))}
    return json.dumps(told | {"kind": chance.choice(FRIENDLY)})


def _value(chance: random.Random, depth: int) -> Any:
    choices: list[Callable[[], Any]] = [
        lambda: None,
        lambda: chance.choice([True, False]),
        lambda: chance.choice([0, -1, 1e308, 2**63, float("nan"), chance.random()]),
        lambda: "".join(chance.choice(string.printable) for _ in range(chance.randrange(50))),
    ]
    if depth:
        choices.append(lambda: [_value(chance, depth - 1) for _ in range(chance.randrange(5))])
        choices.append(lambda: {str(_value(chance, 0)): _value(chance, depth - 1) for _ in range(chance.randrange(5))})
    return chance.choice(choices)()


def pester(served: Served, seed: int) -> None:
    """A connection that sends junk until it is let go."""
    chance = random.Random(seed)
    address = served.url.replace("http", "ws", 1) + "ws"
    # What the service did not read any more keeps its closing from coming through; a short wait is enough for a pest.
    with connect(address, subprotocols=["coach.1"], compression=None, close_timeout=1) as socket:
        if seed % 2:
            socket.send(json.dumps({"kind": "join", "session": "pest", "seat": "pest"}))
        with suppress(ConnectionClosed):
            for _ in range(2000):
                socket.send(junk(chance))
            while True:
                socket.recv(PATIENCE)
    assert socket.close_code == 1008


class Pad:
    """A page that plays on the pad in a session of its own, exactly in time."""

    def __init__(self, served: Served) -> None:
        self.served = served
        self.page = served.join("quiet", "pad")
        state = self.page.choose("Mill Lane", tier="beginner", tempo=TEMPO, last=LAST, string_channels="1-5")
        with urllib.request.urlopen(f"{served.url}arrangements/{state['digest']}.json", timeout=PATIENCE) as answer:
            self.solo: Arrangement = from_json(answer.read(), "solo")
        self.seq = 0
        self.origin = 0.0

    def begin(self) -> None:
        """Start a pass, and sound its click."""
        self.page.say(kind="start")
        begin = self.page.until("begin", sounds=True)
        self.origin = time.monotonic() + 0.1
        self.page.say(kind="sounding", number=begin["number"], origin=self.origin)
        self.length = begin["length"]

    def play(self, measure: int) -> None:
        """Play a measure as it is written; stamps need not wait for the clock."""
        start = self.solo.starts()[measure]
        for each, pluck in self.solo.plucks():
            if each.number == measure:
                self.seq += 1
                stamp = self.origin + float(start + pluck.at) * 60 / TEMPO
                data = [0x90 | (pluck.string - 1), pluck.pitch, 90]
                note = {"seq": self.seq, "stamp": stamp, "data": data}
                self.page.say(kind="notes", seat="pad", items=[note])
        self.page.until("ack", seq=self.seq)

    def finish(self) -> dict[str, Any]:
        """Say that nothing more will come; returns the report."""
        self.page.say(kind="notes", seat="pad", items=[], watermark=self.origin + self.length + 5)
        return self.page.until("report")


def test_noise_on_port_and_line_harms_no_other_session(serve: Callable[..., Served]) -> None:
    served = serve()
    with Program("noise.py", 7) as broken:
        home = served.join()
        home.use_ports("broken:out")
        home.choose("Mill Lane", tempo=200, first=1, last=1)
        pad = Pad(served)
        pad.begin()
        home.say(kind="start", sounds=False)
        for seed in range(2):
            pester(served, seed)
        pad.play(1)
        for seed in range(2, 4):
            pester(served, seed)
        pad.play(2)
        report = pad.finish()
        # The pass into which the noise was played comes to its end as well.
        assert home.until("report")["number"] == 1
        assert int(broken.end()[-1]) > 500

    assert (report["whole"], report["clean"], report["summary"]["played_share"]) == (True, True, 1.0)
    assert report["sentences"] == ["Every measure is clean."]
    assert abs(report["summary"]["mean_offset_ms"]) < 0.1
    with urllib.request.urlopen(f"{served.url}healthz", timeout=PATIENCE) as answer:
        assert answer.status == 200
    assert served.end() == 0
    assert served.complaints.seen == []
