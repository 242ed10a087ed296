"""What all tests share: settings, and the real parts outside, a JACK server and a browser.

The server lives as long as a module of tests, the browser as long as its process. A test on real parts fails, and does
not skip, where they are not installed.
"""

from __future__ import annotations

import asyncio
import fcntl
import os
import shutil
import subprocess
import sys
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import pytest
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, sync_playwright

# Where Python is told to leave no bytecode, every program that a test starts, and every worker of it, compiles all of
# ours again: nearly half of what a start costs.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

settings.register_profile(
    "house", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("house")

# Chromium without the parts that only a screen needs: half the work for the same engine.
CHROMIUM = "/usr/bin/chromium-headless-shell"
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
FLAGS += ["--disable-component-update", "--disable-sync"]
FLAGS += ["--host-resolver-rules=MAP banjo.example 127.0.0.1"]  # a name that no name server has (RFC 2606)


@pytest.fixture(scope="session")
def chromium() -> Iterator[tuple[Browser, asyncio.AbstractEventLoop]]:
    """A browser, and the event loop of its driver: started once, since a start costs as much as ten tests.

    The driver keeps its event loop running in this thread, beside which no test with an event loop of its own can run;
    so the loop is hidden, save while a module has the browser.
    """
    playwright = sync_playwright().start()
    loop = asyncio.get_running_loop()
    try:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        asyncio.events._set_running_loop(None)
        yield browser, loop
        asyncio.events._set_running_loop(loop)
        browser.close()
    finally:
        playwright.stop()


@pytest.fixture(scope="module")
def browser(chromium: tuple[Browser, asyncio.AbstractEventLoop]) -> Iterator[Browser]:
    """The browser, for the tests of a module."""
    browser, loop = chromium
    asyncio.events._set_running_loop(loop)
    yield browser
    asyncio.events._set_running_loop(None)


@contextmanager
def _one_at_a_time() -> Iterator[None]:
    """JACK servers share one registry in memory, which two of them that come or go at the same moment can spoil."""
    with (Path(tempfile.gettempdir()) / "coach-tests-jack.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _start_jack(name: str, said: IO[str]) -> subprocess.Popen[str]:
    """A dummy server that answers; other settings lose notes. What it says goes to a file, never to a full pipe."""
    server = subprocess.Popen(
        ["jackd", "-n", name, "--realtime", "-S", "-d", "dummy", "-r", "48000", "-p", "128"],
        stdout=said,
        stderr=subprocess.STDOUT,
        text=True,
    )
    waited = subprocess.run(["jack_wait", "-s", name, "-w", "-t", "20"], capture_output=True, text=True, check=False)
    if waited.returncode != 0:
        server.kill()
        said.seek(0)
        pytest.fail(f"jackd did not start:\n{said.read()}\n{waited.stdout}{waited.stderr}")
    return server


@pytest.fixture(scope="module")
def jack_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A dummy JACK server under a name of its own; its name is in the environment while it runs."""
    if shutil.which("jackd") is None:
        pytest.fail("jackd is not installed: apt-get install -y jackd2")
    name = f"coach-{uuid.uuid4().hex[:8]}"
    said = tmp_path_factory.mktemp("jack") / "said.txt"
    with _one_at_a_time(), said.open("w+", encoding="utf-8") as file:
        server = _start_jack(name, file)
    before = os.environ.get("JACK_DEFAULT_SERVER")
    os.environ["JACK_DEFAULT_SERVER"] = name
    try:
        yield name
    finally:
        if before is None:
            del os.environ["JACK_DEFAULT_SERVER"]
        else:
            os.environ["JACK_DEFAULT_SERVER"] = before
        with _one_at_a_time():
            server.terminate()
            server.wait(timeout=20)
