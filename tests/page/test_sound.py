"""The page sounds cues where they belong, and says when position 0 is heard."""

from __future__ import annotations

from collections.abc import Callable
from statistics import median
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from coach.service import protocol
from coach.service.page import page_folder

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

# Keeps the levels to which anything is set.
LEVELS = """
window.levels = [];
const target = AudioParam.prototype.setTargetAtTime;
AudioParam.prototype.setTargetAtTime = function (value, ...rest) {
  if (value > 0) window.levels.push(value);
  return target.call(this, value, ...rest);
};
"""
# Keeps what goes out into anything, until it is taken out.
CONNECTED = """
window.connected = new Set();
const {connect, disconnect} = AudioNode.prototype;
AudioNode.prototype.connect = function (to, ...rest) {
  window.connected.add(this);
  return connect.call(this, to, ...rest);
};
AudioNode.prototype.disconnect = function (...rest) {
  window.connected.delete(this);
  return disconnect.call(this, ...rest);
};
window.levelled = () => [...window.connected].filter((node) => node instanceof GainNode).length;
"""
JS = "text/javascript"

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


# The audio clock is heard when the page's clock is FIRST ahead of it, and runs slower by a share: as the test says, not
# as the machine happens to do. It may be told to be heard later all of a sudden, or to have stood still for a moment.
FIRST = 100.0
PINNED = """
window.clocks = {slower: SLOWER, later: 0, lost: 0,
  at: (audio) => FIRST + audio * (1 + clocks.slower) + clocks.later + clocks.lost};
Object.defineProperty(AudioContext.prototype, "outputLatency", {get: () => 0.03 + clocks.later});
AudioContext.prototype.getOutputTimestamp = function () {
  return {contextTime: this.currentTime, performanceTime: 1000 * clocks.at(this.currentTime)};
};
""".replace("FIRST", str(FIRST))


def pinned(slower: float = 0.0) -> str:
    return PINNED.replace("SLOWER", str(slower))


# The audio clock runs as the page's does from the first look at both on, whatever a busy machine makes of it.
ALIKE = """
window.apart = null;
AudioContext.prototype.getOutputTimestamp = function () {
  window.apart ??= performance.now() / 1000 - this.currentTime;
  return {contextTime: this.currentTime, performanceTime: 1000 * (this.currentTime + window.apart)};
};
"""


# Hears what goes to the loudspeaker, frame by frame: when each sound begins behind at least 5 ms of silence.
TAP = """
registerProcessor("tap", class extends AudioWorkletProcessor {
  constructor() {
    super();
    this.quiet = sampleRate;
    this.loudest = 0;
    this.port.onmessage = () => this.port.postMessage({loudest: this.loudest});
  }
  process([[frames]]) {
    for (let index = 0; frames !== undefined && index < frames.length; index += 1) {
      this.loudest = Math.max(this.loudest, Math.abs(frames[index]));
      if (Math.abs(frames[index]) < 0.002) {
        this.quiet += 1;
      } else {
        if (this.quiet > sampleRate / 200) {
          this.port.postMessage((currentFrame + index) / sampleRate);
        }
        this.quiet = 0;
      }
    }
    return true;
  }
});
"""
TAPPED = """
window.heard = [];
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...rest) {
  if (to instanceof AudioDestinationNode) {
    this.context.audioWorklet.addModule("tests/tap.js").then(() => {
      const tap = new AudioWorkletNode(this.context, "tap");
      tap.port.onmessage = ({data}) => {
        if (typeof data === "number") window.heard.push(data);
        else window.loudest = data.loudest;
      };
      window.askLoudest = () => tap.port.postMessage(null);
      connect.call(this, tap);
      connect.call(tap, to);
      window.tapped = true;
    });
  }
  return connect.call(this, to, ...rest);
};
"""
BLOCK = """setInterval(() => {
  const until = performance.now() + 100;
  while (performance.now() < until);
}, 200)"""
GAP = 0.237  # seconds between clicks: longer than a click, and no whole number of frames


