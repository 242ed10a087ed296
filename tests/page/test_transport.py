"""Start, stop and the rest, by mouse, key and foot; choosing; the report."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from coach.service import protocol

RUNG = protocol.Rung("intermediate", 90.7, 1, 16, "It was clean, so the tempo goes up 8 %.")


def report(**fields: Any) -> protocol.PracticeReport:
    """The report of a pass in which measure 2 was not clean."""
    measures: list[dict[str, Any]] = [
        {"number": number, "pass": 1, "expected": 8, "played": 8 if number != 2 else 6, "missed": 2 * (number == 2)}
        | {"wrong": 0, "extra": 0, "off_time": 0, "mean_offset_ms": 1.0, "spread_ms": 9.0}
        | {"melody_heard": 1.0, "clean": number != 2}
        for number in range(1, 17)
    ]
    fixed: dict[str, Any] = {
        "number": 1,
        "whole": True,
        "clean": True,
        "self_marked": False,
        "measures": measures,
        "summary": {},
        "sentences": ["Fifteen of sixteen measures were clean.", "Measure 2 lacked two notes."],
        "rung": RUNG,
        "take": "takes/home/1.mid",
        "report": "takes/home/1.json",
    }
    return protocol.PracticeReport(**(fixed | fields))


def finish(fake: Any) -> None:
    """End the first pass and report it."""
    fake.change(state="between passes", number=1, rung=RUNG)
    fake.send(report())


def test_start_and_stop_by_mouse(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    page.get_by_role("button", name="Start").click()
    assert fake.wait_for_kind("start") == [{"kind": "start", "sounds": True}]
    fake.begin(1)
    page.get_by_role("button", name="Stop").click()

    fake.wait_for_kind("stop")


def test_a_page_whose_accompaniment_comes_from_midi_does_not_offer_to_sound(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.change(sound="midi", tempo=90.0)
    expect(page.locator("#tempo-now")).to_have_text("90")

    page.keyboard.press("Space")

    assert fake.wait_for_kind("start") == [{"kind": "start", "sounds": False}]


def test_the_whole_round_by_keys_alone(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    page.keyboard.press("Space")
    fake.wait_for_kind("start")
    fake.begin(1)
    expect(page.locator("#toggle .label")).to_have_text("Stop")
    page.keyboard.press("Escape")
    fake.wait_for_kind("stop")
    finish(fake)
    expect(page.locator("#next")).to_be_enabled()
    page.keyboard.press("Backspace")
    fake.wait_for_kind("again")
    page.keyboard.press("Enter")

    fake.wait_for_kind("next_rung")


def test_space_starts_when_a_tier_has_just_been_chosen(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    page.locator(".tiers label", has_text="Beginner").click()
    fake.wait_for_kind("settings")
    fake.change(tier="beginner")
    expect(page.get_by_label("Beginner")).to_be_checked()
    page.keyboard.press("Space")

    fake.wait_for_kind("start")


def test_keys_that_ask_for_what_cannot_be_done_send_nothing(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    for key in ("Enter", "Backspace", "ArrowUp", "ArrowDown"):
        page.keyboard.press(key)
    page.keyboard.press("Space")
    fake.wait_for_kind("start")

    assert [message["kind"] for message in fake.received if message["kind"] != "notes"] == ["join", "start"]


def test_typing_in_a_field_plays_nothing_and_starts_nothing(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.locator("#open-pad").click()

    page.get_by_label("Goal").fill("")
    page.keyboard.type("140")
    page.keyboard.press("Enter")

    assert fake.wait_for_kind("settings") == [{"kind": "settings", "goal": 140}]
    assert fake.notes() == []
    assert [message for message in fake.received if message["kind"] == "start"] == []


def test_every_button_can_be_reached_by_tab_and_shows_the_focus(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    reached: list[str] = []
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.id || document.activeElement.name || ''"))
        if reached[-1] not in {"", "skip"}:
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"

    wanted = {"open-pad", "open-settings", "tune", "tier", "tempo", "goal", "first", "last", "whole", "file", "toggle"}
    assert wanted - set(reached) == set()


def test_choices_are_sent_at_once(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    page.get_by_role("combobox", name="Tune").select_option("reed-bank-1")
    page.get_by_label("Advanced").check()
    page.get_by_role("button", name="4 faster").click()
    page.get_by_label("From measure", exact=True).fill("5")
    page.get_by_label("to measure", exact=True).fill("8")
    page.get_by_role("button", name="The whole tune").click()

    told = [
        {key: value for key, value in message.items() if key != "kind"} for message in fake.wait_for_kind("settings", 6)
    ]
    assert told == [
        {"tune": "reed-bank-1"},
        {"tier": "advanced"},
        {"tempo": 88},
        {"first": 5},
        {"last": 8},
        {"whole": True},
    ]


def test_a_tempo_out_of_range_is_not_sent(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    page.locator("#chooser").get_by_label("Tempo", exact=True).fill("900")
    page.get_by_label("Goal").fill("150")
    page.get_by_label("Goal").blur()

    assert fake.wait_for_kind("settings") == [{"kind": "settings", "goal": 150}]


def test_a_measure_of_the_strip_tells_itself_in_words_and_can_be_practised_alone(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.begin(1)
    finish(fake)

    page.get_by_role("button", name="Measure 2: not clean, 6 of 8 notes played, 2 notes missed").click()
    expect(page.locator("#strip-words")).to_have_text("Measure 2: not clean, 6 of 8 notes played, 2 notes missed")
    page.get_by_role("button", name="Practise measure 2 alone").click()

    assert fake.wait_for_kind("settings") == [{"kind": "settings", "first": 2, "last": 2}]


def test_scores_appear_in_the_strip_as_measures_end(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.begin(1)

    for score in report().measures[:2]:
        fake.send(protocol.MeasureScored(1, score))

    expect(page.locator("#strip .cell-score")).to_have_text(["✓ clean", "2 missed", *[""] * 14])


def test_after_a_pass_the_report_says_how_it_was_and_what_comes_next_and_why(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.begin(1)

    finish(fake)

    view = page.locator("#report")
    expect(view.get_by_role("heading", name="Pass 1: clean")).to_be_visible()
    expect(page.locator("#rung-head")).to_have_text("Next rung")
    expect(view.locator("#report-sentences p")).to_have_text(report().sentences)
    expect(page.locator("#rung-what")).to_have_text(
        "intermediate, 91 quarters a minute (45.5 halves), measures 1 to 16"
    )
    expect(page.locator("#rung-why")).to_have_text(RUNG.why)
    expect(view.get_by_role("link", name="The take (.mid)")).to_have_attribute("href", "takes/home/1.mid")
    expect(page.get_by_role("link", name="Pass 1: clean")).to_be_in_viewport()
    expect(page.locator("#live")).to_contain_text("Next: intermediate, 91 quarters a minute")


def test_after_a_pass_strip_and_report_come_into_view_and_not_before(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport={"width": 1280, "height": 640}, reduced_motion="reduce")
    fake.begin(1, sounds=False, origin=page.evaluate("performance.now() / 1000") - 8.5)  # a measure lasts a second
    page.locator("#m9.sounding").wait_for()
    assert page.evaluate("scrollY") > 0
    fake.send(report())
    expect(page.locator("#strip [data-clean=false]")).to_have_count(1)
    assert page.evaluate("scrollY") > 0
    page.locator("#margin").evaluate("(one) => { one.scrollTop = 400; }")
    assert page.locator("#margin").evaluate("(one) => one.scrollTop") > 200

    fake.change(state="between passes", number=1, rung=RUNG)

    page.wait_for_function("() => scrollY === 0")
    expect(page.locator("#strip")).to_be_in_viewport(ratio=1)
    expect(page.locator("#report-head")).to_be_in_viewport(ratio=1)


def test_what_the_player_scrolled_to_after_a_pass_stays_when_the_settings_change(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(viewport={"width": 1280, "height": 640}, reduced_motion="reduce")
    fake.begin(1, sounds=False)
    finish(fake)
    expect(page.locator("#report-told")).to_be_visible()
    page.evaluate("scrollTo(0, 200)")

    fake.change(tempo=77.0)

    expect(page.locator("#tempo-now")).to_have_text("77")
    assert page.evaluate("scrollY") == 200


def test_on_a_phone_the_strip_shows_the_first_measure_that_was_not_clean_and_that_it_goes_on(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True, reduced_motion="reduce")
    expect(page.locator("#strip")).to_have_class("strip more-after")
    page.locator("#choice summary").tap()
    fake.begin(1, sounds=False)
    measures = [{**one, "clean": one["number"] != 9} for one in report().measures]
    fake.change(state="between passes", number=1, rung=RUNG)
    fake.send(report(measures=measures))

    expect(page.locator("#strip")).to_have_class("strip more-after more-before")
    expect(page.locator("#report-head")).to_be_in_viewport(ratio=1)
    expect(page.locator("#strip")).to_be_in_viewport(ratio=1)
    left, right = page.locator("#strip [data-clean=false]").evaluate(
        "(one) => { const {left, right} = one.getBoundingClientRect(); return [left, right]; }"
    )
    assert 0 <= left < right <= 390
    assert page.evaluate("document.querySelector('#next').scrollWidth <= document.querySelector('#next').clientWidth")
    assert page.locator("#next").bounding_box()["height"] == page.locator("#again").bounding_box()["height"] < 60


def test_on_a_phone_the_open_pad_leaves_the_upper_half_to_strip_and_sheet(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True, reduced_motion="reduce")
    fake.begin(1, sounds=False)
    finish(fake)
    expect(page.locator("#report-told")).to_be_visible()

    page.locator("#open-pad").tap()

    expect(page.locator("#strip")).to_be_in_viewport(ratio=1)
    top = page.locator("#m1").evaluate("(one) => one.getBoundingClientRect().bottom")
    assert top < page.locator("#foot").bounding_box()["y"]


def test_the_screen_is_kept_awake_during_a_pass_only(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(
        script="window.awake = []; Object.defineProperty(navigator, 'wakeLock', {value: {request: async (type) => {"
        " awake.push(type); return {release: async () => void awake.push('release')}; }}})"
    )
    assert page.evaluate("awake") == []

    fake.begin(1)
    page.wait_for_function("() => awake.length === 1")
    finish(fake)
    page.wait_for_function("() => awake.length === 2")

    assert page.evaluate("awake") == ["screen", "release"]


def test_the_report_leaves_when_the_next_pass_begins(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.begin(1)
    finish(fake)
    expect(page.locator("#report")).to_be_visible()

    fake.begin(2)

    expect(page.locator("#report")).to_be_hidden()
    expect(page.locator("#strip .cell-score")).to_have_text([""] * 16)


@pytest.mark.parametrize(("key", "clean"), [("ArrowUp", True), ("ArrowDown", False)])
def test_a_player_who_is_not_heard_marks_the_pass(
    open_page: Callable[..., Page], fake: Any, key: str, clean: bool
) -> None:
    page = open_page()
    fake.begin(1)
    expect(page.locator("#self-mark")).to_be_hidden()
    fake.change(state="between passes", self_marked=True)
    asked = report(self_marked=True, asks=True, clean=False, measures=[], sentences=["Was this pass clean?"], rung=None)
    fake.send(asked)
    expect(page.locator("#self-mark")).to_be_visible()
    expect(page.locator("#report-head")).to_have_text("Pass 1 is over")
    fake.send(asked)  # as after a reconnect

    page.keyboard.press(key)
    assert fake.wait_for_kind("mark") == [{"kind": "mark", "clean": clean}]
    fake.send(report(self_marked=True, clean=clean, measures=[], sentences=["You marked this pass."]))

    expect(page.locator("#self-mark")).to_be_hidden()
    how = "clean" if clean else "not clean yet"
    expect(page.locator("#report-head")).to_have_text(f"Pass 1: {how} (marked by yourself)")


def test_without_an_instrument_the_page_says_what_can_be_done(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    expect(page.get_by_role("heading", name="No MIDI instrument is connected")).to_be_visible()

    page.get_by_role("button", name="Play on the pad").click()
    expect(page.locator("#board")).to_be_visible()
    page.get_by_role("button", name="Mark passes myself").click()
    assert fake.wait_for_kind("settings") == [{"kind": "settings", "self_marked": True}]
    fake.send(protocol.Ports(inputs=["Banjo"], outputs=[], input="Banjo", output=None, missing=""))

    expect(page.locator("#no-port")).to_be_hidden()


def test_where_passes_follow_by_themselves_the_rest_between_them_can_be_stopped(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.begin(1)
    fake.change(state="between passes", keep_going=True)
    fake.send(report())
    expect(page.locator("#report-told")).to_be_visible()

    page.get_by_role("button", name="Stop").click()
    fake.wait_for_kind("stop")
    fake.change(state="paused")

    expect(page.locator("#toggle .label")).to_have_text("Start")


def test_settings_show_what_is_and_send_what_changes(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.get_by_role("button", name="Settings").click()

    expect(page.get_by_label("Start and stop")).to_have_value("CC 64")
    expect(page.locator("#ports-missing")).to_have_text("No MIDI port is there.")
    page.get_by_label("Next rung").fill("PC 2")
    page.get_by_label("Its notes arrive late by (ms)").fill("12.5")
    page.get_by_label("I play an instrument that is not heard").check()
    page.get_by_label("The accompaniment comes from").select_option("midi")
    page.get_by_role("button", name="Done").click()

    told = fake.wait_for_kind("settings", 4)
    assert [sorted(set(message) - {"kind"}) for message in told] == [
        ["foot_next"],
        ["latency_ms"],
        ["self_marked"],
        ["sound"],
    ]
    assert [told[0]["foot_next"], told[1]["latency_ms"], told[2]["self_marked"], told[3]["sound"]] == [
        "PC 2",
        12.5,
        True,
        "midi",
    ]


def test_loudness_is_the_pages_own_and_outlives_it(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.get_by_role("button", name="Settings").click()
    expect(page.get_by_label("Loudness of this page")).to_have_value("0.4")
    page.get_by_label("Loudness of this page").fill("0.25")

    page.reload()
    page.get_by_role("button", name="Settings").click()

    expect(page.get_by_label("Loudness of this page")).to_have_value("0.25")
    assert [message for message in fake.received if message["kind"] == "settings"] == []


def test_what_cannot_be_done_is_said_in_the_services_words(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    fake.send(protocol.Failure("The MIDI port “Banjo” has vanished; plug it in again."))

    expect(page.locator("#notice")).to_have_text("The MIDI port “Banjo” has vanished; plug it in again.")
