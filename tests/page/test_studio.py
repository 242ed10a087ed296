"""What a teacher does for a student, on the page of practice: the sign while they listen, offers, what is set, pins."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from coach.service import protocol

STUDENT = {"person": "Wren", "role": "student", "studio": "Mill Lane"}
PIN = protocol.Pin("p1", 3, "Let the thumb lead here.", "Ruth", "2026-11-20T10:00:00Z", seen=False)
SET = protocol.Assignment(
    "a1", "reed-bank-0", "Reed Bank", "beginner", [], 96.0, "2026-12-03", "Slowly, with a loose wrist.", "Ruth", 80.0,
    "2026-11-30", "Not above 80 until 30 November.", None,
)  # fmt: skip


@pytest.fixture
def signed_in(open_page: Callable[..., Page], fake: Any) -> Callable[..., Page]:
    """Opens the page for somebody who is signed in."""

    def opening(*, greets: dict[str, str] = STUDENT, **options: Any) -> Page:
        fake.greets = greets
        page = open_page(**options)
        page.get_by_role("link", name=greets["person"]).wait_for()
        return page

    return opening


def test_a_page_of_a_service_without_a_studio_fetches_and_shows_nothing_of_one(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()

    assert page.locator("#offer, #pinned, #set-by-teacher").count() == 0
    expect(page.locator("#watched")).to_be_hidden()
    assert (
        page.evaluate("performance.getEntriesByType('resource').filter((one) => /studio\\.js/.test(one.name)).length")
        == 0
    )


def test_who_is_signed_in_leads_to_the_account_and_a_teacher_to_the_desk(signed_in: Callable[..., Page]) -> None:
    page = signed_in()
    expect(page.get_by_role("link", name="Wren")).to_have_attribute("href", "account.html")
    assert page.get_by_role("link", name="Desk").count() == 0

    page = signed_in(greets={"person": "Ruth", "role": "teacher", "studio": "Mill Lane"})
    expect(page.get_by_role("link", name="Desk")).to_have_attribute("href", "desk.html")


def test_a_sign_is_seen_as_long_as_a_teacher_listens_also_while_playing(
    signed_in: Callable[..., Page], fake: Any
) -> None:
    page = signed_in(viewport={"width": 390, "height": 740})
    sign = page.locator("#watched")
    expect(sign).to_be_hidden()

    fake.send(protocol.Watched(["Ruth"]))
    expect(sign).to_have_text("Ruth is looking on and listening")
    fake.begin(1, sounds=False, origin=page.evaluate("performance.now() / 1000"))
    page.locator("#m1.sounding").wait_for()
    expect(sign).to_be_in_viewport(ratio=1)

    fake.send(protocol.Watched(["Ruth", "Tam"]))
    expect(sign).to_have_text("Ruth and Tam are looking on and listening")
    fake.send(protocol.Watched([]))
    expect(sign).to_be_hidden()


def test_the_sign_goes_with_the_line_and_comes_back_with_what_is_told_then(
    signed_in: Callable[..., Page], fake: Any
) -> None:
    page = signed_in()
    fake.send(protocol.Watched(["Ruth"]))
    expect(page.locator("#watched")).to_be_visible()

    fake.drop()

    expect(page.locator("#watched")).to_be_hidden()


@pytest.mark.parametrize(
    ("button", "answer"),
    [
        ("Agree", {"yes": True}),
        ("Agree, and to all while they listen", {"yes": True, "always": True}),
        ("No", {"yes": False}),
    ],
)
def test_an_offer_waits_for_a_word_and_takes_it_to_the_service(
    signed_in: Callable[..., Page], fake: Any, button: str, answer: dict[str, bool]
) -> None:
    page = signed_in()
    fake.send(protocol.Offer(7, "Ruth", "72, measures 5 to 8"))
    expect(page.locator("#offer")).to_contain_text("Ruth would set: 72, measures 5 to 8")

    page.get_by_role("button", name=button, exact=True).click()

    (told,) = fake.wait_for_kind("answer")
    assert told == {"kind": "answer", "offer": 7, **answer}
    expect(page.locator("#offer")).to_be_hidden()


def test_an_offer_that_is_taken_back_goes(signed_in: Callable[..., Page], fake: Any) -> None:
    page = signed_in()
    fake.send(protocol.Offer(7, "Ruth", "72"))
    expect(page.locator("#offer")).to_be_visible()

    fake.send(protocol.Offer(0, "", ""))

    expect(page.locator("#offer")).to_be_hidden()


def test_what_is_set_is_told_whole_and_practised_by_a_click(signed_in: Callable[..., Page], fake: Any) -> None:
    page = signed_in()
    fake.send(protocol.Assigned([SET]))
    slip = page.locator("#set-by-teacher")
    expect(slip).to_contain_text("Reed Bank, beginner, up to 96")
    expect(slip).to_contain_text("until Thursday")
    expect(slip).to_contain_text("Not above 80 until 30 November.")
    expect(slip).to_contain_text("not yet clean from end to end")
    expect(slip).to_contain_text("Slowly, with a loose wrist.")

    slip.get_by_role("button", name="Practise this").click()

    (told,) = fake.wait_for_kind("settings")
    del told["kind"]
    assert told == {
        "tune": "reed-bank-0", "tier": "beginner", "mix": [], "goal": 96, "whole": True, "jam": False,
    }  # fmt: skip
    fake.change(tier="beginner")
    expect(slip).to_contain_text("This is what you practise now.")
    fake.send(protocol.Assigned([]))
    expect(slip).to_be_hidden()


def test_pinned_words_are_signed_at_their_measure_and_told_as_read(signed_in: Callable[..., Page], fake: Any) -> None:
    page = signed_in()
    page.route("**/pins/p1/seen", lambda route: route.fulfill(json={}))
    fake.send(protocol.Pins("reed-bank-0", [PIN]))
    expect(page.locator("#m3 .studio-slip title")).to_have_text("Your teacher wrote: Let the thumb lead here.")
    expect(page.locator("#pinned")).to_contain_text("Let the thumb lead here.")

    with page.expect_request("**/pins/p1/seen") as told:
        page.get_by_role("button", name="I have read it").click()

    assert told.value.method == "POST"
    fake.send(protocol.Pins("reed-bank-0", [protocol.Pin("p1", 3, PIN.words, PIN.by, PIN.made, seen=True)]))
    expect(page.get_by_role("button", name="I have read it")).to_be_hidden()


def test_words_pinned_to_another_tune_are_not_shown(signed_in: Callable[..., Page], fake: Any) -> None:
    page = signed_in()

    fake.send(protocol.Pins("mill-lane-0", [PIN]))
    fake.send(protocol.Watched(["Ruth"]))

    expect(page.locator("#watched")).to_be_visible()
    expect(page.locator("#pinned")).to_be_hidden()
    assert page.locator(".studio-slip").count() == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_what_a_teacher_does(signed_in: Callable[..., Page], fake: Any, scheme: str) -> None:
    page = signed_in(color_scheme=scheme)
    fake.send(protocol.Assigned([SET]))
    fake.send(protocol.Pins("reed-bank-0", [PIN]))
    fake.send(protocol.Offer(7, "Ruth", "72, measures 5 to 8"))
    fake.send(protocol.Watched(["Ruth"]))
    expect(page.locator("#watched")).to_be_visible()

    found = Axe().run(page, context={"exclude": [["svg"]]}, options={"resultTypes": ["violations"]})

    assert found.response["violations"] == []


def test_the_sign_is_seen_also_where_the_rest_cannot_be_fetched(
    open_page: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    fake.greets = STUDENT
    page = open_page()
    page.route("**/studio.js", lambda route: route.abort())
    page.reload()
    expect(page.locator("#notice")).to_contain_text("could not be fetched")

    fake.send(protocol.Watched(["Ruth"]))

    expect(page.locator("#watched")).to_have_text("Ruth is looking on and listening")
    complaints.clear()
