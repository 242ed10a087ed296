"""``coach serve`` and its kin as processes: how they begin and end. What an end in mid-pass leaves, tests/e2e has."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import platformdirs
import pytest
import websockets
from click.testing import CliRunner

from coach.cli import main
from coach.cli.kept import data_folder


class Served:
    """A service in a process of its own."""

    def __init__(self, data: Path, *arguments: str, command: str = "demo") -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "coach", command, "--port", "0", "--data", str(data), *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "JACK_DEFAULT_SERVER": "no-such-server"},
        )

    def ready(self) -> str:
        """Wait for the address."""
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        assert line.startswith("Open http://127.0.0.1:"), self.process.communicate()
        return line.split()[1]

    def end(self, how: signal.Signals) -> tuple[int, str]:
        """End it; returns its status and what it said on stderr."""
        self.process.send_signal(how)
        _, said = self.process.communicate(timeout=30)
        return self.process.returncode, said

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate()


@contextlib.contextmanager
def served(data: Path, *arguments: str, command: str = "demo") -> Iterator[Served]:
    service = Served(data, *arguments, command=command)
    try:
        yield service
    finally:
        service.close()


def refused(*arguments: str) -> str:
    """What a command says that is refused before anything is served; a process of its own would cost a second."""
    done = CliRunner().invoke(main, arguments, prog_name="coach")
    assert (done.exit_code, done.stdout) == (2, ""), done.exception
    return done.stderr


def test_what_is_costly_to_import_does_not_keep_the_page_waiting() -> None:
    imported = subprocess.run(
        [sys.executable, "-c", "import sys, coach.cli.serve, coach.service.app; print(*sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()

    assert "starlette" in imported
    assert not {"music21", "verovio", "typst", "scipy", "sqlalchemy", "alembic"} & set(imported)


def test_a_folder_in_which_nothing_can_be_kept_is_refused_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")

    assert refused("serve", "--port", "0", "--data", str(tmp_path / "file" / "data")) == (
        f"coach: {tmp_path}/file/data: nothing can be kept there (Not a directory); name another --data.\n"
    )


@pytest.mark.parametrize(
    ("words", "folder"), [(("serve",), "."), (("demo",), "demo"), (("demo", "--data", "mine"), "mine")]
)
def test_what_a_virtual_player_plays_is_kept_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], folder: str
) -> None:
    monkeypatch.setattr(platformdirs, "user_data_path", lambda *_, **__: tmp_path)
    monkeypatch.chdir(tmp_path)
    kept: list[Path] = []
    monkeypatch.setattr("coach.cli.serve._run", lambda *given, **_: kept.append(given[3] or data_folder(None)))

    CliRunner().invoke(main, words, catch_exceptions=False)

    assert [each.resolve() for each in kept] == [(tmp_path / folder).resolve()]


def test_an_interrupt_ends_it_cleanly_while_its_workers_are_starting(tmp_path: Path) -> None:
    with served(tmp_path) as service:
        service.ready()

        assert service.end(signal.SIGINT) == (0, "")


async def first_failure_or_tune(address: str) -> tuple[str, str]:
    """What a page is told first: that something failed, or which tune is chosen."""
    url = address.replace("http", "ws") + "ws"
    async with websockets.connect(url, subprotocols=["coach.1"]) as page:  # type: ignore[list-item]
        await page.send(json.dumps({"kind": "join"}))
        async for text in page:
            message = json.loads(text)
            if message["kind"] == "failure":
                return message["about"], message["text"]
            if message["kind"] == "state" and message["tune"]:
                return "tune", message["tune"]
    raise AssertionError("the page was let go")


def test_it_is_well_when_it_says_that_it_is_ready_and_remembers_where_records_says(tmp_path: Path) -> None:
    with served(tmp_path / "data", "--records", f"sqlite:///{tmp_path / 'kept.db'}", command="serve") as service:
        address = service.ready()
        assert json.load(urllib.request.urlopen(f"{address}healthz"))["status"] == "ok"
        about, tune = asyncio.run(first_failure_or_tune(address))
        assert service.end(signal.SIGINT) == (0, "")

    assert (about, tune.startswith("mill-lane-")) == ("tune", True)
    assert (tmp_path / "kept.db").exists()
    assert not (tmp_path / "data" / "records.db").exists()


def test_records_that_cannot_be_reached_are_said_to_the_page_which_is_served_all_the_same(tmp_path: Path) -> None:
    with served(tmp_path, "--records", "sqlite:////nowhere/kept.db", command="serve") as service:
        about, text = asyncio.run(first_failure_or_tune(service.ready()))
        assert service.end(signal.SIGINT)[0] == 0

    assert about == "records"
    assert text.startswith("sqlite:////nowhere/kept.db: the records cannot be used (unable to open database file)")


@pytest.mark.parametrize("url", ["kept.db", "sqlite:", "://kept"])
def test_records_that_are_no_address_are_refused(tmp_path: Path, url: str) -> None:
    assert refused("serve", "--records", url, "--data", str(tmp_path)) == (
        f"coach: --records: {url!r} is no address of a database; write it like sqlite:///records.db.\n"
    )


def test_a_port_that_is_taken_is_said(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        said = refused("serve", "--port", str(port), "--data", str(tmp_path))

    assert said == (
        f"coach: port {port} of 127.0.0.1 cannot be used (Address already in use); give another one by --port, or 0 for"
        " any.\n"
    )


def test_a_tune_that_is_not_there_is_said(tmp_path: Path) -> None:
    said = refused("serve", str(tmp_path / "none.abc"), "--data", str(tmp_path))

    assert said == f"coach: {tmp_path / 'none.abc'}: there is no such file; check its name and place.\n"


def test_a_tune_that_is_none_ends_the_service_with_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "noise.mid").write_bytes(bytes(range(256)))

    said = refused("serve", str(tmp_path / "noise.mid"), "--port", "0", "--data", str(tmp_path / "data"))

    assert said.startswith("coach: noise.mid: ")  # and no page is announced that does not stay
    assert said.count("\n") == 1


def test_no_midi_at_all_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JACK_DEFAULT_SERVER", "no-such-server")
    done = CliRunner().invoke(main, ["ports"])

    assert done.exit_code == 0
    assert done.stdout.startswith("Inputs: none\nOutputs: none\nNo MIDI answers")
