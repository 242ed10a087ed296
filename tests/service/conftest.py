"""Real parts for the tests of the service: a JACK server of the test's own."""

import os
import shutil
import subprocess
import uuid
from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session")
def jack_server() -> Iterator[str]:
    """A dummy JACK server under a name of its own; its name is in the environment while it runs.

    Fails, and does not skip, without jackd: the tests on real parts are not optional. Other settings lose notes.
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
