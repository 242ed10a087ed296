"""An instrument that the browser hears, on the Web MIDI of the tests: it is plugged, connected and played with stamps
that are those of the notes, whenever a busy machine gets round to them."""

from __future__ import annotations

import json
import random
from collections.abc import Iterable
from pathlib import Path

from watched import Watched

from coach.arranging.arrangement import Arrangement

NAME = "Cedar Five"
OPEN_STRINGS = ((0x90, 62), (0x91, 59), (0x92, 55), (0x93, 50), (0x94, 67))
FAKE_MIDI = (Path(__file__).parents[1] / "page" / "fake_midi.js").read_text("utf-8")

Timed = list[tuple[float, list[int]]]
"""Messages with their seconds from some moment, in order."""

# Plays in the page: at its moment each message is handed over, and bears that very moment as its stamp.
PLAY = """([name, origin, messages]) => {
  for (const [seconds, data] of messages) {
    const stamp = (origin + seconds) * 1000;
    setTimeout(() => fakeMidi.play(name, [[stamp, data]]), stamp - performance.now());
  }
}"""


def plug(seen: Watched) -> None:
    """Before the page comes: its browser has Web MIDI, and an instrument."""
    seen.page.add_init_script(f"{FAKE_MIDI};fakeMidi.plug('{NAME}');")


def connect(seen: Watched) -> None:
    """Let the browser hear it, as a player does in the settings, and sound its open strings."""
    seen.page.locator("#open-settings").click()
    with seen.says("input"):
        seen.page.locator("#midi-connect").click()
    seen.page.keyboard.press("Escape")
    tune(seen)


def tune(seen: Watched) -> None:
    """Sound the open strings, until the service has heard them."""
    with seen.hears("ack"):
        play_now(seen, [[*each, 80] for each in OPEN_STRINGS])


def play_now(seen: Watched, messages: Iterable[list[int]]) -> None:
    """Play at once."""
    play(seen, seen.page.evaluate("performance.now() / 1000"), [(0.0, data) for data in messages])


def play(seen: Watched, origin: float, messages: Timed) -> None:
    """Have messages played by themselves, from a moment on the page's clock on."""
    seen.page.evaluate(PLAY, [NAME, origin, messages])


def play_along(seen: Watched, messages: Timed, *, by: str = "#toggle") -> None:
    """Press what begins a pass, and have messages played by themselves from its position 0 on."""
    with seen.says("sounding") as sounding:
        seen.page.locator(by).click()
    play(seen, json.loads(sounding.value)["origin"], messages)


def solo_of(seen: Watched) -> Arrangement:
    """The solo on the sheet."""
    from coach.arranging.files import from_json

    digest = seen.last("state")["digest"]
    # Where the page comes from may be a bad link, which has no part in this.
    return from_json(seen.page.evaluate("url => fetch(url).then(a => a.text())", f"arrangements/{digest}.json"), "solo")


def as_written(solo: Arrangement, tempo: float, last: int, *, late: float = 0.0) -> Timed:
    """The first measures of a solo, each note so many seconds late."""
    starts = solo.starts()
    return [
        (
            float(starts[measure.number] + pluck.at) * 60 / tempo + late,
            [0x90 | pluck.string - 1, pluck.pitch, 112 if pluck.role == "melody" else 88],
        )
        for measure, pluck in solo.plucks()
        if measure.number <= last
    ]


def on_strings_in_turn(count: int, gap: float, *, late: float, scatter: float, seed: int) -> Timed:
    """Open strings in turn, one each ``gap`` seconds, late and scattered as people are."""
    rng = random.Random(seed)
    return [
        (index * gap + late + rng.gauss(0.0, scatter), [*OPEN_STRINGS[index % len(OPEN_STRINGS)], 90])
        for index in range(count)
    ]
