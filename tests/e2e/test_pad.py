"""The main job through the pad: the page sounds the click, and real keys and clicks play."""

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

# A page in time, as far as a machine that does much else allows; what was played or left out is what matters here.
STEADY = {"early", "on time", "late"}


def pluck_on_pad(page: Page, string: int, fret: int, *, by_mouse: bool) -> None:
    """Play a place."""
    if by_mouse:
        page.locator(f"#board [data-string='{string}'][data-fret='{fret}']").click()
    else:
        page.keyboard.press(KEYS[string][fret])


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
    origin = json.loads(sounding.value)["origin"] * 1000  # on the page's own clock, in milliseconds
    for count, (at, pluck) in enumerate(plucks):
        if pluck is missed:
            continue
        page.evaluate(
            "moment => new Promise(done => setTimeout(done, moment - performance.now()))",
            origin + float(at) * 60_000 / TEMPO,
        )
        fret = pluck.fret + 3 if pluck is wrong else pluck.fret
        pluck_on_pad(page, pluck.string, fret, by_mouse=count % 2 == 0)
    expect(page.locator("#report-head")).to_be_visible()

    check(everyones.report_of("pad"), seen, [pluck for _, pluck in plucks], missed, wrong)


def check(report: dict[str, Any], seen: Any, plucks: list[Pluck], missed: Pluck, wrong: Pluck) -> None:
    """Report, marks and strip tell of one note missed and one wrong, and of nothing else but time."""
    verdicts = {note["id"]: note["verdict"] for note in report["notes"]}
    assert list(verdicts) == [pluck.id for pluck in plucks]
    assert (verdicts.pop(missed.id), verdicts.pop(wrong.id)) == ("missed", "wrong note")
    assert set(verdicts.values()) <= STEADY
    assert report["extra"] == []
    marks = {(note, verdict) for note, verdict in seen.marks() if verdict not in STEADY}
    assert marks == {(missed.id, "missed"), (wrong.id, "wrong note")}
    page: Page = seen.page
    expect(page.locator("#report-sentences")).to_contain_text("1 note was missed, in measure")
    expect(page.locator("#report-sentences")).to_contain_text("1 note was wrong, in measure")
