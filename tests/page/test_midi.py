"""Instruments that the browser hears, on a Web MIDI of the tests: what is asked, heard, stamped, sent and said."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from coach.service import protocol

FAKE_MIDI = (Path(__file__).parent / "fake_midi.js").read_text("utf-8")
NAME = "Cedar Five"
PLUGGED = f"{FAKE_MIDI};fakeMidi.plug('{NAME}');"
# The browser remembers, once it is told to, that the page may hear instruments.
REMEMBERED = "if (sessionStorage.getItem('granted') !== null) fakeMidi.permission = 'granted';"
NOTE = [0x92, 55, 88]

Message = dict[str, Any]


def connect(page: Page) -> None:
    """Let the browser hear instruments, as a player does."""
    page.locator("#open-settings").click()
    page.locator("#midi-connect").click()
    page.keyboard.press("Escape")


def play(page: Page, *messages: tuple[float, list[int]], name: str = NAME) -> None:
    """Play on an instrument: milliseconds on the page's clock and bytes."""
    page.evaluate("([name, messages]) => fakeMidi.play(name, messages)", [name, [list(each) for each in messages]])


def inputs(fake: Any, count: int = 1) -> list[Message]:
    found: list[Message] = fake.wait_for_kind("input", count)
    return found


def heard(fake: Any, count: int) -> list[Message]:
    """Wait until the instrument of the page has sent so many messages; returns them."""

    def of_instrument(message: Message) -> bool:
        return bool(message["kind"] == "notes" and message["seat"].endswith("-midi") and message["items"])

    def items() -> list[Message]:
        return [item for message in fake.received if of_instrument(message) for item in message["items"]]

    fake.wait_for(lambda message: of_instrument(message) and len(items()) >= count)
    return items()


@pytest.fixture
def connected(open_page: Callable[..., Page], fake: Any) -> Page:
    """A page that hears an instrument."""
    page = open_page(script=PLUGGED + REMEMBERED)
    connect(page)
    inputs(fake)
    return page


def test_the_instrument_is_named_and_its_messages_come_whole_with_the_stamps_of_their_events(
    connected: Page, fake: Any
) -> None:
    bend_range = [[0xB2, 101, 0], [0xB2, 100, 0], [0xB2, 6, 12]]
    bend, off = [0xE2, 0, 80], [0x82, 55, 64]
    sent = [*bend_range, NOTE, bend, off, [0x92, 57, 70]]
    play(connected, *((1000.125 + 250 * index, data) for index, data in enumerate(sent)))

    (named,) = inputs(fake)
    assert named["name"] == NAME
    items = heard(fake, len(sent))
    assert [item["data"] for item in items] == sent
    assert [item["stamp"] for item in items] == [(1000.125 + 250 * index) / 1000 for index in range(len(sent))]
    assert [item["seq"] for item in items] == list(range(1, len(sent) + 1))
    assert connected.evaluate("fakeMidi.asked") == [{"sysex": False}]


def test_stamps_stay_those_of_the_events_while_the_page_is_blocked(connected: Page, fake: Any) -> None:
    connected.evaluate(
        """([name, data]) => {
            const events = [5, 60, 110].map((after) => [performance.now() + after, data]);
            window.due = events.map(([at]) => at / 1000);
            const until = performance.now() + 200;
            while (performance.now() < until) { /* the page is busy */ }
            fakeMidi.play(name, events);
        }""",
        [NAME, NOTE],
    )

    assert [item["stamp"] for item in heard(fake, 3)] == connected.evaluate("window.due")


def test_what_is_no_channel_message_stays_here(connected: Page, fake: Any) -> None:
    clock, sensing, position, exclusive = [0xF8], [0xFE], [0xF2, 1, 2], [0xF0, 1, 0xF7]
    short, status_only = [0x90, 60], [0x90]
    play(connected, *((1.0, data) for data in (clock, sensing, position, exclusive, short, status_only, NOTE)))

    assert [item["data"] for item in heard(fake, 1)] == [NOTE]


