"""Makes the sample sessions: a virtual player plays on a real MIDI port, and the service listens and keeps.

Run from the root of the project, with jackd and Chromium installed: ``python tests/e2e/make_sample_sessions.py [FOLDER
...]``. It takes some six minutes, since all is played in real time, and puts the folders into ``sample_sessions`` in
place of those there. One session is played on the pad: a browser sounds the click, and its keys are pressed.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import urllib.request
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import sync_playwright
from real_parts import PATIENCE, ROOT, Player, Remote, Served
from watched import Watched
from ways_of_playing import Way, a_slot_ahead, dragging, in_own_time, lost, noisily, rushing, steadily

from coach.arranging.arrangement import Arrangement
from coach.arranging.click import count_in
from coach.arranging.files import from_json
from coach.listening.plan import PassPlan
from coach.takes.grid import click_tempo
from coach.takes.player import Played, VirtualPlayer

# The keys of the pad by string and fret, as the page names them.
PAD_KEYS = (
    ("Digit1", "Digit2", "Digit3", "Digit4", "Digit5", "Digit6"),
    ("KeyQ", "KeyW", "KeyE", "KeyR", "KeyT", "KeyY"),
    ("KeyA", "KeyS", "KeyD", "KeyF", "KeyG", "KeyH"),
    ("KeyZ", "KeyX", "KeyC", "KeyV", "KeyB", "KeyN"),
    ("KeyM",),
)

PRESS = """([origin, keys]) => {
  for (const [at, code] of keys) {
    setTimeout(
      () => document.body.dispatchEvent(new KeyboardEvent("keydown", { code, bubbles: true })),
      origin + at - performance.now(),
    );
  }
}"""

CHROMIUM = "/usr/bin/chromium-headless-shell"
FLAGS = ["--no-sandbox", "--disable-gpu", "--autoplay-policy=no-user-gesture-required"]

FOLDER = ROOT / "sample_sessions"


@dataclass(frozen=True)
class Evening:
    """What is played in a session.

    Attributes:
        folder: its name.
        title, tier, tempo, last: what is chosen at its beginning; measure 1 is the first.
        player: who plays.
        way: how what they play comes out.
        passes: how many; after each the player goes on to the rung that the ladder offers.
        channels: how channels tell strings.
    """

    folder: str
    title: str
    tier: str
    tempo: int
    last: int
    player: VirtualPlayer
    way: Way = steadily
    passes: int = 1
    channels: str = "1-5"


SURE = 300.0  # quarters a minute that these students can do with ease: what goes wrong is what the session is for

EVENINGS = (
    Evening("first-evening", "Turn the Barrow", "beginner", 100, 8, VirtualPlayer(ability=70, seed=4), passes=2),
    Evening("a-month-later", "Mill Lane", "intermediate", 96, 8, VirtualPlayer(ability=260, seed=11), passes=3),
    Evening("clean", "Mill Lane", "advanced", 100, 8, VirtualPlayer(ability=SURE, seed=2)),
    Evening("rushing", "Hollow Hill Road", "beginner", 100, 8, VirtualPlayer(ability=SURE, seed=3), rushing),
    Evening("dragging", "Hollow Hill Road", "intermediate", 92, 8, VirtualPlayer(ability=SURE, seed=5), dragging),
    Evening("lost-and-back", "Mill Lane", "intermediate", 100, 8, VirtualPlayer(ability=SURE, seed=6), lost(4, 5)),
    Evening(
        "an-eighth-ahead", "Mill Lane", "intermediate", 92, 8, VirtualPlayer(ability=SURE, seed=7), a_slot_ahead(4, 6)
    ),
    Evening(
        "ghosts-and-doubles",
        "Turn the Barrow",
        "intermediate",
        92,
        8,
        VirtualPlayer(ability=SURE, seed=8),
        noisily(8),
        passes=2,
    ),
    Evening(
        "one-channel",
        "Mill Lane",
        "beginner",
        96,
        8,
        VirtualPlayer(ability=SURE, seed=9, channels=None),
        channels="off",
    ),
)


ON_THE_PAD = Evening("on-the-pad", "Turn the Barrow", "beginner", 72, 8, VirtualPlayer(ability=SURE, seed=10))

IN_FREE_TIME = Evening(
    "in-free-time", "Lamps on the Water", "beginner", 66, 8, VirtualPlayer(ability=SURE, seed=12), in_own_time
)


def main(names: list[str]) -> None:
    with jack_server(), tempfile.TemporaryDirectory() as data:
        for evening in (*EVENINGS, ON_THE_PAD, IN_FREE_TIME):
            if names and evening.folder not in names:
                continue
            with Served(Path(data) / evening.folder) as served:
                if evening is ON_THE_PAD:
                    play_on_pad(evening, served)
                else:
                    with Player() as player:
                        (play_freely if evening is IN_FREE_TIME else play)(evening, served, player)
                (made,) = served.folders()
            shutil.rmtree(FOLDER / evening.folder, ignore_errors=True)
            shutil.copytree(made, FOLDER / evening.folder)


def play(evening: Evening, served: Served, player: Player) -> None:
    """Play all passes of an evening."""
    page = served.join()
    page.use_ports(player.input, player.output)
    span = {"first": 1, "last": evening.last}
    state = page.choose(evening.title, tier=evening.tier, tempo=evening.tempo, string_channels=evening.channels, **span)
    for number in range(1, evening.passes + 1):
        solo = solo_of(served, state["digest"])
        begin(evening, player, solo, state["rung"] or state, number)
        page.say(kind="start" if number == 1 else "next_rung")
        told = page.until("report", number=number)
        player.finish()
        print(evening.folder, number, told["clean"], *told["sentences"], told["rung"]["why"])
        state = last_state(page)


def play_on_pad(evening: Evening, served: Served) -> None:
    """Play a pass on the keys of the pad, in a browser that sounds the click."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        seen = Watched(browser.new_page())
        page = seen.open(served.url)
        tune = next(line["id"] for line in seen.last("tunes")["tunes"] if line["title"] == evening.title)
        seen.choose_solo(tune, evening.tier)
        seen.set("tempo", evening.tempo)
        seen.set("last", evening.last)
        page.locator("#open-pad").click()
        solo = solo_of(served, seen.last("state")["digest"])
        plan = PassPlan(solo, click_tempo(evening.tempo), last=evening.last)
        with seen.says("sounding") as sounding:
            page.locator("#toggle").click()
        keys = [[each.seconds * 1000, key_of(solo, each)] for each in note_ons(evening.player.play(plan))]
        with seen.hears("report"):
            page.evaluate(PRESS, [json.loads(sounding.value)["origin"] * 1000, keys])
        print(evening.folder, *seen.last("report")["sentences"])
        browser.close()


