"""After a pass: what its sentences lead to, the moments of its mistakes, its roll, and the take heard again.

axe-core is the outside check of what everyone can use (WCAG 2.2 AA).
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Route, ViewportSize, expect

from coach.arranging.files import from_json
from coach.listening.heard import HeardNote
from coach.listening.plan import PassPlan
from coach.listening.report import Report, Scored, measure_record, score
from coach.service import protocol

PHONE = ViewportSize(width=360, height=740)
TEMPO = 100.0
MEASURE = 0.4  # seconds, as the take is served: a pass that is soon heard

# What is done to the notes of the pass, by their ids: seconds too late, None for a note that is left out.
FAULTS: dict[str, float | None] = {"m3e2": None, "m3e3": None, "m5e4": 0.11, "m9e1": None}
TURNED = {"m7e5": 1}  # semitones beside the right pitch
DRONE = 0.02  # seconds by which the third note of each roll comes late


@pytest.fixture(scope="module")
def plan(solo_file: dict[str, Any]) -> PassPlan:
    """A pass through all of the solo."""
    return PassPlan(from_json(json.dumps(solo_file).encode(), "solo"), TEMPO)


def heard(plan: PassPlan, until: float = 1000.0) -> list[HeardNote]:
    """The pass with its faults, up to a second."""
    notes = []
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            late = FAULTS.get(pluck.id, DRONE if pluck.id.endswith("e3") else 0.0)
            seconds = plan.tempo_map.seconds(start + pluck.at)
            if late is not None and seconds < until:
                pitch = pluck.pitch + TURNED.get(pluck.id, 0)
                notes.append(HeardNote(seconds + late, pitch, 80, pluck.string, pluck.string, len(notes) + 1))
    return notes


@pytest.fixture(scope="module")
def whole(plan: PassPlan) -> Report:
    """The report on the pass, by the code that judges."""
    return score([Scored(plan)], heard(plan), lean_ms=0.0)


@pytest.fixture(scope="module")
def stopped(plan: PassPlan) -> Report:
    """The same of a pass that was stopped in the middle of measure 5."""
    return score([Scored(plan, stopped=11.0)], heard(plan, until=10.5), lean_ms=0.0)


def take_cues(digest: str) -> dict[str, Any]:
    """The take as it sounds: a note at the start of each measure, the solo's a little before, and a click."""
    starts = [MEASURE * index for index in range(16)]
    return {
        "format": "cues/1",
        "digest": digest,
        "tempo": TEMPO,
        "bounce": 50,
        "first": 1,
        "last": 16,
        "lead": MEASURE,
        "length": 16 * MEASURE,
        "positions": [[index + 1, start] for index, start in enumerate(starts)],
        "free": False,
        "cues": [[start + 0.02, "banjo", 55, 0.2, 1.0] for start in starts],
        "written": [[start, "banjo", 67, 0.2, 1.0] for start in starts],
        "click": [[start, "click", 76, 0.03, 1.0] for start in starts],
        "end": 16 * MEASURE,
    }


def over_report(report: Report, /, **fields: Any) -> protocol.PracticeReport:
    """The report of the pass, as it is told."""
    result = report.results[0]
    fixed: dict[str, Any] = {
        "number": 1,
        "whole": result.whole,
        "clean": result.clean,
        "self_marked": False,
        "measures": [measure_record(measure) for measure in result.measures],
        "summary": {},
        "sentences": [saying.text for saying in report.told[0].said],
        "rung": None,
        "take": "takes/home/1.mid",
        "report": "takes/home/1.json",
    }
    return protocol.PracticeReport(**(fixed | fields))


def over(fake: Any, report: Report, /, *, positions: list[Any] | None = None, **fields: Any) -> None:
    """Play and end the pass of a report; with other positions of the roll, if told."""
    result = report.results[0]
    file = json.loads(report.to_json())
    if positions is not None:
        file["playing"][0]["positions"] = positions
    fake.takes = {"1.json": file, "1.cues.json": take_cues(fake.state.digest)}
    fake.begin(1)
    for note in result.notes:
        fake.send(
            protocol.VerdictMark(
                1, note.pluck.measure, note.pluck.id, note.verdict, note.offset_ms, note.pitch, note.string
            )
        )
    fake.change(state="between passes", number=1)
    fake.send(over_report(report, **fields))


def moments(page: Page) -> Any:
    return page.locator("#moments button")


# What was said of the take in turn, and where in the room its tracks stood.
RECORDING = """
window.told = [];
window.pans = [];
window.StereoPannerNode = class extends StereoPannerNode {
  constructor(context, options) {
    super(context, options);
    window.pans.push(options.pan);
  }
};
document.addEventListener("DOMContentLoaded", () => {
  const words = document.getElementById("take-words");
  const see = () => window.told.at(-1) !== words.textContent && window.told.push(words.textContent);
  new MutationObserver(see).observe(words, { childList: true });
});
"""