def recorded(open_page: Callable[..., Page], fake: Any, count: int, *, look_ahead: float | None = None) -> list[float]:
    """How far from its place each click was heard, in seconds, while the page was busy half of the time."""
    fake.modules["tap.js"] = TAP
    page = open_page(script=pinned() + TAPPED)
    if look_ahead is not None:
        page.route("**/schedule.js", lambda route: route.fulfill(body=with_look_ahead(look_ahead), content_type=JS))
        page.reload()
        page.locator("#sheet svg #m1e1").wait_for()
    page.locator("#toggle").click()
    page.wait_for_function("() => window.tapped")
    page.evaluate(BLOCK)
    cues = [protocol.Cue(GAP * index, "click", 76, 0.05, 1.0) for index in range(count)]
    fake.begin(1, lead=0.3, cues=cues)
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function(
        "(until) => performance.now() > until", arg=page.evaluate("performance.now()") + 1000 * (GAP * count + 0.8)
    )
    heard = page.evaluate("window.heard")
    assert len(heard) <= len(cues)
    places = [sounding["origin"] - FIRST + cue.at for cue in cues]
    return [min((at - place for at in heard), key=abs) for place in places]


def with_look_ahead(seconds: float) -> str:
    """The module that looks ahead, looking otherwise."""
    module = (page_folder() / "schedule.js").read_text("utf-8")
    assert "LOOK_AHEAD = 0.2;" in module
    return module.replace("LOOK_AHEAD = 0.2;", f"LOOK_AHEAD = {seconds};")


def test_what_is_heard_begins_where_the_cues_put_it_while_the_page_is_busy(
    open_page: Callable[..., Page], fake: Any
) -> None:
    assert recorded(open_page, fake, 12) == pytest.approx([0.0] * 12, abs=0.001)


def test_without_looking_ahead_it_would_not(open_page: Callable[..., Page], fake: Any) -> None:
    assert max(abs(late) for late in recorded(open_page, fake, 6, look_ahead=0.0)) > 0.001


def test_all_at_once_is_no_louder_than_the_page_is_set_to(open_page: Callable[..., Page], fake: Any) -> None:
    fake.modules["tap.js"] = TAP
    page = open_page(script=TAPPED)
    page.locator("#toggle").click()
    page.wait_for_function("() => window.tapped")
    # A sound of the fake bank has a peak of 0.37: twelve at once are more than four times full scale.
    fake.begin(1, lead=0.0, length=1.0, cues=[protocol.Cue(0.0, "click", 76, 0.05, 1.0)] * 12)
    page.wait_for_function("() => window.heard.length > 0")
    page.wait_for_function("() => { window.askLoudest(); return window.loudest > 0.3; }")

    assert page.evaluate("window.loudest") <= 0.4 + 1e-6  # the first loudness of a page


def test_every_cue_sounds_on_its_frame(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=pinned() + RECORDER)
    page.locator("#toggle").click()

    beat = 0.12345  # no whole number of frames
    cues = [protocol.Cue(beat * index, "click" if index % 3 else "banjo", 60, 0.1, 0.5) for index in range(-4, 16)]
    fake.begin(1, lead=4 * beat, cues=cues)
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function("(count) => window.onsets.length === count", arg=len(cues))

    onsets = page.evaluate("window.onsets")
    rate = onsets[0]["rate"]
    zero = sounding["origin"] - FIRST
    assert sounding["number"] == 1
    for onset, cue in zip(onsets, cues, strict=True):
        assert onset["when"] == pytest.approx(zero + cue.at, abs=1.01 / rate)
        assert onset["when"] * rate == pytest.approx(round(onset["when"] * rate), abs=1e-6)
        assert onset["when"] < onset["now"] + 0.2 + 1e-9