def play_freely(evening: Evening, served: Served, player: Player) -> None:
    """Play a pass without a click."""
    page = served.join()
    page.use_ports(player.input)
    span = {"first": 0, "last": evening.last}
    state = page.choose(evening.title, tier=evening.tier, string_channels=evening.channels, free_time=True, **span)
    plan = PassPlan(solo_of(served, state["digest"]), evening.tempo, last=evening.last)
    page.say(kind="start", sounds=False)
    page.until("state", state="playing")
    player.play_freely((each.seconds + 1.0, each.data) for each in evening.way(plan, evening.player.play(plan)))
    print(evening.folder, *page.until("report")["sentences"])


def begin(evening: Evening, player: Player, solo: Arrangement, rung: dict[str, float], number: int) -> None:
    """Let the player take up a pass."""
    low, high = solo.measures[0].number, solo.measures[-1].number
    first, last = int(rung["first"]), int(rung["last"])
    tempo = click_tempo(rung["tempo"])
    plan = PassPlan(
        solo, tempo, first=None if first == low else first, last=None if last == high else last, number=number
    )
    clicks = [each.at for each in count_in(solo, first=plan.first)]
    notes = [(played.seconds * tempo / 60, played.data) for played in evening.way(plan, evening.player.play(plan))]
    player.begin(notes, clicks=len(clicks), every=float(clicks[1] - clicks[0]))


def note_ons(played: tuple[Played, ...]) -> list[Played]:
    """The notes among the messages of a pass."""
    return [each for each in played if each.data[0] & 0xF0 == 0x90 and each.data[2] > 0]


def key_of(solo: Arrangement, played: Played) -> str:
    """The key of the pad for a note, by its channel and pitch."""
    status, pitch, _ = played.data
    string = (status & 0x0F) + 1
    return PAD_KEYS[string - 1][pitch - solo.capo - solo.tuning.open_pitch(string)]


def solo_of(served: Served, digest: str) -> Arrangement:
    """A solo of the service."""
    with urllib.request.urlopen(f"{served.url}arrangements/{digest}.json", timeout=PATIENCE) as answer:
        return from_json(answer.read(), digest)


def last_state(page: Remote) -> dict[str, object]:
    """How the session stands."""
    return page.all("state")[-1]


@contextmanager
def jack_server() -> Iterator[None]:
    """A dummy JACK server of our own."""
    name = f"coach-{uuid.uuid4().hex[:8]}"
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    server = subprocess.Popen(
        ["jackd", "-n", name, "--realtime", "-S", "-d", "dummy", "-r", "48000", "-p", "128"], **quiet
    )
    os.environ["JACK_DEFAULT_SERVER"] = name
    try:
        subprocess.run(["jack_wait", "-s", name, "-w", "-t", "20"], check=True, **quiet)
        yield
    finally:
        server.terminate()
        server.wait(PATIENCE)


if __name__ == "__main__":
    main(sys.argv[1:])
