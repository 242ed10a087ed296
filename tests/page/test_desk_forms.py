"""The teacher's desk: what is set, people, tunes and licks; and the desk for everyone: by keys, in light and dark, at
any width."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import FilePayload, Page, expect

from coach.service import protocol

PICTURES = {"exclude": [["svg"]]}
TOLD = {"resultTypes": ["violations"]}
LINK = "https://banjo.example/join.html#kJ2hf93Hs7"


def person(name: str, role: str = "student", **fields: Any) -> dict[str, Any]:
    """Somebody of the studio."""
    own = {"id": name.lower(), "name": name, "role": role, "began": "2026-09-01T10:00:00Z", "practised": ""}
    return own | {"devices": 1, "has_password": True, "passkeys": 0} | fields


def assigned(name: str, **fields: Any) -> dict[str, Any]:
    """Mill Lane, set for a student."""
    own: dict[str, Any] = {"id": f"a-{name.lower()}", "student": name.lower(), "student_name": name}
    own |= {
        "tune": "mill-lane",
        "title": "Mill Lane",
        "tier": "beginner",
        "mix": [],
        "goal": 100,
        "until": "2026-12-04",
    }
    return own | {"words": "", "by": "Ruth", "cap": None, "cap_until": "", "rules": "", "reached": None} | fields


def tune(id_: str, title: str, **fields: Any) -> dict[str, Any]:
    """A tune of the book."""
    own = {"id": id_, "title": title, "key": "G major", "meter": "4/4", "measures": 16, "study": False}
    return own | {"common": False, "shared": True, "students": []} | fields


def file(name: str, content: str) -> FilePayload:
    return {"name": name, "mimeType": "text/plain", "buffer": content.encode()}


@pytest.fixture
def open_desk(open_page: Callable[..., Page], fake: Any) -> Callable[..., Page]:
    """Opens the desk of a studio of three students, at a place."""
    people = [person("Ruth", "teacher"), person("Ada"), person("Ben", devices=0), person("Cleo", has_password=False)]
    book = [tune("roll", "Forward roll", study=True), tune("weir", "Weir Song"), tune("mill-lane", "Mill Lane")]
    fake.told = {
        "who.json": {"person": {"id": "ruth", "name": "Ruth", "role": "teacher"}},
        "studio.json": {"people": people, "invitations": []},
        "tunes.json": {"tunes": book},
        "assignments.json": {"assignments": []},
        "pins.json": {"pins": []},
        "licks.json": {"licks": []},
    }

    def opening(place: str, **options: Any) -> Page:
        page = open_page(path=f"desk.html#{place}", ready=f"#view-{place.partition('=')[0]}", **options)
        expect(page.locator("#studio-name")).to_have_text("Reed Bank Studio")
        return page

    return opening


def posted(fake: Any, count: int = 1) -> tuple[str, Any]:
    """What the desk posted last."""
    message = fake.wait_for_kind("(post)", count)[-1]
    return message["path"], message["body"]


# -------------------------------------------------------------------------------------------------------------- set


def test_a_class_is_set_a_tune_with_a_click(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk("set")
    send = page.locator("#assign-send")
    expect(page.locator("#assign-students input")).to_have_count(3)
    send.click()
    expect(page.locator("#assign-words")).to_have_text("Choose at least one student, or the whole class.")

    expect(page.locator("#assign [name=tune] option").last).to_have_text("Forward roll")  # studies come last
    page.get_by_role("button", name="The whole class").click()
    expect(page.locator("#assign-students :checked")).to_have_count(3)
    expect(send).to_have_text("Set it for the whole class")
    send.click()

    assert posted(fake) == (
        "assignments",
        {
            "students": None,
            "tune": "mill-lane",
            "tier": "beginner",
            "mix": [],
            "goal": 100,
            "until": "",
            "policy": None,
            "step": None,
            "clean_needed": None,
            "tolerance_ms": None,
            "cap": None,
            "cap_until": "",
            "words": "",
        },
    )
    expect(page.locator("#assign-words")).to_have_text("It is set for 3 students.")


def test_what_is_set_may_have_a_mix_a_day_and_rules(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk("set=ben")
    expect(page.locator("#assign-students :checked")).to_have_count(1)
    page.get_by_role("checkbox", name="Ada").check()
    expect(page.locator("#assign-send")).to_have_text("Set it for 2 students")
    page.locator("#assign [name=tune]").select_option(label="Weir Song (G major)")
    page.locator("#assign").get_by_role("radio", name="Intermediate").check()
    page.locator("#assign [name=until]").fill("2026-12-04")
    page.get_by_label("Measures of the next tier").fill("three")
    page.get_by_text("Rules for this tune").click()
    page.get_by_label("How the tempo moves").select_option("steps")
    page.get_by_label("Step, quarters a minute").fill("2")
    page.get_by_label("Not above, quarters a minute").fill("80")
    page.locator("#assign [name=cap_until]").fill("2026-12-01")
    page.locator("#assign-send").click()
    expect(page.locator("#assign-words")).to_contain_text("cannot be read")

    page.get_by_label("Measures of the next tier").fill("3, 5 to 6")
    page.locator("#assign-send").click()

    _, body = posted(fake)
    assert sorted(body.pop("students")) == ["ada", "ben"]
    assert body == {
        "tune": "weir",
        "tier": "intermediate",
        "mix": [3, 5, 6],
        "goal": 100,
        "until": "2026-12-04",
        "policy": "steps",
        "step": 2,
        "clean_needed": 2,
        "tolerance_ms": None,
        "cap": 80,
        "cap_until": "2026-12-01",
        "words": "",
    }


def test_what_is_set_tells_how_far_each_has_come_and_is_ended(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk("now")
    fake.told["assignments.json"]["assignments"] = [assigned("Ben", reached=76), assigned("Ada", reached=100)]
    page.get_by_role("link", name="Set", exact=True).click()

    rows = page.locator(".reached li")
    expect(page.locator(".assigned h3")).to_have_text("Mill Lane, ● beginner, to 100")
    expect(rows).to_have_count(2)
    expect(rows.nth(0)).to_contain_text("Ada100 ✓, reached")
    expect(rows.nth(1)).to_contain_text("Ben76")

    fake.told["assignments.json"]["assignments"] = [assigned("Ada", reached=100)]
    page.get_by_role("button", name="End Mill Lane for Ben").click()
    expect(rows).to_have_count(1)
    assert posted(fake) == ("assignments/a-ben/end", {})


def test_a_refusal_keeps_what_was_filled_in(open_desk: Callable[..., Page], fake: Any, complaints: list[str]) -> None:
    page = open_desk("set=ada")
    fake.answers["assignments"] = (422, {"text": "a goal of 20 cannot be set: choose one from 30 to 300"})
    page.get_by_label("Words to the student").fill("Slowly.")
    expect(page.locator("#assign-students :checked")).to_have_count(1)
    page.locator("#assign-send").click()

    expect(page.locator("#assign-words")).to_have_text("a goal of 20 cannot be set: choose one from 30 to 300")
    expect(page.get_by_label("Words to the student")).to_have_value("Slowly.")
    complaints[:] = [text for text in complaints if "422" not in text]


# ----------------------------------------------------------------------------------------------------------- people


def test_a_link_is_made_for_somebody_new_and_copied(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk("people", permissions=["clipboard-read", "clipboard-write"])
    fake.answers["studio/invitations"] = (200, {"id": "i1", "link": LINK, "expires": "2026-12-03T10:00:00Z"})
    page.get_by_role("radio", name="A teacher").check()
    page.get_by_label("The link works for").select_option("1")
    page.get_by_role("button", name="Make a link").click()

    assert posted(fake) == ("studio/invitations", {"role": "teacher", "person": None, "days": 1})
    expect(page.get_by_label("The link", exact=True)).to_have_value(LINK)
    expect(page.locator("#link-words")).to_contain_text("For one teacher, until 3 December. It works once")
    page.get_by_role("button", name="Copy").click()
    expect(page.locator("#link-copied")).to_have_text("Copied.")
    assert page.evaluate("navigator.clipboard.readText()") == LINK

    page.get_by_role("link", name="Now", exact=True).first.click()
    page.get_by_role("link", name="People", exact=True).click()
    expect(page.locator("#link")).to_be_hidden()
    expect(page.locator("#link-text")).to_have_value("")


def test_links_that_are_out_are_listed_and_withdrawn(open_desk: Callable[..., Page], fake: Any) -> None:
    made = {"role": "student", "by": "Ruth", "made": "2026-11-25T10:00:00Z", "expires": "2126-12-02T10:00:00Z"}
    page = open_desk("now")
    fake.told["studio.json"]["invitations"] = [
        {"id": "i1", "person": None, "used": None} | made,
        {"id": "i2", "person": "ada", "used": None} | made,
        {"id": "i3", "person": None, "used": "2026-11-26T08:00:00Z"} | made,
        {"id": "i4", "person": None, "used": None} | made | {"expires": "2026-11-01T10:00:00Z"},
    ]
    page.get_by_role("link", name="People", exact=True).click()
    expect(page.locator("#invitations li span")).to_have_text(
        ["For a student, by Ruth, until 2 December", "For Ada to come back, by Ruth, until 2 December"]
    )

    page.get_by_role("button", name="Withdraw: For Ada").click()
    assert posted(fake) == ("studio/invitations/i2/withdraw", {})


def test_access_is_given_back_and_taken_everywhere(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk("people")
    fake.answers["studio/invitations"] = (200, {"id": "i1", "link": LINK, "expires": "2026-12-03T10:00:00Z"})
    expect(page.locator("#people-list")).to_contain_text("no passkey or password yet")
    page.get_by_text("Access and data: Cleo").click()
    page.get_by_role("button", name="Give access back").click()
    assert posted(fake) == ("studio/invitations", {"role": "student", "person": "cleo", "days": 7})
    expect(page.locator("#link-words")).to_contain_text("For Cleo to come back")

    page.get_by_role("button", name="Sign out everywhere").click()
    assert posted(fake, 2) == ("studio/people/cleo/sign-out", {})
    expect(page.locator("#people-words")).to_have_text("Cleo is signed out on all devices.")
    expect(page.get_by_role("link", name="Take all of it out")).to_have_attribute("href", "people/cleo/export.zip")
    expect(page.get_by_role("link", name="Week: Cleo")).to_have_attribute("href", "week.html?student=cleo")


def test_all_of_a_student_is_deleted_only_when_the_name_is_typed(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk("people")
    page.get_by_text("Access and data: Ben").click()
    page.get_by_label("Type Ben").fill("ben")
    page.get_by_role("button", name="Delete all that is kept").click()
    expect(page.locator("#people-words")).to_have_text("That is not the name: nothing was deleted.")
    assert [message for message in fake.received if message["kind"] == "(post)"] == []

    page.get_by_label("Type Ben").fill("Ben")
    page.get_by_role("button", name="Delete all that is kept").click()
    assert posted(fake) == ("people/ben/forget", {"name": "Ben"})
    expect(page.locator("#people-words")).to_have_text("All that was kept of Ben is deleted.")


def test_what_a_teacher_has_to_know_of_minors_stands_above_the_people(open_desk: Callable[..., Page]) -> None:
    expect(open_desk("people").locator("#view-people")).to_contain_text("parent or guardian agrees too")


# ------------------------------------------------------------------------------------------------- tunes and licks


def test_the_book_tells_whose_tunes_are_and_shares_and_withdraws_them(
    open_desk: Callable[..., Page], fake: Any
) -> None:
    page = open_desk("now")
    fake.told["tunes.json"]["tunes"] = [
        tune("reed", "Reed Bank", common=True),
        tune("weir", "Weir Song"),
        tune("own", "Ada's Own", shared=False, students=["ada"]),
    ]
    page.get_by_role("link", name="Tunes", exact=True).click()
    rows = page.locator("#tunes-list li")
    expect(rows.locator(".hint")).to_have_text(
        [
            "G major, 16 measures · brought by Ada, who alone sees it with you",
            "G major, 16 measures · with the coach",
            "G major, 16 measures · of the studio",
        ]
    )
    expect(rows.nth(1).get_by_role("button")).to_have_count(0)

    page.get_by_role("button", name="Share Ada's Own with all students").click()
    assert posted(fake) == ("tunes/own/share", {})
    expect(page.locator("#tunes-words")).to_have_text("Ada's Own is in the book of all students now.")

    withdraw = page.get_by_role("button", name="Withdraw Weir Song")
    withdraw.press("Enter")
    page.get_by_role("button", name="Keep it").press("Enter")
    expect(withdraw).to_be_focused()
    withdraw.press("Enter")
    expect(page.get_by_role("button", name="Yes, withdraw it: Weir Song")).to_be_focused()
    page.keyboard.press("Enter")
    assert posted(fake, 2) == ("tunes/weir/withdraw", {})


def test_files_are_brought_into_the_book_of_the_studio(
    open_desk: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    page = open_desk("tunes")
    fake.uploads["bad.abc"] = (422, {"text": "bad.abc has no tune"})
    page.get_by_label("Files, also dropped here").set_input_files([file("mill.abc", "X:1"), file("bad.abc", "?")])

    lines = page.locator("#tunes-brought p")
    expect(lines.nth(0)).to_contain_text("Mill Lane")
    expect(lines.nth(1)).to_contain_text("bad.abc has no tune")
    complaints[:] = [text for text in complaints if "422" not in text]


def test_licks_come_by_a_file_and_go(open_desk: Callable[..., Page], fake: Any) -> None:
    page = open_desk("tunes")
    field = page.get_by_label("Licks from a file (JSON)")
    field.set_input_files(file("odd.json", "{}"))
    expect(page.locator("#licks-words")).to_contain_text("odd.json has no licks")

    lick = {"name": "long way home", "chord": "G", "slots": "T32,s33 I20 M10 T50", "use": "tag"}
    fake.told["licks.json"]["licks"] = [lick | {"id": "abc"}]
    field.set_input_files(file("licks.json", msgspec.json.encode({"format": "licks/1", "licks": [lick]}).decode()))
    assert posted(fake) == ("licks", lick)
    expect(page.locator("#licks li")).to_contain_text("tag over G, open G")

    page.get_by_role("button", name="Withdraw long way home").click()
    assert posted(fake, 2) == ("licks/abc/withdraw", {})


def here(fake: Any) -> None:
    """Have Ben at practice, stuck, with a pass behind him, and another student away."""
    strips = [protocol.PassStrip("reed-bank-0", "beginner", 80.0, 1, [True, False, True], True)] * 4
    own: dict[str, Any] = {"state": "between passes", "tune": "reed-bank-0", "title": "Reed Bank", "tier": "beginner"}
    own |= {"tempo": 80.0, "first": 1, "last": 16, "measures": 16, "strips": strips, "stuck": 2, "times": 4}
    fake.cards = [protocol.Card("ben", "Ben", True, **own), protocol.Card("ada", "Ada", False)]


def looked(page: Page, fake: Any) -> None:
    """Have Ben's sheet there, with a measure chosen and words pinned."""
    fake.send(protocol.Live("ben", msgspec.Raw(protocol.encode(fake.state))))
    page.locator("#open-sheet svg #m1e1").wait_for()
    page.locator("#open-strip button").nth(2).click()
    page.locator("#keep-lick summary").click()


