"""The page sounds cues where they belong, and says when position 0 is heard."""

from __future__ import annotations

from collections.abc import Callable
from statistics import median
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from coach.service import protocol

# Keeps when each sound was told to start, and the clocks at the first.
RECORDER = """
window.onsets = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (when, offset, length) {
  const {contextTime, performanceTime} = this.context.getOutputTimestamp();
  window.onsets.push({when, offset, length, now: this.context.currentTime, rate: this.context.sampleRate,
    bridge: performanceTime / 1000 - contextTime});
  return start.call(this, when, offset, length);
};
"""

# A browser that keeps sound off until the first touch. The driver's own calls count as touches, so it is acted here.
UNTOUCHED = """
const touched = new Promise((touch) => addEventListener('pointerdown', touch, {capture: true, once: true}));
let active = false;
touched.then(() => (active = true));
Object.defineProperty(navigator, 'userActivation', {value: {get hasBeenActive() { return active; }}});
const resume = AudioContext.prototype.resume;
AudioContext.prototype.resume = async function () { await touched; return resume.call(this); };
window.AudioContext = class extends AudioContext {
  constructor(options) {
    super(options);
    if (!active) void this.suspend();
  }
};
"""


def test_every_cue_sounds_on_its_frame_and_the_origin_tells_when_it_is_heard(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=RECORDER)
    page.locator("#toggle").click()

    beat = 0.12345  # no whole number of frames
    cues = [protocol.Cue(beat * index, "click" if index % 3 else "banjo", 60, 0.1, 0.5) for index in range(-4, 16)]
    fake.begin(1, lead=4 * beat, cues=cues)
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function("(count) => window.onsets.length === count", arg=len(cues))

    onsets = page.evaluate("window.onsets")
    rate = onsets[0]["rate"]
    zero = onsets[0]["when"] - cues[0].at
    assert sounding["number"] == 1
    for onset, cue in zip(onsets, cues, strict=True):
        assert onset["when"] == pytest.approx(zero + cue.at, abs=1.01 / rate)
        assert onset["when"] * rate == pytest.approx(round(onset["when"] * rate), abs=1e-6)
        assert onset["now"] < onset["when"] < onset["now"] + 0.2 + 1e-9
    bridge = median(onset["bridge"] for onset in onsets)
    # One reading scatters by a fraction of a millisecond; two medians agree better than that.
    assert sounding["origin"] == pytest.approx(zero + bridge, abs=0.002)


def test_the_first_touch_turns_sound_on_and_the_page_is_silent_before_it(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    loaded = "performance.getEntriesByType('resource').filter((one) => one.name.includes('/sound/')).length"
    assert page.evaluate(loaded) == 0

    page.locator("h1").click()

    page.wait_for_function(f"() => {loaded} === 2")


def test_a_pass_that_is_not_to_sound_here_is_silent_and_follows_the_origin_it_is_told(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=RECORDER)
    page.locator("h1").click()
    now = page.evaluate("performance.now() / 1000")

    fake.begin(1, sounds=False, origin=now - 2.5)  # the third measure at 240 quarters a minute

    page.locator("#m3.sounding").wait_for()
    assert page.evaluate("window.onsets") == []
    assert [message for message in fake.received if message["kind"] == "sounding"] == []


def test_a_page_that_comes_to_a_pass_joins_its_sound_where_it_is(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=RECORDER)
    page.locator("h1").click()
    now = page.evaluate("performance.now() / 1000")

    begin = fake.begin(1, origin=now - 3.0)
    page.wait_for_function("() => window.onsets.length > 3")
    # The fourth measure, or a later one where the machine is busy: a measure lasts a second.
    page.wait_for_function("() => Number(document.querySelector('#sheet .measure.sounding')?.id.slice(1)) >= 4")

    onsets = page.evaluate("window.onsets")
    assert len(onsets) < len(begin.cues) - 16
    # One reading of the bridge may be a buffer out on a busy machine; the median is what the page goes by too.
    bridge = median(onset["bridge"] for onset in onsets)
    heard = [(onset["when"] + bridge - (now - 3.0)) / 0.25 for onset in onsets]
    assert [beat - round(beat) for beat in heard] == pytest.approx([0.0] * len(heard), abs=0.02)
    assert [message for message in fake.received if message["kind"] == "sounding"] == []


def test_stopping_stops_the_sound(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=RECORDER)
    page.locator("#toggle").click()
    begin = fake.begin(1)
    page.wait_for_function("() => window.onsets.length > 3")

    fake.change(state="between passes")
    expect(page.locator("#toggle .label")).to_have_text("Start")
    count = page.evaluate("window.onsets.length")
    page.wait_for_function(
        "(until) => performance.now() > until", arg=page.evaluate("performance.now()") + 500
    )  # longer than the look-ahead: what was still to come would have been handed over

    assert page.evaluate("window.onsets.length") == count < len(begin.cues)


def test_a_pass_that_waits_for_the_first_touch_says_so_and_then_sounds(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=UNTOUCHED + RECORDER)
    fake.begin(1)
    expect(page.locator("#notice")).to_have_text("Sound is off until you touch the page once.")
    assert [message for message in fake.received if message["kind"] == "sounding"] == []

    page.locator("h1").click()

    fake.wait_for_kind("sounding")
    expect(page.locator("#notice")).to_be_hidden()
    page.locator("#m1.sounding").wait_for()


def test_a_pass_stopped_before_the_first_touch_never_sounds(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=UNTOUCHED + RECORDER)
    fake.begin(1)
    expect(page.locator("#notice")).to_have_text("Sound is off until you touch the page once.")
    fake.change(state="between passes")
    expect(page.locator("#toggle .label")).to_have_text("Start")
    expect(page.locator("#notice")).to_be_hidden()

    page.locator("h1").click()
    # The next pass sounds; of the one that was stopped nothing is left.
    begin = fake.begin(2, cues=[protocol.Cue(0.0, "click", 76, 0.05, 0.5)], lead=0.0)
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function("() => window.onsets.length > 0")

    assert sounding["number"] == begin.number == 2
    assert len(page.evaluate("window.onsets")) == 1


def test_sounds_that_could_not_be_fetched_are_fetched_at_the_next_touch(
    open_page: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    page = open_page()
    page.route("**/sound/bank.json", lambda route: route.abort())
    page.locator("h1").click()
    expect(page.locator("#notice")).to_contain_text("The sounds do not play")
    page.unroute("**/sound/bank.json")

    page.locator("#toggle").click()
    fake.begin(1)

    fake.wait_for_kind("sounding")
    # The browser notes the request that failed by itself.
    assert [text for text in complaints if "ERR_FAILED" not in text] == []
    complaints.clear()


def test_a_browser_that_does_not_pair_its_clocks_sounds_all_the_same(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script="AudioContext.prototype.getOutputTimestamp = () => ({contextTime: 0, performanceTime: 0});")
    page.locator("#toggle").click()
    fake.begin(1)

    (sounding,) = fake.wait_for_kind("sounding")

    now = page.evaluate("performance.now() / 1000")
    assert sounding["origin"] - now == pytest.approx(1.0, abs=1.0)  # the count-in lasts a second
