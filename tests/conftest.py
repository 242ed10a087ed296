"""What all tests share: settings, and the real parts outside, a JACK server and a browser.

Both live as long as a module of tests. A test on real parts fails, and does not skip, where they are not installed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import uuid
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, sync_playwright

settings.register_profile(
    "house", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("house")

CHROMIUM = "/usr/bin/chromium"
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
FLAGS += ["--disable-component-update", "--disable-sync"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A browser.

    No longer than a module: playwright keeps an event loop running in this thread, beside which no test with an event
    loop of its own can run.
    """
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def jack_server() -> Iterator[str]:
    """A dummy JACK server under a name of its own; its name is in the environment while it runs.

    Other settings lose notes.
    """
    if shutil.which("jackd") is None:
        pytest.fail("jackd is not installed: apt-get install -y jackd2")
    name = f"coach-{uuid.uuid4().hex[:8]}"
    server = subprocess.Popen(
        ["jackd", "-n", name, "--realtime", "-S", "-d", "dummy", "-r", "48000", "-p", "128"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    before = os.environ.get("JACK_DEFAULT_SERVER")
    os.environ["JACK_DEFAULT_SERVER"] = name
    try:
        waited = subprocess.run(
            ["jack_wait", "-s", name, "-w", "-t", "20"], capture_output=True, text=True, check=False
        )
        assert waited.returncode == 0, waited.stdout + waited.stderr
        yield name
    finally:
        if before is None:
            del os.environ["JACK_DEFAULT_SERVER"]
        else:
            os.environ["JACK_DEFAULT_SERVER"] = before
        server.terminate()
        server.wait(timeout=20)
