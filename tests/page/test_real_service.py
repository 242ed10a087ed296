"""The page and the real service together: real clicks on the pad come back as marks, scores and a report."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect

TEMPO = 80
SLOT = 30 / TEMPO
LATE = 0.15

# The first measure of the solo as (string, fret), with what is put in: one left out, one wrong, one late.
PLAYED = [
    ("m1e1", 0.0, (3, 0), "on time"),
    ("m1e2", SLOT, (2, 0), "on time"),
    ("m1e3", 2 * SLOT, None, "missed"),
    ("m1e4", 3 * SLOT, (1, 0), "on time"),
    ("m1e5", 4 * SLOT, (4, 2), "wrong note"),
    ("m1e6", 5 * SLOT, (2, 0), "on time"),
    ("m1e7", 6 * SLOT + LATE, (5, 0), "late"),
    ("m1e8", 7 * SLOT, (1, 0), "on time"),
]

# Keeps what the page tells of where it hears position 0.
LISTENER = """
const send = WebSocket.prototype.send;
WebSocket.prototype.send = function (text) {
  const message = JSON.parse(text);
  if (message.kind === 'sounding') window.heardOrigin = message.origin;
  return send.call(this, text);
};
"""


@pytest.fixture
def address(solo_file: dict[str, Any], tmp_path: Path) -> Iterator[str]:
    """Where ``coach serve`` serves, with the solo of the tests as its first tune."""
    file = tmp_path / "reed-bank.json"
    file.write_text(json.dumps(solo_file), encoding="utf-8")
    command = [sys.executable, "-m", "coach", "serve", "--port", "0", "--data", str(tmp_path / "data"), str(file)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as service:
        assert service.stdout is not None
        line = service.stdout.readline()
        yield next(word for word in line.split() if word.startswith("http"))
        service.terminate()
        service.wait(10)


def play(page: Page, origin: float) -> None:
    """Click on the pad, each note at its time after the heard position 0."""
    middles = {}
    for _, _, place, _ in PLAYED:
        if place is not None:
            box = page.locator(f"#board [data-string='{place[0]}'][data-fret='{place[1]}']").bounding_box()
            assert box is not None
            middles[place] = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    for _, at, place, _ in PLAYED:
        if place is not None:
            page.wait_for_function("(moment) => performance.now() >= moment", arg=1000 * (origin + at))
            page.mouse.click(*middles[place])


def test_errors_put_in_on_the_pad_come_back_as_marks_scores_and_a_report(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport=ViewportSize(width=1280, height=900), reduced_motion="reduce")
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.add_init_script(LISTENER)
    page.goto(address)
    page.locator("#title", has_text="Reed Bank").wait_for()
    page.locator("#sheet svg #m1e1").wait_for()

    page.get_by_label("From measure").fill("1")
    page.get_by_label("to measure", exact=True).fill("1")
    page.get_by_label("Tempo", exact=True).fill(str(TEMPO))
    page.get_by_label("Tempo", exact=True).blur()
    page.get_by_role("button", name="Settings").click()
    page.get_by_label("In time within").fill("100")  # room for the clicks of a busy machine, not for LATE
    page.get_by_role("button", name="Done").click()
    page.locator("#open-pad").click()
    expect(page.locator("#place")).to_have_text("Only measure 1")
    expect(page.locator("#tempo-now")).to_have_text(str(TEMPO))

    page.locator("#toggle").click()
    page.wait_for_function("() => window.heardOrigin !== undefined")
    play(page, page.evaluate("window.heardOrigin"))
    expect(page.locator("#report-told")).to_be_visible(timeout=15_000)

    marks = page.locator("#sheet .mark").evaluate_all(
        "(all) => all.map((one) => [one.dataset.note, one.dataset.verdict])"
    )
    assert sorted(marks) == [[id_, kind] for id_, _, _, kind in PLAYED if kind != "on time"]
    expect(page.locator("[data-note=m1e5] text")).to_have_text("2")
    expect(page.locator("#strip .cell-score").first).to_have_text("1 missed …")
    expect(page.locator("#report-head")).to_have_text("Pass 1: not clean yet")
    expect(page.locator("#rung-why")).not_to_be_empty()

    link = page.get_by_role("link", name="The report (.json)").get_attribute("href")
    told = context.request.get(address + str(link)).json()
    assert [(note["id"], note["verdict"]) for note in told["notes"]] == [(id_, kind) for id_, _, _, kind in PLAYED]
    assert complaints == []
    context.close()
