"""An instrument that is pulled out in mid-pass and put in again: the pass goes on, and what it plays then counts."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from real_parts import DEMO_TUNES, Player, Served, coach, solo_notes

from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, HeardNote, Sound
from coach.takes.files import read_take
from coach.takes.take import heard_in

pytestmark = pytest.mark.usefixtures("jack_server")

TEMPO = 120.0
LAST = 4
OUT = (4.1, 6.0)  # quarters: from the second measure on, and a second before the third
TOLERANCE_MS = 110  # a busy machine may hold up the player's process


def heard_by(folder: Path) -> list[Sound]:
    """What the take of a session has."""
    take = read_take((folder / "take.mid").read_bytes(), "take.mid")
    return heard_in(take, STRINGS_ON_OWN_CHANNELS)


def test_notes_after_the_return_of_the_instrument_count_in_the_same_pass(
    serve: Callable[..., Served], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("solo") / "x.mid"
    coach("arrange", DEMO_TUNES / "mill-lane.abc", "--tier", "intermediate", "-o", path)
    notes = [(float(at), data) for at, data in solo_notes(path) if at < 4 * LAST]
    served = serve()
    page = served.join()
    with Player() as player:
        page.use_ports(player.input, player.output)
        settings = {"tier": "intermediate", "tempo": TEMPO, "string_channels": "1-5", "tolerance_ms": TOLERANCE_MS}
        page.choose("Mill Lane", **settings)
        page.say(kind="settings", first=1, last=LAST)
        page.until("state", last=LAST)
        player.begin(notes, unplugged=OUT)
        page.say(kind="start", sounds=False)
        gone = page.until("failure", about="ports")["text"]
        page.until("ports", input=None)
        back = page.until("failure", about="ports")["text"]
        page.until("ports", input=player.input)
        report = page.until("report")
        player.finish()

    played = {row["number"]: (row["played"], row["expected"]) for row in report["measures"]}
    assert report["whole"]
    # What was played before the gap and from the third measure on is in the take, and most of it in its place: a busy
    # machine holds up a player.
    sent = sum(not OUT[0] < at < 8 for at, _ in notes)
    (folder,) = served.folders()
    assert sent - 2 <= len([sound for sound in heard_by(folder) if isinstance(sound, HeardNote)]) <= len(notes)
    assert all(2 * played[number][0] > played[number][1] for number in (1, 3, 4)), played
    silent = sum(OUT[0] < at < OUT[1] for at, _ in notes)
    assert played[2][1] - played[2][0] >= silent > 0, played
    assert "vanished" in gone
    assert f"MIDI input {player.input!r} is back." in back
    assert report["sentences"][0].startswith("The instrument was not connected in measure")
    assert report["rung"]["tempo"] == TEMPO
    assert report["number"] == 1
    assert coach("replay", folder, "--json") == (folder / "report.json").read_text("utf-8")
    assert json.loads((folder / "session.json").read_text("utf-8"))["instrument"]["name"] == player.input