def test_a_note_takes_along_what_came_before_it_and_bends_go_together(connected: Page, fake: Any) -> None:
    bends = [(10.0 + index, [0xE2, index % 128, 64]) for index in range(300)]
    play(connected, *bends[:2], (12.5, NOTE), *bends[2:])
    heard(fake, 301)

    sent = [message for message in fake.received if message["kind"] == "notes" and message["items"]]
    assert [len(message["items"]) for message in sent] == [3, 256, 42]
    assert sent[0]["items"][-1]["data"] == NOTE


def test_the_watermark_holds_for_the_instrument_too_and_nothing_comes_behind_it(connected: Page, fake: Any) -> None:
    fake.begin()
    stamp = connected.evaluate("performance.now()") / 1000
    play(connected, (stamp * 1000, [0xE2, 0, 80]))
    fake.wait_for(lambda each: each["kind"] == "notes" and (each.get("watermark") or 0) > stamp + 0.1, count=2)

    marks = [message for message in fake.received if message.get("watermark") is not None]
    assert {message["seat"].removeprefix("pad-").count("-midi") for message in marks} == {0, 1}
    complete = 0.0
    for message in fake.received:
        if message["kind"] == "notes" and message["seat"].endswith("-midi"):
            assert all(item["stamp"] >= complete for item in message["items"])
            complete = max(complete, message.get("watermark") or 0.0)
    assert heard(fake, 1)


def test_pad_and_instrument_are_numbered_and_acknowledged_each_by_itself(connected: Page, fake: Any) -> None:
    connected.keyboard.press("t")
    play(connected, (1.0, NOTE), (2.0, NOTE))
    heard(fake, 2)
    connected.locator("#open-pad").click()
    connected.locator("#board button").first.dispatch_event("pointerdown", {"button": 0, "bubbles": True})
    fake.wait_for_notes(3)

    seqs: dict[str, list[int]] = {}
    for message in fake.received:
        if message["kind"] == "notes":
            seqs.setdefault(message["seat"][-5:], []).extend(item["seq"] for item in message["items"])
    assert seqs["-midi"] == [1, 2]
    assert [numbers for seat, numbers in seqs.items() if seat != "-midi"] == [[1]]


def test_after_a_reconnect_the_instrument_is_named_again_and_only_what_was_not_taken_comes_again(
    connected: Page, fake: Any
) -> None:
    play(connected, (1.0, NOTE))
    heard(fake, 1)
    fake.acknowledging = False
    play(connected, (2.0, NOTE), (3.0, NOTE))
    heard(fake, 3)
    fake.drop()
    fake.wait_for_kind("join", 2)
    named = inputs(fake, 2)
    heard(fake, 5)

    assert named[0] == named[1]  # with the stamp of when it came
    joined = [index for index, message in enumerate(fake.received) if message["kind"] == "join"]
    after = fake.received[joined[1] :]
    assert [message["kind"] for message in after if message["kind"] != "pong"][:3] == ["join", "input", "notes"]
    again = [item for message in after if message["kind"] == "notes" for item in message["items"]]
    assert [(item["seq"], item["stamp"]) for item in again] == [(2, 0.002), (3, 0.003)]


def test_a_page_loaded_anew_hears_it_again_unasked_and_its_numbers_go_on(
    connected: Page, fake: Any, complaints: list[str]
) -> None:
    play(connected, (1.0, NOTE))
    heard(fake, 1)
    connected.evaluate("sessionStorage.setItem('granted', 'yes')")
    connected.reload()
    inputs(fake, 2)
    play(connected, (2.0, NOTE))

    assert [item["seq"] for item in heard(fake, 2)] == [1, 2]
    expect(connected.locator("#notice")).to_be_hidden()


def test_a_browser_that_wants_to_be_asked_again_is_asked_by_a_touch_only(connected: Page, fake: Any) -> None:
    connected.reload()  # the fake of the new page has given no permission
    connected.locator("#sheet svg #m1e1").wait_for()
    connected.locator("#open-settings").click()
    expect(connected.locator("#midi-words")).to_have_text(
        "The browser wants to be asked by a touch before it hears your instrument again."
    )
    assert connected.evaluate("fakeMidi.asked") == []
    connected.locator("#midi-connect").click()

    assert [message["name"] for message in inputs(fake, 2)] == [NAME, NAME]


