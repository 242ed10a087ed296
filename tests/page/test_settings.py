"""The settings: what closes them, and what that ends."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from coach.service import protocol


def test_escape_closes_the_settings_wherever_the_focus_is(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    for focused in (None, "[name=midi_in]", "[name=latency_ms]", "[name=foot_start]", "[name=keep_going]"):
        page.locator("#open-settings").click()
        expect(page.locator("#settings")).to_be_visible()
        if focused is not None:
            page.locator(focused).focus()
        page.keyboard.press("Escape")

        expect(page.locator("#settings")).to_be_hidden()


def test_no_key_starts_a_pass_behind_the_settings(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.locator("#open-settings").click()
    page.keyboard.press("Space")
    page.keyboard.press("Escape")
    page.locator("#toggle").click()

    assert len(fake.wait_for_kind("start")) == 1


@pytest.mark.parametrize("close", ["Escape", "Done", "Learn this instrument"])
def test_closing_the_settings_ends_the_waiting_for_a_switch(
    open_page: Callable[..., Page], fake: Any, close: str
) -> None:
    page = open_page()
    page.locator("#open-settings").click()
    fake.change(learning_foot="start", foot_words="Press the switch now.")
    expect(page.locator("#foot-learning")).to_have_text("Press the switch now.")
    if close == "Escape":
        page.keyboard.press(close)
    else:
        page.get_by_role("button", name=close).click()
    expect(page.locator("#settings")).to_be_hidden()

    assert fake.wait_for_kind("learn_foot") == [{"kind": "learn_foot", "does": ""}]
    expect(page.locator("#foot-learning")).to_have_text("")


def test_the_input_of_our_own_is_told_from_an_instrument(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.send(protocol.Ports(["banjo", "coach in"], [], "banjo", None, "", None, "coach in"))
    page.locator("#open-settings").click()

    words = "coach in: an input of our own, to which another program can be connected"
    expect(page.locator("[name=midi_in] option")).to_have_text(["none", "banjo", words])
    expect(page.locator("[name=midi_in] option").last).to_have_attribute("value", "coach in")
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate(
        "document.querySelector('#settings').scrollWidth <= document.querySelector('#settings').clientWidth"
    )


def test_what_is_said_leaves_the_way_to_the_settings_free(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport={"width": 390, "height": 844})
    fake.send(protocol.Failure("MIDI input 'banjo' has vanished; it is taken up again when it is back.", "ports"))
    expect(page.locator("#notice")).to_be_visible()
    page.locator("#open-settings").click()

    expect(page.locator("#settings")).to_be_visible()
