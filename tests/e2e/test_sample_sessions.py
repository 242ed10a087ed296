"""The recorded sessions that come with the project give their reports again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from real_parts import ROOT, coach

from coach.takes.replay import replay
from coach.takes.sessions import read_session

SAMPLES = sorted(path for path in (ROOT / "sample_sessions").iterdir() if path.is_dir())


def test_there_are_two_and_they_are_small() -> None:
    assert [path.name for path in SAMPLES] == ["a-month-later", "first-evening"]
    assert sum(file.stat().st_size for path in SAMPLES for file in path.iterdir()) < 300_000


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda path: path.name)
def test_a_replay_gives_the_report_of_the_live_session_byte_for_byte(folder: Path) -> None:
    assert coach("replay", folder, "--json") == (folder / "report.json").read_text("utf-8")


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda path: path.name)
def test_a_replay_hears_the_take_anew(folder: Path) -> None:
    kept = read_session(folder)
    (report,) = replay(kept)
    last = kept.take.passes[-1].seconds - 1
    fewer = tuple(message for message in kept.take.messages if message.seconds < last)
    (without,) = replay(replace(kept, take=replace(kept.take, messages=fewer)))

    assert without.results[:-1] == report.results[:-1]
    assert {note.verdict for note in without.results[-1].notes} == {"missed"}
