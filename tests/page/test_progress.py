"""The page of progress: what it asks for, what it shows, and how it is used by keys, on a phone and on paper."""

from __future__ import annotations

import mimetypes
import re
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import Browser, Page, Route, ViewportSize, expect

from coach.records.progress import ClimbDay, DayPlayed, PassPlayed, Progress, ReadyMeasure, TunePlayed
from coach.service.progress import progress_json

PAGE = Path(__file__).parents[2] / "web_client"
HOST = "http://practice.test/"
POLICY = "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'"
TODAY = date(2026, 11, 26)
WIDE = ViewportSize(width=1280, height=800)
PHONE = ViewportSize(width=390, height=844)
PAIR = ("#grid", "#ready")
TUNES = {"reed-bank-0": "Reed Bank", "mill-lane-0": "Mill Lane"}


def played(tune: str = "reed-bank-0", *, days: int = 3, count: int = 16, first: int = 1) -> Progress:
    """Progress that rises day by day, over two tiers."""
    measures = range(first, first + count)
    past = [(TODAY - timedelta(days=ago)).isoformat() for ago in reversed(range(days))]
    tiers = ("beginner", "intermediate")
    clean = {number: number % 4 > 0 for number in measures}
    return Progress(
        player="anna",
        tune=tune,
        title=TUNES.get(tune, ""),
        goal=120.0 if tune in TUNES else None,
        tunes=tuple(TunePlayed(name, title, 30 * days, 20.0 * days, past[-1]) for name, title in TUNES.items()),
        days=tuple(DayPlayed(day, 25.0, {"reed-bank-0": 20.0, "mill-lane-0": 5.0}) for day in past),
        climb=tuple(
            ClimbDay(day, tiers[index * 2 >= days], 60.0, 80.0 + index / days, 70.0 + index / days, 9)
            for index, day in enumerate(past)
        ),
        passes=tuple(
            PassPlayed(f"{past[-1]}T12:{minute}:00Z", 84.0, tiers[1], (2,), "whole", "heard", False, True, clean)
            for minute in range(10, 60)
        ),
        measures=tuple(measures),
        ready=tuple(ReadyMeasure(number, tier, 70.0 + number, 60.0, 150.0, 8) for tier in tiers for number in measures),
    )


def row_of(page: Page, figure: str) -> float:
    """The height on the page at which the row of measure 16 stands."""
    box = page.locator(f"{figure} .drawing text", has_text=re.compile("^16$")).bounding_box()
    assert box is not None
    return box["y"]


NOTHING = Progress("anna", "", "", None, (), (), (), (), (), ())


class Service:
    """Files of the page under the policy, and progress as the test wants it."""

    def __init__(self) -> None:
        self.asked: list[dict[str, str]] = []
        self.answers: Callable[[str], Progress] = lambda tune: played(tune or "reed-bank-0")
        self.refuses = ""
        self.gone = False

    def __call__(self, route: Route) -> None:
        url = urlsplit(route.request.url)
        if url.path != "/progress.json":
            kind = mimetypes.guess_type(url.path)[0] or "text/plain"
            headers = {"content-security-policy": POLICY}
            route.fulfill(body=(PAGE / url.path[1:]).read_bytes(), content_type=kind, headers=headers)
            return
        asked = {name: values[0] for name, values in parse_qs(url.query).items()}
        self.asked.append(asked)
        if self.gone:
            route.abort()
        elif self.refuses:
            route.fulfill(status=422, json={"text": self.refuses})
        else:
            answer = self.answers(asked.get("tune", ""))
            route.fulfill(body=progress_json(answer), content_type="application/json")


@pytest.fixture
def service() -> Service:
    """What the page reaches."""
    return Service()


