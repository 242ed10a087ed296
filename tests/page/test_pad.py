"""The pad: real clicks, touches and keys become the right bytes."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

PHONE = {"width": 360, "height": 740}


def with_pad(open_page: Callable[..., Page], **options: Any) -> Page:
    """A page whose pad is open."""
    page = open_page(**options)
    page.locator("#open-pad").click()
    page.locator("#board").wait_for()
    return page


def place(page: Page, string: int, fret: int) -> Any:
    """The place of the pad."""
    return page.locator(f"#board [data-string='{string}'][data-fret='{fret}']")


# Open G by equal temperament: D4 62, B3 59, G3 55, D3 50, G4 67; fret 6 of the fifth string is one over its open pitch.
CLICKED = [
    ((1, 0), [0x90, 62, 96]),
    ((2, 3), [0x91, 62, 96]),
    ((3, 12), [0x92, 67, 96]),
    ((4, 5), [0x93, 55, 96]),
    ((5, 0), [0x94, 67, 96]),
    ((5, 6), [0x94, 68, 96]),
]
PRESSED = [
    ("Digit1", [0x90, 62, 96]),
    ("KeyW", [0x91, 60, 96]),
    ("KeyF", [0x92, 58, 96]),
    ("KeyN", [0x93, 55, 96]),
    ("KeyM", [0x94, 67, 96]),
]


def test_a_click_sends_a_note_on_of_its_string(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)

    for (string, fret), _ in CLICKED:
        place(page, string, fret).click()

    notes = fake.wait_for_notes(len(CLICKED))
    assert [note["data"] for note in notes] == [data for _, data in CLICKED]
    assert [note["seq"] for note in notes] == list(range(1, len(CLICKED) + 1))


def test_a_touch_sends_a_note_and_several_fingers_send_several(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page, viewport=PHONE, has_touch=True, is_mobile=True)
    points = []
    for string, fret in ((3, 0), (1, 2), (5, 0)):
        box = place(page, string, fret).bounding_box()
        points.append({"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2})

    session = page.context.new_cdp_session(page)
    for count in (1, 2, 3):
        session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points[:count]})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})

    assert [note["data"] for note in fake.wait_for_notes(3)] == [[0x92, 55, 96], [0x90, 64, 96], [0x94, 67, 96]]


def test_the_stamp_is_the_moment_of_the_event_on_the_pages_clock(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)
    page.evaluate("addEventListener('pointerdown', (event) => (window.stamped = event.timeStamp), true)")

    place(page, 3, 0).click()

    (note,) = fake.wait_for_notes(1)
    assert note["stamp"] == pytest.approx(page.evaluate("window.stamped") / 1000, abs=1e-9)


def test_a_key_plays_the_place_that_shows_its_letter(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)

    for key, _ in PRESSED:
        page.keyboard.press(key)
        letter = key.removeprefix("Key").removeprefix("Digit")
        expect(page.locator("#board .pad-cell kbd", has_text=re.compile(f"^{letter}$"))).to_be_visible()

    assert [note["data"] for note in fake.wait_for_notes(len(PRESSED))] == [data for _, data in PRESSED]


def test_keys_pressed_together_all_sound_and_a_key_held_sounds_once(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)

    page.keyboard.down("KeyM")
    page.keyboard.down("Digit1")
    page.keyboard.down("KeyM")  # what a held key repeats
    page.keyboard.up("Digit1")
    page.keyboard.up("KeyM")
    page.keyboard.press("KeyQ")

    assert [note["data"][1] for note in fake.wait_for_notes(3)] == [67, 62, 59]
    assert len(fake.notes()) == 3


def test_keys_play_nothing_while_the_pad_is_hidden(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)
    page.locator("#open-pad").click()
    expect(page.locator("#pad")).to_be_hidden()

    page.keyboard.press("KeyA")
    page.keyboard.press("Space")
    fake.wait_for_kind("start")

    assert fake.notes() == []


def test_playing_on_the_pad_leaves_the_focus_so_that_space_still_stops(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = with_pad(open_page)
    fake.begin(1)
    expect(page.locator("#toggle .label")).to_have_text("Stop")

    place(page, 3, 0).click()
    page.keyboard.press("Space")

    fake.wait_for_kind("stop")


HOLDS_A_PAD = """
    const { Pad } = await import(new URL("pad.js", document.baseURI));
    const board = document.createElement("div");
    document.body.append(board);
    const told = { notes: [], picked: [], asked_first: [] };
    const pad = new Pad(board, (stamp, data) => told.notes.push(data[1]));
    const touch = (string, fret) => board.querySelector(`[data-string="${string}"][data-fret="${fret}"]`)
      .dispatchEvent(new PointerEvent("pointerdown", { bubbles: true, button: 0 }));
