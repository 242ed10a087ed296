"""A lost connection says so, comes back by itself, and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec
from playwright.sync_api import Page, expect

# Counts the sounds that are handed to the audio clock.
ONSETS = """
window.onsets = 0;
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...how) {
  window.onsets += 1;
  return start.call(this, ...how);
};
"""


def test_a_lost_connection_says_so_and_comes_back_by_itself(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.refusing = True

    fake.drop()
    expect(page.locator("#notice")).to_contain_text("The connection is lost")
    expect(page.locator("#toggle")).to_be_disabled()
    fake.refusing = False

    expect(page.locator("#notice")).to_be_hidden()
    expect(page.locator("#toggle")).to_be_enabled()
    joins = fake.wait_for_kind("join", 2)
    assert joins[0] == joins[1]


def test_notes_played_while_the_line_is_down_arrive_in_order(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.locator("#open-pad").click()
    page.keyboard.press("KeyA")
    fake.wait_for_notes(1)
    fake.refusing = True
    fake.drop()
    expect(page.locator("#notice")).to_contain_text("The connection is lost")

    page.keyboard.press("KeyS")
    page.keyboard.press("KeyD")
    fake.refusing = False

    assert [(note["seq"], note["data"][1]) for note in fake.wait_for_notes(3)] == [(1, 55), (2, 56), (3, 57)]


def test_what_was_not_acknowledged_is_sent_again_with_the_same_numbers_and_stamps(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    page.locator("#open-pad").click()
    fake.acknowledging = False
    page.keyboard.press("KeyA")
    page.keyboard.press("KeyS")
    first = fake.wait_for_notes(2)

    fake.drop()

    assert fake.wait_for_notes(4) == [*first, *first]


def test_what_the_service_has_taken_is_not_sent_again(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.locator("#open-pad").click()
    page.keyboard.press("KeyA")
    fake.wait_for_notes(1)

    fake.drop()
    fake.wait_for_kind("join", 2)
    expect(page.locator("#notice")).to_be_hidden()
    page.keyboard.press("KeyS")

    assert [note["seq"] for note in fake.wait_for_notes(2)] == [1, 2]


def test_a_page_that_is_loaded_again_keeps_its_seat_and_goes_on_counting(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    page.locator("#open-pad").click()
    page.keyboard.press("KeyA")
    fake.wait_for_notes(1)

    page.reload()
    page.locator("#sheet svg #m1e1").wait_for()
    page.locator("#open-pad").click()
    page.keyboard.press("KeyS")

    first, second = fake.wait_for_kind("join", 2)
    assert first == second
    assert [note["seq"] for note in fake.wait_for_notes(2)] == [1, 2]


def test_two_pages_have_seats_of_their_own(open_page: Callable[..., Page], fake: Any) -> None:
    open_page()
    open_page()

    first, second = fake.wait_for_kind("join", 2)
    assert first["session"] == second["session"] == "home"
    assert first["seat"] != second["seat"]


def test_a_newer_page_is_fetched_between_passes_not_during_one(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.evaluate("window.old = true")
    fake.begin(1)
    expect(page.locator("#toggle .label")).to_have_text("Stop")
    fake.page_digest = "newer"

    fake.drop()
    expect(page.locator("#notice")).to_contain_text("There is a newer page")
    assert page.evaluate("window.old") is True
    fake.change(state="between passes")

    page.wait_for_function("() => window.old === undefined")


def test_a_pass_that_sounds_goes_on_sounding_through_a_lost_connection(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    page.locator("#toggle").click()
    begin = fake.begin(1)
    (told,) = fake.wait_for_kind("sounding")

    fake.drop()
    fake.wait_for_kind("join", 2)
    expect(page.locator("#notice")).to_be_hidden()
    fake.send(
        msgspec.structs.replace(begin, origin=told["origin"])
    )  # the service tells a page that comes back what is going on
    page.locator("#m3.sounding").wait_for()

    assert len(fake.wait_for_kind("sounding")) == 1


def test_where_the_click_is_heard_is_told_again_when_the_word_was_lost_with_the_connection(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    page.locator("#toggle").click()
    fake.wait_for_kind("start")
    fake.refusing = True
    begin = fake.begin(1)
    fake.drop()
    expect(page.locator("#notice")).to_contain_text("The connection is lost")
    page.locator("#m1.sounding").wait_for()
    assert [message for message in fake.received if message["kind"] == "sounding"] == []

    fake.refusing = False
    fake.wait_for_kind("join", 2)
    expect(page.locator("#notice")).to_be_hidden()
    fake.send(begin)  # its origin is not known yet

    (told,) = fake.wait_for_kind("sounding")
    assert told["number"] == 1
    assert told["origin"] < page.evaluate("performance.now() / 1000")


def test_a_pass_can_be_stopped_while_the_line_is_down_and_the_service_is_told_later(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page(script=ONSETS)
    page.locator("#toggle").click()
    fake.begin(1, length=600.0)
    fake.wait_for_kind("sounding")
    fake.refusing = True
    fake.drop()
    expect(page.locator("#notice")).to_contain_text("The connection is lost")
    page.locator("#toggle").click()
    expect(page.locator("#notice")).to_contain_text("Stopped. The coach is told when the connection is back")
    count = page.evaluate("window.onsets")
    page.wait_for_function("(until) => performance.now() > until", arg=page.evaluate("performance.now()") + 500)
    assert page.evaluate("window.onsets") == count
    assert [message for message in fake.received if message["kind"] == "stop"] == []

    fake.refusing = False
    fake.wait_for_kind("stop")

    expect(page.locator("#notice")).to_be_hidden()
