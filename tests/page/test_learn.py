"""Learning the instrument and setting foot switches in the settings."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect

from coach.service import protocol

OFFSETS = [30.0, 39.0, 21.0, 34.0, 26.0, 42.0, 18.0, 32.0, 28.0, 37.0, 23.0, 40.0, None, -14.0, 95.0, 30.0]


def calibrated(*, trusted: bool = True) -> protocol.Calibrated:
    return protocol.Calibrated(
        instrument="banjo",
        trusted=trusted,
        sentence="Your notes come 30 ms after the click." if trusted else "Only 9 of 16 clicks had a note.",
        lag_ms=30.0,
        error_ms=2.0,
        spread_ms=8.0,
        latency_ms=55.0,
        latency_from_ms=26.0,
        latency_to_ms=114.0,
        lean_ms=-25.0,
        by_string=[],
        offsets_ms=OFFSETS,
    )


def begins(fake: Any) -> None:
    """The clicks begin, which this page does not sound."""
    begin = fake.begin(1_000_001, learning=True, positions=[], sounds=False, cues=[], length=9.6, tempo=100.0)
    assert begin.learning
    fake.change(learning=True, state="playing")


def test_learning_closes_the_settings_counts_the_notes_and_shows_what_was_learned(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    page.locator("#open-settings").click()
    page.get_by_role("button", name="Learn this instrument").click()

    assert fake.wait_for_kind("calibrate") == [{"kind": "calibrate", "sounds": True}]
    expect(page.locator("#settings")).to_be_hidden()
    expect(page.locator("#pad")).to_be_visible()  # no input is in use: it is the pad
    begins(fake)
    expect(page.locator("#toggle")).to_have_text(re.compile("Stop"))
    fake.send(calibrated())
    fake.change(learning=False, state="ready", is_learned=True, latency_by_string={"1": 55.0, "4": 61.5})

    expect(page.locator("#settings")).to_be_visible()
    expect(page.locator("#learned-head")).to_have_text("✓ Learned: banjo")
    expect(page.locator("#learned-words")).to_have_text("Your notes come 30 ms after the click.")
    expect(page.locator("#latency-known")).to_have_text(
        "Learned from your playing (string 1 by 55 ms, string 4 by 61.5 ms)."
    )
    assert page.locator("#learned-plot circle").count() == 15
    assert page.locator("#learned-plot .without").count() == 1
    assert page.get_by_role("img", name=re.compile("30, 39, 21, .* 40, none, -14, 95, 30")).count() == 1


def test_the_notes_are_counted_while_it_is_learned(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    now = page.evaluate("performance.now() / 1000")
    fake.begin(
        1_000_001, learning=True, positions=[], sounds=False, cues=[], length=600.0, tempo=100.0, origin=now - 10.0
    )
    fake.change(learning=True, state="playing")

    expect(page.locator("#place")).to_have_text(re.compile(r"Learning: note \d+ of 1000, string [1-5]$"))


def test_what_was_not_learned_says_so_in_words_and_line(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.send(calibrated(trusted=False))
    page.locator("#open-settings").click()

    expect(page.locator("#learned-head")).to_have_text("Not learned: banjo")
    expect(page.locator("#learned")).to_have_css("border-left-style", "dashed")


def test_another_page_is_not_taken_to_the_settings(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.send(calibrated())
    expect(page.locator("#learned-words")).to_have_text("Your notes come 30 ms after the click.")

    expect(page.locator("#settings")).to_be_hidden()


def test_the_report_of_the_last_pass_stays_while_the_instrument_is_learned(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.begin(1)
    fake.change(state="between passes")
    fake.send(
        protocol.PracticeReport(1, True, True, False, [], {"played_share": 1.0}, ["Well kept."], None, "t.mid", "")
    )
    expect(page.locator("#report-sentences")).to_contain_text("Well kept.")
    begins(fake)
    fake.change(learning=False, state="between passes")

    expect(page.locator("#report-sentences")).to_contain_text("Well kept.")


def test_a_switch_is_set_by_pressing_it(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.locator("#open-settings").click()
    page.locator("[data-does=again]").click()
    assert fake.wait_for_kind("learn_foot") == [{"kind": "learn_foot", "does": "again"}]
    fake.change(learning_foot="again", foot_words="Press the switch now.")
    expect(page.locator("#foot-learning")).to_have_text("Press the switch now.")
    expect(page.locator("[data-does=again]")).to_have_text("Stop waiting")
    fake.send(protocol.Foot("CC 64", "set, for the same again"))
    fake.change(learning_foot="", foot_words="", foot_again="CC 64")

    expect(page.locator("#foot-learning")).to_have_text("Foot switch CC 64: set, for the same again.")
    expect(page.locator("[name=foot_again]")).to_have_value("CC 64")
    expect(page.locator("[data-does=again]")).to_have_text("Set by pressing")


def test_waiting_for_a_switch_can_be_ended(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.change(learning_foot="start", foot_words="Press the switch now.")
    page.locator("#open-settings").click()
    page.locator("[data-does=start]").click()

    assert fake.wait_for_kind("learn_foot") == [{"kind": "learn_foot", "does": ""}]


def test_a_switch_has_an_input_of_its_own(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.send(protocol.Ports(["banjo", "board"], [], "banjo", None, "", None))
    page.locator("#open-settings").click()
    page.locator("[name=midi_foot]").select_option("board")

    assert fake.wait_for_kind("settings") == [{"kind": "settings", "midi_foot": "board"}]


def test_what_is_said_of_ports_takes_the_place_of_what_was_said_before(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.send(protocol.Failure("MIDI input 'banjo' has vanished. MIDI output 'synth' has vanished.", "ports"))
    expect(page.locator("#notice")).to_have_text("MIDI input 'banjo' has vanished. MIDI output 'synth' has vanished.")
    fake.send(protocol.Failure("MIDI input 'banjo' is back.", "ports"))
    fake.send(protocol.Ports(["banjo"], [], "banjo", None, ""))
    fake.change(goal=123.0)
    expect(page.locator("[name=goal]")).to_have_value("123")  # all has come

    expect(page.locator("#notice")).to_have_text("MIDI input 'banjo' is back.")


def test_all_of_it_fits_a_phone(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport={"width": 390, "height": 844})
    page.locator("#open-settings").click()
    fake.send(calibrated())
    page.locator("#learned-plot svg").wait_for()

    assert page.evaluate(
        "document.querySelector('#settings').scrollWidth <= document.querySelector('#settings').clientWidth"
    )
