"""The teacher's desk: students at a glance, and one who is looked on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

import msgspec
import pytest
from playwright.sync_api import Page, expect

from coach.service import protocol

PHONE = {"width": 390, "height": 844}


def strip(clean: str, **fields: Any) -> protocol.PassStrip:
    """A pass: a measure for each letter, clean where it is an ``x``."""
    own: dict[str, Any] = {"tune": "reed-bank-0", "tier": "beginner", "tempo": 80.0, "first": 1, "whole": True}
    return protocol.PassStrip(clean=[each == "x" for each in clean], **(own | fields))


def card(name: str, **fields: Any) -> protocol.Card:
    """A student at practice, between passes."""
    own: dict[str, Any] = {"student": name.lower(), "name": name, "here": True, "state": "between passes"}
    own |= {"tune": "reed-bank-0", "title": "Reed Bank", "tier": "beginner", "tempo": 84.0, "first": 1, "last": 16}
    return protocol.Card(**(own | {"measures": 16, "strips": [strip("xxox")]} | fields))


def away(name: str, **fields: Any) -> protocol.Card:
    """A student who is not at practice."""
    return protocol.Card(name.lower(), name, here=False, **fields)


CLASS = [away("Ada"), card("Ben"), card("Cleo"), card("Dov", stuck=3, times=4)]


def begins(page: Page, fake: Any, *, ahead: float = 0.0, **fields: Any) -> float:
    """Have Ben begin a pass, with position 0 so many seconds ahead; gives that moment on the page's clock."""
    show(fake, msgspec.structs.replace(fake.state, state="playing", number=1))
    origin: float = page.evaluate("performance.now() / 1000") + ahead
    show(fake, fake.begin_of(1, origin=origin, **fields))
    return origin


@pytest.fixture
def open_desk(open_page: Callable[..., Page], fake: Any) -> Callable[..., Page]:
    """Opens desks."""

    def opening(*cards: protocol.Card, place: str = "", **options: Any) -> Page:
        fake.cards = list(cards)
        fake.told["who.json"] = {"person": {"id": "ruth", "name": "Ruth", "role": "teacher"}}
        fake.told.setdefault("pins.json", {"pins": []})
        page = open_page(path=f"desk.html{place}", ready="main:not([aria-busy])", **options)
        expect(page.locator("#studio-name")).to_have_text("Reed Bank Studio")
        return page

    return opening


def names(page: Page, where: str = ".card") -> list[str]:
    """The names on cards, in their order."""
    return page.locator(f"{where} .card-name").all_text_contents()


def until(page: Page, fact: str) -> None:
    """Wait until something is a fact on the page."""
    page.evaluate(
        f"() => new Promise((done) => {{ const look = () => {fact} ? done() : setTimeout(look, 5); look(); }})"
    )


def show(fake: Any, message: Any, student: str = "ben") -> None:
    """Have the desk see what a student's page is sent."""
    fake.send(protocol.Live(student, msgspec.Raw(protocol.encode(message))))


def opened(page: Page, fake: Any) -> None:
    """Open Ben, whose sheet is there."""
    page.get_by_role("link", name="Ben").click()
    assert fake.wait_for_kind("look_on")[-1] == {"kind": "look_on", "student": "ben"}
    show(fake, fake.state)
    page.locator("#open-sheet svg #m1e1").wait_for()


# ------------------------------------------------------------------------------------------------- at a glance


def test_the_stuck_stand_before_the_others_who_practise_and_these_before_the_rest(
    open_desk: Callable[..., Page],
) -> None:
    page = open_desk(*CLASS)

    expect(page.locator(".card")).to_have_count(4)
    assert names(page, "#cards") == ["Dov", "Ben", "Cleo"]
    assert names(page, "#away") == ["Ada"]
    expect(page.locator("#now-words")).to_have_text("4 students, three at practice, one stuck")
    dov = page.locator("[data-student=dov]")
    expect(dov.locator(".card-doing")).to_have_text("Measure 3 has failed four times running")
    expect(dov.locator(".card-tempo")).to_have_text("84")
    expect(dov.get_by_role("img")).to_have_accessible_name("Last pass, beginner at 80: measure 3 not clean.")
    expect(page.locator("[data-student=ada] .card-doing")).to_have_text("Not heard yet")


