"""A measure explained and edited on the page."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, Route, ViewportSize, expect

from coach.arranging.counting import counted
from coach.arranging.files import from_json
from coach.service import protocol

MORE = protocol.EditState(locked=[3], edited=[5, 6], undo=True, redo=True)


def edits(fake: Any, count: int = 1) -> list[dict[str, Any]]:
    """The edits that have come, without what all have in common."""
    return [
        {name: value for name, value in message.items() if name not in {"kind", "digest"}}
        for message in fake.wait_for_kind("edit", count)
    ]


def edited(fake: Any, digest: str) -> str:
    """Let the service have the solo once more, as it is after an edit; returns its digest."""
    fake.solos[digest] = copy.deepcopy(fake.arrangement) | {"digest": digest}
    return digest


def look(page: Page, measure: int, button: str = "Explain") -> Locator:
    """Open the slip of a measure by the strip; returns it."""
    page.locator("#strip .cell").nth(measure - 1).click()
    page.get_by_role("button", name=f"{button} measure {measure}").click()
    slip = page.get_by_role("region", name=f"Measure {measure}")
    expect(slip).to_be_visible()
    return slip


def cell(page: Page, at: str, string: int) -> Locator:
    """A place of the grid."""
    return page.locator(f"#edit-grid [data-at='{at}'][data-string='{string}']")


def way(fake: Any, measure: int) -> dict[str, Any]:
    """A way through a measure that begins on another string."""
    other = copy.deepcopy(fake.arrangement["measures"][measure - 1])
    other["plucks"][0] |= {"string": 4, "fret": 5}
    return {"number": 1, "extra": 3, "sentence": "The thumb begins on string 4.", "measure": other}


def test_a_measure_is_explained_and_each_of_its_plucks(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    slip = look(page, 4)

    expect(page.locator("#edit-told p")).to_have_text(["Measure 4 has a roll.", "The thumb begins it."])
    expect(slip).to_contain_text("Difficulty 2.3; string crossings add most.")
    expect(page.locator("#m4")).to_have_class("measure chosen")
    cell(page, "0", 3).click()
    expect(cell(page, "0", 3)).to_have_attribute("aria-selected", "true")
    sung = fake.arrangement["measures"][3]["melody"][0]["lyric"]
    expect(page.locator("#edit-about p").first).to_have_text(
        f"Beat 1: string 3, open, thumb. It sounds G; it carries the melody (“{sung}”)."
    )
    expect(page.locator("#edit-told .of-it")).to_have_text(["The thumb begins it."])
    cell(page, "1/2", 2).click()
    expect(page.locator("#edit-about")).to_have_text(
        "The and of beat 1: string 2, open, index finger. It sounds B; a fill note."
    )
    expect(page.locator("#edit-told .of-it")).to_have_count(0)

    page.locator("#strip .cell").nth(6).click()  # the slip goes along
    expect(page.locator("#edit-head")).to_have_text("Measure 7")
    expect(page.locator("#edit-told p").first).to_have_text("Measure 7 has a roll.")
    expect(page.locator(".measure.chosen")).to_have_attribute("id", "m7")
    page.get_by_role("button", name="Close").click()
    expect(page.locator("#edit")).to_be_hidden()
    expect(page.locator(".measure.chosen")).to_have_count(0)
    assert all(message["kind"] != "(ways)" for message in fake.received)


def test_places_are_counted_as_everywhere_else(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    look(page, 3)
    page.get_by_label("Places between two slots too").check()

    measure = from_json(json.dumps(fake.arrangement).encode(), "solo").measures[2]
    names = (
        page.locator("#edit-grid [role=row]")
        .first.locator("[role=gridcell]")
        .evaluate_all("(cells) => cells.map((cell) => cell.getAttribute('aria-label'))")
    )
    assert len(names) == 16
    for index, name in enumerate(names):
        place = counted(measure, Fraction(index, 4))
        assert name.lower().startswith(f"{place}, string 1"), (index, name)


def test_other_ways_are_drawn_with_their_sentences_and_one_is_taken(open_page: Callable[..., Page], fake: Any) -> None:
    fake.ways = [way(fake, 2), way(fake, 2) | {"number": 2, "extra": 0, "sentence": "Another."}]
    page = open_page()
    look(page, 2, "Edit")

    ways = page.locator("#ways li")
    expect(ways).to_have_count(2)
    expect(ways.nth(0)).to_contain_text("a little less natural")
    expect(ways.nth(0)).to_contain_text("The thumb begins on string 4.")
    expect(ways.nth(1)).to_contain_text("about as good")
    drawing = ways.nth(0).get_by_role("img", name="Way 1 through measure 2, in tab")
    expect(drawing.locator(".number")).to_have_text(["5", "0", "0", "0", "0", "0", "0", "0"])
    expect(drawing.locator(".marked")).to_have_text(["5"])
    expect(drawing.locator(".finger")).to_have_text(list("TITMTITM"))

    page.get_by_role("button", name="Take way 2 through measure 2").click()
    assert edits(fake) == [{"measure": 2, "does": "take", "way": 2}]
    assert fake.wait_for_kind("edit")[0]["digest"] == fake.arrangement["digest"]
    expect(page.locator("#edit-words")).to_have_text("The solo is being written anew …")
    expect(page.locator("#edit-lock")).to_be_disabled()
    page.get_by_role("button", name="Take way 1 through measure 2").click()  # one thing at a time
    fake.ways = []
    fake.change(digest="", waiting="Writing the solo …", edits=protocol.EditState(locked=[2], undo=True))
    expect(page.locator("#sheet")).to_have_text("Writing the solo …")
    expect(page.locator("#edit-words")).to_have_text("The solo is being written anew …")
    fake.change(digest=edited(fake, "taken"), waiting="")
    expect(page.locator("#edit-words")).to_have_text("That way stands here now, locked.")
    expect(page.locator("#edit-standing")).to_contain_text("This measure is locked")
    expect(page.locator("#edit-lock")).to_be_disabled()
    expect(page.locator("#edit-free")).to_be_enabled()
    expect(page.locator("#ways-words")).to_contain_text("No other way through it differs enough")
    assert [message["digest"] for message in fake.wait_for_kind("(ways)", 2)][1] == "taken"
    assert len(edits(fake)) == 1


def test_ways_that_cannot_be_told_are_refused_in_words(
    open_page: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    fake.ways = "It took too long; try again."
    page = open_page()
    look(page, 2, "Edit")

    expect(page.locator("#ways-words")).to_have_text("Other ways could not be fetched: It took too long; try again.")
    fake.ways = [way(fake, 2)]
    page.get_by_text("Other ways through it").click()
    page.get_by_text("Other ways through it").click()
    expect(page.locator("#ways li")).to_have_count(1)
    complaints[:] = [text for text in complaints if "422" not in text]


def test_a_pluck_is_changed_added_and_left_out(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    look(page, 1, "Edit")
    form = page.get_by_role("form", name="The chosen place")
    expect(form).to_be_hidden()

    cell(page, "1/2", 2).click()
    expect(form.get_by_label("Finger")).to_have_value("I")
    form.get_by_role("button", name="Change it").click()
    expect(form.get_by_role("alert")).to_have_text("It stands like this already.")
    form.get_by_label("String").select_option("3")
    expect(form.get_by_label("Finger")).to_have_value("T")
    form.get_by_label("Fret", exact=True).fill("4")
    expect(form).to_contain_text("It would sound B.")
    form.get_by_label("Fret", exact=True).press("Enter")
    fake.change(digest=edited(fake, "one"), edits=protocol.EditState(edited=[1], undo=True))
    expect(page.locator("#edit-words")).to_have_text("The note was changed.")

    cell(page, "1/2", 5).click()
    expect(form.get_by_role("button", name="Leave it out")).to_be_hidden()
    form.get_by_label("Fret", exact=True).fill("3")
    form.get_by_role("button", name="Add it").click()
    expect(form.get_by_role("alert")).to_have_text("String 5 begins at its 5th fret: give 0, or 6 and up.")
    form.get_by_label("String").select_option("4")
    form.get_by_label("Sounded by").select_option("hammer-on")
    expect(form.get_by_label("Finger")).to_be_hidden()
    expect(form.get_by_label("From fret")).to_have_value("0")
    form.get_by_label("Fret", exact=True).fill("2")
    form.get_by_role("button", name="Add it").click()
    fake.change(digest=edited(fake, "two"))
    expect(page.locator("#edit-words")).to_have_text("The note was added.")

    cell(page, "2", 4).click()
    form.get_by_role("button", name="Leave it out").click()
    picked = {"finger": "T", "technique": "pick", "from_fret": None}
    slurred = {"finger": None, "technique": "hammer-on", "from_fret": 0}
    assert edits(fake, 3) == [
        {"measure": 1, "does": "replace", "at": "1/2", "string": 2, "pluck": {"string": 3, "fret": 4, **picked}},
        {"measure": 1, "does": "add", "at": "1/2", "pluck": {"string": 4, "fret": 2, **slurred}},
        {"measure": 1, "does": "leave out", "at": "2", "string": 4},
    ]
    wrong = "Measure 1 would need the thumb twice in a row; choose another finger."
    fake.send(protocol.Failure(wrong, about="edit"))
    expect(page.locator("#edit-wrong")).to_have_text(wrong)
    expect(page.locator("#notice")).to_be_hidden()
    expect(page.locator("#edit-lock")).to_be_enabled()


def test_a_place_is_chosen_on_the_pad(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    look(page, 1)
    cell(page, "0", 3).click()
    page.get_by_role("button", name="Choose the place on the pad").click()
    expect(page.locator("#pad")).to_be_visible()
    page.locator("#board [data-string='1'][data-fret='5']").dispatch_event("pointerdown", {"button": 0})

    form = page.locator("#edit-pluck")
    expect(page.locator("#pad")).to_be_hidden()
    expect(form.get_by_label("String")).to_have_value("1")
    expect(form.get_by_label("Fret", exact=True)).to_have_value("5")
    expect(form.get_by_label("Finger")).to_have_value("M")
    expect(page.locator("#edit-pick")).to_have_text("Choose the place on the pad")
    page.get_by_role("button", name="Choose the place on the pad").click()
    page.get_by_role("button", name="Touch the place on the pad").click()  # thought better of it
    expect(page.locator("#pad")).to_be_hidden()
    page.locator("#open-pad").click()
    page.locator("#board [data-string='2'][data-fret='3']").dispatch_event("pointerdown", {"button": 0})
    assert [note["data"][0] for note in fake.wait_for_notes(1)] == [0x91]
    expect(form.get_by_label("String")).to_have_value("1")


def test_measures_are_locked_and_freed_and_edits_undone_and_done_again(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    look(page, 4)
    expect(page.locator("#edit-undo")).to_be_disabled()
    page.keyboard.press("Control+z")  # there is nothing to be undone
    page.get_by_role("button", name="Lock it").click()
    fake.change(edits=protocol.EditState(locked=[4], undo=True))  # it stands as it was: the solo is the same
    expect(page.locator("#edit-words")).to_have_text("The measure is locked.")
    page.get_by_role("button", name="Free it").click()
    fake.change(edits=protocol.EditState(undo=True))
    expect(page.locator("#edit-words")).to_have_text("The measure is free again, as the coach writes it.")
    assert edits(fake, 2) == [{"measure": 4, "does": "lock"}, {"measure": 4, "does": "free"}]

    cell(page, "0", 3).click()
    page.locator("#edit-pluck [name=fret]").press("Control+z")  # the field's own
    page.locator("#open-settings").click()
    page.keyboard.press("Control+z")  # what is open lies over the slip
    page.get_by_role("button", name="Done").click()
    page.locator("#edit-head").focus()
    page.keyboard.press("Control+z")
    fake.change(edits=MORE)
    expect(page.locator("#edit-words")).to_have_text("Taken back.")
    page.keyboard.press("Control+Shift+Z")
    fake.change(edits=protocol.EditState(undo=True))
    expect(page.locator("#edit-words")).to_have_text("Done again.")
    expect(page.locator("#edit-redo")).to_be_disabled()
    page.get_by_role("button", name="Undo").click()
    asked = fake.wait_for(lambda message: message["kind"] in {"undo", "redo"}, 3)
    assert [message["kind"] for message in asked] == ["undo", "redo", "undo"]


def test_locked_and_edited_measures_bear_a_sign_and_words_on_strip_and_sheet(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.change(edits=MORE)

    expect(page.get_by_role("button", name="Measure 3: not played yet; locked")).to_be_visible()
    expect(page.get_by_role("button", name="Measure 5: not played yet; edited by hand")).to_be_visible()
    expect(page.locator("#strip .edit-sign")).to_have_count(3)
    signs = page.locator("#sheet .edit-sign")
    expect(signs.locator("title")).to_have_text(["locked", "edited by hand", "edited by hand"])
    expect(page.locator("#sheet #m5 > .edit-sign")).to_have_count(1)
    sign, number = (page.locator(f"#sheet #m5{part}").bounding_box() for part in (" > .edit-sign", "e1 text"))
    assert sign is not None
    assert number is not None
    assert sign["y"] + sign["height"] < number["y"]
    assert sign["x"] < number["x"]

    fake.change(digest=edited(fake, "other"), edits=protocol.EditState(locked=[8]))
    expect(signs.locator("title")).to_have_text(["locked"])
    expect(page.locator("#strip .edit-sign")).to_have_count(1)


def test_all_of_it_goes_by_keys_and_leaves_the_transport_alone(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.locator("#strip .cell").nth(1).focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Edit measure 2").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#edit-head")).to_be_focused()
    for _ in range(3):
        page.keyboard.press("Tab")
    expect(cell(page, "0", 3)).to_be_focused()
    for key in ("ArrowRight", "ArrowUp", "End", "ArrowRight", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown"):
        page.keyboard.press(key)
    expect(cell(page, "7/2", 5)).to_be_focused()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Space")
    expect(cell(page, "1", 5)).to_have_attribute("aria-selected", "true")
    expect(page.locator("#edit-about")).to_contain_text("string 5, open, thumb")
    page.keyboard.press("Delete")
    assert edits(fake) == [{"measure": 2, "does": "leave out", "at": "1", "string": 5}]
    fake.change(digest=edited(fake, "left"))
    expect(page.locator("#edit-words")).to_have_text("The note is left out.")
    expect(cell(page, "1", 5)).to_be_focused()

    page.keyboard.press("Escape")
    expect(page.locator("#edit")).to_be_hidden()
    expect(page.get_by_role("button", name="Edit measure 2")).to_be_focused()
    assert {message["kind"] for message in fake.received}.isdisjoint({"start", "stop", "again", "next_rung"})


def test_on_a_phone_a_number_of_the_sheet_opens_the_slip_at_the_foot(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport={"width": 390, "height": 844}, has_touch=True, reduced_motion="reduce")
    page.locator("#m12e3 text").tap()

    expect(page.locator("#foot > #edit")).to_be_visible()
    expect(page.locator("#edit-head")).to_have_text("Measure 12")
    expect(cell(page, "1", 5)).to_have_attribute("aria-selected", "true")
    expect(page.locator("#m12")).to_be_in_viewport(ratio=1)
    shown, foot = page.locator("#m12").bounding_box(), page.locator("#foot").bounding_box()
    assert shown is not None
    assert foot is not None
    assert shown["y"] + shown["height"] <= foot["y"]
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    box = cell(page, "1", 5).bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 40
    page.set_viewport_size({"width": 1280, "height": 800})
    expect(page.locator("#margin > #edit")).to_be_visible()


def test_a_solo_that_cannot_be_edited_is_explained_all_the_same_and_a_pass_closes_the_slip(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    slip = look(page, 4)
    why = "This solo came as a file, without its tune: change the file."
    fake.change(edits=protocol.EditState(why_not=why))

    expect(slip).to_contain_text(why)
    expect(slip.get_by_role("button", name="Lock it")).to_be_hidden()
    expect(page.locator("#strip-edit")).to_be_hidden()
    cell(page, "0", 3).click()
    expect(page.locator("#edit-about")).to_contain_text("it carries the melody")
    expect(page.locator("#edit-pluck")).to_be_hidden()

    fake.begin(1, sounds=False)
    expect(slip).to_be_hidden()
    page.locator("#m2e1 text").click()
    expect(page.locator("#edit")).to_be_hidden()
    fake.send(protocol.Failure("Stop first.", about="edit"))
    expect(page.locator("#notice")).to_have_text("Stop first.")


def test_while_the_connection_is_lost_nothing_is_changed(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    look(page, 4)
    page.get_by_role("button", name="Lock it").click()
    fake.wait_for_kind("edit")
    fake.refusing = True
    fake.drop()
    expect(page.locator("#edit-wrong")).to_contain_text("see how the measure stands")
    page.get_by_role("button", name="Lock it").click()
    expect(page.locator("#edit-wrong")).to_contain_text("There is no connection")
    assert len(edits(fake)) == 1


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (1280, "dark"), (320, "light")])
def test_axe_finds_nothing_in_the_slip(open_page: Callable[..., Page], fake: Any, width: int, scheme: str) -> None:
    fake.ways = [way(fake, 2)]
    page = open_page(viewport=ViewportSize(width=width, height=800), color_scheme=scheme)
    fake.change(edits=MORE)
    look(page, 2, "Edit")
    cell(page, "0", 3).click()
    page.locator("#ways li").wait_for()

    # The rest of the page is held to the rules in test_access.
    part = {"include": [["#edit"]], "exclude": [["svg"]]}
    found = Axe().run(page, part, {"resultTypes": ["violations"]}).response["violations"]

    assert [(one["id"], [node["html"][:160] for node in one["nodes"]]) for one in found] == []
    assert page.evaluate("document.documentElement.scrollWidth") == width


def test_an_explanation_that_comes_too_late_says_nothing_of_what_is_shown_now(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route(f"**/{fake.arrangement['digest']}.explain.json", hold)
    look(page, 4)
    expect(page.locator("#edit-told")).to_have_text("Reading what is to be said of it …")
    fake.change(digest=edited(fake, "newer"))
    page.locator("#strip .cell").nth(6).click()
    expect(page.locator("#edit-told p").first).to_have_text("Measure 7 has a roll.")
    with page.expect_response("**/*.explain.json"):
        held[0].continue_()
    page.evaluate("fetch('arrangements/newer.explain.json').then((answer) => answer.json())")

    expect(page.locator("#edit-told p").first).to_have_text("Measure 7 has a roll.")