@pytest.fixture
def open_progress(browser: Browser, service: Service) -> Iterator[Callable[..., Page]]:
    """Opens the page of progress; at the end, no page may have complained about anything."""
    contexts = []
    complaints: list[str] = []

    def opening(viewport: ViewportSize = WIDE, query: str = "?session=anna", today: date = TODAY) -> Page:
        context = browser.new_context(viewport=viewport)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(30_000)
        page.clock.set_fixed_time(f"{today}T12:00:00")
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.route(f"{HOST}**", service)
        page.goto(f"{HOST}progress.html{query}")
        page.locator("#climb svg, #words:not(:empty)").first.wait_for()
        expect(page.locator("#words")).not_to_have_text("Looking it up …")
        return page

    yield opening
    for context in contexts:
        context.close()
    # What the service refuses, and that it is gone, is what some tests are about; the browser notes it by itself.
    assert [text for text in complaints if "Failed to load resource" not in text] == []


def test_pictures_have_names_and_words_and_those_beside_each_other_have_their_rows_in_common(
    open_progress: Callable[..., Page], service: Service
) -> None:
    page = open_progress(ViewportSize(width=1500, height=800))

    assert service.asked == [{"session": "anna"}]
    expect(page.locator("h1")).to_have_text("Progress: Reed Bank")
    for name in ("The climb", "Measures, pass by pass", "Ready tempo of each measure", "Minutes a day"):
        expect(page.get_by_role("img", name=name)).to_have_accessible_description(re.compile(r"\w+ \w+ .*\w\."))
    lengths = [page.locator(f"{figure} .hint").evaluate("(words) => words.textContent.length") for figure in PAIR]
    assert lengths[0] > 1.5 * lengths[1]  # the rows meet although there is more to say above the one
    assert abs(row_of(page, "#grid") - row_of(page, "#ready")) < 1
    expect(page.locator("#glance p").first).to_have_text(
        "The fastest clean pass of the intermediate tier: 71, on 26 Nov. The goal is 120."
    )
    expect(page.locator("#back")).to_have_attribute("href", "./?session=anna")


def test_a_player_who_has_played_nothing_is_told_so(open_progress: Callable[..., Page], service: Service) -> None:
    service.answers = lambda _: NOTHING

    page = open_progress()

    expect(page.locator("#words")).to_have_text("Nothing has been played yet. After the first pass it is seen here.")
    for part in ("#pictures", "#tunes", "#margin"):
        expect(page.locator(part)).to_be_hidden()


def test_a_service_that_is_a_day_ahead_of_the_page_is_believed(
    open_progress: Callable[..., Page], service: Service
) -> None:
    service.answers = lambda _: played(days=9)

    page = open_progress(today=TODAY - timedelta(days=1))

    expect(page.locator("#glance p").last).to_have_text(re.compile(r"^The last seven days: 2 h 55 min on 7 days\."))


def test_a_tune_that_was_not_played_leaves_the_choice_of_another(open_progress: Callable[..., Page]) -> None:
    page = open_progress(query="?session=anna&tune=long-gone-0")

    expect(page.locator("#words")).to_have_text("This tune has not been played yet. Choose another.")
    expect(page.locator("#pictures")).to_be_hidden()
    page.get_by_label("Tune", exact=True).select_option("Reed Bank")
    expect(page.get_by_role("img", name="The climb")).to_be_visible()


def test_what_the_service_refuses_is_said_in_its_own_words(
    open_progress: Callable[..., Page], service: Service
) -> None:
    service.refuses = "There is no tune 'mill-lane-9'."

    page = open_progress(query="?session=anna&tune=mill-lane-9")

    assert service.asked == [{"session": "anna", "tune": "mill-lane-9"}]
    expect(page.locator("#words")).to_have_text("There is no tune 'mill-lane-9'.")


