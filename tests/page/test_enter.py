"""Writing a tune down: what is touched and played becomes notes, is kept, and goes into the tune book as ABC."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect

from coach.service import protocol
from coach.tunes.read import read_tune_bytes

NARROW = {"width": 320, "height": 640}


def writing(open_page: Callable[..., Page], **options: Any) -> Page:
    """A page on which a tune is being written down."""
    page = open_page(**options)
    page.evaluate("document.getElementById('choice').open = true")
    page.get_by_role("button", name="Write a tune down").click()
    expect(page.locator("#enter-score svg")).to_be_visible()
    return page


def touch(page: Page, *places: tuple[int, int]) -> None:
    """Touch places of the pad, as (string, fret)."""
    for string, fret in places:
        page.locator(f"#board .pad-cell[data-string='{string}'][data-fret='{fret}']").click()


def length(page: Page, name: str) -> None:
    """Choose a length."""
    page.locator("#enter-lengths").get_by_role("radio", name=name).check()


def music(page: Page) -> str:
    """The music of the tune, as ABC has it."""
    text = page.locator("#enter-abc").text_content() or ""
    return "\n".join(line for line in text.splitlines()[7:] if line)


def instrument(page: Page, fake: Any, *notes: tuple[float, int]) -> None:
    """The service's own instrument plays notes, as (seconds on the page's clock, pitch)."""
    for stamp, pitch in notes:
        fake.send(protocol.Played(stamp=stamp, pitch=pitch, string=None, velocity=80))


def test_touched_places_are_written_down_and_nothing_of_it_is_sent_as_played(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = writing(open_page)

    touch(page, (3, 0), (2, 0), (1, 0))
    length(page, "half")
    touch(page, (4, 2))

    expect(page.locator("#enter-score .enter-fret")).to_have_text(["0", "0", "0", "2", "(2)"])
    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G", "B", "D", "E", ""])
    assert music(page) == "G,2 B,2 D2 E,2- | E,2 z6 |]"
    expect(page.locator("#enter-place")).to_have_text("Measure 2, beat 2. Next: half note.")
    assert fake.notes() == []


def test_lengths_rests_and_ties_have_keys_and_the_keys_of_the_transport_rest(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = writing(open_page)

    for key in (
        "Enter",
        "KeyA",
        "Comma",
        "KeyS",
        "Quote",
        "Slash",
        "KeyQ",
        "Slash",
        "Semicolon",
        "KeyZ",
        "KeyX",
        "KeyC",
    ):
        page.keyboard.press(key)
    for key in ("Semicolon", "Period", "Backslash", "Escape"):
        page.keyboard.press(key)

    assert music(page) == "G,2 _A,z B,3/2(3D,_E,=E,-E,/2- | E,3/2z6z/2 |]"
    page.keyboard.press("Backspace")
    page.keyboard.press("Control+z")
    expect(page.locator("#enter-redo")).to_be_enabled()
    page.keyboard.press("Control+Shift+z")
    expect(page.locator("#enter-score .enter-letter").last).to_have_text("E")
    assert {message["kind"] for message in fake.received} <= {"join", "pong", "enter", "input", "notes"}
    assert fake.notes() == []


def test_a_note_that_is_chosen_gets_another_place_length_and_chord(open_page: Callable[..., Page]) -> None:
    page = writing(open_page)
    touch(page, (3, 0), (2, 0), (1, 0), (1, 2))

    page.locator("#enter-score [data-index='1'] .enter-touch").click()
    expect(page.locator("#enter-place")).to_contain_text("Measure 1, beat 2: the note B")
    touch(page, (2, 1))
    length(page, "half")
    page.locator("#enter").get_by_label("The chord begins").select_option(label="1 beat later")
    page.locator("#enter-chords").get_by_role("button", name="D7").click()
    page.get_by_role("button", name="To the end").click()
    touch(page, (3, 2))
    page.keyboard.press("ArrowLeft")
    page.get_by_role("button", name="Insert").click()

    assert music(page) == 'G,2 C2- "D7"C2 D2 | E2 A,4 A,2- | A,2 z6 |]'


def test_what_is_written_is_there_again_when_the_page_is_loaded_anew(open_page: Callable[..., Page]) -> None:
    page = writing(open_page)
    page.locator("#enter").get_by_label("Title").fill("Reed Bank")
    page.locator("#enter").get_by_label("Metre").select_option("3/4")
    page.locator("#enter").get_by_label("Pickup").select_option(label="a quarter")
    page.locator("#enter").get_by_label("Words, with").fill("Oh down a-way")
    touch(page, (4, 0), (3, 0), (3, 2), (2, 0))
    before = page.locator("#enter-abc").text_content()

    page.reload()
    page.get_by_role("button", name="Write a tune down").click()

    assert "w:Oh down a-way" in (before or "")
    expect(page.locator("#enter-abc")).to_have_text(before or "")
    expect(page.locator("#enter").get_by_label("Title")).to_have_value("Reed Bank")


def test_a_tune_goes_into_the_book_as_abc_and_is_the_tune_at_hand_then(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = writing(open_page)
    give = page.get_by_role("button", name="Put it into the tune book")
    give.click()
    expect(page.locator("#enter-words")).to_contain_text("There is no note yet")
    touch(page, (3, 0), (2, 0), (1, 0))
    give.click()
    expect(page.locator("#enter-words")).to_contain_text("Give the tune a title")
    page.locator("#enter").get_by_label("Title").fill("Mill Lane")

    give.click()

    (upload,) = fake.wait_for_kind("(upload)")
    abc = page.locator("#enter-abc").text_content() or ""
    assert (upload["name"], upload["size"]) == ("mill-lane.abc", len(abc.encode()))
    assert [note.pitch for note in read_tune_bytes(abc.encode(), "mill-lane.abc").measures[0].notes] == [55, 59, 62]
    assert fake.wait_for_kind("settings")[-1]["tune"] == "mill-lane-00000000"
    expect(page.locator("#enter")).to_be_hidden()
    expect(page.locator("#notice")).to_have_text("“Mill Lane” is in the tune book. Its three tiers are being written.")
    assert [message["on"] for message in fake.wait_for_kind("enter", 2)] == [True, False]


def test_what_the_service_does_not_take_is_told_in_its_words_and_stays(
    open_page: Callable[..., Page], fake: Any, complaints: list[str]
) -> None:
    fake.upload = (422, {"text": "mill-lane.abc, line 8: the notes cannot be read."})
    page = writing(open_page)
    page.locator("#enter").get_by_label("Title").fill("Mill Lane")
    touch(page, (3, 0))

    page.get_by_role("button", name="Put it into the tune book").click()

    expect(page.locator("#enter-words")).to_have_text("mill-lane.abc, line 8: the notes cannot be read.")
    expect(page.locator("#enter")).to_be_visible()
    complaints[:] = [text for text in complaints if "422" not in text]


def test_the_instrument_writes_too_and_what_it_sends_twice_is_one_note(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = writing(open_page)
    fake.wait_for(lambda message: message["kind"] == "enter" and message["on"])

    instrument(page, fake, (1.0, 55), (1.02, 67), (1.03, 55), (1.5, 59), (2.0, 59))

    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G", "B", "B"])
    fake.drop()
    fake.wait_for(lambda message: message["kind"] == "enter" and message["on"], 2)
    page.get_by_role("button", name="Back to the sheet").click()
    fake.wait_for(lambda message: message["kind"] == "enter" and not message["on"])
    instrument(page, fake, (3.0, 62))
    page.get_by_role("button", name="Write a tune down").click()
    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G", "B", "B"])


IN_TIME = """
    async () => {
      const { InTime } = await import(new URL("enter_time.js", document.baseURI));
      const { EMPTY } = await import(new URL("enter_tune.js", document.baseURI));
      let end;
      const player = {
        at: 0, playback: { origin: 20 }, cues: null,
        play({ tracks }) { this.cues = tracks.click.cues; return new Promise((done) => { end = done; }); },
        stop() { end(false); },
      };
      const told = await new Promise((done) => {
        const inTime = new InTime(player, (notes, lateMs) => done({ notes, lateMs }));
        void inTime.start({ ...EMPTY, meter: "3/4", tempo: 120, pickup: 48 });
        setTimeout(() => {
          for (const [seconds, pitch] of [[-1.9, 40], [-0.46, 50], [0.05, 55], [0.53, 57], [1.05, 59], [1.55, 62]]) {
            inTime.hear({ stamp: 20 + seconds, pitch, string: null, fret: null, velocity: 80 });
          }
          inTime.stop();
        }, 250);
      });
      return { ...told, clicks: player.cues.slice(0, 8).map(([at, voice]) => [at, voice]) };
    }
