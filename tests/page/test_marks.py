"""Pencil marks and the moving shade on a real sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, ViewportSize, expect

from coach.service import protocol


@pytest.fixture(scope="module")
def paper(
    browser: Browser, make_address: Callable[[], Any], make_service: Callable[[], Any]
) -> Iterator[tuple[Page, Any]]:
    """One page and its service for all marks: each test begins a pass of its own, on clean paper."""
    service = make_service()
    service.serve_at(make_address())
    context = browser.new_context(viewport=ViewportSize(width=1280, height=800), reduced_motion="reduce")
    page = context.new_page()
    page.goto(service.url)
    page.locator("#sheet svg #m1e1").wait_for()
    yield page, service
    context.close()


@pytest.fixture
def page(paper: tuple[Page, Any]) -> Page:
    """A page on which a pass has begun that stands still: nobody sounds it."""
    page, service = paper
    number = service.state.number + 1
    service.begin(number, sounds=False)
    expect(page.locator("#sheet .mark")).to_have_count(0)
    return page


@pytest.fixture
def tell(paper: tuple[Page, Any], page: Page) -> Callable[..., None]:
    """Gives a verdict of the pass that is played."""
    service = paper[1]

    def telling(id_: str | None, kind: str, **fields: Any) -> None:
        fixed = {"measure": 2, "offset_ms": None, "pitch": None, "string": None}
        service.send(protocol.VerdictMark(number=service.state.number, id=id_, verdict=kind, **(fixed | fields)))

    return telling


def box(page: Page, selector: str) -> dict[str, float]:
    """The box of an element on the screen."""
    found: dict[str, float] = page.locator(selector).first.evaluate(
        "(one) => { const {left, right, top, bottom} = one.getBoundingClientRect();"
        " return {left, right, top, bottom}; }"
    )
    return found


def middle(of: dict[str, float]) -> tuple[float, float]:
    """The middle of a box."""
    return (of["left"] + of["right"]) / 2, (of["top"] + of["bottom"]) / 2


def test_early_is_a_tick_before_the_number(page: Page, tell: Callable[..., None]) -> None:
    tell("m2e3", "early", offset_ms=-60.0)

    mark, number = box(page, "[data-note=m2e3] path"), box(page, "#m2e3 text")
    assert mark["right"] <= middle(number)[0]
    assert number["top"] < middle(mark)[1] < number["bottom"]


def test_late_is_a_tick_after_the_number(page: Page, tell: Callable[..., None]) -> None:
    tell("m2e3", "late", offset_ms=60.0)

    mark, number = box(page, "[data-note=m2e3] path"), box(page, "#m2e3 text")
    assert mark["left"] >= middle(number)[0]
    assert number["top"] < middle(mark)[1] < number["bottom"]


def test_missed_is_a_ring_round_the_number(page: Page, tell: Callable[..., None]) -> None:
    tell("m2e3", "missed")

    mark, number = box(page, "[data-note=m2e3] path"), box(page, "#m2e3 text")
    assert mark["left"] < number["left"]
    assert mark["right"] > number["right"]
    assert mark["top"] < middle(number)[1] < mark["bottom"]


def test_a_wrong_note_has_the_played_fret_small_beside_the_number(page: Page, tell: Callable[..., None]) -> None:
    tell("m2e1", "wrong note", offset_ms=1.0, pitch=58, string=3, fret=3)

    text = page.locator("[data-note=m2e1] text")
    expect(text).to_have_text("3")
    mark, number = box(page, "[data-note=m2e1] text"), box(page, "#m2e1 text")
    assert mark["left"] >= middle(number)[0]
    assert mark["bottom"] - mark["top"] < number["bottom"] - number["top"]


def test_a_note_on_another_string_has_its_fret_on_the_line_where_it_was_played(
    page: Page, tell: Callable[..., None]
) -> None:
    # m2e1 is the open third string; the same pitch lies at fret 5 of the fourth, whose open note is m2e5.
    tell("m2e1", "other string", offset_ms=1.0, pitch=55, string=4, fret=5)

    expect(page.locator("[data-note=m2e1] text")).to_have_text("5")
    played = middle(box(page, "[data-note=m2e1] text"))[1]
    third, fourth = middle(box(page, "#m2e1 text"))[1], middle(box(page, "#m2e5 text"))[1]
    assert third < played < fourth + 1
    assert abs(played - fourth) < abs(played - third)


def test_on_time_leaves_the_paper_as_it_is(page: Page, tell: Callable[..., None]) -> None:
    tell("m2e1", "on time", offset_ms=1.0)
    tell("m2e2", "missed")

    page.locator("[data-note=m2e2]").wait_for()
    expect(page.locator(".mark")).to_have_count(8 + 1)  # those of the legend, and the one of the sheet
    expect(page.locator("#sheet .mark")).to_have_count(1)


@pytest.mark.parametrize(("fault", "shape"), [(True, "full"), (False, "hollow")])
def test_an_extra_note_is_a_dot_above_the_staff_at_its_place(
    page: Page, tell: Callable[..., None], fault: bool, shape: str
) -> None:
    # 5/4 lies half-way between the third and the fourth slot.
    tell(None, "extra", at="5/4", pitch=60, fault=fault)

    page.locator(f"#sheet .mark .{shape}").wait_for()
    x, y = middle(box(page, "#sheet .mark ellipse"))
    third, fourth = middle(box(page, "#m2e3 text"))[0], middle(box(page, "#m2e4 text"))[0]
    assert x == pytest.approx((third + fourth) / 2, abs=2)
    assert y < box(page, "#m2 .tab > path")["top"]


def test_a_final_verdict_takes_the_place_of_the_first_word(
    page: Page, paper: tuple[Page, Any], tell: Callable[..., None]
) -> None:
    number = paper[1].state.number
    paper[1].send(protocol.HeardMark(number, "pad", 1, 67, 5, "m2e3", "late", 40.0))
    page.locator("[data-note=m2e3].faint").wait_for()

    tell("m2e3", "early", offset_ms=-31.0)

    expect(page.locator("[data-note=m2e3]")).to_have_count(1)
    expect(page.locator("[data-note=m2e3]")).to_have_attribute("data-verdict", "early")
    expect(page.locator("[data-note=m2e3].faint")).to_have_count(0)


def test_an_amended_verdict_rubs_the_mark_out(page: Page, paper: tuple[Page, Any], tell: Callable[..., None]) -> None:
    tell("m2e3", "missed")
    page.locator("[data-note=m2e3]").wait_for()

    paper[1].send(protocol.Amend(paper[1].state.number, 2, "m2e3", "on time", 3.0, "You were a slot behind."))

    expect(page.locator("[data-note=m2e3]")).to_have_count(0)


def test_a_new_pass_begins_on_clean_paper(page: Page, paper: tuple[Page, Any], tell: Callable[..., None]) -> None:
    tell("m2e3", "missed")
    page.locator("[data-note=m2e3]").wait_for()

    paper[1].begin(paper[1].state.number + 1, sounds=False)

    expect(page.locator("#sheet .mark")).to_have_count(0)


def test_marks_differ_by_shape_not_by_colour(page: Page, tell: Callable[..., None]) -> None:
    for index, kind in enumerate(["early", "late", "missed"], start=1):
        tell(f"m2e{index}", kind, offset_ms=50.0)
    page.locator("[data-note=m2e3]").wait_for()

    strokes = page.locator("#sheet .mark path").evaluate_all("(all) => all.map((one) => getComputedStyle(one).stroke)")

    assert len(strokes) == 3
    assert len(set(strokes)) == 1


def test_the_count_in_is_counted_and_the_sounding_measure_shaded_on_sheet_and_strip(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.begin(1)
    page.wait_for_function("() => document.querySelector('#place').textContent === 'Count-in: 4'")
    page.locator("#m1.sounding").wait_for()
    expect(page.locator("#place")).to_have_text("Measure 1 of 16")
    page.locator("#m2.sounding").wait_for()

    expect(page.locator("#sheet .sounding")).to_have_count(1)
    expect(page.locator("#strip .sounding")).to_have_count(1)
    fake.change(state="between passes")
    expect(page.locator("#sheet .sounding")).to_have_count(0)
    expect(page.locator("#strip .sounding")).to_have_count(0)


def test_the_legend_shows_every_mark_with_its_words(page: Page) -> None:
    page.get_by_text("What the pencil marks mean").click()

    expect(page.locator("#legend li")).to_have_count(8)
    expect(page.locator("#legend")).to_contain_text("early: a tick before the number")
