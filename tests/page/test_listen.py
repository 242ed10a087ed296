"""The player listens to the solo before it is played."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

# Keeps what was handed over to sound: when, and how loud each part was set. The audio clock runs as the page's does,
# whatever a busy machine makes of it.
RECORDER = """
let apart = null;
AudioContext.prototype.getOutputTimestamp = function () {
  apart ??= performance.now() - 1000 * this.currentTime;
  return {contextTime: this.currentTime, performanceTime: 1000 * this.currentTime + apart};
};
window.onsets = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (when, ...rest) {
  window.onsets.push(when);
  return start.call(this, when, ...rest);
};
window.levels = [];
const target = AudioParam.prototype.setTargetAtTime;
AudioParam.prototype.setTargetAtTime = function (value, ...rest) {
  window.levels.push(value);
  return target.call(this, value, ...rest);
};
"""
TIERS = ("beginner", "intermediate", "advanced")


def opened(open_page: Callable[..., Page], **options: Any) -> Page:
    page = open_page(script=RECORDER, **options)
    page.locator("#listen summary").click()
    return page


def fill(page: Page, **fields: float) -> None:
    for name, value in fields.items():
        page.locator(f"[name=listen_{name}]").fill(str(value))


def with_three_tiers(fake: Any) -> None:
    for tier in TIERS:
        fake.solos[tier] = fake.arrangement | {"tier": tier}
        del fake.solos[tier]["digest"]
    fake.change(solos={tier: tier for tier in TIERS})


def test_some_measures_are_heard_at_a_tempo_of_their_own_and_the_mark_goes_along(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = opened(open_page)
    fill(page, tempo=240, first=3, last=4)
    page.locator("[name=listen_backing]").uncheck()

    page.locator("#listen-this").click()

    expect(page.locator("#listen-words")).to_have_text(
        "You hear the intermediate solo, measures 3 to 4, at 240 quarters a minute."
    )
    page.locator("#m3.sounding").wait_for()
    page.locator("#m4.sounding").wait_for()
    expect(page.locator("#listen-stop")).to_be_hidden()
    expect(page.locator("#sheet .measure.sounding")).to_have_count(0)
    (asked,) = fake.wait_for_kind("(cues)")
    assert asked == {"kind": "(cues)", "digest": fake.state.digest} | {
        "tempo": "240",
        "first": "3",
        "last": "4",
        "bounce": "50",
    }
    # Two measures of eight notes, an eighth of a second apart; bass and chop, silent now, lie at some of them. What a
    # busy machine would be late with is left out.
    onsets = page.evaluate("window.onsets")
    slots = [(when - onsets[0]) / 0.125 for when in onsets]
    assert slots == pytest.approx([round(slot) for slot in slots], abs=0.01)
    heard = {round(slot) for slot in slots}
    assert heard <= set(range(16))
    assert len(heard) > 8


def test_the_tiers_are_heard_one_after_another_the_easiest_first(open_page: Callable[..., Page], fake: Any) -> None:
    page = opened(open_page)
    expect(page.locator("#listen-tiers")).to_be_hidden()
    with_three_tiers(fake)
    fill(page, tempo=400, first=1, last=1)
    page.evaluate(
        """() => {
          window.said = [];
          const words = document.getElementById("listen-words");
          new MutationObserver(() => window.said.push(words.textContent)).observe(words, {childList: true});
        }"""
    )

    page.locator("#listen-tiers").click()

    expect(page.locator("#listen-stop")).to_be_visible()
    expect(page.locator("#listen-stop")).to_be_hidden()
    said = [words for words in page.evaluate("window.said") if "solo" in words]
    assert said == [f"You hear the {tier} solo, measure 1, at 400 quarters a minute." for tier in TIERS]
    assert [asked["digest"] for asked in fake.wait_for_kind("(cues)", 3)] == list(TIERS)


def test_escape_ends_it(open_page: Callable[..., Page], fake: Any) -> None:
    page = opened(open_page)
    page.locator("#listen-this").click()
    page.locator("#m1.sounding").wait_for()

    page.keyboard.press("Escape")

    expect(page.locator("#listen-stop")).to_be_hidden()
    expect(page.locator("#sheet .measure.sounding")).to_have_count(0)


def test_stopping_ends_it_and_the_tiers_that_were_to_come(open_page: Callable[..., Page], fake: Any) -> None:
    page = opened(open_page)
    with_three_tiers(fake)
    page.locator("#listen-tiers").click()
    page.locator("#m1.sounding").wait_for()

    page.locator("#listen-stop").press("Enter")

    expect(page.locator("#listen-stop")).to_be_hidden()
    expect(page.locator("#listen-this")).to_be_focused()  # the key that stopped it goes on from here
    expect(page.locator("#listen-words")).to_have_text("")
    expect(page.locator("#sheet .measure.sounding")).to_have_count(0)
    count = page.evaluate("window.onsets.length")
    page.wait_for_function("(until) => performance.now() > until", arg=page.evaluate("performance.now()") + 400)
    assert page.evaluate("window.onsets.length") == count


def test_a_pass_that_begins_ends_it_and_nothing_is_listened_to_meanwhile(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = opened(open_page)
    page.locator("#listen-this").click()
    page.locator("#m1.sounding").wait_for()

    fake.begin(1, sounds=False)

    expect(page.locator("#listen-stop")).to_be_hidden()
    expect(page.locator("#listen-this")).to_be_disabled()
    count = page.evaluate("window.onsets.length")
    page.wait_for_function("(until) => performance.now() > until", arg=page.evaluate("performance.now()") + 500)
    assert page.evaluate("window.onsets.length") == count  # nothing sounds on
    fake.change(state="between passes")
    expect(page.locator("#listen-this")).to_be_enabled()


def test_click_and_accompaniment_come_and_go_while_it_sounds(open_page: Callable[..., Page], fake: Any) -> None:
    page = opened(open_page)
    page.locator("#listen-this").click()
    page.locator("#m1.sounding").wait_for()
    page.evaluate("window.levels = []")

    page.locator("[name=listen_click]").check()
    page.wait_for_function("(level) => window.levels.includes(level)", arg=fake.state.click_level)
    page.evaluate("window.levels = []")
    page.locator("[name=listen_backing]").uncheck()
    page.wait_for_function("() => window.levels.includes(0)")


def test_with_the_click_it_begins_with_a_count_in(open_page: Callable[..., Page], fake: Any) -> None:
    page = opened(open_page)
    fill(page, tempo=200, first=1, last=1)
    page.locator("[name=listen_click]").check()
    page.locator("[name=listen_backing]").uncheck()

    page.locator("#listen-this").click()
    expect(page.locator("#listen-stop")).to_be_visible()
    expect(page.locator("#listen-stop")).to_be_hidden()

    onsets = page.evaluate("window.onsets")
    beats = [(when - onsets[0]) / 0.3 for when in onsets]
    assert [beat for beat in beats if beat < 3.9] == pytest.approx([0.0, 1.0, 2.0, 3.0], abs=0.01)


def test_what_cannot_be_heard_is_told(open_page: Callable[..., Page], fake: Any, complaints: list[str]) -> None:
    page = opened(open_page)
    fill(page, first=900, last=901)

    page.locator("#listen-this").click()

    expect(page.locator("#listen-words")).to_contain_text("It cannot be heard now: the solo has no measures 900 to 901")
    expect(page.locator("#listen-stop")).to_be_hidden()
    complaints.clear()  # the browser notes the refusal by itself


def test_fields_follow_what_is_practised_until_the_player_sets_them(open_page: Callable[..., Page], fake: Any) -> None:
    page = opened(open_page)
    fake.change(tempo=90.0, first=5, last=8)
    expect(page.locator("[name=listen_tempo]")).to_have_value("90")
    expect(page.locator("[name=listen_first]")).to_have_value("5")

    fill(page, tempo=50)
    fake.change(tempo=90.0, click_level=0.2)
    expect(page.locator("[name=listen_last]")).to_have_value("8")
    expect(page.locator("[name=listen_tempo]")).to_have_value("50")
