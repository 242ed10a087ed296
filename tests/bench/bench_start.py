"""From the command to the address of the page, beside a bare interpreter that imports the libraries of the service.

Run it as a script: ``python tests/bench/bench_start.py``. Both are processes of their own, started by turns; the best
of each counts, since others use the machine too. The aim is three times the libraries alone.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LIBRARIES = "import msgspec, numpy, starlette.applications, uvicorn, websockets"


def bare() -> float:
    """Seconds of an interpreter that imports the libraries and ends."""
    before = time.monotonic()
    subprocess.run([sys.executable, "-c", LIBRARIES], check=True)
    return time.monotonic() - before


def service(data: Path) -> float:
    """Seconds until the service tells its address."""
    before = time.monotonic()
    words = [sys.executable, "-m", "coach", "serve", "--port", "0", "--data", str(data)]
    environment = {**os.environ, "JACK_DEFAULT_SERVER": "no-such-server"}
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment) as process:
        assert process.stdout is not None
        line = process.stdout.readline()
        took = time.monotonic() - before
        process.terminate()
    if not line.startswith("Open http"):
        sys.exit(f"the service did not start: {line!r}")
    return took


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=7)
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as folder:
        pairs = [(bare(), service(Path(folder))) for _ in range(rounds)]
    libraries, ready = (min(each) for each in zip(*pairs, strict=True))
    print(f"libraries {libraries:.2f} s, ready {ready:.2f} s, ratio {ready / libraries:.2f}")


if __name__ == "__main__":
    main()
