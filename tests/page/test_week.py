"""The page of a week: for a teacher with their students, for a student, on a phone, in the dark and on one sheet of A4.

axe-core is the outside check of what everyone can use (WCAG 2.2 AA).
"""

from __future__ import annotations

import importlib.util
import json
import mimetypes
import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, Route, ViewportSize, expect

from coach.service.week_files import week_record
from coach.studio.calendar_weeks import Week, read_week
from coach.studio.people import Person, StudioName
from coach.studio.pins import Pinned
from coach.studio.rules import Assignment, Setting
from coach.studio.takes_worth import Played, TakeWorth
from coach.studio.weeks import (
    ClimbOfWeek,
    DayOfWeek,
    HabitOfWeek,
    HeldBack,
    SetInWeek,
    SittingOfWeek,
    TuneOfWeek,
    WeekOfPractice,
)

PAGE = Path(__file__).parents[2] / "web_client"
HOST = "http://practice.test/"
POLICY = "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'"
TODAY = date(2026, 11, 26)
WIDE = ViewportSize(width=1280, height=900)
PHONE = ViewportSize(width=320, height=740)
OAK = StudioName("oak", "Oak Lane")
RUTH = Person("ruth", "Ruth", "teacher", OAK)
ANNA, REED = Person("anna", "Anna", "student", OAK), Person("reed", "Reed", "student", OAK)
MILL, BANK = "mill-lane-0", "reed-bank-0"
WORDS = "Let the left hand go first at the change to C, and keep the drone under it.\nThen with the click."


def a_week(week: Week, *, full: int = 1) -> WeekOfPractice:
    """A week in which much happened."""
    days = week.days

    def take(number: int, why: str, **changes: Any) -> TakeWorth:
        told = {"tune": MILL, "title": "Mill Lane", "tier": "beginner", "mix": (), "first": 1, "last": 16}
        told |= {"tempo": 84.0, "is_clean": True, "climbs": True, "is_heard": True, "measures": {}}
        told |= {"folder": "20261124T180000-anna", "number": number, "began": f"{days[1]}T18:05:00Z", "day": days[1]}
        return TakeWorth(Played(**(told | changes)), why)

    setting = Setting(
        *(MILL, "Mill Lane", "beginner", 96.0, (), days[6], "steps", 4.0, 2, None, 88.0, days[6]),
        "Twice a day, slowly first.",
    )
    return WeekOfPractice(
        week=week,
        minutes=71.4,
        passes=88,
        days=tuple(
            DayOfWeek(day, minutes, {MILL: minutes * 0.7, BANK: minutes * 0.3} if minutes else {})
            for day, minutes in zip(days, (0, 24.0, 12.5, 0, 22.0, 0.4, 12.5), strict=True)
        ),
        tunes=(TuneOfWeek(MILL, "Mill Lane", 50.0, 60), TuneOfWeek(BANK, "Reed Bank", 21.4, 28)),
        sittings=tuple(SittingOfWeek(days[n], f"{days[n]}T17:00:00Z", 20.0, 18.0, 84.0) for n in (1, 2, 4, 6)),
        climb=(
            ClimbOfWeek(MILL, "Mill Lane", "beginner", 96.0, 24, 15, 72.0, 84.0, 81.3),
            ClimbOfWeek(MILL, "Mill Lane", "intermediate", 96.0, 6, 1, None, 60.0, 58.0),
            ClimbOfWeek(BANK, "Reed Bank", "advanced", 120.0, 9, 0, None, None, None),
        ),
        held_back=tuple(
            HeldBack(MILL, "Mill Lane", "beginner", number, 12 - number, 20, is_clean=number % 2 == 0)
            for number in range(3, 3 + 4 * full)
        ),
        habits=(
            HabitOfWeek("change late", "Chord changes come late, by 31 ms: let the left hand go first.", 21, 80),
            HabitOfWeek("fifth string early", "The fifth string comes early, by 24 ms, in 6 of 8 measures.", 9, 80),
        ),
        takes=(
            take(3, "The first clean one after 7 tries that were not."),
            take(9, "The fastest clean one, at 84."),
            take(12, "Measure 3 was not clean in 9 of 20 passes: this is the last.", first=3, last=4, day=days[6]),
        ),
        set=(
            SetInWeek(Assignment("a1", "anna", "Anna", "Ruth", f"{days[0]}T10:00:00Z", None, setting), 84.0),
            SetInWeek(
                Assignment(
                    "a2",
                    "anna",
                    "Anna",
                    "Ruth",
                    f"{days[0]}T10:00:00Z",
                    None,
                    Setting(BANK, "Reed Bank", "advanced", 80.0),
                ),
                None,
            ),
        ),
        pins=(
            Pinned("p1", "anna", "Ruth", f"{days[0]}T10:00:00Z", MILL, 3, WORDS, f"{days[1]}T18:00:00Z"),
            Pinned("p2", "anna", "Ruth", f"{days[2]}T10:00:00Z", BANK, 5, "Loose wrist.", None),
        ),
    )