def test_who_never_asked_is_never_asked(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=PLUGGED + "fakeMidi.permission = 'granted';")
    fake.wait_for_kind("join")

    assert page.evaluate("fakeMidi.asked") == []
    assert not [message for message in fake.received if message["kind"] == "input"]


def test_unplugged_it_is_taken_up_again_under_its_name(connected: Page, fake: Any) -> None:
    connected.evaluate("fakeMidi.unplug('Cedar Five', {at: 5000})")
    expect(connected.locator("#notice")).to_contain_text("Cedar Five was unplugged.")
    play(connected, (5100.0, NOTE))
    connected.evaluate("fakeMidi.plug('Cedar Five', {at: 6000})")
    expect(connected.locator("#notice")).to_have_text("Cedar Five is heard again.")
    play(connected, (6100.0, NOTE))

    assert [(each["name"], each["stamp"]) for each in inputs(fake, 3)[1:]] == [("", 5.0), (NAME, 6.0)]
    assert [item["stamp"] for item in heard(fake, 1)] == [6.1]


def test_one_input_by_name_is_heard_alone_and_remembered_while_it_is_away(connected: Page, fake: Any) -> None:
    connected.evaluate("fakeMidi.plug('Foot Board')")
    assert inputs(fake, 2)[-1]["name"] == "Cedar Five and Foot Board"
    connected.locator("#open-settings").click()
    connected.locator("#midi-input").select_option("Cedar Five")
    assert inputs(fake, 3)[-1]["name"] == NAME
    play(connected, (1.0, NOTE), name="Foot Board")
    play(connected, (2.0, NOTE))
    assert [item["stamp"] for item in heard(fake, 1)] == [0.002]
    assert connected.evaluate("fakeMidi.opened()") == [NAME]  # another program may have the other one

    connected.evaluate("fakeMidi.unplug('Cedar Five')")

    assert inputs(fake, 4)[-1]["name"] == ""  # the other one is not taken in its place
    expect(connected.locator("#midi-input")).to_have_value(NAME)
    expect(connected.locator("#midi-words")).to_have_text(
        "Cedar Five is not plugged in. It is heard as soon as it is back."
    )
    assert not [message for message in fake.received if message["kind"] == "settings"]


def test_to_stop_hearing_it_holds_until_it_is_asked_for_again(connected: Page, fake: Any) -> None:
    connected.locator("#open-settings").click()
    connected.get_by_role("button", name="Stop hearing it").click()
    assert inputs(fake, 2)[-1]["name"] == ""
    expect(connected.locator("#notice")).to_be_hidden()  # it was not unplugged
    assert connected.evaluate("fakeMidi.opened()") == []
    play(connected, (1.0, NOTE))
    connected.evaluate("sessionStorage.setItem('granted', 'yes')")
    connected.reload()
    connected.locator("#sheet svg #m1e1").wait_for()

    assert connected.evaluate("fakeMidi.asked") == []
    assert not fake.notes()


def test_what_a_system_sends_on_to_itself_is_no_instrument(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=f"{FAKE_MIDI};fakeMidi.plug('Midi Through Port-0');")
    page.locator("#open-settings").click()
    page.locator("#midi-connect").click()

    expect(page.locator("#midi-words")).to_have_text("No instrument is plugged in. It is heard as soon as it is.")
    page.evaluate("fakeMidi.plug('Cedar Five')")
    assert [message["name"] for message in inputs(fake)] == [NAME]


def test_a_port_that_another_program_keeps_is_said_and_tried_again(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=f"{FAKE_MIDI};fakeMidi.plug('Cedar Five', {{busy: true}});")
    page.locator("#open-settings").click()
    page.locator("#midi-connect").click()
    expect(page.locator("#midi-words")).to_contain_text("Cedar Five cannot be opened: another program keeps it")
    assert not [message for message in fake.received if message["kind"] == "input"]
    page.evaluate("fakeMidi.plug('Cedar Five', {busy: false})")
    page.get_by_role("button", name="Try again").click()

    assert inputs(fake)[0]["name"] == NAME
    expect(page.locator("#midi-words")).to_contain_text("Heard in this browser: Cedar Five.")


