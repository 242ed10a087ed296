"""The recorded sessions that come with the project give their reports again."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from real_parts import ROOT, coach

from coach.takes.replay import replay
from coach.takes.sessions import read_session

SAMPLES = sorted(path for path in (ROOT / "sample_sessions").iterdir() if path.is_dir())


def test_they_are_those_that_are_told_of_and_they_are_small() -> None:
    told = (ROOT / "sample_sessions" / "README.md").read_text("utf-8")

    assert re.findall(r"^\| `([a-z-]+)` \|", told, re.MULTILINE) == [
        "first-evening",
        "a-month-later",
        "clean",
        "rushing",
        "dragging",
        "lost-and-back",
        "an-eighth-ahead",
        "ghosts-and-doubles",
        "one-channel",
        "on-the-pad",
        "in-free-time",
    ]
    assert sorted(re.findall(r"^\| `([a-z-]+)` \|", told, re.MULTILINE)) == [path.name for path in SAMPLES]
    assert sum(file.stat().st_size for path in SAMPLES for file in path.iterdir()) < 900_000


def report_of(name: str) -> dict[str, Any]:
    """The report that lies in a folder."""
    report: dict[str, Any] = json.loads((ROOT / "sample_sessions" / name / "report.json").read_text("utf-8"))
    return report


def passages(name: str) -> list[tuple[str, int, int, int | None]]:
    """The passages of a session: kind, first and last measure, slots."""
    return [
        (each["kind"], *(int(re.match(r"m(\d+)e", each[end])[1]) for end in ("from", "to")), each["slots"])  # type: ignore[index]
        for each in report_of(name)["passages"]
    ]


def test_each_shows_what_it_is_for() -> None:
    drifts = {name: report_of(name)["summary"]["tempo_drift_percent"] for name in ("rushing", "clean", "dragging")}
    noisy = report_of("ghosts-and-doubles")

    assert drifts["rushing"] > 0.2 > drifts["clean"] > -0.2 > drifts["dragging"]
    assert report_of("clean")["passes"][0]["clean"]
    assert passages("lost-and-back") == [("stopped", 4, 5, None)]
    assert passages("an-eighth-ahead") == [("ahead", 4, 6, 1)]
    assert {each["reason"] for each in noisy["dropped"]} >= {"octave ghost", "soft double", "bleed", "too short"}
    assert [each["clean"] for each in noisy["passes"]] == [True, True]
    assert {note["string"] for note in report_of("one-channel")["notes"]} == {None}
    assert report_of("on-the-pad")["passes"][0]["clean"]
    assert report_of("in-free-time")["free"]
    assert [each[0] for each in passages("in-free-time")] == ["stopped"]


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda path: path.name)
def test_a_replay_gives_the_report_of_the_live_session_byte_for_byte(folder: Path) -> None:
    assert coach("replay", folder, "--json") == (folder / "report.json").read_text("utf-8")


@pytest.mark.parametrize("name", ["first-evening", "a-month-later", "ghosts-and-doubles"])
def test_a_replay_hears_the_take_anew(name: str) -> None:
    kept = read_session(ROOT / "sample_sessions" / name)
    (report,) = replay(kept)
    last = kept.take.passes[-1].seconds - 1
    fewer = tuple(message for message in kept.take.messages if message.seconds < last)
    (without,) = replay(replace(kept, take=replace(kept.take, messages=fewer)))

    assert without.results[:-1] == report.results[:-1]
    assert {note.verdict for note in without.results[-1].notes} == {"missed"}