CUES = {
    "format": "cues/1",
    "digest": "ab" * 32,
    "tempo": 84.0,
    "bounce": 50,
    "first": 1,
    "last": 2,
    "lead": 0.0,
    "length": 600.0,
    "end": 600.0,
    "positions": [[1, 0.0]],
    "free": False,
    "written": [],
    "click": [[0.0, "click", 76, 0.05, 1.0]],
    "cues": [[0.1, "banjo", 55, 0.3, 1.0], [0.4, "banjo", 59, 599.0, 0.8]],
}
COUNT_SOUNDS = """() => {
  window.started = 0;
  const start = AudioBufferSourceNode.prototype.start;
  AudioBufferSourceNode.prototype.start = function (...words) { window.started += 1; return start.apply(this, words); };
}"""


class Service:
    """Files of the page under the policy, and what it asks for as the test wants it."""

    def __init__(self) -> None:
        self.person: Person | None = RUTH
        self.students = [ANNA, REED]
        self.asked: list[dict[str, str]] = []
        self.full = 1
        self.refuses = ""
        self.cues: list[str] = []
        self.has_takes = False

    def __call__(self, route: Route) -> None:
        url = urlsplit(route.request.url)
        query = {name: values[0] for name, values in parse_qs(url.query).items()}
        if url.path == "/who.json":
            route.fulfill(json={"format": "who/1", "studio": True, "person": _told(self.person)})
        elif url.path == "/studio.json":
            route.fulfill(json={"format": "studio/1", "people": [_told(each) for each in (RUTH, *self.students)]})
        elif url.path == "/week.json":
            self.asked.append(query)
            self._week(route, query)
        elif url.path.startswith("/kept/"):
            self.cues.append(url.path)
            if self.has_takes:
                route.fulfill(json=CUES)
            else:
                route.fulfill(status=404, json={"text": "The take is not there any more."})
        elif url.path == "/sound/bank.json":
            route.fulfill(json=_sounds().BANK)
        elif url.path.startswith("/sound/"):
            route.fulfill(body=_sounds().bank_wav(), content_type="audio/wav")
        else:
            kind = mimetypes.guess_type(url.path)[0] or "text/plain"
            headers = {"content-security-policy": POLICY}
            route.fulfill(body=(PAGE / url.path[1:]).read_bytes(), content_type=kind, headers=headers)

    def _week(self, route: Route, query: dict[str, str]) -> None:
        if self.refuses:
            route.fulfill(status=422, json={"text": self.refuses})
            return
        week = read_week(query["week"]) if "week" in query else Week.of(TODAY)
        whose = next((each for each in self.students if each.id == query.get("student")), self.person)
        assert whose is not None
        told = a_week(week, full=self.full)
        if whose is REED:
            told = WeekOfPractice(week, 0.0, 0, tuple(DayOfWeek(day, 0.0, {}) for day in week.days), *((),) * 8)
        route.fulfill(body=json.dumps(week_record(told, whose)), content_type="application/json")


