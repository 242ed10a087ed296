"""The settings: what closes them, and what that ends."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect


@pytest.mark.parametrize(
    "focused", [None, "[name=midi_in]", "[name=latency_ms]", "[name=foot_start]", "[name=keep_going]"]
)
def test_escape_closes_the_settings(open_page: Callable[..., Page], fake: Any, focused: str | None) -> None:
    page = open_page()
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
