"""Pencil marks and the moving shade on a real sheet."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from coach.service import protocol


def verdict(id_: str | None, kind: str, **fields: Any) -> protocol.VerdictMark:
    """A verdict of the first pass."""
    fixed = {"number": 1, "measure": 2, "offset_ms": None, "pitch": None, "string": None}
    return protocol.VerdictMark(id=id_, verdict=kind, **(fixed | fields))


@pytest.fixture
def page(open_page: Callable[..., Page], fake: Any) -> Page:
    """A page on which the first pass has begun."""
    page = open_page(reduced_motion="reduce")
    fake.begin(1)
    expect(page.locator("#toggle .label")).to_have_text("Stop")
    return page


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


def test_early_is_a_tick_before_the_number(page: Page, fake: Any) -> None:
    fake.send(verdict("m2e3", "early", offset_ms=-60.0))

    mark, number = box(page, "[data-note=m2e3] path"), box(page, "#m2e3 text")
    assert mark["right"] <= middle(number)[0]
    assert number["top"] < middle(mark)[1] < number["bottom"]


def test_late_is_a_tick_after_the_number(page: Page, fake: Any) -> None:
    fake.send(verdict("m2e3", "late", offset_ms=60.0))

    mark, number = box(page, "[data-note=m2e3] path"), box(page, "#m2e3 text")
    assert mark["left"] >= middle(number)[0]
    assert number["top"] < middle(mark)[1] < number["bottom"]


def test_missed_is_a_ring_round_the_number(page: Page, fake: Any) -> None:
    fake.send(verdict("m2e3", "missed"))

    mark, number = box(page, "[data-note=m2e3] path"), box(page, "#m2e3 text")
    assert mark["left"] < number["left"]
    assert mark["right"] > number["right"]
    assert mark["top"] < middle(number)[1] < mark["bottom"]


def test_a_wrong_note_has_the_played_fret_small_beside_the_number(page: Page, fake: Any) -> None:
    fake.send(verdict("m2e1", "wrong note", offset_ms=1.0, pitch=58, string=3, fret=3))

    text = page.locator("[data-note=m2e1] text")
    expect(text).to_have_text("3")
    mark, number = box(page, "[data-note=m2e1] text"), box(page, "#m2e1 text")
    assert mark["left"] >= middle(number)[0]
    assert mark["bottom"] - mark["top"] < number["bottom"] - number["top"]


def test_a_note_on_another_string_has_its_fret_on_the_line_where_it_was_played(page: Page, fake: Any) -> None:
    # m2e1 is the open third string; the same pitch lies at fret 5 of the fourth, whose open note is m2e5.
    fake.send(verdict("m2e1", "other string", offset_ms=1.0, pitch=55, string=4, fret=5))

    expect(page.locator("[data-note=m2e1] text")).to_have_text("5")
    played = middle(box(page, "[data-note=m2e1] text"))[1]
    third, fourth = middle(box(page, "#m2e1 text"))[1], middle(box(page, "#m2e5 text"))[1]
    assert third < played < fourth + 1
    assert abs(played - fourth) < abs(played - third)


def test_on_time_leaves_the_paper_as_it_is(page: Page, fake: Any) -> None:
    fake.send(verdict("m2e1", "on time", offset_ms=1.0))
    fake.send(verdict("m2e2", "missed"))

    page.locator("[data-note=m2e2]").wait_for()
    expect(page.locator(".mark")).to_have_count(8 + 1)  # those of the legend, and the one of the sheet
    expect(page.locator("#sheet .mark")).to_have_count(1)


@pytest.mark.parametrize(("fault", "shape"), [(True, "full"), (False, "hollow")])
def test_an_extra_note_is_a_dot_above_the_staff_at_its_place(page: Page, fake: Any, fault: bool, shape: str) -> None:
    # 5/4 lies half-way between the third and the fourth slot.
    fake.send(verdict(None, "extra", at="5/4", pitch=60, fault=fault))

    page.locator(f"#sheet .mark .{shape}").wait_for()
    x, y = middle(box(page, "#sheet .mark ellipse"))
    third, fourth = middle(box(page, "#m2e3 text"))[0], middle(box(page, "#m2e4 text"))[0]
    assert x == pytest.approx((third + fourth) / 2, abs=2)
    assert y < box(page, "#m2 .tab > path")["top"]


def test_a_final_verdict_takes_the_place_of_the_first_word(page: Page, fake: Any) -> None:
    fake.send(protocol.HeardMark(1, "pad", 1, 67, 5, "m2e3", "late", 40.0))
    page.locator("[data-note=m2e3].faint").wait_for()

    fake.send(verdict("m2e3", "early", offset_ms=-31.0))

    expect(page.locator("[data-note=m2e3]")).to_have_count(1)
    expect(page.locator("[data-note=m2e3]")).to_have_attribute("data-verdict", "early")
    expect(page.locator("[data-note=m2e3].faint")).to_have_count(0)


def test_an_amended_verdict_rubs_the_mark_out(page: Page, fake: Any) -> None:
    fake.send(verdict("m2e3", "missed"))
    page.locator("[data-note=m2e3]").wait_for()

    fake.send(protocol.Amend(1, 2, "m2e3", "on time", 3.0, "You were a slot behind."))

    expect(page.locator("[data-note=m2e3]")).to_have_count(0)


def test_a_new_pass_begins_on_clean_paper(page: Page, fake: Any) -> None:
    fake.send(verdict("m2e3", "missed"))
    page.locator("[data-note=m2e3]").wait_for()

    fake.begin(2)

    expect(page.locator("#sheet .mark")).to_have_count(0)


def test_marks_differ_by_shape_not_by_colour(page: Page, fake: Any) -> None:
    for index, kind in enumerate(["early", "late", "missed"], start=1):
        fake.send(verdict(f"m2e{index}", kind, offset_ms=50.0))
    page.locator("[data-note=m2e3]").wait_for()

    strokes = page.locator("#sheet .mark path").evaluate_all("(all) => all.map((one) => getComputedStyle(one).stroke)")

    assert len(strokes) == 3
    assert len(set(strokes)) == 1


def test_the_sounding_measure_is_shaded_on_sheet_and_strip(page: Page, fake: Any) -> None:
    page.locator("#m1.sounding").wait_for()
    page.locator("#m2.sounding").wait_for()

    expect(page.locator("#sheet .sounding")).to_have_count(1)
    expect(page.locator("#strip .sounding")).to_have_count(1)
    fake.change(state="between passes")
    expect(page.locator("#sheet .sounding")).to_have_count(0)
    expect(page.locator("#strip .sounding")).to_have_count(0)


def test_the_count_in_is_counted(page: Page, fake: Any) -> None:
    page.wait_for_function("() => document.querySelector('#place').textContent === 'Count-in: 4'")
    page.wait_for_function("() => document.querySelector('#place').textContent === 'Measure 1 of 16'")


def test_the_sheet_follows_by_systems_and_only_while_playing(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport={"width": 1280, "height": 640}, reduced_motion="reduce")
    assert page.evaluate("scrollY") == 0

    for number, measure in ((1, 5), (2, 9)):
        now = page.evaluate("performance.now() / 1000")
        fake.begin(number, sounds=False, origin=now - (measure - 1.5))  # a measure lasts a second
        page.locator(f"#m{measure}.sounding").wait_for()
        seen = page.evaluate(
            "(id) => { const systems = [...document.querySelectorAll('#sheet .system')];"
            " const at = systems.findIndex((one) => one.querySelector(id));"
            " const foot = document.querySelector('#foot').getBoundingClientRect().top;"
            " const [here, next] = [systems[at], systems[at + 1]].map((one) => one.getBoundingClientRect());"
            " return [here.top, next.bottom, foot]; }",
            f"#m{measure}",
        )
        assert seen[0] >= 0
        assert seen[1] <= seen[2] + 1


def test_the_legend_shows_every_mark_with_its_words(page: Page) -> None:
    page.get_by_text("What the pencil marks mean").click()

    expect(page.locator("#legend li")).to_have_count(8)
    expect(page.locator("#legend")).to_contain_text("early: a tick before the number")