def _sounds() -> Any:
    """The module with the sounds of the fake service."""
    spec = importlib.util.spec_from_file_location("week_fake_service", Path(__file__).parent / "fake_service.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _told(person: Person | None) -> dict[str, Any] | None:
    return None if person is None else {"id": person.id, "name": person.name, "role": person.role}


@pytest.fixture
def service() -> Service:
    """What the page reaches."""
    return Service()


@pytest.fixture
def open_week(browser: Browser, service: Service) -> Iterator[Callable[..., Page]]:
    """Opens the page of a week; at the end, no page may have complained about anything."""
    contexts = []
    complaints: list[str] = []

    def opening(viewport: ViewportSize = WIDE, query: str = "", scheme: Any = "light") -> Page:
        context = browser.new_context(viewport=viewport, color_scheme=scheme)
        contexts.append(context)
        page = context.new_page()
        page.clock.set_fixed_time(f"{TODAY}T12:00:00")
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.route(f"{HOST}**", service)
        page.goto(f"{HOST}week.html{query}")
        expect(page.locator("#words")).not_to_have_text("Looking it up …")
        return page

    yield opening
    for context in contexts:
        context.close()
    # What the service refuses is what some tests are about; the browser notes it by itself.
    assert [text for text in complaints if "Failed to load resource" not in text] == []


def violations(page: Page) -> list[str]:
    """What axe-core finds: the rule and the elements that break it."""
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    return [f"{one['id']}: {[node['html'][:160] for node in one['nodes']]}" for one in found]


def test_a_teacher_sees_a_week_of_a_student(open_week: Callable[..., Page], service: Service) -> None:
    page = open_week(query="?student=anna&week=2026-W47")

    assert service.asked == [{"student": "anna", "week": "2026-W47"}]
    expect(page.locator("h1")).to_have_text("Anna: 16 to 22 November 2026")
    expect(page.locator(".glance")).to_have_text("71 minutes on 5 days, in 4 sittings and 88 passes.")
    expect(page.locator(".climb tbody tr").first).to_have_text("Mill Lane● beginner72848196" + "15 of 24")
    expect(page.locator(".held tbody tr").first).to_have_text("3Mill Lane, ● beginner9 of 20✗ not yet")
    expect(page.locator(".habits li").first).to_contain_text("go first. (in 21 of 80 passes)")
    expect(page.locator(".set li").first).to_contain_text("goal 96, until 22 November. Clean at 84 so far.")
    expect(page.locator(".pins li").first).to_contain_text("Mill Lane, measure 3. Read on 17 November.")
    expect(page.locator(".pins li").last).to_contain_text("Reed Bank, measure 5. Not read yet.")
    expect(page.locator("#csv")).to_have_attribute("href", "week.csv?student=anna&week=2026-W47")
    expect(page.locator("#to-desk")).to_be_visible()


def test_weeks_are_turned_and_students_chosen(open_week: Callable[..., Page], service: Service) -> None:
    page = open_week(query="?student=anna")

    expect(page.locator("#after")).to_be_disabled()  # it has not begun
    page.locator("#before").click()
    expect(page.locator("h1")).to_have_text("Anna: 16 to 22 November 2026")
    expect(page.locator("#after")).to_be_enabled()
    assert page.evaluate("location.search") == "?student=anna&week=2026-W47"
    page.get_by_label("Student").select_option("Reed")
    expect(page.locator("h1")).to_have_text("Reed: 16 to 22 November 2026")
    expect(page.locator(".glance")).to_have_text("Nothing was played in this week.")
    expect(page.locator(".climb")).to_have_count(0)
    assert service.asked[-1] == {"student": "reed", "week": "2026-W47"}


def test_a_student_sees_their_own_whatever_is_asked_for(open_week: Callable[..., Page], service: Service) -> None:
    service.person = ANNA
    page = open_week(query="?student=reed")

    expect(page.locator("h1")).to_have_text("Anna: 23 to 29 November 2026")
    assert service.asked == [{}]
    expect(page.locator("#who")).to_be_hidden()
    expect(page.locator("#to-desk")).to_be_hidden()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"students": []}, "There is no student in the studio yet."),
        ({"person": None}, "Weeks are told in a studio, where people sign in."),
        ({"refuses": "There is no such week."}, "There is no such week."),
    ],
)
def test_where_there_is_nothing_to_show_it_is_said(
    open_week: Callable[..., Page], service: Service, change: dict[str, Any], words: str
) -> None:
    for name, value in change.items():
        setattr(service, name, value)

    expect(open_week().locator("#words")).to_have_text(words)


def test_a_take_is_asked_for_by_its_button_and_trouble_is_said(
    open_week: Callable[..., Page], service: Service
) -> None:
    page = open_week(query="?student=anna")
    button = page.get_by_role("button", name="Play: Mill Lane, measures 1 to 16 at 84, Tue 24 Nov").first

    button.click()

    expect(page.locator("#words")).to_have_text("The take is not there any more.")
    expect(button).to_have_text("Play")
    assert service.cues == ["/kept/20261124T180000-anna/3.cues.json"]


def test_a_take_sounds_until_it_is_stopped_or_another_is_played(
    open_week: Callable[..., Page], service: Service
) -> None:
    service.has_takes = True
    page = open_week(query="?student=anna")
    page.evaluate(COUNT_SOUNDS)
    first, second = page.locator(".take button").nth(0), page.locator(".take button").nth(1)

    first.click()
    expect(first).to_have_text("Stop")
    page.wait_for_function("() => window.started >= 3")
    second.click()
    expect(first).to_have_text("Play")
    expect(second).to_have_text("Stop")
    page.wait_for_function("() => window.started >= 6")
    second.click()
    expect(second).to_have_text("Play")
    expect(page.locator("#words")).to_be_hidden()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [WIDE, PHONE])
def test_everyone_can_use_it(open_week: Callable[..., Page], viewport: ViewportSize, scheme: str) -> None:
    page = open_week(viewport, "?student=anna", scheme)

    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
    for button in page.locator("button:visible, select:visible").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 44


def test_it_fits_on_one_sheet_of_a4(open_week: Callable[..., Page], service: Service) -> None:
    service.full = 2
    page = open_week(query="?student=anna")

    data = page.pdf(prefer_css_page_size=True)

    assert len(re.findall(rb"/Type\s*/Page\b", data)) == 1
    box = re.search(rb"/MediaBox\s*\[0 0 ([0-9.]+) ([0-9.]+)\]", data)
    assert box is not None
    # A4 is 210 mm by 297 mm (ISO 216), 595.3 by 841.9 points.
    assert [float(each) for each in box.groups()] == pytest.approx([595.3, 841.9], abs=1.0)
