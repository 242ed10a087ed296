"""A teacher looks on while the student's link is bad: what is heard of a note is at the desk within a second."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from a_studio import come_in, invited, open_studio
from bad_link import BAD, Relay
from playwright.sync_api import expect
from real_parts import Served
from test_pad import PLAY
from watched import Watched

from coach.arranging.files import from_json

TEMPO = 90
LAST = 6
BEHIND = 1.0
"""Seconds by which nineteen marks of twenty may be behind their notes."""

HELD_UP = 0.5
"""Seconds by which a busy machine may hold up any of them."""

# In the teacher's page: when each mark of a note came. Both pages are in one browser, whose pages tell time alike.
STAMP = """() => {
  const Native = WebSocket;
  window.came = [];
  window.WebSocket = class extends Native {
    constructor(...asked) {
      super(...asked);
      this.addEventListener("message", (event) => {
        const told = JSON.parse(event.data);
        if (told.kind === "live" && told.message.kind === "heard") {
          window.came.push((performance.timeOrigin + performance.now()) / 1000);
        }
      });
    }
  };
}"""


@pytest.mark.timeout(180)
def test_marks_of_a_student_behind_a_bad_link_are_at_the_desk_within_a_second(
    tmp_path: Path, serve: Callable[..., Served], watched: Callable[..., Watched]
) -> None:
    _, url, link = open_studio(serve, tmp_path / "data")
    teacher, student = watched(), watched()
    come_in(teacher.page, link, "Ruth")
    come_in(student.page, invited(teacher.page, url), "Wren")
    relay = Relay(url, BAD, seed=4)
    try:
        student.open(relay.url)
        tune = next(line["id"] for line in student.last("tunes")["tunes"] if line["title"] == "Mill Lane")
        student.choose_solo(tune, "beginner")
        student.set("tempo", TEMPO)
        student.set("last", LAST)
        student.page.locator("#open-pad").click()
        teacher.page.add_init_script(f"({STAMP})()")
        teacher.page.goto(f"{url}desk.html")
        card = teacher.page.locator("#cards li", has_text="Wren")
        card.get_by_role("link").or_(card.get_by_role("button")).first.click()
        expect(teacher.page.locator("#open-sheet svg .measure").first).to_be_visible()

        digest = student.last("state")["digest"]
        solo = from_json(student.page.request.get(f"{url}arrangements/{digest}.json").body(), "solo")
        starts = solo.starts()
        plays = [
            (float(starts[measure.number] + pluck.at) * 60 / TEMPO, pluck.string, pluck.fret, None)
            for measure, pluck in solo.plucks()
            if measure.number <= LAST
        ]
        with student.says("sounding") as sounding:
            student.page.locator("#toggle").click()
        origin = json.loads(sounding.value)["origin"]
        student.page.evaluate(PLAY, [origin, plays])
        expect(teacher.page.locator("#open-report")).to_be_visible()
        expect(student.page.locator("#report-head")).to_be_visible()
        since = student.page.evaluate("performance.timeOrigin") / 1000
        came = teacher.page.evaluate("window.came")
    finally:
        student.page.goto("about:blank")
        relay.end()

    behind = sorted(
        moment - (since + origin + play[0]) for moment, play in zip(sorted(came), sorted(plays), strict=True)
    )
    print(f"marks were {behind[len(behind) // 2]:.2f} s behind their notes, {behind[-1]:.2f} at the most")
    assert relay.longest > BAD.delay + BAD.jitter + BAD.stall[0]
    assert BAD.delay - BAD.jitter < behind[0]
    assert behind[len(behind) * 19 // 20] < BEHIND
    assert behind[-1] < BEHIND + HELD_UP
