"""Makes the sample sessions: a virtual player plays on a real MIDI port, and the service listens and keeps.

Run from the root of the project, with jackd installed: ``python tests/e2e/make_sample_sessions.py``. It takes about
two minutes, since all is played in real time, and puts the folders into ``sample_sessions`` in place of those there.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import urllib.request
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from real_parts import PATIENCE, ROOT, Player, Remote, Served

from coach.arranging.arrangement import Arrangement
from coach.arranging.click import count_in
from coach.arranging.files import from_json
from coach.listening.plan import PassPlan
from coach.takes.grid import click_tempo
from coach.takes.player import VirtualPlayer

FOLDER = ROOT / "sample_sessions"


@dataclass(frozen=True)
class Evening:
    """What is played in a session.

    Attributes:
        folder: its name.
        title, tier, tempo, first, last: what is chosen at its beginning.
        passes: how many; after each the player goes on to the rung that the ladder offers.
        player: who plays.
    """

    folder: str
    title: str
    tier: str
    tempo: int
    first: int
    last: int
    passes: int
    player: VirtualPlayer


EVENINGS = (
    Evening("first-evening", "Turn the Barrow", "beginner", 100, 1, 8, 2, VirtualPlayer(ability=70, seed=4)),
    Evening("a-month-later", "Mill Lane", "intermediate", 96, 1, 8, 3, VirtualPlayer(ability=260, seed=11)),
)


def main() -> None:
    with jack_server(), tempfile.TemporaryDirectory() as data:
        for evening in EVENINGS:
            with Served(Path(data) / evening.folder) as served, Player() as player:
                play(evening, served, player)
                (made,) = served.folders()
            shutil.rmtree(FOLDER / evening.folder, ignore_errors=True)
            shutil.copytree(made, FOLDER / evening.folder)


def play(evening: Evening, served: Served, player: Player) -> None:
    """Play all passes of an evening."""
    page = served.join()
    page.use_ports(player.input, player.output)
    span = {"first": evening.first, "last": evening.last}
    state = page.choose(evening.title, tier=evening.tier, tempo=evening.tempo, string_channels="1-5", **span)
    for number in range(1, evening.passes + 1):
        solo = solo_of(served, state["digest"])
        begin(evening.player, player, solo, state["rung"] or state, number)
        page.say(kind="start" if number == 1 else "next_rung")
        told = page.until("report", number=number)
        player.finish()
        print(evening.folder, number, told["clean"], *told["sentences"], told["rung"]["why"])
        state = last_state(page)


def begin(student: VirtualPlayer, player: Player, solo: Arrangement, rung: dict[str, float], number: int) -> None:
    """Let the player take up a pass."""
    low, high = solo.measures[0].number, solo.measures[-1].number
    first, last = int(rung["first"]), int(rung["last"])
    tempo = click_tempo(rung["tempo"])
    plan = PassPlan(
        solo, tempo, first=None if first == low else first, last=None if last == high else last, number=number
    )
    clicks = [each.at for each in count_in(solo, first=plan.first)]
    notes = [(played.seconds * tempo / 60, played.data) for played in student.play(plan)]
    player.begin(notes, clicks=len(clicks), every=float(clicks[1] - clicks[0]))


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
    main()
