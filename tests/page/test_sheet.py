"""The sheet while a pass is played: what sounds, what is ahead, and that nothing moves that is being read."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from coach.service import protocol

TEMPO = 1.0
"""So slow that a pass stands still as long as a test takes."""
SLOT = 30.0
"""Seconds of an eighth in it."""
LOW = ViewportSize(width=1280, height=640)
"""A window in which two of the four systems fit."""


def begin_in(page: Page, fake: Any, number: int, measure: float, **fields: Any) -> None:
    """Begin a pass that is in the midst of a measure (3.5: of measure 3), or tell once more where it is."""
    now = page.evaluate("performance.now() / 1000")
    fake.begin(number, sounds=False, tempo=TEMPO, origin=now - 8 * SLOT * (measure - 1), **fields)


def tops(page: Page) -> dict[str, float]:
    """Where the systems that are shown stand in the window: by the first measure of each."""
    found: dict[str, float] = page.evaluate(
        "() => Object.fromEntries([...document.querySelectorAll('#sheet .system:not(.off)')].map((one) =>"
        " [one.querySelector('.measure').id,"
        " Math.round(one.querySelector('.tab > path').getBoundingClientRect().top)]))"
    )
    return found


def x_of(page: Page, selector: str) -> float:
    """The middle of an element on the screen."""
    found: float = page.locator(selector).first.evaluate(
        "(one) => { const {left, right} = one.getBoundingClientRect(); return (left + right) / 2; }"
    )
    return found


def test_the_caret_stands_at_the_slot_that_sounds(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    for slot in (2, 7):
        begin_in(page, fake, 1, 1 + (slot + 0.2) / 8)
        page.wait_for_function(
            "(x) => Math.abs((document.querySelector('#m1 .caret')?.getBoundingClientRect().x ?? 0) - x) < 20",
            arg=x_of(page, f"#m1e{slot + 1} text"),
        )
        assert x_of(page, "#sheet .caret rect") == pytest.approx(x_of(page, f"#m1e{slot + 1} text"), abs=1.5)
    expect(page.locator("#sheet .caret")).to_have_count(1)


def test_the_caret_goes_with_the_bounce(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.change(bounce=67)
    # The second slot of a pair begins after 67 percent of it, not after 50.
    begin_in(page, fake, 1, 1 + 2 * 0.6 / 8)

    page.locator("#m1 .caret").wait_for()
    assert x_of(page, "#sheet .caret rect") == pytest.approx(x_of(page, "#m1e1 text"), abs=1.5)


def test_with_little_motion_the_caret_goes_by_beats(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(reduced_motion="reduce")
    begin_in(page, fake, 1, 1 + 3.2 / 8)

    page.locator("#m1 .caret").wait_for()
    assert x_of(page, "#sheet .caret rect") == pytest.approx(x_of(page, "#m1e3 text"), abs=1.5)


def test_the_measure_ahead_is_marked_and_there_is_none_behind_the_last(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    begin_in(page, fake, 1, 15.3)
    page.locator("#m15.sounding").wait_for()
    expect(page.locator("#sheet .ahead")).to_have_attribute("id", "m16")

    begin_in(page, fake, 1, 16.3)
    page.locator("#m16.sounding").wait_for()
    expect(page.locator("#sheet .ahead")).to_have_count(0)


def test_the_system_that_sounds_and_the_next_one_are_in_view(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport=LOW, reduced_motion="reduce")
    assert page.evaluate("scrollY") == 0

    for number, measure in ((1, 5), (2, 9)):
        begin_in(page, fake, number, measure + 1.5)
        page.locator(f"#m{measure + 1}.sounding").wait_for()
        foot = page.evaluate("document.querySelector('#foot').getBoundingClientRect().top")
        for system in (f"#m{measure}", f"#m{measure + 4}"):
            box = page.locator(f"#sheet .system:has({system})").bounding_box()
            assert box is not None
            assert box["y"] >= 0
            assert box["y"] + box["height"] <= foot + 1


def test_no_system_moves_from_when_it_is_ahead_until_it_was_played(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport=LOW, reduced_motion="reduce")
    begin_in(page, fake, 1, 1.1)
    page.locator("#m1.sounding").wait_for()
    first = tops(page)
    scrolled = page.evaluate("scrollY")
    assert list(first) == ["m1", "m5"]

    # Measure 5 sounds: the system of measure 1 is still there, in its place, for the eye that is late.
    begin_in(page, fake, 1, 5.1)
    page.locator("#m5.sounding").wait_for()
    assert tops(page) == first
    # A quarter of the system has sounded: what comes next stands where measure 1 was.
    begin_in(page, fake, 1, 6.1)
    page.locator("#m6.sounding").wait_for()
    assert tops(page) == {"m5": first["m5"], "m9": first["m1"]}

    begin_in(page, fake, 1, 10.1)
    page.locator("#m10.sounding").wait_for()
    assert tops(page) == {"m9": first["m1"], "m13": first["m5"]}
    # Behind the last system there is nothing to turn to.
    begin_in(page, fake, 1, 14.1)
    page.locator("#m14.sounding").wait_for()
    assert tops(page) == {"m9": first["m1"], "m13": first["m5"]}
    assert page.evaluate("scrollY") == scrolled


def test_the_page_is_not_scrolled_while_a_pass_is_played_wherever_the_player_scrolled(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(viewport=LOW, reduced_motion="reduce")
    begin_in(page, fake, 1, 3.1)
    page.locator("#m3.sounding").wait_for()
    page.evaluate("scrollTo(0, 0)")

    begin_in(page, fake, 1, 6.1)
    page.locator("#m6.sounding").wait_for()
    begin_in(page, fake, 1, 9.1)
    page.locator("#m9.sounding").wait_for()
    assert page.evaluate("scrollY") == 0


def test_after_a_pass_all_systems_are_there_in_their_order(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport=LOW, reduced_motion="reduce")
    begin_in(page, fake, 1, 10.5)
    page.locator("#m10.sounding").wait_for()
    assert len(tops(page)) == 2

    fake.change(state="between passes")

    expect(page.locator("#sheet .system.off")).to_have_count(0)
    found = tops(page)
    assert list(found) == ["m1", "m5", "m9", "m13"]
    assert sorted(found.values()) == list(found.values())


def test_a_part_that_fits_leaves_the_sheet_as_it_is(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport=LOW, reduced_motion="reduce")
    fake.change(first=6, last=10)
    positions = [(number, 8 * SLOT * (number - 6)) for number in range(6, 11)]
    begin_in(page, fake, 1, 1.5, first=6, last=10, positions=positions)

    page.locator("#m6.sounding").wait_for()
    expect(page.locator("#sheet .system.off")).to_have_count(0)
    box = page.locator("#sheet .system:has(#m9)").bounding_box()
    assert box is not None
    assert box["y"] >= 0
    assert box["y"] + box["height"] <= page.evaluate("document.querySelector('#foot').getBoundingClientRect().top")


def test_in_free_time_a_player_who_goes_back_is_shown_where_they_are(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport=LOW, reduced_motion="reduce")
    fake.begin(1, sounds=False, free=True)
    fake.send(protocol.Place(1, 10, 84.0))
    page.locator("#m10.sounding").wait_for()
    assert "m9" in tops(page)

    fake.send(protocol.Place(1, 2, 84.0))

    page.locator("#m2.sounding").wait_for()
    assert "m1" in tops(page)
    expect(page.locator("#sheet .caret")).to_have_count(0)


def test_the_measures_that_are_practised_stand_in_brackets(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    expect(page.locator("#sheet .loop")).to_have_count(0)

    fake.change(first=3, last=6)

    expect(page.locator("#sheet .loop")).to_have_count(2)
    assert x_of(page, "#m3 .loop") < x_of(page, "#m3e1 text")
    assert x_of(page, "#m6 .loop") > x_of(page, "#m6e8 text")
    expect(page.locator("#sheet .outside")).to_have_count(12)
    fake.change(first=1, last=16)
    expect(page.locator("#sheet .loop")).to_have_count(0)
    expect(page.locator("#sheet .outside")).to_have_count(0)


def test_a_sheet_that_could_not_be_fetched_is_fetched_at_the_next_word_of_the_service(
    open_page: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    page = open_page()
    page.route("**/sheets/*", lambda route: route.fulfill(status=503, json={"text": "the sheet is being engraved."}))
    page.set_viewport_size(ViewportSize(width=390, height=740))  # which wants another layout
    expect(page.locator("#sheet")).to_have_text("The sheet cannot be shown: the sheet is being engraved.")
    page.unroute("**/sheets/*")

    fake.change(tempo=90.0)

    page.locator("#sheet svg #m1e1").wait_for()
    # The browser notes a refused request by itself.
    assert [text for text in complaints if "503" not in text] == []
    complaints.clear()