def test_the_origin_is_when_the_start_is_heard_by_the_browsers_own_clocks(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=RECORDER)
    page.locator("#toggle").click()
    fake.begin(1, lead=0.0, cues=[protocol.Cue(0.02 * index, "click", 76, 0.01, 0.5) for index in range(5)])
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function("() => window.onsets.length === 5")

    onsets = page.evaluate("window.onsets")
    # One reading scatters by a fraction of a millisecond, on a busy machine by a buffer.
    bridge = median(onset["bridge"] for onset in onsets)
    assert sounding["origin"] == pytest.approx(onsets[0]["when"] + bridge, abs=0.012)


def test_a_pass_stays_on_the_pages_clock_when_the_audio_clock_drifts(open_page: Callable[..., Page], fake: Any) -> None:
    slower = 0.0015  # three times what clocks do
    page = open_page(script=pinned(slower) + RECORDER)
    page.locator("#toggle").click()
    cues = [protocol.Cue(0.1 * index, "click", 76, 0.05, 0.5) for index in range(41)]
    fake.begin(1, lead=0.0, cues=cues)
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function("(count) => window.onsets.length === count", arg=len(cues))

    whens = [onset["when"] for onset in page.evaluate("window.onsets")]
    late = [FIRST + when * (1 + slower) - (sounding["origin"] + cue.at) for when, cue in zip(whens, cues, strict=True)]
    # The median of readings is some 0.4 s old, 0.6 ms at this drift; without following, 6 ms would have come together.
    assert max(map(abs, late)) < 0.0015
    assert whens == sorted(whens)


def test_a_sound_that_goes_out_another_way_in_mid_pass_is_put_right_and_told(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=pinned() + RECORDER)
    page.locator("#toggle").click()
    cues = [protocol.Cue(0.1 * index, "click", 76, 0.05, 0.5) for index in range(200)]
    fake.begin(1, lead=0.0, cues=cues, length=20.0)
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function("() => window.onsets.length > 5")

    page.evaluate("clocks.later = 0.15")
    expect(page.locator("#notice")).to_have_text(
        "The sound goes out another way now, 150 ms later. The click was put where it was."
    )
    count = page.evaluate("window.onsets.length")
    page.wait_for_function("(count) => window.onsets.length > count + 3", arg=count)

    last = page.evaluate("window.onsets.at(-1).when") + FIRST + 0.15 - sounding["origin"]
    assert last / 0.1 == pytest.approx(round(last / 0.1), abs=0.01)


def test_an_audio_clock_that_stood_still_for_a_moment_is_put_right_without_a_word(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=pinned() + RECORDER)
    page.locator("#toggle").click()
    cues = [protocol.Cue(0.1 * index, "click", 76, 0.05, 0.5) for index in range(200)]
    fake.begin(1, lead=0.0, cues=cues, length=20.0)
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function("() => window.onsets.length > 5")

    page.evaluate("clocks.lost = 0.04")  # as a busy machine does: no way to the ear has changed
    place = f"(window.onsets.at(-1).when + {FIRST} + 0.04 - {sounding['origin']}) / 0.1"
    page.wait_for_function(f"() => Math.abs({place} - Math.round({place})) < 0.01")

    expect(page.locator("#notice")).to_be_hidden()


def test_what_is_too_late_after_a_long_pause_of_the_page_is_left_out(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=pinned() + RECORDER)
    page.locator("#toggle").click()
    cues = [protocol.Cue(0.1 * index, "click", 76, 0.05, 0.5) for index in range(40)]
    fake.begin(1, lead=0.0, cues=cues)
    (sounding,) = fake.wait_for_kind("sounding")
    page.wait_for_function("() => window.onsets.length > 3")

    page.evaluate("() => { const until = performance.now() + 1000; while (performance.now() < until); }")
    last = sounding["origin"] - FIRST + 3.9
    page.wait_for_function("(last) => window.onsets.at(-1).when > last - 0.01", arg=last)

    whens = [onset["when"] for onset in page.evaluate("window.onsets")]
    places = [(when - (sounding["origin"] - FIRST)) / 0.1 for when in whens]
    assert len(places) < len(cues) - 5
    # At most one of them had just passed when the page came to itself, and sounds at once.
    assert sum(abs(place - round(place)) > 0.01 for place in places) <= 1