def test_a_measure_becomes_a_lick_of_the_studio(open_desk: Callable[..., Page], fake: Any) -> None:
    here(fake)
    page = open_desk("open=ben")
    looked(page, fake)
    page.locator("#lick").get_by_label("Name").fill("short cut")
    page.get_by_label("Used as").select_option("tag")
    page.get_by_role("button", name="Keep the lick").click()

    digest = fake.arrangement["digest"]
    assert posted(fake) == ("licks", {"digest": digest, "measure": 3, "measures": 1, "name": "short cut", "use": "tag"})
    expect(page.locator("#lick-words")).to_contain_text("“short cut” is kept")


# ---------------------------------------------------------------------------------------------------- for everyone


def full(fake: Any) -> None:
    """Something in every list."""
    here(fake)
    fake.told["assignments.json"]["assignments"] = [assigned("Ben", reached=76), assigned("Ada", words="Slow hands.")]
    fake.told["studio.json"]["invitations"] = [
        {"id": "i1", "person": None, "used": None, "role": "student", "by": "Ruth", "made": "", "expires": "2126-12-02"}
    ]
    pin = {"id": "p1", "measure": 7, "words": "Breathe.", "by": "Ruth", "made": "2026-11-24T10:00:00Z", "seen": False}
    fake.told["pins.json"]["pins"] = [pin]
    fake.told["tunes.json"]["tunes"].append(tune("own", "Ada's Own", shared=False, students=["ada"]))
    fake.told["licks.json"]["licks"] = [{"id": "x", "name": "long way home", "chord": "G", "slots": "T32 I20 M10 T50"}]


