"""The command line as a user meets it: help with examples, and one sentence for what cannot be done."""

from __future__ import annotations

import socket
import subprocess
import sys
from pathlib import Path

import pytest

TUNE = "X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\nGABc|d2B2|cBAG|G4|]\n"
COMMANDS = ["arrange", "demo", "ports", "replay", "report", "serve", "study", "tunings"]


def coach(*words: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run a command as a user does."""
    return subprocess.run(
        [sys.executable, "-m", "coach", *map(str, words)],
        capture_output=True,
        text=True,
        check=False,
        cwd=cwd,
        timeout=60,
    )


def refused(*words: object, cwd: Path | None = None) -> str:
    """The one sentence with which a command is refused."""
    done = coach(*words, cwd=cwd)
    assert (done.returncode, done.stdout) == (2, "")
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1, done.stderr
    return lines[0]


@pytest.fixture
def tune(tmp_path: Path) -> Path:
    path = tmp_path / "gate.abc"
    path.write_text(TUNE, "utf-8")
    return path


def test_the_list_of_commands_is_complete_and_starts_with_an_example() -> None:
    helped = coach("--help")

    assert helped.returncode == 0
    assert "Example: coach arrange" in helped.stdout
    commands = helped.stdout.partition("Commands:")[2]
    assert [line.split()[0] for line in commands.splitlines() if line.strip()] == COMMANDS


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_has_help_with_an_example(command: str) -> None:
    helped = coach(command, "--help")

    assert (helped.returncode, helped.stderr) == (0, "")
    assert f"Example: coach {command}" in helped.stdout


@pytest.mark.parametrize(
    ("name", "data"),
    [("empty.abc", b""), ("noise.mid", bytes(range(256)) * 9), ("x.musicxml", b"<a/>"), ("x.mxl", b"PK\x03\x04")],
)
def test_a_file_that_is_no_tune_is_refused_in_one_sentence(tmp_path: Path, name: str, data: bytes) -> None:
    (tmp_path / name).write_bytes(data)

    sentence = refused("arrange", name, "--tier", "beginner", "-o", "out.txt", cwd=tmp_path)

    assert sentence.startswith("coach: ")
    assert name in sentence
    assert sentence.endswith(".")
    assert not (tmp_path / "out.txt").exists()


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    for words in (
        ["arrange", "none.abc", "--tier", "beginner", "-o", "out.txt"],
        ["report", "none.abc", "--tier", "beginner", "none.mid"],
        ["serve", "none.abc", "--port", "0"],
        ["demo", "none.abc", "--port", "0"],
        ["replay", "none"],
    ):
        assert "none" in refused(*words, cwd=tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_file_of_unknown_kind_is_refused_before_anything_is_written(tmp_path: Path, tune: Path) -> None:
    sentence = refused("arrange", tune, "--tier", "all", "-o", "out-{tier}.doc", cwd=tmp_path)

    assert ".doc" in sentence
    assert [path.name for path in tmp_path.iterdir()] == ["gate.abc"]


def test_a_take_that_is_none_is_refused(tmp_path: Path, tune: Path) -> None:
    (tmp_path / "take.mid").write_bytes(b"MThd, or so it seems")

    assert "take.mid" in refused("report", tune, "take.mid", "--tier", "beginner", cwd=tmp_path)


def test_a_folder_that_is_no_session_is_refused(tmp_path: Path) -> None:
    assert "session.json" in refused("replay", ".", cwd=tmp_path)


def test_a_port_that_is_taken_is_refused_and_another_one_proposed(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]

        sentence = refused("serve", "--port", port, "--data", tmp_path)

    assert f"port {port} of 127.0.0.1 cannot be used" in sentence
    assert "--port" in sentence


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