def test_levels_are_followed_while_the_pass_sounds(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=RECORDER + LEVELS)
    page.locator("#toggle").click()
    fake.change(levels={"click": 0.7, "backing": 0.5, "solo": 0.0})
    fake.begin(1, levels={"click": 0.7, "backing": 0.5, "solo": 0.0})
    page.wait_for_function("() => window.onsets.length > 0")
    assert page.evaluate("window.levels") == []

    fake.change(state="playing", levels={"click": 0.25, "backing": 0.5, "solo": 0.0})
    page.wait_for_function("() => window.levels.includes(0.25)")
    # A slider is heard while it is drawn, before it is let go.
    page.evaluate("""() => {
      const slider = document.querySelector("[name=solo_level]");
      slider.value = "0.35";
      slider.dispatchEvent(new InputEvent("input", {bubbles: true}));
    }""")

    assert page.evaluate("window.levels") == [0.25, 0.35]


def test_the_first_touch_turns_sound_on_and_the_page_is_silent_before_it(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    loaded = "performance.getEntriesByType('resource').filter((one) => one.name.includes('/sound/')).length"
    assert page.evaluate(loaded) == 0

    page.locator("#title").click()

    page.wait_for_function(f"() => {loaded} === 2")


def test_a_pass_that_is_not_to_sound_here_is_silent_and_follows_the_origin_it_is_told(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=RECORDER)
    page.locator("#title").click()
    now = page.evaluate("performance.now() / 1000")

    fake.begin(1, sounds=False, origin=now - 2.5)  # the third measure at 240 quarters a minute

    page.locator("#m3.sounding").wait_for()
    assert page.evaluate("window.onsets") == []
    assert [message for message in fake.received if message["kind"] == "sounding"] == []


def test_a_page_that_comes_to_a_pass_joins_its_sound_where_it_is(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=ALIKE + RECORDER)
    page.locator("#title").click()
    origin = page.evaluate("performance.now() / 1000") - 3.0

    begin = fake.begin(1, origin=origin)
    page.wait_for_function("() => window.onsets.length > 3")
    # The fourth measure, or a later one where the machine is busy: a measure lasts a second.
    page.wait_for_function("() => Number(document.querySelector('#sheet .measure.sounding')?.id.slice(1)) >= 4")

    onsets = page.evaluate("window.onsets")
    assert len(onsets) < len(begin.cues) - 16
    apart, frame = page.evaluate("window.apart"), 1 / onsets[0]["rate"]
    beats = [(onset["when"] + apart - origin) / 0.25 for onset in onsets]
    late = [0.25 * (beat - round(beat)) for beat in beats]
    # What had just passed as the page came, or came to itself, sounds at once; all else on its frame.
    assert median(late) == pytest.approx(0.0, abs=1.01 * frame)
    assert -frame < min(late) <= max(late) < 0.02 + frame
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


def test_nothing_of_a_pass_is_left_in_the_mix_when_it_is_over(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=RECORDER + CONNECTED)
    page.locator("#toggle").click()
    page.wait_for_function("() => window.levelled() > 0")
    before = page.evaluate("window.levelled()")
    fake.begin(1)
    page.wait_for_function("() => window.onsets.length > 3")
    assert page.evaluate("window.levelled()") > before

    fake.change(state="between passes")

    page.wait_for_function("(before) => window.levelled() === before", arg=before)


def test_a_pass_that_waits_for_the_first_touch_says_so_and_then_sounds(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=UNTOUCHED + RECORDER)
    fake.begin(1)
    expect(page.locator("#notice")).to_have_text("Sound is off until you touch the page once.")
    assert [message for message in fake.received if message["kind"] == "sounding"] == []

    page.locator("#title").click()

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

    page.locator("#title").click()
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
    page.locator("#title").click()
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