PLACES = {
    "now": ".card >> nth=1",
    "open=ben": "#open-sheet",
    "set": ".reached li >> nth=1",
    "people": "#people-list li >> nth=2",
    "tunes": "#tunes-list li >> nth=2",
}


def at(page: Page, fake: Any, place: str) -> None:
    """Wait until all is there at a place."""
    page.locator(PLACES[place]).wait_for()
    if place == "open=ben":
        looked(page, fake)
    for summary in ("#view-set .rules summary", "#people-list summary >> nth=0"):
        if page.locator(summary).is_visible():
            page.locator(summary).click()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_desk(open_desk: Callable[..., Page], fake: Any, scheme: str) -> None:
    page = open_desk("now", color_scheme=scheme)
    full(fake)
    page.reload()
    for place in PLACES:
        page.evaluate("(place) => { location.hash = place; }", place)
        at(page, fake, place)
        found = Axe().run(page, context=PICTURES, options=TOLD).response["violations"]
        told = [f"{place}, {one['id']}: {[node['html'][:160] for node in one['nodes']]}" for one in found]
        assert told == []


@pytest.mark.parametrize("width", [320, 1280])
def test_nothing_leaves_the_window_and_a_finger_finds_everything(
    open_desk: Callable[..., Page], fake: Any, width: int
) -> None:
    page = open_desk("now", viewport={"width": width, "height": 800})
    full(fake)
    page.reload()
    for place in PLACES:
        page.evaluate("(place) => { location.hash = place; }", place)
        at(page, fake, place)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, place
        small = page.evaluate(
            """() => [...document.querySelectorAll('button, input, select, textarea, a, summary')].filter((one) => {
                const shown = one.closest('label') ?? one, box = shown.getBoundingClientRect();
                const elsewhere = one.closest('.skip, .sheet, .card, .cell, .link') ?? null;
                const out = box.height < 43.5 || box.left < -1 || box.right > innerWidth + 1;
                return one.checkVisibility() && elsewhere === null && out;
            }).map((one) => `${one.id || one.name || one.textContent} ${one.getBoundingClientRect().height}`)"""
        )
        assert small == [], place


def test_the_desk_is_gone_through_by_keys(open_desk: Callable[..., Page], fake: Any) -> None:
    here(fake)
    page = open_desk("now")
    page.locator(".card").nth(1).wait_for()
    page.keyboard.press("Tab")
    expect(page.locator("#skip")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#desk")).to_be_focused()
    assert page.url.endswith("#now")
    for _ in range(2):
        page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Ben")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#open-head")).to_be_focused()
    page.go_back()
    expect(page.locator("#now-head")).to_be_focused()


def test_who_wants_little_motion_gets_none(open_desk: Callable[..., Page], fake: Any) -> None:
    here(fake)
    page = open_desk("open=ben", reduced_motion="reduce")
    looked(page, fake)

    assert page.evaluate("document.getAnimations().length") == 0