def said(page: Page, *words: str) -> None:
    """Wait until this was said of the take, in turn."""
    page.wait_for_function(
        "words => words.every((one, index) => told[told.length - words.length + index] === one)", arg=[*words]
    )


def test_the_moments_of_mistakes_are_listed_in_order_each_with_its_place(
    open_page: Callable[..., Page], fake: Any, whole: Report
) -> None:
    page = open_page()
    over(fake, whole)

    expect(moments(page)).to_have_text(
        [
            "Measure 3, from the and of beat 1 2 notes missed",
            "Measure 5, the and of beat 2 late by 110 ms",
            "Measure 7, beat 3 E♭ in place of D",
            "Measure 9, beat 1 missed, on string 3",
        ]
    )
    page.locator("#m1e1 text").click(force=True)  # which has no mark
    expect(page.locator("#take-play")).to_have_text("Play")
    expect(page.locator("#take-words")).to_have_text("")


def test_a_moment_or_its_mark_plays_the_take_and_then_the_solo(
    open_page: Callable[..., Page], fake: Any, whole: Report
) -> None:
    page = open_page(script=RECORDING)
    over(fake, whole)
    moment = moments(page).nth(1)
    moment.click()

    said(page, "Fetching what was heard …", "What you played.", "The solo, as written.", "")
    expect(page.locator('[data-note="m5e4"]')).to_have_class("mark looked-at")
    expect(moment).to_have_attribute("aria-current", "true")
    expect(page.locator("#m5")).to_be_in_viewport()
    expect(page.locator("#take-play")).to_have_text("Play")

    page.locator('[data-note="m9e1"]').click(force=True)
    said(page, "What you played.", "The solo, as written.", "")
    expect(moments(page).nth(3)).to_have_attribute("aria-current", "true")
    expect(page.locator('#take-form select[name="measure"]')).to_have_value("9")


def test_the_take_is_played_from_a_measure_and_stopped(
    open_page: Callable[..., Page], fake: Any, whole: Report
) -> None:
    page = open_page(script=RECORDING)
    over(fake, whole)
    fake.takes["1.cues.json"] |= {"length": 600.0, "end": 600.0}  # so that it does not end by itself
    form = page.locator("#take-form")
    form.get_by_label("Begin with measure").select_option("16")
    form.get_by_role("radio", name="Both").check()
    form.get_by_role("button", name="Play").click()

    expect(page.locator("#take-words")).to_have_text("You on the left, the solo on the right.")
    expect(page.locator("#m16")).to_have_class("measure sounding")
    left, right = page.evaluate("pans")
    assert left < 0 < right
    form.get_by_role("button", name="Stop").click()
    expect(form.get_by_role("button", name="Play")).to_be_visible()
    expect(page.locator("#m16")).to_have_class("measure")


def test_what_is_heard_changes_while_it_plays_until_a_pass_begins(
    open_page: Callable[..., Page], fake: Any, whole: Report
) -> None:
    page = open_page(script=RECORDING)
    over(fake, whole)
    fake.takes["1.cues.json"] |= {"length": 600.0, "end": 600.0}
    form = page.locator("#take-form")
    form.get_by_role("button", name="Play").click()
    said(page, "What you played.")
    form.get_by_role("radio", name="Solo").check()

    said(page, "What you played.", "The solo, as written.")
    expect(form.get_by_role("button", name="Stop")).to_be_visible()
    assert page.evaluate("pans") == []
    fake.begin(2)
    expect(page.locator("#closer")).to_be_hidden()
    expect(moments(page)).to_have_count(0)
    expect(page.locator("#take-play")).to_have_text("Play")


def test_the_take_ends_by_itself(open_page: Callable[..., Page], fake: Any, whole: Report) -> None:
    page = open_page(script=RECORDING)
    over(fake, whole)
    form = page.locator("#take-form")
    form.get_by_label("Begin with measure").select_option("16")
    form.get_by_role("button", name="Play").click()

    said(page, "What you played.", "")
    expect(form.get_by_role("button", name="Play")).to_be_visible()