"""


def test_a_place_that_was_asked_for_is_handed_over_once_and_not_played(open_page: Callable[..., Page]) -> None:
    page = open_page()

    told = page.evaluate(
        "async () => {"
        + HOLDS_A_PAD
        + """
        pad.pick((place) => told.asked_first.push(place));
        pad.pick((place) => told.picked.push(place));
        touch(3, 4);
        pad.key(new KeyboardEvent("keydown", { code: "KeyQ" }));
        const takeBack = pad.pick((place) => told.picked.push(place));
        const first = pad.pick((place) => told.picked.push(place));
        takeBack();
        told.asking = board.matches(".picking");
        first();
        told.asks = board.matches(".picking");
        touch(4, 2);
        return told;
        }"""
    )

    assert told == {
        "asked_first": [],
        "picked": [{"string": 3, "fret": 4}],
        "notes": [59, 52],
        "asking": True,
        "asks": False,
    }


def test_the_pad_follows_tuning_and_capo_of_the_sheet(
    open_page: Callable[..., Page], fake: Any, solo_file: dict[str, Any]
) -> None:
    strings = {"1": 62, "2": 60, "3": 55, "4": 48, "5": 67}
    fake.solos[fake.state.digest] = solo_file | {
        "capo": 2,
        "sounding_key": "A major",
        "tuning": {"name": "double C", "strings": strings},
    }
    page = with_pad(open_page)

    place(page, 4, 0).click()
    place(page, 5, 0).click()

    assert [note["data"][1] for note in fake.wait_for_notes(2)] == [50, 69]


def test_on_a_phone_the_neck_is_seen_in_two_parts(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page, viewport=PHONE, has_touch=True, is_mobile=True)
    expect(place(page, 1, 5)).to_be_visible()
    expect(place(page, 1, 7)).to_be_hidden()

    page.get_by_role("button", name="Frets 6 to 12").tap()
    place(page, 1, 7).tap()

    expect(place(page, 1, 5)).to_be_hidden()
    assert fake.wait_for_notes(1)[0]["data"] == [0x90, 69, 96]


def test_places_are_large_enough_for_a_finger(open_page: Callable[..., Page]) -> None:
    page = with_pad(open_page, viewport=PHONE, has_touch=True, is_mobile=True)

    boxes = [box for box in (cell.bounding_box() for cell in page.locator("#board button").all()) if box is not None]

    # 44 by 44: the size of a target in the Web Content Accessibility Guidelines 2.1, success criterion 2.5.5 (memory).
    assert len(boxes) == 25
    assert min(min(box["width"], box["height"]) for box in boxes) >= 44


def test_while_a_pass_goes_on_the_watermark_follows_the_clock(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)
    before = page.evaluate("performance.now() / 1000")

    fake.begin(1)

    marks = [message["watermark"] for message in fake.wait_for(lambda one: one.get("watermark") is not None, 5)]
    assert marks == sorted(marks)
    assert marks[0] >= before - 0.5
    assert marks[-1] <= page.evaluate("performance.now() / 1000")


def test_the_pad_sounds_at_once_and_is_silent_when_asked(open_page: Callable[..., Page], fake: Any) -> None:
    counted = (
        "window.started = 0; const start = AudioBufferSourceNode.prototype.start;"
        " AudioBufferSourceNode.prototype.start = function (...all)"
        " { window.started += 1; return start.apply(this, all); }"
    )
    page = with_pad(open_page, script=counted)
    page.wait_for_function(
        "() => performance.getEntriesByType('resource').some((one) => one.name.includes('/sound/bank-'))"
    )
    page.wait_for_function(
        "async () => { document.querySelector('#board [data-string=\"3\"]').dispatchEvent("
        "new PointerEvent('pointerdown', {bubbles: true, button: 0})); return window.started > 0; }"
    )

    page.get_by_role("button", name="Settings").click()
    page.get_by_label("The pad sounds at once").uncheck()
    page.get_by_role("button", name="Done").click()
    before = page.evaluate("window.started")
    count = len(fake.notes())
    place(page, 3, 0).click()
    fake.wait_for_notes(count + 1)

    assert page.evaluate("window.started") == before


# ------------------------------------------------------------------------------------------------ a shape that is held


def strip(page: Page, string: int) -> Any:
    """What is touched to pick a string while a shape is held."""
    return page.locator(f"#board .pad-strip[data-string='{string}']")


def shape(page: Page, name: str) -> Any:
    """The shape of this name in the row."""
    return page.locator("#shape-row").get_by_role("button", name=re.compile(f"^{re.escape(name)}\\b"))


# C is 2 0 1 2 on strings 4 3 2 1 of open G (common practice, no source): E3, G3, C4, E4, and the drone G4.
C_SHAPE = {1: [0x90, 64, 96], 2: [0x91, 60, 96], 3: [0x92, 55, 96], 4: [0x93, 52, 96], 5: [0x94, 67, 96]}


def test_the_chords_of_the_tune_are_at_hand_and_the_strings_alone_are_picked(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = with_pad(open_page)
    expect(page.locator("#shape-row button")).to_have_text(["Open neck", "G7, key 7", "C8, key 8", "D79, key 9"])

    shape(page, "C").click()
    expect(shape(page, "C")).to_have_attribute("aria-pressed", "true")
    for string in C_SHAPE:
        strip(page, string).click(position={"x": 20 + 180 * string, "y": 20})

    assert [note["data"] for note in fake.wait_for_notes(5)] == list(C_SHAPE.values())
    expect(place(page, 3, 4)).to_be_hidden()


def test_a_key_holds_a_shape_and_lets_it_go_and_any_key_of_a_row_picks_its_string(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = with_pad(open_page)
    expect(shape(page, "C")).to_be_visible()

    page.keyboard.press("8")
    for key in ("KeyZ", "KeyA", "KeyD", "KeyM", "Digit6"):
        page.keyboard.press(key)
    page.keyboard.press("8")
    page.keyboard.press("KeyZ")

    data = [note["data"] for note in fake.wait_for_notes(6)]
    assert data == [C_SHAPE[4], C_SHAPE[3], C_SHAPE[3], C_SHAPE[5], C_SHAPE[1], [0x93, 50, 96]]
    expect(shape(page, "Open neck")).to_have_attribute("aria-pressed", "true")


def test_several_fingers_pick_the_strings_of_a_shape_together(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page, viewport=PHONE, has_touch=True, is_mobile=True)
    shape(page, "C").tap()
    boxes = [strip(page, string).bounding_box() for string in (5, 1)]
    points = [{"x": box["x"] + 100, "y": box["y"] + box["height"] / 2} for box in boxes]

    session = page.context.new_cdp_session(page)
    session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": points})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})

    assert [note["data"] for note in fake.wait_for_notes(2)] == [C_SHAPE[5], C_SHAPE[1]]
    assert min(box["height"] for box in boxes) >= 44


def test_a_chord_of_the_list_is_held_too(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)

    page.get_by_label("More chords").select_option("Bm")
    strip(page, 2).click()

    # Bm is 4 4 3 4 (common practice, no source): string 2 at fret 3 is D4.
    assert fake.wait_for_notes(1)[0]["data"] == [0x91, 62, 96]


def test_a_shape_of_ones_own_is_kept_over_a_reload_and_can_be_forgotten(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = with_pad(open_page)
    page.get_by_role("button", name="Keep a shape").click()
    for string, fret in ((1, 7), (2, 8), (3, 9), (2, 6)):
        place(page, string, fret).click()
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("#shape-words")).to_contain_text("Give the shape a name")
    page.get_by_label("Its name").fill(" Up  the neck")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator("#shape-words")).to_have_text("“Up the neck” is kept on this device.")
    assert fake.notes() == []

    page.reload()
    page.locator("#sheet svg #m1e1").wait_for()  # a solo that comes opens the neck
    page.locator("#open-pad").click()
    shape(page, "Up the neck").click()
    for string in (1, 2, 3, 4):
        strip(page, string).click()
    assert [note["data"][1] for note in fake.wait_for_notes(4)] == [62 + 7, 59 + 6, 55 + 9, 50]

    page.get_by_role("button", name="Forget “Up the neck”").click()
    expect(page.locator("#shape-row button")).to_have_text(["Open neck", "G7, key 7", "C8, key 8", "D79, key 9"])
    expect(place(page, 1, 7)).to_be_visible()


def test_making_a_shape_can_be_left_and_the_pad_plays_again(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)
    page.get_by_role("button", name="Keep a shape").click()
    place(page, 1, 7).click()

    page.get_by_role("button", name="Leave it").click()
    place(page, 1, 2).click()

    assert [note["data"][1] for note in fake.wait_for_notes(1)] == [64]
    expect(page.locator("#board .chosen")).to_have_count(0)


def test_while_a_place_is_asked_for_the_neck_is_open_though_a_shape_is_held(open_page: Callable[..., Page]) -> None:
    page = open_page()

    told = page.evaluate(
        "async () => {"
        + HOLDS_A_PAD
        + """
        pad.hold({ 1: null, 2: 1, 3: 0, 4: 2, 5: 0 });
        pad.pick((place) => told.picked.push(place));
        touch(3, 4);
        pad.key(new KeyboardEvent("keydown", { code: "KeyS" }));
        pad.key(new KeyboardEvent("keydown", { code: "Digit3" }));
        told.silent = board.querySelector('.pad-strip[data-string="1"]').disabled;
        return told;
        }"""
    )

    assert told["picked"] == [{"string": 3, "fret": 4}]
    assert told["notes"] == [55]
    assert told["silent"]


def test_for_a_left_handed_player_the_nut_is_on_the_right(open_page: Callable[..., Page]) -> None:
    page = with_pad(open_page)
    boxes = {}

    for side in ("right-handed", "left-handed"):
        page.evaluate("(left) => document.getElementById('board').classList.toggle('mirrored', left)", side[0] == "l")
        boxes[side] = [place(page, 1, fret).bounding_box()["x"] for fret in (0, 5, 12)]

    assert boxes["right-handed"] == sorted(boxes["right-handed"])
    assert boxes["left-handed"] == sorted(boxes["left-handed"], reverse=True)


def test_a_screen_reader_presses_a_place_without_a_pointer(open_page: Callable[..., Page], fake: Any) -> None:
    page = with_pad(open_page)

    place(page, 3, 2).evaluate("(cell) => cell.click()")
    place(page, 2, 0).click()  # a pointer presses once, though a click follows

    assert [note["data"][1] for note in fake.wait_for_notes(2)] == [57, 59]
    assert len(fake.notes()) == 2
