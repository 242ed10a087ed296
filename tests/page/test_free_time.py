"""A pass in free time on the page: how it is chosen, how the page goes along, and what it tells at the end."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect

from coach.service import protocol

TEMPOS = (52.4, 63.0, None, 80.0)


def begin(fake: Any, page: Page, number: int = 1) -> None:
    """Begin a pass as the service does."""
    fake.change(free_time=True)
    fake.begin(number, sounds=False, free=True, lead=0.0, cues=[])
    fake.change(state="playing")
    expect(page.locator("#toggle .label")).to_have_text("Stop")


def heard(fake: Any, seq: int, id_: str | None, mark: str = "on time", **fields: Any) -> None:
    """A note is heard as one of the solo's, or as none of them."""
    fixed: dict[str, Any] = {"pitch": 60, "string": 3, "offset_ms": None, "seat": "pad"}
    fake.send(protocol.HeardMark(number=fake.state.number, seq=seq, id=id_, mark=mark, **(fixed | fields)))


def end(fake: Any, **fields: Any) -> None:
    """End the pass with a report."""
    measures: list[dict[str, Any]] = [
        {
            "number": number,
            "pass": 1,
            "expected": 8,
            "played": 8,
            "missed": 0,
            "wrong": 0,
            "extra": 0,
            "off_time": 0,
            "mean_offset_ms": None,
            "spread_ms": 11.0,
            "melody_heard": 1.0,
            "clean": True,
            "tempo": tempo,
        }
        for number, tempo in enumerate(TEMPOS, start=1)
    ]
    fixed: dict[str, Any] = {
        "whole": True,
        "clean": True,
        "self_marked": False,
        "measures": measures,
        "summary": {"played_share": 1.0, "mean_offset_ms": None, "tempo": 63.0},
        "sentences": ["Every measure is clean.", "Measure 2: stopped and went on."],
        "rung": None,
        "take": "takes/home/1.mid",
        "report": "takes/home/1.json",
        "free": True,
    }
    fake.change(state="paused")
    fake.send(protocol.PracticeReport(number=fake.state.number, **(fixed | fields)))


def test_it_is_chosen_in_plain_words_and_tempo_and_goal_go(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.get_by_label("Without a click: it follows you").check()

    assert fake.wait_for_kind("settings") == [{"kind": "settings", "free_time": True}]
    fake.change(free_time=True)
    expect(page.get_by_label("Goal")).to_be_hidden()
    expect(page.locator("#free-words")).to_contain_text("the pass ends with Stop")
    expect(page.locator(".tempo")).to_have_text("in your own time")
    page.get_by_label("Without a click: it follows you").uncheck()
    assert fake.wait_for_kind("settings", 2)[1] == {"kind": "settings", "free_time": False}
    fake.change(free_time=False)
    expect(page.get_by_label("Goal")).to_be_visible()
    expect(page.locator("#free-words")).to_be_hidden()
    expect(page.locator(".tempo")).to_have_text("84 quarters a minute42 halves")


def test_the_page_goes_along_with_the_player_and_not_with_the_clock(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    begin(fake, page)

    expect(page.locator("#place")).to_have_text("Play when you like")
    expect(page.locator(".tempo")).to_have_text("in your own time")
    expect(page.locator(".measure.sounding")).to_have_count(0)
    fake.send(protocol.Place(1, 3, 71.6))
    expect(page.locator("#place")).to_have_text("Measure 3 of 16")
    expect(page.locator("#tempo-now")).to_have_text("72")
    expect(page.locator("#m3")).to_have_class("measure sounding")
    expect(page.locator("#strip .cell").nth(2)).to_have_class("cell sounding")
    # Back to a measure that is begun again.
    fake.send(protocol.Place(1, 2, 60.0))
    expect(page.locator("#m2")).to_have_class("measure sounding")
    expect(page.locator(".measure.sounding")).to_have_count(1)
    end(fake)
    expect(page.locator(".measure.sounding")).to_have_count(0)


def test_a_note_that_is_seen_otherwise_leaves_no_mark_where_it_was_seen_first(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    begin(fake, page)
    heard(fake, 1, "m1e1", "wrong note")
    expect(page.locator("[data-note=m1e1].faint")).to_have_count(1)

    heard(fake, 1, "m2e1", "wrong note")
    expect(page.locator("[data-note=m2e1]")).to_have_count(1)
    expect(page.locator("[data-note=m1e1]")).to_have_count(0)
    heard(fake, 1, None, "extra")
    expect(page.locator("#sheet .mark")).to_have_count(0)


def test_what_was_never_made_final_is_rubbed_out_at_the_end(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    begin(fake, page)
    heard(fake, 1, "m1e1", "wrong note")
    heard(fake, 2, "m5e1", "wrong note")
    expect(page.locator("#sheet .mark")).to_have_count(2)
    fake.send(protocol.VerdictMark(1, 1, "m1e1", "wrong note", None, 60, 3))
    end(fake)

    expect(page.locator("#report-head")).to_be_visible()
    expect(page.locator("#sheet .mark")).to_have_count(1)
    expect(page.locator("[data-note=m1e1]:not(.faint)")).to_have_count(1)


def test_the_report_tells_the_tempo_of_each_measure(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    begin(fake, page)
    end(fake)

    expect(page.locator("#report-head")).to_have_text("Pass 1, without a click: clean")
    expect(page.locator("#tempos li .unseen")).to_have_text(
        ["Measure 1: 52", "Measure 2: 63", "Measure 3: too little was heard", "Measure 4: 80"]
    )
    widths = [page.locator(".tempo-line").nth(k).evaluate("(line) => line.offsetWidth") for k in range(4)]
    assert widths[2] == 0 < widths[0] < widths[1] < widths[3]
    expect(page.locator("#strip .cell").first).to_have_accessible_name(
        "Measure 1: clean, 8 of 8 notes played at about 52 quarters a minute"
    )
    expect(page.locator("#toggle .label")).to_have_text("Start")


def test_a_report_on_a_pass_to_a_click_has_no_tempos(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    begin(fake, page)
    end(fake)
    expect(page.locator("#report-tempos")).to_be_visible()
    fake.change(free_time=False)
    fake.begin(2, sounds=False)
    end(fake, free=False)

    expect(page.locator("#report-head")).to_have_text("Pass 2: clean")
    expect(page.locator("#report-tempos")).to_be_hidden()
    expect(page.locator("#tempos li")).to_have_count(0)


def test_one_that_is_stopped_says_so(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    begin(fake, page)
    end(fake, whole=False, clean=False)

    expect(page.locator("#report-head")).to_have_text("Pass 1, without a click: not played to its end")
