"""A lesson at a distance, on the real service with real pages: a student on the pad, the teacher at the desk."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from a_studio import come_in, invited, open_studio
from playwright.sync_api import Page, expect
from real_parts import Served
from test_pad import PLAY
from watched import Watched

from coach.arranging.files import from_json

TEMPO = 72  # another than a tune begins with
LAST = 2


def play(student: Watched, url: str) -> tuple[str, str]:
    """Play the first measures on the pad; gives the ids of a note that was missed and of one that was wrong."""
    digest = student.last("state")["digest"]
    solo = from_json(student.page.request.get(f"{url}arrangements/{digest}.json").body(), "solo")
    starts = solo.starts()
    plucks = [(starts[measure.number] + pluck.at, pluck) for measure, pluck in solo.plucks() if measure.number <= LAST]
    missed, wrong = plucks[1][1], plucks[-1][1]
    with student.says("sounding") as sounding:
        student.page.locator("#toggle").click()
    plays = [
        (float(at) * 60 / TEMPO, pluck.string, pluck.fret + 3 * (pluck is wrong), None)
        for at, pluck in plucks
        if pluck is not missed
    ]
    student.page.evaluate(PLAY, [json.loads(sounding.value)["origin"], plays])
    return missed.id, wrong.id


def marks(page: Page) -> set[tuple[str, str]]:
    """The marks on the sheet at the desk that stand out."""
    found = page.locator("#open-sheet .mark").evaluate_all(
        "marks => marks.map(mark => [mark.dataset.note, mark.dataset.verdict])"
    )
    return {(note, verdict) for note, verdict in found}


def test_a_lesson_at_a_distance(tmp_path: Path, serve: Callable[..., Served], watched: Callable[..., Watched]) -> None:
    _, url, link = open_studio(serve, tmp_path / "data")
    teacher, student = watched(), watched()
    come_in(teacher.page, link, "Ruth")
    come_in(student.page, invited(teacher.page, url), "Wren")
    student.open(url)
    tune = next(line["id"] for line in student.last("tunes")["tunes"] if line["title"] == "Mill Lane")
    student.choose_solo(tune, "beginner")
    student.set("last", LAST)
    student.page.locator("#open-pad").click()
    desk = teacher.page
    desk.goto(f"{url}desk.html")

    # At a glance, and looked on: the student sees a sign.
    card = desk.locator("#cards li", has_text="Wren")
    expect(card).to_contain_text("Mill Lane")
    assert student.page.locator("#watched").is_hidden()
    card.get_by_role("link").or_(card.get_by_role("button")).first.click()
    expect(desk.locator("#open-sheet svg .measure").first).to_be_visible()
    expect(student.page.locator("#watched")).to_have_text("Ruth is looking on and listening")

    # A tempo is asked for, and holds when the student agrees.
    desk.locator("#steer-tempo").fill(str(TEMPO))
    desk.locator("#steer button[type=submit]").click()
    expect(student.page.locator("#offer")).to_contain_text(f"Ruth would set: tempo {TEMPO}")
    with student.hears("state", tempo=float(TEMPO)):
        student.page.get_by_role("button", name="Agree", exact=True).click()
    expect(desk.locator("#steer-words")).to_contain_text("agreed")

    # What is played is seen and heard at the desk as the student sees it.
    desk.locator("#hear").click()
    missed, wrong = play(student, url)
    expect(student.page.locator("#report-head")).to_be_visible()
    expect(desk.locator("#open-report")).to_be_visible()
    assert {(missed, "missed"), (wrong, "wrong note")} <= student.marks()
    assert marks(desk) == student.marks()
    sounded = [each for each in teacher.told if each["kind"] == "sounded" and each["data"][0] & 0xF0 == 0x90]
    assert len(sounded) == len([each for each in student.sent if each["kind"] == "notes" and each["items"]])

    # Words are pinned to a measure, and read.
    desk.locator("#open-strip button").nth(1).click()
    desk.locator("#pin-words").fill("Let the thumb lead.")
    desk.locator("#pin button[type=submit]").click()
    expect(student.page.locator("#pinned")).to_contain_text("Let the thumb lead.")
    student.page.get_by_role("button", name="I have read it").click()
    expect(desk.locator("#pins")).to_contain_text("read")

    # What is set comes to the student; whoever looks away is seen no more.
    desk.goto(f"{url}desk.html#set")
    expect(student.page.locator("#watched")).to_be_hidden()
    desk.locator("#whole-class").click()
    desk.locator("#assign select[name=tune]").select_option(tune)
    desk.locator("#assign input[name=goal]").fill("96")
    desk.locator("#assign summary").click()
    desk.locator("#assign input[name=cap]").fill("80")
    desk.locator("#assign-send").click()
    expect(student.page.locator("#set-by-teacher")).to_contain_text("up to 96")
    expect(student.page.locator("#set-by-teacher")).to_contain_text("Not above 80")
    with student.hears("state", goal=96.0, tempo=80.0):
        student.page.locator("#chooser [name=tempo]").fill("90")
        student.page.locator("#chooser [name=tempo]").press("Tab")
