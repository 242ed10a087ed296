"""Measures are heard before they stand on the sheet, ways are told in a sentence first, and keys stay in the slip."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from coach.arranging.files import from_json
from coach.service import protocol
from coach.service.cue_files import CuesAsked, cues_of_solo

# Keeps what was handed over to sound, and what was stopped.
RECORDER = """
window.sounded = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...given) {
  window.sounded.push(this);
  return start.apply(this, given);
};
"""
CUES = """async ([measure, how]) => (await import('./edit_cues.js')).cuesOf(measure, how)"""


def slip_of(page: Page, measure: int) -> Locator:
    """Open the slip of a measure with its other ways."""
    page.locator("#strip .cell").nth(measure - 1).click()
    page.get_by_role("button", name=f"Edit measure {measure}").click()
    slip = page.get_by_role("region", name=f"Measure {measure}")
    expect(slip).to_be_visible()
    return slip


def sounds(page: Page, count: int) -> None:
    """Wait until so many notes were handed over to sound."""
    look = "(count) => new Promise((done) => { const look = () => (SOUNDED ? done() : setTimeout(look, 20)); look(); })"
    page.evaluate(look.replace("SOUNDED", "window.sounded.length >= count"), count)


def way(fake: Any, number: int, sentence: str = "Other.") -> dict[str, Any]:
    """A way through measure 2 that begins on another string."""
    other = copy.deepcopy(fake.arrangement["measures"][1])
    other["plucks"][0] |= {"string": 4, "fret": 5}
    return {"number": number, "extra": 3, "sentence": sentence, "measure": other}


@pytest.mark.parametrize(("bounce", "number"), [(50, 2), (63, 2), (63, 0)])
def test_a_measure_sounds_as_the_service_has_it(
    open_page: Callable[..., Page], fake: Any, bounce: int, number: int
) -> None:
    solo = copy.deepcopy(fake.arrangement)
    if number == 0:  # a pickup of an eighth and a quarter
        first = solo["measures"][0] | {"number": 0, "length": "3/2", "chords": [], "melody": []}
        first["plucks"] = [one | {"id": one["id"].replace("m1", "m0"), "role": "fill"} for one in first["plucks"][:3]]
        solo["measures"].insert(0, first)
    measure = next(one for one in solo["measures"] if one["number"] == number)
    measure["plucks"][1] |= {"string": measure["plucks"][0]["string"], "fret": 2, "from_fret": 0, "finger": None}
    measure["plucks"][1] |= {"technique": "hammer-on", "pitch": measure["plucks"][0]["pitch"] + 2}
    del solo["digest"]
    asked = CuesAsked(tempo=72, first=number, last=number, bounce=bounce)
    told = json.loads(cues_of_solo(from_json(json.dumps(solo).encode(), "solo"), "", asked))
    page = open_page()

    cues = page.evaluate(CUES, [measure, {"slot": solo["slot"], "tempo": 72, "bounce": bounce}])

    expected = [cue for cue in told["cues"] if cue[1] == "banjo"]
    assert len(cues) == len(measure["plucks"])
    begin = expected[0][0]  # in a pickup, the first note may be one that the bounce has moved
    for cue, (at, *other) in zip(cues, expected, strict=True):
        parts = [at - begin, *other]
        assert cue == [pytest.approx(part, abs=1e-9) if isinstance(part, float) else part for part in parts]


def test_ways_and_the_measure_as_it_stands_are_heard_one_at_a_time(open_page: Callable[..., Page], fake: Any) -> None:
    fake.ways = [way(fake, 1), way(fake, 2)]
    page = open_page(script=RECORDER)
    fake.change(tempo=300)
    slip = slip_of(page, 2)
    stands = slip.get_by_role("button", name="Listen to the measure as it stands")
    second = slip.get_by_role("button", name="Listen to way 2")

    second.click()
    expect(page.locator("#ways li").nth(1)).to_contain_text("Stop")
    sounds(page, 2)
    stands.click()
    expect(page.locator("#edit-listen")).to_contain_text("Stop")
    expect(second).to_be_visible()
    page.locator("#edit-listen").click()
    expect(stands).to_be_visible()
    before = page.evaluate("window.sounded.length")
    assert before < 2 * 8

    stands.click()
    expect(stands).to_be_visible()  # it has come to its end
    assert before < page.evaluate("window.sounded.length") <= before + 8  # a busy machine leaves out what is too late


def test_a_slip_that_closes_falls_silent(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=RECORDER)
    fake.change(tempo=20)
    slip = slip_of(page, 2)
    slip.get_by_role("button", name="Listen to the measure").click()
    sounds(page, 1)

    slip.get_by_role("button", name="Close").click()

    slip_of(page, 2)
    expect(page.locator("#edit-listen")).to_have_text("Listen to the measure as it stands")


def test_a_long_story_of_a_way_begins_with_its_first_sentence(open_page: Callable[..., Page], fake: Any) -> None:
    fake.ways = [
        way(fake, 1, "It begins on string 4. The roll is another. It ends on string 1."),
        way(fake, 2, "Short."),
    ]
    page = open_page()
    slip_of(page, 2)
    first, second = page.locator("#ways li").nth(0), page.locator("#ways li").nth(1)

    expect(first.get_by_text("It begins on string 4.")).to_be_visible()
    expect(first.get_by_text("It ends on string 1.")).to_be_hidden()
    first.get_by_text("What else differs on way 1").click()
    expect(first.get_by_text("The roll is another.")).to_be_visible()
    expect(first.get_by_text("It ends on string 1.")).to_be_visible()
    expect(second.locator("details")).to_have_count(0)


def test_who_edits_by_keys_never_starts_a_pass(open_page: Callable[..., Page], fake: Any) -> None:
    fake.ways = [way(fake, 1)]
    page = open_page()
    fake.change(edits=protocol.EditState(undo=True))
    slip_of(page, 2)
    for button in ("#edit-lock", "#edit-undo"):
        page.locator(button).focus()
        page.keyboard.press("Enter")
        page.keyboard.press("Enter")  # it is on its way
        page.keyboard.press("Space")
        expect(page.locator(button)).to_be_focused()
        fake.change(edits=protocol.EditState(locked=[2], undo=button == "#edit-lock"))
        expect(page.locator("#edit-words")).not_to_have_text("The solo is being written anew …")
        page.keyboard.press("Enter")  # there is nothing left to be done
        expect(page.locator(button)).to_be_focused()

    page.locator("#edit-grid [data-at='0'][data-string='3']").focus()
    page.keyboard.press("Backspace")
    assert fake.wait_for_kind("edit", 2)[-1]["does"] == "leave out"
    fake.change(edits=protocol.EditState(edited=[2]))
    page.get_by_role("button", name="Take way 1").focus()
    page.keyboard.press("Enter")
    fake.solos["taken"] = copy.deepcopy(fake.arrangement) | {"digest": "taken"}
    fake.change(digest="taken", edits=protocol.EditState(locked=[2]))
    expect(page.locator("#edit-ways summary").first).to_be_focused()

    kinds = [message["kind"] for message in fake.received]
    assert (kinds.count("edit"), kinds.count("undo")) == (3, 1)
    assert set(kinds).isdisjoint({"start", "stop", "again", "next_rung"})


def test_when_the_place_is_empty_the_focus_goes_to_adding(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    slip_of(page, 2)
    page.locator("#edit-grid [data-at='0'][data-string='3']").click()
    page.locator("#edit-out").focus()
    page.keyboard.press("Enter")
    fake.wait_for_kind("edit")
    left = copy.deepcopy(fake.arrangement) | {"digest": "left"}
    del left["measures"][1]["plucks"][0]
    fake.solos["left"] = left
    fake.change(digest="left", edits=protocol.EditState(edited=[2], undo=True))

    expect(page.get_by_role("button", name="Add it")).to_be_focused()
