"""Files brought to the page, on real parts: good ones become three tiers, bad ones a sentence with the place."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import mido
from playwright.sync_api import FilePayload, Page, expect
from real_parts import Served

ABC = b"""X:1
T:Cedar Gate
M:4/4
L:1/4
K:G
"G" G A B d | "C" e d "G" B2 | "D7" A B A F | "G" G4 |
"""

MUSICXML = b"""<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0">
  <work><work-title>Brick Lantern</work-title></work>
  <part-list><score-part id="P1"><part-name>Tune</part-name></score-part></part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>1</divisions><key><fifths>1</fifths></key>
        <time><beats>4</beats><beat-type>4</beat-type></time></attributes>
      <harmony><root><root-step>G</root-step></root><kind>major</kind></harmony>
      <note><pitch><step>G</step><octave>4</octave></pitch><duration>2</duration></note>
      <note><pitch><step>B</step><octave>4</octave></pitch><duration>2</duration></note>
    </measure>
    <measure number="2">
      <note><pitch><step>D</step><octave>5</octave></pitch><duration>2</duration></note>
      <note><pitch><step>G</step><octave>4</octave></pitch><duration>2</duration></note>
    </measure>
  </part>
</score-partwise>
"""


def midi_file() -> bytes:
    """Four measures of a melody."""
    track = mido.MidiTrack([mido.MetaMessage("track_name", name="Loose Shutter")])
    for pitch in (67, 71, 74, 71, 72, 76, 74, 71, 69, 71, 69, 66, 67, 67, 67, 67):
        track.append(mido.Message("note_on", note=pitch, velocity=90, time=0))
        track.append(mido.Message("note_off", note=pitch, velocity=0, time=480))
    out = io.BytesIO()
    mido.MidiFile(tracks=[track], ticks_per_beat=480).save(file=out)
    return out.getvalue()


def given(name: str, data: bytes) -> FilePayload:
    """A file as a player chooses it."""
    return {"name": name, "mimeType": "application/octet-stream", "buffer": data}


def bring(page: Page, *files: FilePayload) -> None:
    """Choose files."""
    page.get_by_label("Tunes of your own").set_input_files(list(files))


def test_good_files_become_three_tiers_and_bad_ones_a_sentence_with_the_place(
    everyones: Served, watched: Callable[..., Any]
) -> None:
    seen = watched()
    page = seen.open(f"{everyones.url}?session=files")
    words = page.locator("#upload-words")

    bring(page, given("gate.abc", ABC))
    expect(words).to_have_text("“Cedar Gate” is in the tune book now.")
    expect(page.locator("#title")).to_have_text("Cedar Gate")
    expect(page.locator("#sheet svg .measure")).to_have_count(4)
    digests = set()
    for tier in ("beginner", "intermediate", "advanced"):
        seen.choose_solo(seen.last("state")["tune"], tier)
        digests.add(seen.last("state")["digest"])
        assert seen.last("state")["tier"] == tier
    assert len(digests) == 3

    before = seen.last("state")["digest"]
    bring(
        page,
        given("broken.abc", ABC.replace(b"e d", b"e ?%d").replace(b"K:G", b"K:H")),
        given("empty.mid", b""),
        given("torn.musicxml", MUSICXML[:300]),
        given("photo.abc", bytes(range(256))),
    )
    expect(words.locator("p")).to_have_count(4)
    expect(words).not_to_contain_text("Reading")
    told = words.locator("p").all_inner_texts()
    for name, text in zip(("broken.abc", "empty.mid", "torn.musicxml", "photo.abc"), told, strict=True):
        assert text.startswith(name), text
        assert text.endswith(".")
        assert "Traceback" not in text
        assert "Error" not in text
    assert "line 5" in told[0]
    assert seen.last("state")["digest"] == before
    assert [line["title"] for line in seen.last("tunes")["tunes"]].count("Cedar Gate") == 1

    bring(page, given("lantern.musicxml", MUSICXML), given("shutter.mid", midi_file()))
    expect(words.locator("p")).to_have_count(2)
    expect(words).not_to_contain_text("Reading")
    expect(page.locator("#title")).to_have_text("Brick Lantern")
    assert "Brick Lantern" in words.inner_text()
    assert "Loose Shutter" in words.inner_text() or "shutter" in words.inner_text()
    expect(page.locator("#sheet svg .measure")).to_have_count(2)
    # The browser notes refused requests by itself.
    seen.complaints[:] = [text for text in seen.complaints if "Failed to load resource" not in text]
