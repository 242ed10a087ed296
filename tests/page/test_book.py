"""The tune book: finding a tune, bringing files, and the tiers that are still being written."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import FilePayload, Page, expect

from coach.service import protocol

NAMES = ["Weir Song", "Otter Run", "Mill Lane", "Alder Road", "The Old Mill", "Reed Bank", "Sluice", "Heron", "Ford"]
NAMES += ["Low Water", "Bramble", "Millrace", "Ferry Steps"]


def file(name: str, content: bytes = b"X:1\nK:G\nGABc|") -> FilePayload:
    return {"name": name, "mimeType": "text/plain", "buffer": content}


def listed(names: list[str]) -> protocol.Tunes:
    return protocol.Tunes([protocol.TuneLine(f"t-{name}", name, "G major", "4/4", 16) for name in names])


def test_tunes_are_listed_by_title_and_a_long_list_has_a_field_to_find_one_by(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    field, options = page.get_by_label("Find a tune"), page.locator("#chooser select[name=tune] option")

    fake.send(listed(NAMES[:3]))
    expect(options).to_have_text(["Mill Lane (G major)", "Otter Run (G major)", "Weir Song (G major)"])
    fake.send(listed(NAMES[:12]))
    expect(options).to_have_count(12)
    expect(field).to_be_hidden()
    fake.send(listed(NAMES))
    expect(field).to_be_visible()


def test_a_tune_is_found_by_some_of_its_letters_and_chosen(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.send(listed(NAMES))
    page.get_by_label("Find a tune").fill("mill")

    found = page.locator("#book-found button")
    expect(found).to_have_text(["Mill Lane (G major)", "Millrace (G major)", "The Old Mill (G major)"])
    expect(page.locator("#book-count")).to_have_text("3 of 13 tunes")
    found.nth(1).click()

    assert fake.wait_for_kind("settings") == [{"kind": "settings", "tune": "t-Millrace"}]
    expect(found).to_have_count(0)
    expect(page.locator("#chooser select[name=tune]")).to_be_focused()


def test_enter_takes_the_first_that_was_found_and_escape_leaves(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    fake.send(listed(NAMES))
    field = page.get_by_label("Find a tune")
    field.fill("zz")
    expect(page.locator("#book-count")).to_have_text("None of the 13 tunes has these letters.")
    field.press("Enter")
    field.press("Escape")
    expect(field).to_have_value("")
    expect(page.locator("#book-count")).to_have_text("")
    field.fill("otter")
    field.press("Enter")

    assert fake.wait_for_kind("settings") == [{"kind": "settings", "tune": "t-Otter Run"}]


def test_a_tune_of_ones_own_is_sent_and_chosen(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    page.get_by_label("Tunes of your own").set_input_files(file("mill.abc"))

    assert fake.wait_for_kind("(upload)") == [{"kind": "(upload)", "name": "mill.abc", "size": 13}]
    assert fake.wait_for_kind("settings") == [{"kind": "settings", "tune": "mill-lane-00000000"}]
    expect(page.locator("#upload-words")).to_have_text("“Mill Lane” is in the tune book now.")


def test_several_files_are_brought_each_with_its_word_and_the_first_tune_is_chosen(
    open_page: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    page = open_page()
    fake.uploads = {
        "noise.abc": (422, {"text": "noise.abc, line 4: the key “H” is not known; write one like K:G."}),
        "book.abc": (200, {"id": "a-0", "title": "A", "tunes": [{}, {}, {}], "complaints": ["B has no notes."]}),
        "mute.mid": (422, {"text": "there is no melody in it."}),
    }

    page.get_by_label("Tunes of your own").set_input_files(
        [file("noise.abc"), file("book.abc"), file("mill.abc"), file("mute.mid")]
    )

    expect(page.locator("#upload-words p")).to_have_text(
        [
            "noise.abc, line 4: the key “H” is not known; write one like K:G.",
            "3 tunes of book.abc are in the tune book now. B has no notes.",
            "“Mill Lane” is in the tune book now.",
            "mute.mid: there is no melody in it.",
        ]
    )
    names = [message["name"] for message in fake.wait_for_kind("(upload)", 4)]
    assert names == ["noise.abc", "book.abc", "mill.abc", "mute.mid"]
    assert fake.wait_for_kind("settings") == [{"kind": "settings", "tune": "a-0"}]
    # The browser notes refused requests by itself.
    assert [text for text in complaints if "422" not in text] == []
    complaints.clear()


def test_files_can_be_dropped_on_the_page(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    page.evaluate(
        "() => { const given = new DataTransfer();"
        " for (const name of ['dropped.abc', 'too.abc']) { given.items.add(new File(['X:1'], name)); }"
        " document.querySelector('#title').dispatchEvent("
        "new DragEvent('drop', {dataTransfer: given, bubbles: true, cancelable: true})); }"
    )

    assert [message["name"] for message in fake.wait_for_kind("(upload)", 2)] == ["dropped.abc", "too.abc"]


def test_why_a_file_cannot_be_used_is_said_and_nothing_is_chosen(
    open_page: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    page = open_page()
    fake.upload = (400, {"text": "noise.abc: there is no tune in it."})

    page.get_by_label("Tunes of your own").set_input_files(file("noise.abc", b"\xff\x00"))

    expect(page.locator("#upload-words")).to_have_text("noise.abc: there is no tune in it.")
    expect(page.locator("#notice")).to_have_text("noise.abc: there is no tune in it.")
    assert [message for message in fake.received if message["kind"] == "settings"] == []
    # The browser notes a refused request by itself.
    assert [text for text in complaints if "400" not in text] == []
    complaints.clear()


def test_tiers_come_one_after_another(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    tiers = page.locator("#chooser .tiers label")
    solos = {"beginner": fake.state.digest}
    waiting = "Writing the solos: beginner is there, intermediate …"
    fake.change(tier="beginner", waiting=waiting, solos=solos)

    expect(tiers).to_have_text(["Beginner", "Intermediatenot yet", "Advancednot yet"])
    expect(page.locator("#waiting")).to_have_text(waiting)
    expect(page.get_by_role("radio", name="Advanced not yet")).to_be_attached()
    solos = solos | {"intermediate": "b"}
    fake.change(solos=solos)
    expect(tiers).to_have_text(["Beginner", "Intermediate", "Advancednot yet"])
    fake.change(solos=solos | {"advanced": "c"}, waiting="")
    expect(tiers).to_have_text(["Beginner", "Intermediate", "Advanced"])