def test_a_pass_grows_on_its_card_and_what_stands_there_is_not_drawn_anew(
    open_desk: Callable[..., Page], fake: Any
) -> None:
    page = open_desk(*CLASS)
    ben = page.locator("[data-student=ben]")
    expect(ben.locator(".strips-tick")).to_have_count(3)

    fake.send(card("Ben", state="playing", marks=strip("x"), measure=1))
    expect(ben.locator(".card-doing")).to_have_text("Playing, measure 1")
    expect(ben.locator(".strips-tick")).to_have_count(4)
    ben.evaluate("(one) => { window.before = [...one.querySelectorAll('.strips-tick')]; }")
    fake.send(card("Ben", state="playing", marks=strip("xo"), measure=2))
    expect(ben.locator(".card-doing")).to_have_text("Playing, measure 2")
    expect(ben.locator(".strips-ring")).to_have_count(2)

    assert page.evaluate("window.before.every((one) => one.isConnected)")


def test_nobody_moves_while_they_are_looked_at_until_it_is_asked_for(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    expect(page.locator(".card")).to_have_count(4)
    cleo = page.locator("[data-student=cleo]")
    cleo.locator("a").focus()
    before = cleo.bounding_box()

    fake.send(card("Ada"))
    fake.send(card("Dov"))
    fake.send(card("Cleo", stuck=5, times=4))
    fake.send(away("Ben"))

    expect(page.locator("#moved-words")).to_have_text(
        "Cleo stuck now; Ada has come; Dov not stuck any more; Ben has left"
    )
    assert (names(page, "#cards"), names(page, "#away")) == (["Dov", "Ben", "Cleo", "Ada"], [])
    assert cleo.bounding_box() == before
    expect(page.locator("[data-student=ada] .card-doing")).to_have_text("Between passes")
    expect(page.locator("#now-aloud")).to_have_text("Cleo: measure 5 has failed four times running.")

    page.get_by_role("button", name="Put in order").press("Enter")
    assert (names(page, "#cards"), names(page, "#away")) == (["Cleo", "Ada", "Dov"], ["Ben"])
    expect(page.locator("#now-moved")).to_be_hidden()
    expect(page.locator("#now-head")).to_be_focused()


def test_the_first_who_comes_is_at_practice_at_once(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(away("Ada"), away("Ben"))
    expect(page.locator("#away .card")).to_have_count(2)

    fake.send(card("Ben"))

    expect(page.locator("#cards .card-name")).to_have_text(["Ben"])
    expect(page.locator("[data-student=ben] .card-tempo")).to_have_text("84")
    assert names(page, "#away") == ["Ada"]
    expect(page.locator("#now-moved")).to_be_hidden()


def test_the_order_is_made_anew_when_the_teacher_comes_back_from_elsewhere(
    open_desk: Callable[..., Page], fake: Any
) -> None:
    page = open_desk(*CLASS)
    expect(page.locator(".card")).to_have_count(4)
    fake.send(card("Ada", stuck=2, times=6))
    expect(page.locator("#moved-words")).to_contain_text("Ada")

    page.get_by_role("link", name="Ben").click()
    expect(page.locator("#open-head")).to_have_text("Ben")
    page.get_by_role("link", name="All students").click()

    expect(page.locator("#cards .card-name")).to_have_text(["Ada", "Dov", "Ben", "Cleo"])


def test_who_is_gone_from_the_studio_is_gone_from_the_desk(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    expect(page.locator(".card")).to_have_count(4)

    fake.send(away("Ada", gone=True))

    expect(page.locator(".card")).to_have_count(3)
    expect(page.locator("#now-words")).to_have_text("3 students, three at practice, one stuck")


def test_who_is_not_told_of_when_the_line_is_back_is_gone(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    expect(page.locator(".card")).to_have_count(4)

    fake.cards = CLASS[:3]
    fake.drop()

    expect(page.locator(".card")).to_have_count(3)
    assert names(page, "#cards") == ["Ben", "Cleo"]


def test_an_empty_studio_explains_the_first_invitation(open_desk: Callable[..., Page]) -> None:
    page = open_desk()

    expect(page.get_by_role("heading", name="Nobody is in the studio yet")).to_be_visible()
    expect(page.get_by_role("link", name="Invite a student")).to_have_attribute("href", "#people")


def test_cards_or_rows_are_the_teachers_choice_for_windows_of_this_width(open_desk: Callable[..., Page]) -> None:
    page = open_desk(*CLASS)
    expect(page.get_by_role("radio", name="Cards")).to_be_checked()
    page.get_by_role("radio", name="Rows").check()
    expect(page.locator("#cards")).to_have_class("cards as-rows")
    page.reload()
    expect(page.get_by_role("radio", name="Rows")).to_be_checked()

    page.get_by_role("radio", name="Cards").check()
    page.set_viewport_size({"width": 390, "height": 844})
    expect(page.get_by_role("radio", name="Rows")).to_be_checked()  # more of them fit, until something else is chosen


def test_a_class_of_thirty_in_rows_fits_two_windows(open_desk: Callable[..., Page]) -> None:
    page = open_desk(*(card(f"Student{number}", state="playing", marks=strip("xox")) for number in range(30)))
    expect(page.locator(".card")).to_have_count(30)
    page.get_by_role("radio", name="Rows").check()
    expect(page.locator("#cards")).to_have_class("cards as-rows")

    box = page.locator("#cards").bounding_box()
    assert box is not None
    assert box["height"] < 2 * 850


# --------------------------------------------------------------------------------------------------- one looked on


def test_the_sheet_of_one_who_is_opened_has_the_marks_that_they_see(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    expect(page.locator("#open-sign")).to_have_text(
        "Ben sees a sign that you look on and listen, as long as this is open."
    )
    begins(page, fake, tempo=60.0)
    show(fake, protocol.VerdictMark(1, 1, "m1e1", "late", 48.0, 55, 3))
    show(fake, protocol.VerdictMark(1, 1, "m1e2", "missed", None, None, None))
    show(fake, protocol.VerdictMark(1, 1, "m1e3", "late", 48.0, 55, 3), student="cleo")

    expect(page.locator("#open-sheet .mark")).to_have_count(2)
    expect(page.locator("#open-sheet .sounding")).to_have_id("m1")
    expect(page.locator("#open-place")).to_have_text("60 quarters a minute · Measure 1 of 16")

    page.get_by_role("link", name="All students").click()
    assert fake.wait_for_kind("look_on", 2)[-1] == {"kind": "look_on", "student": ""}


def score(number: int, *, clean: bool) -> dict[str, Any]:
    """How a measure went."""
    told = {"number": number, "pass": 1, "expected": 8, "played": 8, "missed": 0, "wrong": 0, "extra": 0}
    return told | {"off_time": 0 if clean else 3, "mean_offset_ms": 1.0, "spread_ms": 9.0, "clean": clean}


def test_after_the_pass_the_report_is_there_and_leads_to_its_measures(
    open_desk: Callable[..., Page], fake: Any
) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    show(fake, fake.begin_of(1, origin=page.evaluate("performance.now() / 1000")))
    report = protocol.PracticeReport(
        number=1,
        whole=True,
        clean=False,
        self_marked=False,
        measures=[score(number, clean=number != 7) for number in range(1, 17)],
        summary={"played_share": 1.0},
        sentences=["Measure 7 was late."],
        rung=None,
        take="takes/ben/1.mid",
        report="",
    )
    page.locator("#open-strip button").nth(1).click()
    expect(page.locator("#open-choice-words")).to_have_text("Measure 2: not played yet")
    show(fake, report)
    show(fake, msgspec.structs.replace(fake.state, state="between passes", number=1))

    expect(page.locator("#open-report")).to_be_visible()
    expect(page.locator("#open-choice-words")).to_contain_text("Measure 2: clean")
    expect(page.locator("#open-place")).to_have_text("84 quarters a minute · Pass 1: not clean yet")
    expect(page.locator("#open-strip [data-clean=true]")).to_have_count(15)
    page.get_by_role("button", name="Measure 7", exact=True).click()
    expect(page.locator("#open-choice-words")).to_contain_text("Measure 7: not clean")
    expect(page.get_by_role("link", name="The take (MIDI)")).to_have_attribute("href", "takes/ben/1.mid")


def test_another_student_has_nothing_of_the_one_before(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    show(fake, fake.begin_of(1, origin=page.evaluate("performance.now() / 1000")))
    show(fake, protocol.VerdictMark(1, 1, "m1e1", "late", 48.0, 55, 3))
    expect(page.locator("#open-sheet .mark")).to_have_count(1)

    page.evaluate("location.hash = '#open=cleo'")
    expect(page.locator("#open-head")).to_have_text("Cleo")
    expect(page.locator("#open-sheet svg")).to_have_count(0)
    show(fake, fake.state, student="cleo")
    page.locator("#open-sheet svg #m1e1").wait_for()

    expect(page.locator("#open-sheet .mark")).to_have_count(0)
    assert fake.wait_for_kind("look_on", 2)[-1] == {"kind": "look_on", "student": "cleo"}


def test_the_line_comes_back_by_itself_and_the_student_is_looked_on_again(
    open_desk: Callable[..., Page], fake: Any
) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    fake.drop()

    fake.wait_for_kind("desk", 2)
    assert fake.wait_for_kind("look_on", 2)[-1] == {"kind": "look_on", "student": "ben"}
    expect(page.locator("#notice")).to_be_hidden()
    page.locator("#open-sheet svg #m1e1").wait_for()


def test_a_student_is_asked_for_another_tempo_and_it_is_told_what_came_of_it(
    open_desk: Callable[..., Page], fake: Any
) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    ask = page.locator("#steer").get_by_role("button", name="Ask to set")
    ask.click()
    expect(page.locator("#steer-words")).to_have_text("That is what they have. Change something first.")

    page.get_by_role("button", name="4 slower").click()
    show(fake, fake.state)  # what the student does meanwhile does not undo what is being filled in
    ask.click()

    assert fake.wait_for_kind("steer") == [{"kind": "steer", "student": "ben", "tempo": 80}]
    answers: tuple[tuple[Literal["waits", "agreed", "declined", "not here"], str], ...] = (
        ("waits", "Ben is asked, and has not said a word yet."),
        ("agreed", "Ben agreed."),
        ("declined", "Ben would rather leave it as it is."),
        ("not here", "Ben is not at practice now."),
    )
    for answer, words in answers:
        fake.send(protocol.Steered("ben", answer))
        expect(page.locator("#steer-words")).to_have_text(words)


def test_measures_and_tier_are_asked_for_too(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    page.get_by_label("From measure").fill("9")
    page.get_by_label("To measure").fill("5")
    page.locator("#steer").get_by_role("radio", name="Advanced").check()
    ask = page.locator("#steer").get_by_role("button", name="Ask to set")
    ask.click()
    expect(page.locator("#steer-words")).to_have_text("The first measure comes after the last.")

    page.get_by_label("To measure").fill("12")
    ask.click()
    page.locator("#open-strip button").nth(6).click()
    page.get_by_role("button", name="Ask to practise measure 7 alone").click()

    asked = [{name: value for name, value in one.items() if name != "kind"} for one in fake.wait_for_kind("steer", 2)]
    assert asked == [
        {"student": "ben", "tier": "advanced", "first": 9, "last": 12},
        {"student": "ben", "first": 7, "last": 7},
    ]


def test_words_are_pinned_to_a_measure_and_taken_away(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    page.locator("#open-sheet #m7").click()
    page.get_by_label("Words to be found there").fill("Let the thumb lead.")
    pin = {"id": "p1", "measure": 7, "words": "Let the thumb lead.", "by": "Ruth", "made": "2026-11-24T10:00:00Z"}
    fake.told["pins.json"] = {"pins": [pin | {"seen": False}]}
    page.get_by_role("button", name="Pin the words").click()

    posted = fake.wait_for_kind("(post)")[-1]
    body = {"student": "ben", "tune": "reed-bank-0", "measure": 7, "words": "Let the thumb lead."}
    assert (posted["path"], posted["body"]) == ("pins", body)
    expect(page.locator("#pins .hint")).to_have_text("Ruth, 24 November · not read yet")
    expect(page.locator("#open-sheet #m7 .studio-slip")).to_have_count(1)
    expect(page.get_by_label("Words to be found there")).to_have_value("")

    fake.told["pins.json"] = {"pins": [pin | {"seen": True}]}
    page.evaluate("dispatchEvent(new Event('focus'))")
    expect(page.locator("#pins .hint")).to_have_text("Ruth, 24 November · read")

    fake.told["pins.json"] = {"pins": []}
    page.get_by_role("button", name="Remove the words at measure 7").click()
    expect(page.locator("#pins li")).to_have_count(0)
    expect(page.locator("#open-sheet .studio-slip")).to_have_count(0)
    assert fake.wait_for_kind("(post)", 2)[-1]["path"] == "pins/p1/remove"


def test_words_that_the_service_refuses_are_kept(
    open_desk: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    fake.answers["pins"] = (422, {"text": "measure 7 is not in this tune: choose another"})
    page.locator("#open-strip button").nth(6).click()
    page.get_by_label("Words to be found there").fill("Slow.")
    page.get_by_role("button", name="Pin the words").click()

    expect(page.locator("#pin-said")).to_have_text("measure 7 is not in this tune: choose another")
    expect(page.get_by_label("Words to be found there")).to_have_value("Slow.")
    complaints[:] = [text for text in complaints if "422" not in text]


def test_who_is_not_at_practice_is_said_to_be_away(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS, place="#open=ada")

    expect(page.locator("#open-sign")).to_contain_text("Ada is not at practice now.")
    expect(page.locator("#open-sheet")).to_have_text("Here lies the sheet, as soon as they practise.")
    expect(page.get_by_role("link", name="Their week")).to_have_attribute("href", "week.html?student=ada")
    fake.send(card("Ada"))
    expect(page.locator("#open-sign")).to_contain_text("Ada sees a sign")


# ------------------------------------------------------------------------------------------------------------- heard

LISTENS = """window.struck = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (when, ...rest) {
    window.struck.push({when, heard: performance.now() / 1000, at: this.context.currentTime});
    return start.call(this, when, ...rest);
};"""


def test_their_notes_sound_by_their_stamps_and_only_where_one_listens(
    open_desk: Callable[..., Page], fake: Any
) -> None:
    page = open_desk(*CLASS, script=LISTENS)
    opened(page, fake)
    note = [0x90, 67, 100]
    fake.send(protocol.Sounded("ben", page.evaluate("performance.now() / 1000"), note, 3))

    page.get_by_role("button", name="Listen").click()
    expect(page.locator("#hear-words")).to_have_text("You hear Ben 0.4 seconds later.")
    assert page.evaluate("window.struck.length") == 0
    stamp = page.evaluate("performance.now() / 1000")
    for seconds in (0.1, 0.0):  # the line may turn them round
        fake.send(protocol.Sounded("ben", stamp + seconds, note, 3 + (seconds > 0)))
    fake.send(protocol.Sounded("cleo", stamp, note, 3))
    until(page, "window.struck.length === 2")
    later, sooner = page.evaluate("window.struck.map(({when}) => when)")
    assert later - sooner == pytest.approx(0.1, abs=0.02)

    page.get_by_role("button", name="Stop listening").click()
    fake.send(protocol.Sounded("ben", page.evaluate("performance.now() / 1000"), note, 3))
    fake.send(card("Ben", state="paused"))
    expect(page.locator("#hear-words")).to_be_empty()
    assert page.evaluate("window.struck.length") == 2


def test_accompaniment_and_click_sound_along_as_late_as_the_notes(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS, script=LISTENS)
    opened(page, fake)
    page.get_by_role("button", name="Listen").click()
    expect(page.locator("#hear-words")).to_have_text("You hear Ben 0.4 seconds later.")
    origin = begins(page, fake, ahead=0.3, tempo=120.0)

    until(page, "window.struck.length >= 4")
    first = page.evaluate(
        "(origin) => window.struck[0].when - window.struck[0].at - (origin - window.struck[0].heard)", origin
    )
    clicks = [0.4 - 0.5 * count for count in range(5)]  # a count-in that began before is left out as far as it is over
    assert min(abs(first - click) for click in clicks) < 0.1


def test_the_place_on_the_sheet_is_the_one_that_sounds_here(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    page.get_by_role("checkbox", name="The line is bad").check()
    page.get_by_role("button", name="Listen").click()
    expect(page.locator("#hear-words")).to_have_text("You hear Ben 1.2 seconds later.")

    origin = begins(page, fake, tempo=60.0)
    until(page, "document.querySelector('#open-sheet #m1.sounding') !== null")

    assert page.evaluate("performance.now() / 1000") - origin > 1.15


# ---------------------------------------------------------------------------------------------------- a newer desk


def test_a_newer_desk_comes_when_nothing_is_looked_at(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk(*CLASS)
    opened(page, fake)
    page.evaluate("window.old = true")
    fake.page_digest = "newer"
    fake.drop()
    expect(page.locator("#notice")).to_have_text(
        "There is a newer desk. It comes as soon as you are back at all students."
    )
    assert page.evaluate("window.old === true")

    with page.expect_event("load"):
        page.get_by_role("link", name="All students").click()
