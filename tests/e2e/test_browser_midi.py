"""An instrument in the browser: from the first visit to a pass that is scored, and learned with foot switches set."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from browser_midi import NAME, as_written, on_strings_in_turn, play, play_along, play_now, plug, solo_of, tune
from playwright.sync_api import Page, expect
from real_parts import Served

TEMPO = 120
LATE = 0.06  # seconds from a note to its message, in an instrument that hears slowly
SWITCH, OTHER_SWITCH = 64, 67  # control changes: the damper and the soft pedal (MIDI 1.0)


def visit(seen: Any, url: str) -> Page:
    """A page whose browser has an instrument, on its first visit."""
    plug(seen)
    page: Page = seen.open(url)
    return page


def press(seen: Any, switch: int) -> None:
    """Press a switch and let it go."""
    play_now(seen, [[0xB0, switch, 127]])
    play_now(seen, [[0xB0, switch, 0]])


def test_a_first_visit_ends_in_a_scored_pass_and_a_next_rung(everyones: Served, watched: Callable[..., Any]) -> None:
    seen = watched()
    page = visit(seen, f"{everyones.url}?session=first-visit")
    expect(page.locator("#cautions")).to_be_visible()
    expect(page.locator("#no-port-head")).to_have_text("No MIDI instrument is connected")

    with seen.says("input"):
        page.get_by_role("button", name="Hear one in this browser").click()
    expect(page.locator("#no-port")).to_be_hidden()
    tune(seen)
    seen.set("tempo", TEMPO)
    seen.set("last", 2)
    play_along(seen, as_written(solo_of(seen), TEMPO, last=2))

    expect(page.locator("#report-head")).to_have_text("Pass 1: clean")
    report = everyones.report_of("first-visit")
    assert {note["verdict"] for note in report["notes"]} == {"on time"}
    assert max(abs(note["offset_ms"]) for note in report["notes"]) < 0.1
    assert report["extra"] == report["dropped"] == []
    assert {verdict for _, verdict in seen.marks()} <= {"on time"}
    expect(page.locator("#rung-what")).to_have_text(re.compile(r"^beginner, [\d.]+ quarters a minute"))
    with seen.hears("begin", number=2):
        page.locator("#next").click()
    page.locator("#toggle").click()
    expect(page.locator("#toggle .label")).to_have_text("Start")


def test_an_instrument_is_learned_and_a_pass_begins_and_goes_again_by_its_switches(
    everyones: Served, watched: Callable[..., Any]
) -> None:
    seen = watched()
    page = visit(seen, f"{everyones.url}?session=learner")
    with seen.says("input"):
        page.get_by_role("button", name="Hear one in this browser").click()
    tune(seen)
    seen.set("tempo", TEMPO)
    seen.set("last", 1)

    page.locator("#open-settings").click()
    notes = on_strings_in_turn(16, 0.6, late=LATE, scatter=0.008, seed=3)
    play_along(seen, notes, by="#learn")
    expect(page.locator("#learned-head")).to_have_text(f"✓ Learned: {NAME} in a browser")
    told = seen.last("calibrated")
    assert told["lag_ms"] == pytest.approx(LATE * 1000, abs=8)
    assert told["latency_from_ms"] <= told["latency_ms"] <= told["latency_to_ms"]
    assert page.locator("#learned-plot circle").count() == 16
    expect(page.locator("#latency-known")).to_contain_text("Learned from your playing")
    kept = json.loads((everyones.data / "instruments.json").read_text("utf-8"))
    assert NAME in json.dumps(kept)

    for does, switch in (("start", SWITCH), ("again", OTHER_SWITCH)):
        with seen.hears("state", learning_foot=does):
            page.locator(f"[data-does={does}]").click()
        with seen.hears("state", learning_foot=""):
            press(seen, switch)
        expect(page.locator(f"[name=foot_{does}]")).to_have_value(f"CC {switch}")
    page.get_by_role("button", name="Done").click()

    with seen.says("sounding") as sounding:
        press(seen, SWITCH)
    late = as_written(solo_of(seen), TEMPO, last=1, late=LATE)
    play(seen, json.loads(sounding.value)["origin"], late)
    expect(page.locator("#report-head")).to_have_text("Pass 1: clean")
    assert {note["verdict"] for note in everyones.report_of("learner")["notes"]} == {"on time"}
    with seen.hears("begin", number=2):
        press(seen, OTHER_SWITCH)
    expect(page.locator("#toggle .label")).to_have_text("Stop")
    press(seen, SWITCH)
    expect(page.locator("#toggle .label")).to_have_text("Start")
