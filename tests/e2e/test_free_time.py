"""Free time on real parts: a player's process plays a solo without a click, with other tempos and a stop to think."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect
from real_parts import DEMO_TUNES, Player, Served, coach, solo_notes

from coach.arranging.arrangement import Arrangement
from coach.arranging.files import from_json

pytestmark = pytest.mark.usefixtures("jack_server")

TEMPOS = (110.0, 72.0, 140.0, 95.0)  # of measures 1 to 4, in quarters a minute
PAUSE = 2.5
STOP = (3, 2)  # the measure and the pluck before which the player thinks
WRONG = (4, 4)  # the measure and the pluck that comes a half step too high


def in_own_time(solo: Arrangement, notes: list[tuple[Fraction, bytes]]) -> Iterator[tuple[float, bytes]]:
    """The solo with other tempos, a pause and a wrong note: messages with their seconds."""
    starts = solo.starts()
    begun = {1: 0.0}
    for number, tempo in enumerate(TEMPOS, 1):
        begun[number + 1] = begun[number] + float(starts[number + 1] - starts[number]) * 60 / tempo
    count = dict.fromkeys(range(1, len(TEMPOS) + 1), 0)
    late = 0.0
    for at, data in notes:
        number = max(measure for measure in count if starts[measure] <= at)
        count[number] += 1
        if (number, count[number]) == STOP:
            late += PAUSE
        if (number, count[number]) == WRONG:
            data = bytes((data[0], data[1] + 1, data[2]))
        yield begun[number] + late + float(at - starts[number]) * 60 / TEMPOS[number - 1], data


def test_a_player_without_a_click_is_followed_on_the_page_and_told_their_own_tempo(
    tmp_path: Path, serve: Callable[..., Served], watched: Callable[..., Any]
) -> None:
    for suffix in ("json", "mid"):
        coach("arrange", DEMO_TUNES / "mill-lane.abc", "--tier", "beginner", "-o", tmp_path / f"x.{suffix}")
    solo = from_json((tmp_path / "x.json").read_bytes(), "x.json")
    end = solo.starts()[len(TEMPOS) + 1]
    played = list(in_own_time(solo, [(at, data) for at, data in solo_notes(tmp_path / "x.mid") if at < end]))
    served = serve()
    seen = watched()
    page = seen.open(served.url)
    with Player() as player:
        page.locator("#open-settings").click()
        expect(page.locator("[name=midi_in]")).to_have_value(player.input)
        player.tune()
        page.get_by_role("button", name="Done").click()
        seen.choose_solo(solo.tune, "beginner")
        seen.set("last", len(TEMPOS))
        with seen.hears("state", free_time=True):
            page.get_by_label("Without a click: it follows you").check()
        with seen.hears("state", state="playing"):
            page.locator("#toggle").click()
        player.play_freely(played)
        expect(page.locator("#report-head")).to_have_text("Pass 1, without a click: clean")

    told = [message for message in seen.told if message["kind"] == "place"]
    assert [measure for measure in range(1, 5) if measure in {place["measure"] for place in told}] == [1, 2, 3, 4]
    assert told[-1]["measure"] == 4
    (folder,) = served.folders()
    text = (folder / "report.json").read_text("utf-8")
    report = json.loads(text)
    plucks = [pluck.id for measure, pluck in solo.plucks() if measure.number <= len(TEMPOS)]
    wrong = [note["id"] for note in report["notes"] if note["verdict"] == "wrong note"]
    assert wrong == [f"m{WRONG[0]}e{WRONG[1]}"]
    assert {note["id"]: note["verdict"] for note in report["notes"] if note["id"] not in wrong} == {
        each: "on time" for each in plucks if each not in wrong
    }
    assert report["extra"] == []
    assert [measure["tempo"] for measure in report["measures"]] == pytest.approx(list(TEMPOS), rel=0.08)
    assert [(each["kind"], each["to"]) for each in report["passages"]] == [("stopped", f"m{STOP[0]}e{STOP[1]}")]
    assert report["free"] is True
    expect(page.locator("#tempos li .unseen")).to_have_text(
        [f"Measure {each['number']}: {each['tempo']:.0f}" for each in report["measures"]]
    )
    expect(page.locator("#report-sentences")).to_contain_text(f"Measure {STOP[0]}: stopped and went on.")
    assert seen.marks() == {(wrong[0], "wrong note")}
    # What was heard live, the recorded take gives again, through either door.
    assert json.loads((folder / "session.json").read_text("utf-8"))["passes"][0]["free"] is True
    assert coach("replay", folder, "--json") == text
    assert coach("report", tmp_path / "x.json", folder / "take.mid", "--free", "--json") == text
    assert "without a click" in coach("replay", folder)
