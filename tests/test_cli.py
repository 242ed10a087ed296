"""The command line as a user meets it: help with examples, and one sentence for what cannot be done."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from coach.cli import main

TUNE = "X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\nGABc|d2B2|cBAG|G4|]\n"
COMMANDS = ["arrange", "demo", "export", "forget", "ports", "progress", "replay", "report", "serve", "studio", "study"]
COMMANDS += ["tunings"]


def coach(*words: object) -> subprocess.CompletedProcess[str]:
    """Run a command as a user does."""
    return subprocess.run(
        [sys.executable, "-m", "coach", *map(str, words)], capture_output=True, text=True, check=False, timeout=60
    )


def refused(*words: object) -> str:
    """The one sentence with which a command is refused; a process of its own for each would cost a second each."""
    done = CliRunner().invoke(main, [*map(str, words)], prog_name="python -m coach")
    assert (done.exit_code, done.stdout) == (2, ""), done.exception
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1, done.stderr
    return lines[0]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder in which the commands run."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def tune(tmp_path: Path) -> Path:
    path = tmp_path / "gate.abc"
    path.write_text(TUNE, "utf-8")
    return path


def test_the_list_of_commands_is_complete_and_starts_with_an_example() -> None:
    helped = CliRunner().invoke(main, ["--help"], prog_name="python -m coach")

    assert helped.exit_code == 0
    assert "Example: coach arrange" in helped.stdout
    commands = helped.stdout.partition("Commands:")[2]
    assert [line.split()[0] for line in commands.splitlines() if line.strip()] == COMMANDS


def test_a_process_ends_with_status_2_and_the_sentence_too() -> None:
    done = coach("play")

    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == f"{refused('play')}\n"


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_has_help_with_an_example(command: str) -> None:
    helped = CliRunner().invoke(main, [command, "--help"], prog_name="python -m coach")

    assert (helped.exit_code, helped.stderr) == (0, "")
    assert f"Example: coach {command}" in helped.stdout


@pytest.mark.parametrize(
    ("name", "data"),
    [("empty.abc", b""), ("noise.mid", bytes(range(256)) * 9), ("x.musicxml", b"<a/>"), ("x.mxl", b"PK\x03\x04")],
)
def test_a_file_that_is_no_tune_is_refused_in_one_sentence(here: Path, name: str, data: bytes) -> None:
    (here / name).write_bytes(data)

    sentence = refused("arrange", name, "--tier", "beginner", "-o", "out.txt")

    assert sentence.startswith("coach: ")
    assert name in sentence
    assert sentence.endswith(".")
    assert not (here / "out.txt").exists()


def test_a_file_that_is_not_there_is_refused(here: Path) -> None:
    for words in (
        ["arrange", "none.abc", "--tier", "beginner", "-o", "out.txt"],
        ["report", "none.abc", "--tier", "beginner", "none.mid"],
        ["serve", "none.abc", "--port", "0"],
        ["demo", "none.abc", "--port", "0"],
        ["replay", "none"],
    ):
        assert "none" in refused(*words)
    assert list(here.iterdir()) == []


def test_a_file_of_unknown_kind_is_refused_before_anything_is_written(here: Path, tune: Path) -> None:
    sentence = refused("arrange", tune, "--tier", "all", "-o", "out-{tier}.doc")

    assert ".doc" in sentence
    assert [path.name for path in here.iterdir()] == ["gate.abc"]


def test_a_take_that_is_none_is_refused(here: Path, tune: Path) -> None:
    (here / "take.mid").write_bytes(b"MThd, or so it seems")

    assert "take.mid" in refused("report", tune, "take.mid", "--tier", "beginner")


def test_a_folder_that_is_no_session_is_refused(here: Path) -> None:
    assert "session.json" in refused("replay", ".")


def test_an_address_of_another_machine_is_refused(tmp_path: Path) -> None:
    # 192.0.2.0/24 is set aside for documentation, RFC 5737: no machine has such an address.
    assert "192.0.2.1" in refused("serve", "--host", "192.0.2.1", "--port", 0, "--data", tmp_path)


def test_usage_errors_are_one_sentence_too(tune: Path) -> None:
    for words, what in (
        (["play"], "play"),
        (["arrange", tune, "-o", "x.mid", "--tempo", "5000"], "--tempo"),
        (["report", tune], "TAKE.mid"),
        (["serve", "--port", "70000"], "--port"),
    ):
        sentence = refused(*words)
        assert sentence.startswith("coach: ")
        assert what in sentence


def test_ports_say_what_is_missing_and_how_to_help(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JACK_DEFAULT_SERVER", "nobody-is-called-so")
    monkeypatch.setenv("JACK_NO_START_SERVER", "1")

    listed = coach("ports")

    assert (listed.returncode, listed.stderr) == (0, "")
    assert listed.stdout.startswith("Inputs")
    assert "Outputs" in listed.stdout
    if "Inputs: none" in listed.stdout:
        assert "pad" in listed.stdout.splitlines()[-1]