@pytest.mark.parametrize(
    ("script", "words"),
    [
        ("fakeMidi.answer = 'no'", "The browser does not let this page hear MIDI instruments."),
        ("fakeMidi.answer = 'broken'", "cannot reach MIDI instruments: No MIDI system could be reached. Plug one in"),
    ],
)
def test_a_refusal_is_said_with_its_cure_and_can_be_asked_again(
    open_page: Callable[..., Page], fake: Any, script: str, words: str
) -> None:
    page = open_page(script=f"{PLUGGED};{script};")
    page.locator("#open-settings").click()
    page.locator("#midi-connect").click()
    expect(page.locator("#midi-words")).to_contain_text(words)
    page.evaluate("fakeMidi.answer = 'yes'")
    page.locator("#midi-connect").click()

    assert inputs(fake)[0]["name"] == NAME


def test_a_browser_without_it_says_so_and_asks_nothing(open_page: Callable[..., Page]) -> None:
    page = open_page(script="delete Navigator.prototype.requestMIDIAccess;")
    page.locator("#open-settings").click()

    expect(page.locator("#midi-words")).to_contain_text("This browser cannot hear MIDI instruments; another")
    expect(page.locator("#midi-connect")).to_be_hidden()


def test_over_plain_http_from_elsewhere_it_says_what_is_missing_and_how_to_have_it(
    browser: Browser, fake: Any, complaints: list[str]
) -> None:
    # A name of a network, resolved to this machine: no secure context (W3C Secure Contexts, section 3.1).
    with browser.new_context() as context:
        page = context.new_page()
        page.add_init_script("Object.defineProperty(window, 'isSecureContext', {value: false})")
        page.goto(fake.url)
        page.locator("#open-settings").click()

        expect(page.locator("#midi-words")).to_contain_text("coach serve --certfile cert.pem --keyfile key.pem")
        expect(page.locator("#midi-connect")).to_be_hidden()


def test_who_hears_an_instrument_is_not_told_that_there_is_none(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=PLUGGED)
    expect(page.locator("#no-port")).to_be_visible()
    connect(page)
    expect(page.locator("#no-port")).to_be_hidden()
    page.locator("#open-settings").click()
    page.locator("#learn").click()

    assert fake.wait_for_kind("calibrate") == [{"kind": "calibrate", "sounds": True}]
    expect(page.locator("#pad")).to_be_hidden()  # it is the instrument that is learned


def test_at_the_first_visit_one_touch_hears_it(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=PLUGGED)
    page.get_by_role("button", name="Hear one in this browser").click()

    assert inputs(fake)[0]["name"] == NAME
    expect(page.locator("#no-port")).to_be_hidden()
    expect(page.locator("#settings")).to_be_hidden()


def test_where_none_is_heard_then_the_settings_say_why(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=f"{PLUGGED};fakeMidi.answer = 'no';")
    page.get_by_role("button", name="Hear one in this browser").click()

    expect(page.locator("#midi-words")).to_be_in_viewport()
    expect(page.locator("#midi-words")).to_contain_text("does not let this page hear MIDI instruments")


def test_the_settings_fit_a_phone(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport={"width": 320, "height": 640}, script=PLUGGED)
    connect(page)
    inputs(fake)
    page.locator("#open-settings").click()
    expect(page.locator("#midi-input")).to_be_visible()
    expect(page.locator("#midi-input option")).to_have_text(["whatever is plugged in", NAME])

    assert page.evaluate(
        "document.querySelector('#settings').scrollWidth <= document.querySelector('#settings').clientWidth"
    )
    box = page.locator("#midi-connect").bounding_box()
    assert box is not None
    assert box["height"] >= 44


def test_the_port_list_of_the_coach_does_not_undo_it(connected: Page, fake: Any) -> None:
    fake.send(protocol.Ports([], [], None, None, "No MIDI port is there."))

    expect(connected.locator("#no-port")).to_be_hidden()
