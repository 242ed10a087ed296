"""What inputs send, as cables carry it: the take holds whole messages, and says what of it did not count."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import mido
import pytest

from coach.service import protocol as wire
from coach.service.passes import CapturedNote
from coach.takes.replay import replay, report_text
from coach.takes.sessions import read_session

TEMPO = 120.0
Written = list[tuple[float, bytes]]


def play(world: Any, page: Any, played: Sequence[tuple[float, bytes]], until: float = 9.0) -> None:
    """Play a pass on the pad, whose bytes need not be whole messages."""
    page.say(wire.Settings(tempo=TEMPO))
    page.say(wire.Start())
    origin = page.last(wire.Begin).origin or page.now() + 0.2 + page.last(wire.Begin).lead
    world.play(page, played, until=until, origin=origin)


def as_on_a_cable(played: Written) -> Written:
    """The same notes with active sensing between and clock bytes inside them, cut in two, in running status where the
    channel stays."""
    cut: Written = []
    status = 0
    for seconds, data in sorted(played):
        data, status = (data if data[0] != status else data[1:]), data[0]
        cut += [(seconds - 0.002, b"\xfe"), (seconds - 0.001, bytes([data[0], 0xF8])), (seconds, data[1:])]
    return cut


def kept(folder: Path) -> list[bytes]:
    return [message.data for message in read_session(folder).take.messages]


def check_replay(folder: Path) -> str:
    report = (folder / "report.json").read_text("utf-8")
    assert report_text(replay(read_session(folder))) == report
    return report


def test_bytes_of_a_cable_are_cut_into_messages_before_they_are_kept_and_judged(
    new_world: Callable[[], Any], solos: Any, as_written: Callable[..., Written]
) -> None:
    plain, cable = new_world(), new_world()
    notes = as_written(solos["beginner"], TEMPO)
    for world, played in ((plain, notes), (cable, as_on_a_cable(notes))):
        world.ready()
        play(world, world.page(), played)

    folders = [world.root / "folder-1" for world in (plain, cable)]
    assert kept(folders[0]) == kept(folders[1]) == [data for _, data in sorted(notes)]
    reports = [check_replay(folder) for folder in folders]
    assert reports[0] == reports[1]


def test_ports_of_the_service_may_send_bytes_of_a_cable_too(
    world: Any, solos: Any, as_written: Callable[..., Written]
) -> None:
    world.ready()
    world.midi.open = True
    page = world.page()
    page.say(wire.Settings(tempo=TEMPO))
    page.say(wire.Start())
    origin = world.clock() + 0.2 + page.last(wire.Begin).lead
    notes = as_written(solos["beginner"], TEMPO)
    for number, (seconds, data) in enumerate(as_on_a_cable(notes), 1):
        world.run(max(0.0, origin + seconds - world.clock()), beat=0.01, marks=(page,))
        world.session.midi_in("midi", CapturedNote(number, origin + seconds, data))
    world.run(3.0, marks=(page,))

    assert kept(world.root / "folder-1") == [data for _, data in sorted(notes)]


@pytest.mark.parametrize(("is_lost", "pitches"), [(False, [62]), (True, [])])
def test_an_input_that_was_lost_begins_anew(is_lost: bool, pitches: list[int], world: Any) -> None:
    world.ready()
    world.midi.open = True
    page = world.page()
    page.say(wire.Start())
    world.run(3.0, marks=(page,))
    world.session.midi_in("midi", CapturedNote(1, world.clock(), b"\x90\x3e"))
    if is_lost:
        world.session.midi_lost("midi")
    world.session.midi_in("midi", CapturedNote(2, world.clock(), b"\x50"))
    world.run(0.5, marks=(page,))

    assert [mark.pitch for mark in page.all(wire.HeardMark)] == pitches


def test_a_page_that_was_forgotten_begins_anew(world: Any) -> None:
    world.ready()
    page = world.page()
    page.pluck(b"\x90\x3e")
    page.go()
    world.run(610.0, beat=5.0)
    page.come()
    page.say(wire.Start())
    world.run(3.0, marks=(page,))
    page.pluck(b"\x50")
    page.pluck(b"\x90\x37\x50")
    world.run(0.5, marks=(page,))

    assert [mark.pitch for mark in page.all(wire.HeardMark)] == [55]


def test_the_take_says_what_did_not_count_and_a_replay_hears_the_same(
    world: Any, solos: Any, as_written: Callable[..., Written]
) -> None:
    world.ready()
    page = world.page()
    notes = as_written(solos["beginner"], TEMPO)
    first = notes[0][1]
    ghost = bytes((first[0], first[1] + 12, 20))
    elsewhere = b"\x96\x3c\x50"  # channel 7 is no string's
    soft = (0.15, b"\x90\x49\x05")  # below any gate, and in nothing's octave
    played = [*notes, (0.01, ghost), (0.12, elsewhere), soft]
    for _ in range(3):
        play(world, page, played)
    folder = world.root / "folder-1"
    check_replay(folder)

    events = mido.MidiFile(file=io.BytesIO((folder / "take.mid").read_bytes())).tracks[0]
    texts = [event.text for event in events if event.type == "text"]
    told = [f"dropped {ghost[1]}: octave ghost", "dropped 60: other channel"]
    # The plucks of two passes teach the gate.
    assert texts == [*told, *told, *told, "dropped 73: below the gate"]


@pytest.mark.parametrize("seed", [1, 2])
def test_what_was_learned_in_passes_is_learned_again_in_a_replay(
    seed: int, world: Any, solos: Any, as_written: Callable[..., Written]
) -> None:
    world.ready()
    page = world.page()
    notes = as_written(solos["beginner"], TEMPO)
    ends = [(seconds + 0.4, bytes((data[0] & 0xEF, data[1], 64))) for seconds, data in notes]
    blip = [(0.10 + 0.01 * seed, b"\x90\x49\x50"), (0.115 + 0.01 * seed, b"\x90\x49\x00")]
    for _ in range(3):
        play(world, page, [*notes, *ends, *blip])
    report = check_replay(world.root / "folder-1")

    assert '"reason": "too short"' in report