def test_a_page_that_is_looked_at_again_asks_again_and_keeps_what_it_has_when_nobody_answers(
    open_progress: Callable[..., Page], service: Service
) -> None:
    page = open_progress()
    service.answers = lambda _: played(days=5)

    with page.expect_response("**/progress.json*"):
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")

    expect(page.locator("#climb .drawing path.mark")).to_have_count(5)
    assert service.asked[-1] == {"session": "anna", "tune": "reed-bank-0"}
    service.gone = True
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator("#words")).to_have_text(re.compile("The coach does not answer"))
    expect(page.locator("#climb .drawing path.mark")).to_have_count(5)


def test_another_tune_is_chosen_by_keys_and_stays_in_the_address(
    open_progress: Callable[..., Page], service: Service
) -> None:
    page = open_progress()

    page.get_by_label("Tune", exact=True).focus()
    page.keyboard.press("ArrowDown")

    expect(page.locator("h1")).to_have_text("Progress: Mill Lane")
    expect(page.get_by_label("Tune", exact=True)).to_be_focused()
    expect(page).to_have_url(f"{HOST}progress.html?session=anna&tune=mill-lane-0")
    assert service.asked[-1] == {"session": "anna", "tune": "mill-lane-0"}
    other = page.locator("#tunes").get_by_role("link", name="Reed Bank")
    expect(other).to_have_attribute("href", "progress.html?session=anna&tune=reed-bank-0")


def test_tier_and_time_are_chosen(open_progress: Callable[..., Page], service: Service) -> None:
    service.answers = lambda _: played(days=100)
    page = open_progress()
    expect(page.locator("#ready desc")).to_have_text(re.compile("^Intermediate"))
    assert page.locator("#climb .drawing path.mark").count() < 20

    page.get_by_role("radio", name="Beginner").check(force=True)
    page.get_by_role("radio", name="4 weeks").check(force=True)

    expect(page.locator("#ready desc")).to_have_text(re.compile("^Beginner"))
    expect(page.locator("#climb .drawing path.mark")).to_have_count(28)
    expect(page.locator("#minutes h2")).to_have_text("Minutes a day")


def test_each_picture_is_a_table_on_demand_by_keys(open_progress: Callable[..., Page]) -> None:
    page = open_progress()
    assert page.locator("#pictures table").count() == 0

    page.locator("#ready summary").focus()
    page.keyboard.press("Enter")

    table = page.get_by_role("region", name="Ready tempo of each measure, as a table").locator("tbody tr")
    expect(table).to_have_count(16)
    expect(table.nth(5)).to_have_text("67660150" + "44 below" + "8")
    page.get_by_role("radio", name="Beginner").check(force=True)
    expect(table).to_have_count(16)


def test_a_phone_shows_a_long_tune_and_a_year_without_scrolling_sideways(
    open_progress: Callable[..., Page], service: Service
) -> None:
    service.answers = lambda _: played(days=365, count=65, first=0)

    page = open_progress(PHONE)

    expect(page.locator("#minutes h2")).to_have_text("Minutes a month")
    expect(page.locator("#grid .hint")).to_have_text(re.compile(r"the last \d\d of 10950"))
    assert page.evaluate("[document.documentElement.scrollWidth, innerWidth]") == [390, 390]
    assert row_of(page, "#ready") > row_of(page, "#grid") + 100


def test_on_paper_the_pictures_are_drawn_as_wide_as_the_page(open_progress: Callable[..., Page]) -> None:
    page = open_progress(PHONE)
    page.emulate_media(media="print")

    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    views = [svg.get_attribute("viewBox") for svg in page.locator(".drawing svg").all()]
    assert [str(view).split()[2] for view in views] == ["680"] * 4
    expect(page.locator("#shown")).to_be_hidden()

    page.emulate_media(media="screen")
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert "680" not in str(page.locator("#climb .drawing svg").get_attribute("viewBox"))


def test_the_page_of_practice_links_to_the_progress_of_its_player(browser: Browser, fake: Any) -> None:
    page = browser.new_page()
    page.goto(f"{fake.url}?session=anna")

    expect(page.get_by_role("link", name="Progress")).to_have_attribute("href", "progress.html?session=anna")
    page.close()
