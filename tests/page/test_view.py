"""How the sheet is shown: its sizes, what can be hidden, the side of the margin."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, ViewportSize, expect

SCREEN = ViewportSize(width=1920, height=1080)
UPRIGHT = ViewportSize(width=1080, height=1920)
LEAST_FAR_MM = 9.3
"""16 minutes of arc at two metres (ISO 9241-303, from memory): 2000 mm times the tangent."""
MM = 25.4 / 96
"""A pixel, at 96 to the inch."""
FIGURE = 0.676
"""Of the size of letters, how high a figure is (of the font's digits, measured in its table of glyphs)."""


def choose(page: Page, name: str, value: str) -> None:
    """Choose one of the radio buttons of the slip."""
    if page.locator("#view").get_attribute("open") is None:
        page.locator("#view summary").click()
    page.locator(f"#view [name={name}][value={value}]").check()


def measures_in_a_system(page: Page) -> int:
    """Of the first one."""
    return page.locator("#sheet .system").first.locator(".measure").count()


def figure_mm(page: Page) -> float:
    """How high a number of the tab is on a screen of 96 pixels to the inch."""
    found: float = page.locator("#m2e1 text").evaluate(
        "(one) => one.getScreenCTM().a * Number.parseFloat(one.getAttribute('font-size'))"
    )
    return found * FIGURE * MM


def sized(page: Page, size: str, measures: int) -> None:
    """Choose a size and wait until the sheet has so many measures to a system."""
    choose(page, "size", size)
    page.wait_for_function(
        "(count) => document.querySelector('#sheet .system')?.querySelectorAll('.measure').length === count",
        arg=measures,
    )


@pytest.mark.parametrize(("window", "measures"), [(SCREEN, 2), (UPRIGHT, 1)])
def test_from_two_metres_the_numbers_can_be_read_and_everything_else_gives_way(
    open_page: Callable[..., Page], fake: Any, window: ViewportSize, measures: int
) -> None:
    page = open_page(viewport=window)

    sized(page, "far", measures)
    sheet, margin, foot = (page.locator(part).bounding_box() for part in ("#sheet", "#margin", "#foot"))
    assert sheet is not None
    assert margin is not None
    assert foot is not None
    assert sheet["width"] > 0.95 * window["width"]
    assert margin["y"] > sheet["y"] + sheet["height"]
    assert foot["height"] < 60

    fake.begin(1, sounds=False)  # two systems are to be in view then
    page.locator("body.playing").wait_for()
    assert figure_mm(page) >= LEAST_FAR_MM


def test_from_two_metres_two_systems_are_in_view_while_a_pass_is_played(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(viewport=SCREEN, reduced_motion="reduce")
    sized(page, "far", 2)
    fake.begin(1, sounds=False)

    expect(page.locator("#sheet .system:not(.off)")).to_have_count(2)
    foot = page.evaluate("document.querySelector('#foot').getBoundingClientRect().top")
    for number in (1, 3):
        box = page.locator(f"#sheet .system:has(#m{number})").bounding_box()
        assert box is not None
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= foot


def test_in_the_tab_alone_chords_and_numbers_of_measures_stand_right_over_it(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    page.locator("#view summary").click()
    whole = page.locator("#sheet svg").bounding_box()
    page.locator("#view [name=tune]").uncheck()

    expect(page.locator("#m1 .staff:not(.tab)")).to_be_hidden()
    tab, chord = page.locator("#m1 .tab > path").first.bounding_box(), page.locator("#m1c1").bounding_box()
    alone = page.locator("#sheet svg").bounding_box()
    assert tab is not None
    assert chord is not None
    assert whole is not None
    assert alone is not None
    assert tab["y"] - 60 < chord["y"] + chord["height"] < tab["y"]
    assert alone["height"] < 0.75 * whole["height"]  # the room is given to the tab


def test_parts_of_the_sheet_are_hidden_one_by_one_and_stay_so(open_page: Callable[..., Page]) -> None:
    page = open_page()
    parts = {"words": ".verse", "chords": "#m1c1", "fingers": ".rh", "tune": "#m1 .staff:not(.tab)"}
    page.locator("#view summary").click()
    for part in ("words", "chords", "fingers"):
        page.locator(f"#view [name={part}]").uncheck()
        for other, selector in parts.items():
            seen = page.locator(f"#sheet {selector}").first
            if other == part:
                expect(seen).to_be_hidden()
            else:
                expect(seen).to_be_visible()
        page.locator(f"#view [name={part}]").check()

    page.locator("#view [name=chords]").uncheck()
    page.reload()
    page.locator("#sheet svg #m1e1").wait_for()
    expect(page.locator("#m1c1")).to_be_hidden()
    expect(page.locator("#sheet .rh").first).to_be_visible()


def test_a_larger_sheet_has_fewer_measures_to_a_system_and_keeps_its_marks(
    open_page: Callable[..., Page], fake: Any
) -> None:
    from coach.service import protocol

    page = open_page()
    fake.begin(1, sounds=False)
    fake.send(
        protocol.VerdictMark(number=1, id="m2e3", measure=2, verdict="missed", offset_ms=None, pitch=None, string=None)
    )
    page.locator("#sheet [data-note=m2e3]").wait_for()
    before = figure_mm(page)

    sized(page, "large", 2)

    assert figure_mm(page) > 1.4 * before
    expect(page.locator("#sheet [data-note=m2e3]")).to_have_count(1)


def test_for_the_left_hand_the_margin_lies_on_the_left_and_the_pad_is_mirrored(open_page: Callable[..., Page]) -> None:
    page = open_page()
    choose(page, "side", "left")

    for _ in range(2):
        margin, paper = page.locator("#margin").bounding_box(), page.locator(".paper").bounding_box()
        assert margin is not None
        assert paper is not None
        assert margin["x"] + margin["width"] <= paper["x"]
        expect(page.locator("#board")).to_have_class("board mirrored")
        page.reload()
        page.locator("#sheet svg #m1e1").wait_for()
