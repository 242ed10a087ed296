"""The views of a studio for ``make_screenshots.py``: how people come in, the student's page while somebody looks on,
the teacher's desk, a week and its print."""

from __future__ import annotations

import random
from collections.abc import Callable

from a_studio import come_in, invited
from browser_midi import Timed, as_written, connect, play_along, plug, solo_of
from playwright.sync_api import Page, StorageState, expect
from watched import Watched

TEMPO, LAST = 160, 4
LATE = 0.05  # seconds from a note to its message
FAILURES = 4  # passes running in which a measure was not clean, after which the desk calls somebody stuck


def with_errors(written: Timed) -> Timed:
    """Most notes as they are, some missed, wrong, early or late, by a seed."""
    rng = random.Random(7)
    played = []
    for seconds, (status, pitch, velocity) in written:
        what = rng.random()
        if what > 0.06:
            shift = rng.choice((-0.07, 0.08)) if what > 0.9 else rng.gauss(0.0, 0.01)
            played.append((seconds + shift, [status, pitch + (what < 0.1), velocity]))
    return sorted(played)


def at_practice(seen: Watched, url: str, tier: str) -> str:
    """Somebody at their page, with an instrument and a tune, of which this gives the id."""
    seen.open(url)
    connect(seen)
    tune: str = next(each["id"] for each in seen.last("tunes")["tunes"] if each["title"] == "Mill Lane")
    seen.choose_solo(tune, tier)
    seen.set("tempo", TEMPO)
    seen.set("last", LAST)
    return tune


def play_a_pass(seen: Watched, played: Callable[[Timed], Timed]) -> None:
    """A pass, up to its report."""
    with seen.hears("report"):
        play_along(seen, played(as_written(solo_of(seen), TEMPO, last=LAST, late=LATE)))


def with_a_wrong_third(written: Timed) -> Timed:
    """Measure 3 a semitone too high."""
    beat = 60 / TEMPO
    return [
        (seconds, [status, pitch + (8 * beat <= seconds - LATE < 12 * beat), velocity])
        for seconds, (status, pitch, velocity) in written
    ]


class Studio:
    """A studio with a teacher and some students, two of whom stay at practice."""

    def __init__(self, url: str, link: str, new: Callable[..., Watched]) -> None:
        self.url = url
        teacher = new()
        come_in(teacher.page, link, "Ruth")
        self._people: dict[str, StorageState] = {"Ruth": teacher.page.context.storage_state()}
        self._here = []
        for name in ("Wren", "Otter", "Pike", "Heron"):
            seen = new()
            come_in(seen.page, invited(teacher.page, url), name)
            self._people[name] = seen.page.context.storage_state()
            if name in ("Otter", "Pike"):
                plug(seen)
                tune = at_practice(seen, url, "beginner" if name == "Otter" else "intermediate")
                self._here.append(seen)
            else:
                seen.page.context.close()
        for _ in range(FAILURES):
            play_a_pass(self._here[0], with_a_wrong_third)
        play_a_pass(self._here[1], with_errors)
        self.link = invited(teacher.page, url)  # one that nobody takes: its page is looked at
        self._set(teacher.page, tune)
        teacher.page.context.close()

    def _set(self, desk: Page, tune: str) -> None:
        """The tune for the whole class, with a cap."""
        desk.goto(f"{self.url}desk.html#set")
        desk.locator("#whole-class").click()
        desk.locator("#assign select[name=tune]").select_option(tune)
        desk.locator("#assign input[name=goal]").fill("176")
        desk.locator("#assign [name=words]").fill("Slow hands, and let the thumb lead.")
        desk.locator("#assign summary").click()
        desk.locator("#assign input[name=cap]").fill(str(TEMPO))
        desk.locator("#assign-send").click()
        expect(desk.locator("#assigned li").first).to_be_visible()

    def of(self, name: str) -> StorageState:
        """What the browser of somebody keeps."""
        return self._people[name]


class StudioViews:
    """The views of a studio at one width and theme, one after another."""

    def __init__(self, studio: Studio, new: Callable[..., Watched], take: Callable[..., None]) -> None:
        self._studio = studio
        self._url = studio.url
        self._new = new
        self._take = take

    def come_in(self) -> None:
        """What is seen before somebody is in, and their account."""
        page = self._new().page
        page.goto(f"{self._url}sign-in.html?studio=mill-lane")
        page.get_by_role("button", name="Sign in").wait_for()
        self._take(page, "20-sign-in")
        page.goto(self._studio.link)
        page.get_by_label("I agree to that").wait_for()
        self._take(page, "21-join")
        page.context.close()
        page = self._new(storage_state=self._studio.of("Wren")).page
        page.goto(f"{self._url}account.html")
        page.locator("#devices li").first.wait_for()
        self._take(page, "22-account")
        page.context.close()

    def lesson(self) -> None:
        """A student who is looked on, and what the teacher sees of it."""
        student = self._new(storage_state=self._studio.of("Wren"))
        desk = self._new(storage_state=self._studio.of("Ruth")).page
        plug(student)
        at_practice(student, self._url, "intermediate")
        desk.goto(f"{self._url}desk.html")
        cards = desk.locator("#cards > li")
        expect(cards).to_have_count(3)
        expect(desk.locator("#cards")).to_contain_text("Measure 3 has failed")
        self._take(desk, "24-desk-now")
        cards.filter(has_text="Wren").get_by_role("link").click()
        desk.locator("#open-sheet svg .measure").first.wait_for()
        desk.locator("#open-strip button").nth(1).click()
        if student.page.locator("#pinned").is_hidden():  # what a look before this one has pinned is still there
            desk.locator("#pin-words").fill("Let the thumb lead here, and breathe before the chord changes.")
            desk.locator("#pin button[type=submit]").click()
        expect(student.page.locator("#pinned")).to_contain_text("breathe")
        desk.locator("#steer-tempo").fill(str(TEMPO - 20))
        desk.locator("#steer button[type=submit]").click()
        student.page.locator("#offer button").first.wait_for()
        student.page.evaluate("scrollTo(0, 0)")
        self._take(student.page, "23-looked-on", whole=False)
        student.page.get_by_role("button", name="No", exact=True).click()
        play_a_pass(student, with_errors)
        desk.locator("#open-report").wait_for()
        desk.evaluate("scrollTo(0, 0)")
        self._take(desk, "25-desk-open")
        student.page.context.close()
        desk.context.close()

    def desk(self) -> None:
        """The other views of the desk, and a week."""
        page = self._new(storage_state=self._studio.of("Ruth")).page
        page.goto(f"{self._url}desk.html#set")
        page.locator("#assigned li").first.wait_for()
        self._take(page, "26-desk-set")
        page.goto(f"{self._url}desk.html#people")
        page.locator("#people-list summary").nth(1).click()
        page.locator("#invitations li").first.wait_for()
        self._take(page, "27-desk-people")
        page.goto(f"{self._url}desk.html#tunes")
        page.locator("#tunes-list li").first.wait_for()
        self._take(page, "28-desk-tunes")
        page.context.close()

    def week(self) -> Page:
        """The week of somebody who played, to be looked at and printed."""
        page = self._new(storage_state=self._studio.of("Wren")).page
        page.goto(f"{self._url}week.html")
        page.locator("#parts").wait_for()
        self._take(page, "29-week")
        return page
