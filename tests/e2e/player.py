"""A player as a program of its own: an instrument's MIDI output, and ears on the click.

It knows the metre and what it is about to play, and nothing else: tempo and downbeat it finds out from the count-in,
and it follows the click from there on, as people do.

Lines of JSON on its input, each answered by one on its output:

- ``{"do": "tune"}`` sounds the open strings once: ``{"done": "tune"}``
- ``{"do": "play", "clicks": 4, "every": 1, "notes": [[0.5, "923764"], ...]}`` waits for the next click, takes it for
  the first of a count-in of so many clicks, one every so many quarters, and plays each message at its position, in
  quarters from position 0: ``{"done": "play", "tempo": 72.0}``; with ``"unplugged": [4, 6]`` the port is not there
  between these positions, and what is played then goes nowhere
- ``{"do": "play freely", "notes": [[1.25, "923764"], ...]}`` plays without a click, each message at its seconds from
  now: ``{"done": "play freely"}``

The ports are called ``NAME:out`` and ``NAME-ears:in``. It ends with its input.
"""

from __future__ import annotations

import json
import sys
import threading
import time
from functools import partial
from typing import Any

import rtmidi

CLICK_STATUS = 0x99  # note-on of the percussion channel
CLICKS = (76, 77)  # wood blocks, General MIDI level 1
OPEN_STRINGS = ((0x90, 62), (0x91, 59), (0x92, 55), (0x93, 50), (0x94, 67))


class Ears:
    """The click as it is heard."""

    def __init__(self, name: str) -> None:
        self.changed = threading.Condition()
        self.heard: list[float] = []
        self.client = rtmidi.MidiIn(rtapi=rtmidi.API_UNIX_JACK, name=name)
        self.client.set_callback(self._hear)
        self.client.open_virtual_port("in")

    def _hear(self, event: tuple[list[int], float], data: object = None) -> None:
        now = time.monotonic()
        status, *rest = event[0]
        if status == CLICK_STATUS and rest[0] in CLICKS and rest[1] > 0:
            with self.changed:
                self.heard.append(now)
                self.changed.notify_all()


class Pulse:
    """A straight line through the clicks: when each position is, in seconds."""

    def __init__(self, heard: list[float], before: int, every: float) -> None:
        at = [(index - before) * every for index in range(len(heard))]
        mean_at, mean = sum(at) / len(at), sum(heard) / len(heard)
        spread = sum((one - mean_at) ** 2 for one in at)
        slope = sum((one - mean_at) * (seconds - mean) for one, seconds in zip(at, heard, strict=True)) / spread
        self.quarter = slope
        self.origin = mean - slope * mean_at

    def when(self, quarters: float) -> float:
        return self.origin + self.quarter * quarters


class Plug:
    """The instrument's output, which can be pulled out and put in again."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.client: Any = None
        self.put_in()

    def put_in(self) -> None:
        self.client = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name=self.name)
        self.client.open_virtual_port("out")

    def pull_out(self) -> None:
        self.client.close_port()
        self.client.delete()
        self.client = None

    def send(self, data: bytes) -> None:
        if self.client is not None:
            self.client.send_message(data)


def play(out: Plug, ears: Ears, order: dict[str, Any]) -> float:
    """Play; returns the tempo that was found, in quarters a minute."""
    clicks, every = order["clicks"], order["every"]
    events = [(at, partial(out.send, bytes.fromhex(data))) for at, data in order["notes"]]
    for at, does in zip(order["unplugged"], (out.pull_out, out.put_in), strict=False):
        events.append((at, does))
    with ears.changed:
        ears.heard.clear()
        ears.changed.wait_for(lambda: len(ears.heard) >= clicks)
        pulse = Pulse(ears.heard, clicks, every)
        for quarters, does in sorted(events, key=lambda event: event[0]):
            while (ahead := pulse.when(quarters) - time.monotonic()) > 0:
                ears.changed.wait(ahead)
                pulse = Pulse(ears.heard, clicks, every)
            does()
    return 60 / pulse.quarter


def play_freely(out: Plug, notes: list[tuple[float, str]]) -> None:
    """Play without a click: each message at its seconds from now."""
    begun = time.monotonic()
    waits = threading.Event()
    for seconds, data in notes:
        waits.wait(max(0.0, begun + seconds - time.monotonic()))
        out.send(bytes.fromhex(data))


def main(name: str) -> None:
    out = Plug(name)
    ears = Ears(f"{name}-ears")
    print(json.dumps({"done": "ready"}), flush=True)
    for line in sys.stdin:
        order = json.loads(line)
        if order["do"] == "tune":
            for status, pitch in OPEN_STRINGS:
                out.send(bytes((status, pitch, 80)))
            print(json.dumps({"done": "tune"}), flush=True)
        elif order["do"] == "play freely":
            play_freely(out, order["notes"])
            print(json.dumps({"done": "play freely"}), flush=True)
        else:
            print(json.dumps({"done": "play", "tempo": play(out, ears, order)}), flush=True)
    ears.client.cancel_callback()


if __name__ == "__main__":
    main(sys.argv[1])
