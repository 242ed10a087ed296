from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from coach.arranging.arrange import arrange
from coach.cli import main
from coach.sheets.midi import to_midi
from coach.takes.files import read_take, write_take
from coach.takes.take import Take
from coach.tunes.read import read_tune


@pytest.fixture(scope="module")
def tune(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("tune") / "tune.abc"
    path.write_text('X:1\nT:Study\nM:4/4\nL:1/4\nK:G\n"G" G B d B | "C" c e c2 | "D7" d c B A | "G" G4 |]\n', "utf-8")
    return path


@pytest.fixture(scope="module")
def steady(tune: Path) -> Take:
    """A perfect take of the beginner solo at 90: its own MIDI file."""
    return read_take(to_midi(arrange(read_tune(tune), "beginner"), tempo=90.0))


def slowed(take: Take, where: Path, *, after: float = 0.0, by: float = 2.0, stop: float = 0.0) -> Path:
    """A copy of a take that goes slower, by a factor, from some second on, after a stop."""
    messages = []
    for message in take.messages:
        late = max(0.0, message.seconds - after)
        seconds = message.seconds + late * (by - 1) + (stop if late > 0 else 0.0)
        # 120 quarters a minute, division 24000: 48000 ticks a second.
        messages.append(replace(message, seconds=seconds, tick=round(seconds * 48000)))
    end = messages[-1].tick + 48000
    whole = replace(take, messages=tuple(messages), passes=(), tempo=120.0, end_tick=end, end=end / 48000)
    where.write_bytes(write_take(replace(whole, division=24000)))
    return where


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["report", *map(str, words)])


def scored(*words: object) -> dict[str, Any]:
    result = run(*words, "--json")
    assert result.exit_code == 0, result.output
    data: dict[str, Any] = json.loads(result.stdout)
    return data


def test_a_take_at_any_tempo_is_clean(tune: Path, steady: Take, tmp_path: Path) -> None:
    data = scored(tune, slowed(steady, tmp_path / "take.mid"), "--tier", "beginner", "--free")

    assert data["free"] is True
    assert data["tempo"] == pytest.approx(45.0, abs=0.1)
    assert [measure["clean"] for measure in data["measures"]] == [True] * 4
    assert {note["verdict"] for note in data["notes"]} == {"on time"}


def test_the_tempo_of_each_measure_is_told(tune: Path, steady: Take, tmp_path: Path) -> None:
    take = slowed(steady, tmp_path / "take.mid", after=8 * 60 / 90 - 0.05, by=1.5)
    data = scored(tune, take, "--tier", "beginner", "--free")

    assert [measure["tempo"] for measure in data["measures"]][::2] == pytest.approx([90.0, 60.0], rel=0.02)
    shown = run(tune, take, "--tier", "beginner", "--free").stdout
    assert "Slowest in measure 3 (60 quarters a minute), fastest in measure 1 (90)." in shown


@pytest.mark.parametrize(("by", "printed"), [(1.02, False), (1.04, True)])
def test_a_change_of_tempo_is_printed_where_it_can_be_heard(
    tune: Path, steady: Take, tmp_path: Path, by: float, printed: bool
) -> None:
    take = slowed(steady, tmp_path / "take.mid", after=8 * 60 / 90 - 0.05, by=by)

    assert ("Slowest in measure " in run(tune, take, "--tier", "beginner", "--free").stdout) is printed


def test_a_stop_is_printed_and_no_fault(tune: Path, steady: Take, tmp_path: Path) -> None:
    take = slowed(steady, tmp_path / "take.mid", after=4 * 60 / 90 - 0.05, by=1.0, stop=5.0)
    result = run(tune, take, "--tier", "beginner", "--free")

    assert result.exit_code == 0
    assert "Study, beginner, without a click" in result.stdout
    assert "about 90 quarters a minute: clean" in result.stdout
    assert "Measures 1 to 2: stopped and went on." in result.stdout
    assert "Played: 100.0% of what you came to." in result.stdout
    assert "off time" not in result.stdout


def test_a_missed_note_is_printed_with_its_measure(tune: Path, steady: Take, tmp_path: Path) -> None:
    second = 4 * 60 / 90
    gone = next(m for m in steady.messages if m.data[0] & 0xF0 == 0x90 and m.data[2] and m.seconds > second - 0.05)
    without = replace(steady, messages=tuple(message for message in steady.messages if message is not gone))
    result = run(tune, slowed(without, tmp_path / "take.mid"), "--tier", "beginner", "--free")

    assert "Measure 2: note 1 (string " in result.stdout
    assert "missed." in result.stdout
    assert "Slowest" not in result.stdout


@pytest.mark.parametrize("option", ["--tempo", "--lean-ms", "--tolerance-ms", "--bounce"])
def test_what_is_about_a_click_is_refused(tune: Path, steady: Take, tmp_path: Path, option: str) -> None:
    take = slowed(steady, tmp_path / "take.mid")
    value = "60" if option in ("--tempo", "--bounce") else "20"
    result = run(tune, take, "--tier", "beginner", "--free", option, value)

    assert result.exit_code == 2
    assert f"{option} is about a click, and --free has none" in result.stderr
    assert "Traceback" not in result.stderr