@pytest.mark.parametrize(("first", "second"), [("listen-this", "take-play"), ("take-play", "listen-this")])
def test_what_was_asked_for_last_is_heard_whichever_is_fetched_first(
    open_page: Callable[..., Page], fake: Any, whole: Report, first: str, second: str
) -> None:
    page = open_page()
    over(fake, whole)
    fake.takes["1.cues.json"] |= {"length": 600.0, "end": 600.0}
    page.locator("#listen summary").click()
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    fetched = "**/arrangements/*.cues.json?*" if first == "listen-this" else "**/1.cues.json"
    words = {"listen-this": page.locator("#listen-words"), "take-play": page.locator("#take-words")}
    page.route(fetched, hold)
    page.locator(f"#{first}").click()
    expect(words[first]).to_contain_text("Fetching")
    page.locator(f"#{second}").click()
    page.locator("#sheet .measure.sounding").wait_for()
    held[0].continue_()

    expect(words[first]).to_have_text("")
    expect(words[second]).not_to_have_text("")
    expect(page.locator("#listen-stop")).to_be_visible(visible=second == "listen-this")
    expect(page.locator("#take-play")).to_have_text("Stop" if second == "take-play" else "Play")


def test_a_take_that_cannot_be_fetched_is_said(
    open_page: Callable[..., Page], fake: Any, whole: Report, complaints: list[str]
) -> None:
    page = open_page()
    over(fake, whole)
    page.route("**/1.cues.json", lambda route: route.fulfill(status=422, json={"text": "the take is gone."}))
    page.locator("#take-form").get_by_role("button", name="Play").click()

    expect(page.locator("#take-words")).to_have_text("It cannot be heard now: the take is gone.")
    expect(page.locator("#take-play")).to_have_text("Play")
    # The browser notes a refused request by itself.
    assert [text for text in complaints if "422" not in text] == []
    complaints.clear()


def test_a_moment_behind_the_end_of_the_take_is_said(open_page: Callable[..., Page], fake: Any, whole: Report) -> None:
    page = open_page()
    over(fake, whole)
    fake.takes["1.cues.json"]["end"] = MEASURE
    moments(page).nth(3).click()

    expect(page.locator("#take-words")).to_have_text("The take ends before this measure.")
    expect(page.locator("#take-play")).to_have_text("Play")


def test_of_a_pass_in_which_nothing_was_heard_no_mark_is_played(
    open_page: Callable[..., Page], fake: Any, plan: PassPlan
) -> None:
    page = open_page(script=RECORDING)
    over(fake, score([Scored(plan)], [], lean_ms=0.0), whole=True)
    expect(page.locator("#moments-none")).not_to_be_empty()  # its file is read
    mark = page.locator('[data-note="m9e1"]')
    mark.click(force=True)

    expect(mark).to_have_class("mark looked-at")
    expect(page.locator("#closer")).to_be_hidden()
    assert page.evaluate("told.filter((words) => words !== '')") == []


def test_measures_that_a_sentence_names_lead_there(open_page: Callable[..., Page], fake: Any, whole: Report) -> None:
    page = open_page()
    over(
        fake,
        whole,
        positions=[],
        sentences=["2 notes were missed, in measure 3.", "Measures 5, 7 and 12 to 13 are clean."],
    )
    links = page.locator("#report-sentences button")

    expect(links).to_have_text(["measure 3", "5", "7", "12", "13"])
    expect(page.locator("#report-sentences p")).to_have_text(
        ["2 notes were missed, in measure 3.", "Measures 5, 7 and 12 to 13 are clean."]
    )
    page.get_by_role("button", name="Show measure 12").click()
    expect(page.locator("#strip-words")).to_contain_text("Measure 12")
    expect(page.locator("#m12")).to_be_in_viewport()
    expect(page.locator('#take-form select[name="measure"]')).to_have_value("12")
    expect(page.locator("#roll-part")).to_be_hidden()  # too few measures were in rolls


def test_no_line_of_a_sentence_begins_with_a_stop(open_page: Callable[..., Page], fake: Any, whole: Report) -> None:
    page = open_page(viewport=PHONE)
    named = "Look at measures 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 2, 3, 4, 5, 6, 7, 8, 9."
    over(fake, whole, sentences=[named])
    links = page.locator("#report-sentences button")
    expect(links).to_have_count(23)
    expect(page.locator("#report-sentences p")).to_have_text(named)

    for width in range(320, 360, 2):
        page.set_viewport_size(ViewportSize(width=width, height=740))
        assert page.evaluate("""() => [...document.querySelectorAll("#report-sentences button")].every((link) => {
          const stop = document.createRange();
          stop.selectNodeContents(link.nextSibling ?? link);
          return stop.getBoundingClientRect().left >= link.getBoundingClientRect().left;
        })""")


