"""What sounds, as pages fetch it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from coach.errors import InputError, TakeError
from coach.listening.heard import Latency
from coach.listening.plan import PassPlan
from coach.service.accompany import clicks, cues_of, played_along
from coach.service.cue_files import CuesAsked, cues_of_solo, cues_of_take, read_question, take_file
from coach.service.jobs import Solo
from coach.takes.recorder import Recorder
from coach.takes.sessions import Instrument, Session, SessionFolder, SessionPass

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
TEMPO = 120.0
BEGUN = 3.0  # seconds of the take at which the first pass begins


@pytest.fixture
def solo(solos: Any) -> Solo:
    made: Solo = solos["intermediate"]
    return made


def told(data: bytes) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(data)
    return read


def a_folder(
    solo: Solo,
    *passes: Mapping[float, str],
    instrument: Instrument | None = None,
    stopped: float | None = None,
    dropped: tuple[tuple[float, int], ...] = (),
    free: bool = False,
) -> SessionFolder:
    """A session of passes through measures 1 and 2, ten seconds apart: messages in hex, by their seconds from 0."""
    recorder = Recorder()
    for index, messages in enumerate(passes):
        begun = BEGUN + 10 * index
        recorder.begin_pass(begun, TEMPO, first=1, last=2)
        for seconds, data in messages.items():
            recorder.add(begun + seconds, bytes.fromhex(data))
        recorder.now(begun + 6)
    if stopped is not None:
        recorder.stop_pass(BEGUN + 10 * (len(passes) - 1) + stopped)
    played = tuple(
        SessionPass(number, "intermediate", solo.digest, TEMPO, "1-2", free=free)
        for number in range(1, len(passes) + 1)
    )
    records = [{"seconds": BEGUN + seconds, "pitch": pitch, "reason": "octave ghost"} for seconds, pitch in dropped]
    return SessionFolder(
        Session("test-lane", passes=played, instrument=instrument or Instrument(string_channels=(1, 2, 3, 4, 5))),
        recorder.take(),
        {solo.digest: solo.arrangement},
        json.dumps({"dropped": records}),
    )


def heard(data: bytes) -> list[tuple[float, int]]:
    """The notes of a take: when and what."""
    return [(round(at, 4), pitch) for at, _, pitch, _, _ in told(data)["cues"]]


# ------------------------------------------------------------------------------------------ a solo


def test_a_solo_sounds_as_it_would_along_with_a_pass(solo: Solo, solos: Any) -> None:
    file = told(cues_of_solo(solo.arrangement, solo.digest, CuesAsked(tempo=97.0, first=2, last=3, bounce=60)))
    plan = PassPlan(solo.arrangement, 97.0, first=2, last=3, bounce=60)

    assert file["cues"] == [
        [cue.at, cue.voice, cue.pitch, cue.length, cue.level] for cue in cues_of(played_along(plan))
    ]
    assert {voice for _, voice, _, _, _ in file["cues"]} == {"accent", "click", "bass", "chop", "banjo"}
    assert file["cues"][0][0] == pytest.approx(-file["lead"])
    assert (file["format"], file["free"], file["bounce"]) == ("cues/1", False, 60)
    assert file["positions"] == [[2, 0.0], [3, pytest.approx(4 * 60 / 97)]]
    assert file["length"] == pytest.approx(8 * 60 / 97)


def test_a_solo_is_asked_for_in_a_query() -> None:
    assert read_question({}) == CuesAsked()
    assert read_question({"tempo": "61.5", "first": "0", "last": "4", "bounce": "67"}) == CuesAsked(61.5, 0, 4, 67)


@pytest.mark.parametrize(
    "query",
    [{"tempo": "19.9"}, {"tempo": "401"}, {"tempo": "fast"}, {"bounce": "49"}, {"bounce": "68"}, {"first": "x"}],
)
def test_what_cannot_be_meant_is_refused(query: dict[str, str]) -> None:
    with pytest.raises(InputError, match="cannot sound like this"):
        read_question(query)


# ------------------------------------------------------------------------------------------ a take


def test_what_was_heard_stands_where_it_was_played_with_its_solo_and_its_click(solo: Solo) -> None:
    instrument = Instrument("banjo", (1, 2, 3, 4, 5), Latency(by_string=((3, 20.0), (1, 40.0))))
    folder = a_folder(solo, {0.02: "923764", 0.54: "903e32", 1.0: "923900"}, instrument=instrument)
    file = told(cues_of_take(folder, 1))

    plan = PassPlan(solo.arrangement, TEMPO, first=1, last=2)
    assert heard(cues_of_take(folder, 1)) == [(0.0, 55), (0.5, 62)]
    assert [level for *_, level in file["cues"]] == [1.0, 0.25]
    written = [part for part in played_along(plan) if part.voice == "banjo"]
    assert [at for at, *_ in file["written"]] == [part.at for part in written]
    assert [at for at, *_ in file["click"]] == [part.at for part in clicks(plan)]
    assert (file["tempo"], file["length"], file["end"], file["lead"]) == (TEMPO, 4.0, 4.0, 2.0)


def test_every_pass_has_its_own_notes(solo: Solo) -> None:
    folder = a_folder(solo, {-0.1: "923764", 3.0: "903e64"}, {0.25: "913b64"})

    assert heard(cues_of_take(folder, 1)) == [(-0.1, 55), (3.0, 62)]
    assert heard(cues_of_take(folder, 2)) == [(0.25, 59)]


@pytest.mark.parametrize("number", [0, 3])
def test_a_pass_that_is_not_there_is_told(solo: Solo, number: int) -> None:
    with pytest.raises(TakeError, match=f"no pass {number}"):
        cues_of_take(a_folder(solo, {}, {}), number)


def test_what_was_no_note_of_the_players_is_left_out(solo: Solo) -> None:
    folder = a_folder(solo, {0.0: "923764", 0.01: "924330", 0.5: "924364"}, dropped=((0.01, 67),))

    assert heard(cues_of_take(folder, 1)) == [(0.0, 55), (0.5, 67)]


def test_a_string_rings_until_it_sounds_anew(solo: Solo) -> None:
    messages = {0.0: "923764", 0.1: "903e64", 0.5: "923964"}
    by_string = told(cues_of_take(a_folder(solo, messages), 1))["cues"]
    by_pitch = told(cues_of_take(a_folder(solo, messages, instrument=Instrument()), 1))["cues"]

    assert [length for _, _, _, length, _ in by_string] == pytest.approx([0.5, 2.0, 2.0], abs=1e-4)
    # Where channels tell no strings, nobody knows that the third note stops the first.
    assert [length for _, _, _, length, _ in by_pitch] == [2.0, 2.0, 2.0]


def test_a_bent_string_sounds_anew_with_each_semitone_and_not_with_a_tremble(solo: Solo) -> None:
    # The bend range is two semitones: 4096 steps are one (MIDI 1.0).
    bend = {0.1: 2000, 0.2: 4096, 0.25: 3000, 0.3: 8191, 0.4: 0}
    messages = {at: f"e2{(value + 8192) & 127:02x}{(value + 8192) >> 7:02x}" for at, value in bend.items()}
    folder = a_folder(solo, {0.0: "923764"} | messages)

    assert heard(cues_of_take(folder, 1)) == [(0.0, 55), (0.2, 56), (0.3, 57), (0.4, 55)]


def test_a_stopped_pass_ends_where_it_was_stopped(solo: Solo) -> None:
    assert told(cues_of_take(a_folder(solo, {0.0: "923764"}, stopped=1.5), 1))["end"] == pytest.approx(1.5, abs=1e-4)


def test_in_free_time_the_solo_goes_along_with_the_player(solo: Solo) -> None:
    first, second = solo.arrangement.measures[:2]
    plucks = [(start + pluck.at, pluck) for start, m in ((0, first), (4, second)) for pluck in m.plucks]
    # The first measure at 60, the second at 30 quarters a minute.
    at = {float(place): float(place if place < 4 else 4 + 2 * (place - 4)) + 1 for place, _ in plucks}
    messages = {at[float(place)] / 2: f"{0x8F + p.string:02x}{p.pitch:02x}64" for place, p in plucks}
    file = told(cues_of_take(a_folder(solo, messages, free=True), 1))

    assert file["free"]
    assert file["click"] == []
    assert file["lead"] == 0
    assert file["positions"] == [[1, pytest.approx(0.5, abs=0.02)], [2, pytest.approx(2.5, abs=0.02)]]
    played, written = ([(at, pitch) for at, _, pitch, _, _ in file[part]] for part in ("cues", "written"))
    assert [pitch for _, pitch in written] == [pitch for _, pitch in played]
    assert [at for at, _ in written] == pytest.approx([at for at, _ in played], abs=0.02)


def test_in_free_time_a_note_off_the_players_own_line_is_heard_beside_the_solos(solo: Solo) -> None:
    plucks = solo.arrangement.measures[0].plucks
    late = {2: 0.06}
    messages = {
        float(pluck.at) + 1 + late.get(index, 0.0): f"{0x8F + pluck.string:02x}{pluck.pitch:02x}64"
        for index, pluck in enumerate(plucks)
    }
    file = told(cues_of_take(a_folder(solo, messages, free=True), 1))

    beside = [heard_at[0] - written_at[0] for heard_at, written_at in zip(file["cues"], file["written"], strict=True)]
    assert beside[2] > 0.04
    assert max(abs(each) for index, each in enumerate(beside) if index != 2) < 0.03


@pytest.mark.parametrize("name", ["a-month-later", "ghosts-and-doubles", "one-channel", "dragging", "on-the-pad"])
def test_each_note_lies_as_far_from_its_pluck_as_the_report_says(name: str) -> None:
    """The report comes by another way, and was written when the take was played."""
    reports = told((SAMPLES / name / "report.json").read_bytes())
    for number in range(1, len(reports["passes"]) + 1):
        file = told(take_file(SAMPLES / name, number))
        notes = {(round(at, 3), pitch) for at, _, pitch, _, _ in file["cues"]}
        expected = [
            (written[0], note)
            for written, note in zip(
                file["written"], [note for note in reports["notes"] if note["pass"] == number], strict=True
            )
        ]
        found = [
            any((round(at + note["offset_ms"] / 1000 + step / 1000, 3), note["pitch"]) in notes for step in (-1, 0, 1))
            for at, note in expected
            if note["offset_ms"] is not None
        ]
        assert len(found) > 20
        assert all(found)
        assert len(notes) == len(found) + sum(extra["pass"] == number for extra in reports["extra"])
