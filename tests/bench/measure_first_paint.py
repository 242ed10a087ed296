"""How soon the page can be seen on a slow link, and what it weighs, with nothing kept from before.

The link is made slow by the browser itself: 150 ms there and back, 1.6 Mbit/s down (what browsers' own tools call slow
4G; from memory). The yardstick beside it is a page of one line, on the same link: what any page costs there.

    python tests/bench/measure_first_paint.py [--rounds 5]
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from playwright.sync_api import Browser, sync_playwright

CHROMIUM = "/usr/bin/chromium-headless-shell"
SLOW = {"offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 94_000}
SHEET = "() => document.querySelector('#sheet svg')"
PAINTED = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime"


class OneLine(BaseHTTPRequestHandler):
    """A page of one line."""

    def do_GET(self) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(b"<!doctype html><link rel=icon href=data:,><title>One line</title><p>One line.")

    def log_message(self, *_: Any) -> None:
        pass


def look(browser: Browser, url: str, ready: str) -> tuple[float, float, int, int]:
    """Milliseconds to the first paint and until it is ready; requests; bytes over the link."""
    context = browser.new_context(viewport={"width": 390, "height": 800})
    page = context.new_page()
    tools = context.new_cdp_session(page)
    tools.send("Network.enable")
    tools.send("Network.emulateNetworkConditions", SLOW)
    weights: list[float] = []
    tools.on("Network.loadingFinished", lambda event: weights.append(event["encodedDataLength"]))
    page.goto(url, wait_until="commit")
    page.wait_for_function(ready, timeout=60_000)
    done = page.evaluate("performance.now()")
    page.wait_for_function(f"() => {PAINTED}")
    painted = page.evaluate(PAINTED)
    context.close()
    return painted, done, len(weights), int(sum(weights))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    plain = ThreadingHTTPServer(("127.0.0.1", 0), OneLine)
    threading.Thread(target=plain.serve_forever, daemon=True).start()
    with tempfile.TemporaryDirectory() as data, sync_playwright() as playwright:
        command = [sys.executable, "-m", "coach", "demo", "--port", "0", "--data", data]
        service = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        try:
            assert service.stdout is not None
            url = next(word for line in service.stdout for word in line.split() if word.startswith("http://"))
            browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
            look(browser, url, "() => document.querySelector('#sheet svg')")  # the first solo is written meanwhile
            ours = [look(browser, url, "() => document.querySelector('#sheet svg')") for _ in range(rounds)]
            bare = [
                look(browser, f"http://127.0.0.1:{plain.server_port}/", "() => document.body") for _ in range(rounds)
            ]
            browser.close()
        finally:
            service.terminate()
            service.wait(20)
    first, ready = (statistics.median(each[index] for each in ours) for index in (0, 1))
    line = statistics.median(each[0] for each in bare)
    print(f"first paint {first:.0f} ms, {first / line:.1f} times a page of one line ({line:.0f} ms)")
    print(f"sheet there {ready:.0f} ms, {ours[0][2]} requests, {ours[0][3] / 1000:.0f} kB over the link")


if __name__ == "__main__":
    main()
