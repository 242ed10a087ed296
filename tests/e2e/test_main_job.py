"""The main job on real parts: a solo from the command line, a player on a JACK port, the service, and its page."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from real_parts import DEMO_TUNES, Player, Served, coach, coach_process, solo_notes

from coach.arranging.arrangement import Arrangement, Pluck
from coach.arranging.files import from_json
from coach.instrument.fretboard import places

pytestmark = pytest.mark.usefixtures("jack_server")

TEMPO = 60.0
LAST = 3
TOLERANCE_MS = 110  # a busy machine may hold up the player's process; its own errors are far larger
SHIFT = 0.18  # seconds: well out of that tolerance and well within the window (250 ms) of eighths at this tempo
OFF_CHORD = 61  # C sharp, fret 2 of string 2: in none of the chords of G major, C major and D major
APART = 4  # plucks between two errors


@dataclass(frozen=True)
class Slip:
    """An error put in: its verdict, the pluck that it is on, and what is sounded instead of it or after it."""

    verdict: str
    pluck: Pluck
    measure: int
    at: Fraction  # in quarters from the start
    shift: float = 0.0
    data: bytes | None = None


def slips_for(solo: Arrangement) -> list[Slip]:
    """One error of each kind, in this order, each on a pluck where it can be made."""
    starts = solo.starts()
    plucks = [(measure.number, pluck) for measure, pluck in solo.plucks() if measure.number <= LAST]
    kinds = ["missed", "wrong note", "early", "late", "extra", "other string"]
    slips: list[Slip] = []
    free = 2
    for index, (number, pluck) in enumerate(plucks):
        if index < free or not kinds:
            continue
        slip = _slip(kinds[0], solo, number, pluck, starts[number] + pluck.at)
        if slip is not None:
            slips.append(slip)
            kinds.pop(0)
            free = index + APART
    assert kinds == []
    return slips


def _slip(kind: str, solo: Arrangement, number: int, pluck: Pluck, at: Fraction) -> Slip | None:
    velocity = 90
    channel = pluck.string - 1
    if kind in ("early", "late"):
        return Slip(kind, pluck, number, at, -SHIFT if kind == "early" else SHIFT)
    if kind == "missed":
        return Slip(kind, pluck, number, at)
    if kind == "wrong note":
        return Slip(kind, pluck, number, at, data=bytes((0x90 | channel, pluck.pitch + 1, velocity)))
    if kind == "extra":
        return None if pluck.string == 2 else Slip(kind, pluck, number, at, SHIFT, bytes((0x91, OFF_CHORD, velocity)))
    other = [place for place in places(solo.tuning, pluck.pitch) if place.string != pluck.string]
    if not other:
        return None
    return Slip(kind, pluck, number, at, data=bytes((0x90 | other[0].string - 1, pluck.pitch, velocity)))


def with_slips(notes: Iterable[tuple[Fraction, bytes]], slips: list[Slip]) -> Iterator[tuple[float, bytes]]:
    """What is played: the solo as it was exported, with the errors."""
    by_note = {(slip.at, slip.pluck.string): slip for slip in slips}
    for at, data in notes:
        slip = by_note.get((at, (data[0] & 0x0F) + 1))
        shift = 0.0 if slip is None else slip.shift * TEMPO / 60
        if slip is None:
            yield float(at), data
        elif slip.verdict in ("early", "late"):
            yield float(at) + shift, data
        elif slip.verdict == "extra":
            yield float(at), data
            assert slip.data is not None
            yield float(at) + shift, slip.data
        elif slip.data is not None:
            yield float(at), slip.data


@pytest.fixture
def exported(tmp_path: Path) -> tuple[Arrangement, list[tuple[Fraction, bytes]], Path]:
    """A solo written by the command line: as an arrangement, and its notes as the MIDI file has them."""
    words = ("arrange", DEMO_TUNES / "mill-lane.abc", "--tier", "intermediate", "-o")
    path = tmp_path / "x.json"
    made = coach_process(*words, path)
    assert made.returncode == 0, made.stderr
    coach(*words, tmp_path / "x.mid")
    return from_json(path.read_bytes(), path.name), solo_notes(tmp_path / "x.mid"), path


def test_a_pass_on_a_midi_port_is_scored_on_the_page_with_the_errors_that_were_put_in(
    exported: tuple[Arrangement, list[tuple[Fraction, bytes]], Path],
    serve: Callable[..., Served],
    watched: Callable[..., Any],
) -> None:
    solo, notes, path = exported
    slips = slips_for(solo)
    end = solo.starts()[LAST + 1]
    served = serve()
    seen = watched()
    page = seen.open(served.url)
    with Player() as player:
        page.locator("#open-settings").click()
        # The service takes up the only instrument by itself, and learns from its tuning that it tells strings.
        expect(page.locator("[name=midi_in]")).to_have_value(player.input)
        player.tune()
        page.locator("[name=midi_out]").select_option(player.output)
        with seen.hears("state", sound="midi"):
            page.locator("[name=sound]").select_option("midi")
        with seen.hears("state", tolerance_ms=TOLERANCE_MS):
            page.locator("[name=tolerance_ms]").fill(str(TOLERANCE_MS))
            page.locator("[name=tolerance_ms]").press("Tab")
        page.get_by_role("button", name="Done").click()
        seen.choose_solo(solo.tune, "intermediate")
        seen.set("tempo", TEMPO)
        seen.set("last", LAST)
        player.begin(with_slips([(at, data) for at, data in notes if at < end], slips))
        page.locator("#toggle").click()
        tempo = player.finish()
        expect(page.locator("#report-head")).to_have_text("Pass 1: not clean yet")

    assert tempo == pytest.approx(TEMPO, rel=0.01)
    (folder,) = served.folders()
    text = (folder / "report.json").read_text("utf-8")
    report = json.loads(text)
    check_report(report, solo, slips)
    check_page(page, seen.marks(), slips)
    with page.expect_download() as download:
        page.locator("#report-files a").last.click()
    assert download.value.path().read_text("utf-8") == text
    # What was heard live, the recorded take gives again, through either door.
    assert seen.last("begin")["digest"] == report["digest"] == json.loads(path.read_text("utf-8"))["digest"]
    assert coach("replay", folder, "--json") == text
    heard_as_live = ("--lean-ms", 0, "--tolerance-ms", TOLERANCE_MS)
    assert coach("report", path, folder / "take.mid", *heard_as_live, "--json") == text


def check_report(report: dict[str, Any], solo: Arrangement, slips: list[Slip]) -> None:
    """The report has the errors that were put in, and no others."""
    wanted = {pluck.id: "on time" for measure, pluck in solo.plucks() if measure.number <= LAST}
    wanted |= {slip.pluck.id: slip.verdict for slip in slips if slip.verdict != "extra"}
    assert {note["id"]: note["verdict"] for note in report["notes"]} == wanted
    by_id = {note["id"]: note for note in report["notes"]}
    for slip in slips:
        if slip.verdict in ("early", "late"):
            # A JACK period each way, and what a busy machine adds.
            assert by_id[slip.pluck.id]["offset_ms"] == pytest.approx(slip.shift * 1000, abs=65)
        elif slip.verdict in ("wrong note", "other string"):
            assert slip.data is not None
            heard = by_id[slip.pluck.id]
            assert (heard["pitch"], heard["string"]) == (slip.data[1], (slip.data[0] & 0x0F) + 1)
    extra = next(slip for slip in slips if slip.verdict == "extra")
    assert [(each["measure"], each["pitch"], each["string"], each["fault"]) for each in report["extra"]] == [
        (extra.measure, OFF_CHORD, 2, True)
    ]
    assert report["dropped"] == []
    assert [row["number"] for row in report["measures"]] == list(range(1, LAST + 1))
    for row in report["measures"]:
        made = [slip.verdict for slip in slips if slip.measure == row["number"]]
        assert row["expected"] - row["played"] == made.count("missed") + made.count("wrong note")
        assert (row["missed"], row["wrong"], row["extra"], row["off_time"]) == (
            made.count("missed"),
            made.count("wrong note"),
            made.count("extra"),
            made.count("early") + made.count("late"),
        )
    assert [(each["measures"], each["whole"], each["clean"]) for each in report["passes"]] == [
        (f"1-{LAST}", True, False)
    ]


def check_page(page: Page, marks: set[tuple[str, str]], slips: list[Slip]) -> None:
    """The sheet bears the marks of the errors and no others, and the words of the page name the same."""
    extra = next(slip for slip in slips if slip.verdict == "extra")
    (note,) = [note for note, verdict in marks if verdict == "extra"]
    assert note.startswith(f"extra {extra.measure} ")
    assert marks - {(note, "extra")} == {(slip.pluck.id, slip.verdict) for slip in slips if slip is not extra}
    words = {"missed": "note missed", "wrong note": "wrong note", "extra": "extra note"}
    words |= {"early": "off time", "late": "off time"}
    for number in range(1, LAST + 1):
        made = {words[slip.verdict] for slip in slips if slip.measure == number and slip.verdict in words}
        cell = page.locator("#strip button").nth(number - 1)
        expect(cell).to_have_accessible_name(re.compile(f"^Measure {number}: "))
        for word in words.values():
            if word in made:
                expect(cell).to_have_accessible_name(re.compile(word))
            else:
                expect(cell).not_to_have_accessible_name(re.compile(word))
    expect(page.locator("#strip button").nth(LAST)).to_have_accessible_name(f"Measure {LAST + 1}: not played yet")
    told = page.locator("#report-sentences").inner_text()
    assert "1 note was missed, in measure" in told
    assert "1 note was wrong, in measure" in told
    assert "1 note was heard that is not written, in measure" in told