def test_the_roll_is_shown_note_by_note(open_page: Callable[..., Page], fake: Any, whole: Report) -> None:
    page = open_page()
    over(fake, whole)
    positions: list[Mapping[str, float]] = json.loads(whole.to_json())["playing"][0]["positions"]
    late = round(positions[2]["offset_ms"])

    expect(page.locator("#roll-words")).to_have_text(f"Note 3 (2) comes latest, by {late} ms.")
    assert late in range(17, 24)
    expect(page.locator("#roll-plot circle")).to_have_count(8)
    expect(page.get_by_role("img", name=f"3: {late} ms late")).to_be_visible()
    dots = page.locator("#roll-plot circle").evaluate_all("dots => dots.map((dot) => Number(dot.getAttribute('cy')))")
    assert min(dots) == dots[2]
    page.get_by_text("In numbers").click()
    expect(page.locator("#roll-numbers tr").nth(2)).to_have_text(f"32{late} ms late")


def test_what_the_stop_cut_off_is_not_held_against_the_player(
    open_page: Callable[..., Page], fake: Any, stopped: Report
) -> None:
    page = open_page()
    over(fake, stopped)

    expect(moments(page)).to_have_text(["Measure 3, from the and of beat 1 2 notes missed"])
    expect(page.locator("#after-words")).to_have_text(
        "What lies behind the last note that was heard does not count against you."
    )
    expect(page.locator(".pencil [data-note]")).to_have_count(2)  # the rings of measure 3
    cells = page.locator("#strip .cell .unseen")
    expect(cells.nth(2)).to_contain_text("not clean, 6 of 8 notes played")
    expect(cells.nth(4)).to_have_text("Measure 5: the pass was stopped here, after 3 of 8 notes played")
    expect(cells.nth(5)).to_have_text("Measure 6: not played yet")


def test_a_page_that_is_loaded_anew_has_the_marks_of_the_last_pass(
    open_page: Callable[..., Page], fake: Any, whole: Report
) -> None:
    page = open_page()
    over(fake, whole)
    marks = page.locator(".pencil [data-note]")
    expect(marks).to_have_count(5)
    before = marks.evaluate_all("marks => marks.map((mark) => mark.dataset.note)")
    page.reload()
    fake.wait_for_kind("join", 2)
    page.locator("#sheet svg #m1e1").wait_for()
    expect(marks).to_have_count(0)
    fake.send(over_report(whole))

    expect(marks).to_have_count(5)
    assert sorted(marks.evaluate_all("marks => marks.map((mark) => mark.dataset.note)")) == sorted(before)


def test_a_pass_that_the_player_marks_has_nothing_to_look_at(
    open_page: Callable[..., Page], fake: Any, whole: Report
) -> None:
    page = open_page()
    over(fake, whole, self_marked=True, measures=[], report="", sentences=["You marked this pass as clean."])

    expect(page.locator("#report-sentences")).to_have_text("You marked this pass as clean.")
    expect(page.locator("#closer")).to_be_hidden()


def test_on_a_phone_all_of_it_fits_and_can_be_touched(open_page: Callable[..., Page], fake: Any, whole: Report) -> None:
    page = open_page(viewport=PHONE)
    over(fake, whole)
    expect(moments(page).first).to_be_hidden()
    page.get_by_text("A closer look").click()
    expect(moments(page)).to_have_count(4)

    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    for each in [*moments(page).all(), page.locator("#take-play"), *page.locator(".which label").all()]:
        box = each.bounding_box()
        assert box is not None
        assert box["height"] >= 44
        assert box["width"] >= 44
    page.locator("#roll-part summary").click()
    moments(page).first.click()
    # Of the drawing itself nothing can be decided by rules of colour: it is one picture with a name.
    assert Axe().run(page, {"exclude": [["svg"]]}, {"resultTypes": ["violations"]}).response["violations"] == []


def test_a_ladder_at_its_goal_is_said_and_goes_on_or_ends(
    open_page: Callable[..., Page], fake: Any, whole: Report
) -> None:
    page = open_page()
    fake.change(policy="steps", goal=240.0, tempo=240.0, step=4.0)
    over(fake, whole, clean=True)

    expect(page.get_by_role("heading", name="The ladder is at its goal")).to_be_visible()
    page.get_by_role("button", name="Climb on to 264").click()
    page.get_by_role("button", name="End the ladder").click()
    asked = fake.wait_for_kind("settings", 2)
    assert asked[0] == {"kind": "settings", "goal": 264.0}
    assert asked[1]["policy"] == "coach"


def test_a_sitting_whose_minutes_are_played_can_be_ended(
    open_page: Callable[..., Page], fake: Any, whole: Report
) -> None:
    page = open_page()
    fake.change(sitting=protocol.SittingState(30.0, 30.0, rest=False))
    over(fake, whole)

    expect(page.get_by_role("heading", name="The minutes are played")).to_be_visible()
    page.get_by_role("button", name="End the sitting").click()
    assert fake.wait_for_kind("sitting") == [{"kind": "sitting", "minutes": 0}]
    fake.begin(2)
    expect(page.locator("#done")).to_be_hidden()
