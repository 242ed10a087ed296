"""The main job through the pad: the page sounds the click, and its places and keys play.

What is touched and pressed bears the very moment at which it was due, whenever a busy machine gets round to it; that
real touches and keys play, and bear their moment, is tested in the tests of the page.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect
from real_parts import Served

from coach.arranging.arrangement import Pluck
from coach.arranging.files import from_json

TEMPO = 60
LAST = 2
KEYS = {1: "123456", 2: "qwerty", 3: "asdfgh", 4: "zxcvbn", 5: "m"}  # a row is a string, a column a fret

# Plays in the page: seconds, string and fret, and the key that stands for the place; null where it is touched.
PLAY = """([origin, plays]) => {
  for (const [seconds, string, fret, code] of plays) {
    const stamp = (origin + seconds) * 1000;
    setTimeout(() => {
      const event = code === null
        ? new PointerEvent("pointerdown", {bubbles: true, button: 0})
        : new KeyboardEvent("keydown", {bubbles: true, code});
      Object.defineProperty(event, "timeStamp", {value: stamp});
      const place = document.querySelector(`#board [data-string="${string}"][data-fret="${fret}"]`);
      (code === null ? place : document.body).dispatchEvent(event);
    }, stamp - performance.now());
  }
}"""


def code_of(string: int, fret: int) -> str:
    """The key of a place, as the browser calls it."""
    key = KEYS[string][fret].upper()
    return f"Digit{key}" if key.isdigit() else f"Key{key}"


def test_a_pass_on_the_pad_is_scored_with_the_errors_that_were_made(
    everyones: Served, watched: Callable[..., Any]
) -> None:
    seen = watched()
    page: Page = seen.open(f"{everyones.url}?session=pad")
    tune = next(line["id"] for line in seen.last("tunes")["tunes"] if line["title"] == "Mill Lane")
    seen.choose_solo(tune, "beginner")
    seen.set("tempo", TEMPO)
    seen.set("last", LAST)
    page.locator("#open-pad").click()
    solo = from_json(
        page.request.get(f"{everyones.url}arrangements/{seen.last('state')['digest']}.json").body(), "solo"
    )
    starts = solo.starts()
    plucks = [(starts[measure.number] + pluck.at, pluck) for measure, pluck in solo.plucks() if measure.number <= LAST]
    missed, wrong = plucks[1][1], plucks[-1][1]

    with seen.says("sounding") as sounding:
        page.locator("#toggle").click()
    plays: list[tuple[float, int, int, str | None]] = []
    for count, (at, pluck) in enumerate(plucks):
        if pluck is missed:
            continue
        fret = pluck.fret + 3 if pluck is wrong else pluck.fret
        plays.append((float(at) * 60 / TEMPO, pluck.string, fret, None if count % 2 else code_of(pluck.string, fret)))
    page.evaluate(PLAY, [json.loads(sounding.value)["origin"], plays])
    expect(page.locator("#report-head")).to_be_visible()

    check(everyones.report_of("pad"), seen, [pluck for _, pluck in plucks], missed, wrong)


def check(report: dict[str, Any], seen: Any, plucks: list[Pluck], missed: Pluck, wrong: Pluck) -> None:
    """Report, marks and strip tell of one note missed and one wrong, and of nothing else."""
    verdicts = {note["id"]: note["verdict"] for note in report["notes"]}
    assert list(verdicts) == [pluck.id for pluck in plucks]
    assert (verdicts.pop(missed.id), verdicts.pop(wrong.id)) == ("missed", "wrong note")
    assert set(verdicts.values()) == {"on time"}
    assert report["extra"] == []
    assert seen.marks() == {(missed.id, "missed"), (wrong.id, "wrong note")}
    page: Page = seen.page
    expect(page.locator("#report-sentences")).to_contain_text("1 note was missed, in measure")
    expect(page.locator("#report-sentences")).to_contain_text("1 note was wrong, in measure")
