"""The page for everyone: WCAG 2.2 AA by the rules of axe-core (outside check), keyboard order, focus that is seen, what
is spoken, reduced motion, windows from 320 pixels to 4K."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from coach.service import protocol

# Of the drawing itself nothing can be decided by rules of colour: it is one picture with a name.
PICTURES = {"exclude": [["svg"]]}
# What passes need not be described node by node: that takes longer than the rules.
TOLD = {"resultTypes": ["violations"]}


def violations(page: Page) -> list[str]:
    """What axe-core finds: the rule and the elements that break it."""
    found = Axe().run(page, context=PICTURES, options=TOLD).response["violations"]
    return [f"{one['id']}: {[node['html'][:160] for node in one['nodes']]}" for one in found]


def report(number: int, **fields: Any) -> protocol.PracticeReport:
    """The report of a pass in which some notes went wrong."""
    scores = [
        {"number": one, "pass": number, "expected": 8, "played": 8 - one % 3, "missed": one % 3, "wrong": 0, "extra": 0}
        | {"off_time": 0, "mean_offset_ms": 4.0, "spread_ms": 12.0, "melody_heard": 1.0, "clean": one % 3 == 0}
        for one in range(1, 17)
    ]
    rung = protocol.Rung("intermediate", 88.0, 1, 16, "It was clean, so the tempo goes up.", offer_tier="advanced")
    fixed: dict[str, Any] = {"number": number, "whole": True, "clean": False, "self_marked": False, "rung": rung}
    fixed |= {"measures": scores, "summary": {"played_share": 0.9, "mean_offset_ms": 4.0, "spread_ms": 12.0}}
    fixed |= {"sentences": ["Measure 4 was late.", "The rest was even."], "take": "", "report": ""}
    fixed |= {"rest": "Half an hour is over: rest a few minutes."}
    return protocol.PracticeReport(**(fixed | fields))


def after_a_pass(page: Page, fake: Any) -> None:
    """Let a pass be played, judged and told."""
    begin = fake.begin(1, sounds=False, origin=page.evaluate("performance.now() / 1000") - 1)
    fake.send(protocol.VerdictMark(begin.number, 1, "m1e1", "late", 48.0, 55, 3))
    fake.send(protocol.VerdictMark(begin.number, 1, "m1e2", "missed", None, None, None))
    told = report(1)
    fake.send(told)
    fake.change(state="between passes", rung=told.rung)
    expect(page.locator("#report")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_before_and_after_a_pass(open_page: Callable[..., Page], fake: Any, scheme: str) -> None:
    page = open_page(color_scheme=scheme)
    page.locator("#open-pad").click()
    page.locator("#sitting summary, #drill summary").evaluate_all("(all) => all.forEach((one) => one.click())")
    assert violations(page) == []

    after_a_pass(page, fake)

    assert violations(page) == []


def test_axe_finds_nothing_on_a_phone_in_mid_pass_nor_in_the_settings(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True)
    fake.begin(1, sounds=False, tempo=60, origin=page.evaluate("performance.now() / 1000"))
    page.locator("#m1.sounding").wait_for()
    assert violations(page) == []

    fake.change(state="ready")
    page.locator("#open-settings").tap()
    expect(page.locator("#settings")).to_be_visible()
    assert violations(page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_while_a_tune_is_written_down_nor_on_a_pad_that_holds_a_shape(
    open_page: Callable[..., Page], fake: Any, scheme: str
) -> None:
    page = open_page(color_scheme=scheme)
    page.locator("#open-pad").click()
    page.locator("#shape-row button").nth(2).click()
    page.get_by_role("button", name="Keep a shape").hover()
    assert violations(page) == []

    page.locator("#open-enter").click()
    page.locator("#board [data-string='3'][data-fret='0']").click()
    page.locator("#enter-chords button").first.click()
    page.locator("#enter-abc").evaluate("(abc) => { abc.closest('details').open = true; }")

    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G"])
    assert violations(page) == []


def test_axe_would_find_a_button_without_a_name(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.evaluate("document.querySelector('main').append(document.createElement('button'))")

    assert [one.split(":")[0] for one in violations(page)] == ["button-name"]


def test_every_stop_of_the_tab_key_is_seen_and_in_the_order_of_the_page(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    after_a_pass(page, fake)
    page.evaluate("document.body.focus()")
    look = """() => {
        const one = document.activeElement, style = getComputedStyle(one), box = one.getBoundingClientRect();
        const shown = document.activeElement.labels?.[0] ?? one;
        const rings = [one, ...shown.querySelectorAll('*')].map((each) => getComputedStyle(each));
        return {name: one.id || one.name || one.textContent.trim().slice(0, 30), body: one === document.body,
            ring: rings.some((each) => each.outlineStyle !== 'none' && parseFloat(each.outlineWidth) >= 2),
            inside: box.bottom > 0 && box.top < innerHeight && box.width > 0,
            order: [...document.querySelectorAll('*')].indexOf(one)};
    }"""
    stops: list[dict[str, Any]] = []
    for _ in range(120):
        page.keyboard.press("Tab")
        stop = page.evaluate(look)
        if stop["body"] or (stops and stop["order"] <= stops[0]["order"]):
            break
        stops.append(stop)

    assert len(stops) > 25
    assert [stop["name"] for stop in stops if not stop["ring"]] == []
    assert [stop["name"] for stop in stops if not stop["inside"]] == []
    assert [stop["order"] for stop in stops] == sorted(stop["order"] for stop in stops)


def test_the_report_is_spoken_and_single_notes_are_not(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(
        script="""window.spoken = [];
        addEventListener('DOMContentLoaded', () => new MutationObserver((changes) => {
            for (const {target} of changes) {
                const near = target.closest ? target : target.parentElement;
                const live = near?.closest('[role=status], [aria-live], [role=alert]');
                if (live?.textContent.trim()) window.spoken.push(live.id + ': ' + live.textContent.trim());
            }
        }).observe(document.body, {subtree: true, childList: true, characterData: true}));"""
    )
    begin = fake.begin(1, sounds=False, origin=page.evaluate("performance.now() / 1000") - 1)
    expect(page.locator("#waiting")).not_to_be_empty()  # that changes count from the next pass is said once
    page.evaluate("() => { window.spoken.length = 0; }")
    for pluck in range(1, 9):
        fake.send(protocol.HeardMark(begin.number, "pad", pluck, 55, 3, f"m1e{pluck}", "late", 40.0))
        fake.send(protocol.VerdictMark(begin.number, 1, f"m1e{pluck}", "late", 40.0, 55, 3))
    expect(page.locator("#sheet .mark:not(.faint)")).to_have_count(8)
    assert page.evaluate("window.spoken") == []

    fake.send(report(1))

    expect(page.locator("#live")).to_contain_text("Measure 4 was late.")
    assert {line.split(":")[0] for line in page.evaluate("window.spoken")} == {"live"}


def test_who_wants_little_motion_gets_none(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(reduced_motion="reduce")
    fake.begin(1, sounds=False, tempo=60, origin=page.evaluate("performance.now() / 1000"))
    page.locator("#m1.sounding").wait_for()

    moving = page.evaluate(
        """() => [...document.querySelectorAll('*')].filter((one) => {
            const style = getComputedStyle(one);
            const long = (text) => text.split(',').some((each) => parseFloat(each) > 0.01);
            return long(style.transitionDuration) || (style.animationName !== 'none' && long(style.animationDuration));
        }).map((one) => one.id || one.className)"""
    )

    assert moving == []
    assert page.evaluate("document.getAnimations().length") == 0


@pytest.mark.parametrize(("width", "height"), [(320, 568), (768, 1024), (3840, 2160)])
def test_nothing_leaves_the_window_at_any_size(
    open_page: Callable[..., Page], fake: Any, width: int, height: int
) -> None:
    page = open_page(viewport={"width": width, "height": height})
    page.locator("#open-pad").click()
    after_a_pass(page, fake)

    assert page.evaluate("document.documentElement.scrollWidth") <= width
    cut = page.evaluate(
        """() => [...document.querySelectorAll('button, input, select, a, summary')].filter((one) => {
            const box = one.getBoundingClientRect(), scrolls = one.closest('.unseen, .skip, svg, .board, .strip');
            return one.checkVisibility() && scrolls === null && (box.left < -1 || box.right > innerWidth + 1);
        }).map((one) => one.id || one.name || one.className)"""
    )
    assert cut == []