"""


def test_what_is_played_to_the_click_is_put_on_its_beats_and_the_count_in_is_none_of_it(
    open_page: Callable[..., Page],
) -> None:
    told = open_page().evaluate(IN_TIME)

    # 3/4 at 120: a beat is half a second. Two measures of count-in, since the pickup comes in on the last of its beats.
    voices = ["accent", "click", "click"]
    assert told["clicks"] == [[-3 + beat / 2, voices[beat % 3]] for beat in range(8)]
    assert [(note["pitch"], note["length"]) for note in told["notes"]] == [
        (50, 48),
        (55, 48),
        (57, 48),
        (59, 48),
        (62, 144),
    ]
    assert 30 <= told["lateMs"] <= 60


def test_the_page_counts_in_and_takes_down_what_the_pad_plays(open_page: Callable[..., Page]) -> None:
    page = writing(open_page)
    page.locator("#enter").get_by_label("Title").click()
    page.locator("#enter").get_by_label("Quarters a minute").fill("200")
    page.locator("#enter").get_by_label("Quarters a minute").blur()

    page.get_by_role("button", name="Play it to the click").click()
    expect(page.locator("#enter-count")).to_contain_text("Count-in")
    expect(page.locator("#enter-count")).to_have_text("Measure 1")
    page.keyboard.press("KeyA")
    expect(page.locator("#enter-count")).to_have_text("Measure 2")
    page.keyboard.press("KeyQ")
    page.keyboard.press("Space")

    expect(page.locator("#enter-words")).to_contain_text("2 notes put down")
    letters = [letter for letter in page.locator("#enter-score .enter-letter").all_text_contents() if letter]
    assert letters == ["G", "B"]
    page.keyboard.press("Control+z")
    expect(page.locator("#enter-score .enter-letter")).to_have_count(0)


def test_a_chord_that_cannot_be_read_is_told_at_once(open_page: Callable[..., Page]) -> None:
    page = writing(open_page)
    field = page.locator("#enter").get_by_label("Another chord")

    field.fill("H7")
    field.press("Enter")
    expect(page.locator("#enter-words")).to_contain_text("no chord name")
    field.fill("F#m7")
    field.press("Enter")
    touch(page, (3, 0))

    assert music(page).startswith('"F#m7"G,2')


def test_writing_gives_way_to_a_pass_and_loses_nothing(open_page: Callable[..., Page], fake: Any) -> None:
    page = writing(open_page)
    touch(page, (3, 0))

    fake.begin(1)

    expect(page.locator("#enter")).to_be_hidden()
    expect(page.locator("#sheet svg")).to_be_visible()
    page.keyboard.press("KeyA")
    assert fake.wait_for_notes(1)[0]["data"] == [0x92, 55, 96]
    fake.change(state="between passes")
    page.get_by_role("button", name="Write a tune down").click()
    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G"])


def test_while_writing_the_pad_is_in_open_g_without_capo(
    open_page: Callable[..., Page], fake: Any, solo_file: dict[str, Any]
) -> None:
    fake.solos[fake.state.digest] = solo_file | {"capo": 2, "sounding_key": "A major"}
    page = writing(open_page)

    touch(page, (3, 0))
    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G"])
    page.get_by_role("button", name="Back to the sheet").click()
    touch(page, (3, 0))

    assert fake.wait_for_notes(1)[0]["data"] == [0x92, 57, 96]


def test_on_a_small_phone_nothing_is_cut_off_and_all_is_large_enough_for_a_finger(
    open_page: Callable[..., Page],
) -> None:
    page = writing(open_page, viewport=NARROW, has_touch=True, is_mobile=True)
    touch(page, (3, 0), (2, 0))

    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    for control in page.locator("#enter button:visible, #enter select:visible, #enter .enter-lengths label").all():
        box = control.bounding_box()
        assert box is not None
        assert box["height"] >= 43.9, control
        assert box["x"] + box["width"] <= 320
    score, pad = page.locator("#enter-score").bounding_box(), page.locator("#pad").bounding_box()
    assert score is not None
    assert pad is not None
    assert score["y"] + 100 <= pad["y"]


def test_undo_takes_back_notes_and_never_the_title_that_was_typed_since(open_page: Callable[..., Page]) -> None:
    page = writing(open_page)
    touch(page, (3, 0), (2, 0))
    page.locator("#enter").get_by_label("Title").press_sequentially("Reed Bank")
    page.locator("#enter").get_by_label("Words, with").press_sequentially("Oh down")
    touch(page, (1, 0))
    undo = page.get_by_role("button", name="Undo")

    undo.click()
    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G", "B"])
    expect(page.locator("#enter").get_by_label("Title")).to_have_value("Reed Bank")
    expect(page.locator("#enter").get_by_label("Words, with")).to_have_value("Oh down")
    undo.click()  # what was typed into a field is one step
    expect(page.locator("#enter").get_by_label("Words, with")).to_have_value("")
    expect(page.locator("#enter").get_by_label("Title")).to_have_value("Reed Bank")
    undo.click()
    undo.click()
    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G"])
    for _ in range(4):
        page.get_by_role("button", name="Redo").click()
    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G", "B", "D"])
    expect(page.locator("#enter").get_by_label("Title")).to_have_value("Reed Bank")


def test_after_a_length_is_chosen_by_mouse_the_keys_write_on(open_page: Callable[..., Page]) -> None:
    page = writing(open_page)
    page.locator("#enter-lengths label", has_text="half").click()

    for key in ("KeyA", "Period", "KeyS", "Backspace", "KeyD"):
        page.keyboard.press(key)

    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G", "A", ""])
    assert music(page) == "G,4 A,4- | A,4 z4 |]"


def test_a_tune_that_is_on_its_way_is_not_sent_twice(open_page: Callable[..., Page], fake: Any) -> None:
    page = writing(open_page)
    touch(page, (3, 0))
    page.locator("#enter").get_by_label("Title").fill("Mill Lane")
    page.get_by_role("button", name="Put it into the tune book").focus()

    page.evaluate("for (const _ of [1, 2, 3]) document.getElementById('enter-give').click()")

    expect(page.locator("#enter")).to_be_hidden()
    assert len(fake.wait_for_kind("(upload)")) == 1


def test_writing_takes_the_place_of_an_edit_that_waits_for_the_pad(open_page: Callable[..., Page]) -> None:
    page = open_page()
    page.locator("#strip .cell").nth(1).click()
    page.get_by_role("button", name="Edit measure 2").click()
    page.locator("#edit-grid [data-at='0'][data-string='3']").click()
    page.get_by_role("button", name="Choose the place on the pad").click()

    page.get_by_role("button", name="Write a tune down").click()
    touch(page, (3, 0))

    expect(page.locator("#edit")).to_be_hidden()
    expect(page.locator("#enter-score .enter-letter")).to_have_text(["G"])
    page.locator("#enter-close").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#open-enter")).to_be_focused()
