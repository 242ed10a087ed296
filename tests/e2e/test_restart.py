"""A deploy: the service is ended by SIGTERM in the middle of a pass and of a sitting, and begun anew on the same port
and data. The page comes back by itself, the sitting goes on, and no note that the service had is lost."""

from __future__ import annotations

import json
import signal
import socket
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

from browser_midi import OPEN_STRINGS, as_written, connect, play_along, plug, solo_of, tune
from playwright.sync_api import Page, expect
from real_parts import Served

from coach.takes.sessions import JOURNAL, read_session

TEMPO = 200
SOON = 15.0
"""Seconds from the address of the new service until the page shows the sitting: a page tries again every four at the
latest, and machines are busy."""


def free_port() -> int:
    with closing(socket.socket()) as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def begin_sitting(seen: Any, minutes: int) -> None:
    page: Page = seen.page
    page.locator("#sitting summary").click()
    page.locator("#sitting-form [name=minutes]").fill(str(minutes))
    with seen.hears("state"):
        page.locator("#sitting-begin").click()
    expect(page.locator("#sitting-on")).to_be_visible()


def test_a_deploy_in_mid_pass_loses_no_note_and_the_sitting_goes_on(
    serve: Callable[..., Served], watched: Callable[..., Any], tmp_path: Path
) -> None:
    port, data = free_port(), tmp_path / "data"
    first = serve("--port", port, data=data)
    seen = watched()
    plug(seen)
    page: Page = seen.open(f"{first.url}?session=deploy")
    lane = next(line["id"] for line in seen.last("tunes")["tunes"] if line["title"] == "Mill Lane")
    seen.choose_solo(lane, "intermediate")
    seen.set("tempo", TEMPO)
    seen.set("last", 2)
    connect(seen)
    solo = solo_of(seen)
    begin_sitting(seen, 20)
    play_along(seen, as_written(solo, TEMPO, 2))
    expect(page.locator("#report-head")).to_be_visible()
    seen.set("last", 12)
    play_along(seen, as_written(solo, TEMPO, 12))
    page.locator("#sheet #m2.sounding").wait_for()
    before = seen.last("state")["sitting"]

    first.process.send_signal(signal.SIGTERM)
    assert first.wait() == -signal.SIGTERM  # it was shut down, and then ended as it was told to
    acknowledged = max(
        message["seq"] for message in seen.told if message["kind"] == "ack" and message["seat"].endswith("-midi")
    )
    told = len(seen.told)
    expect(page.locator("#notice")).to_contain_text("The connection is lost")
    second = serve("--port", port, data=data)
    begun = time.monotonic()
    assert second.url == first.url
    expect(page.locator("#notice")).not_to_contain_text("The connection is lost")
    expect(page.locator("#sitting-on")).to_be_visible()
    took = time.monotonic() - begun
    expect(page.locator("#chooser [name=tempo]")).to_have_value(str(TEMPO))

    back = [message for message in seen.told[told:] if message["kind"] == "state"][-1]
    assert took < SOON
    assert 0 < before["played"] <= back["sitting"]["played"] <= before["played"] + 0.5  # the pass that was cut too
    assert back["sitting"]["minutes"] == 20
    chosen = {"tune": lane, "tier": "intermediate", "tempo": TEMPO, "last": 12}
    assert {name: back[name] for name in chosen} == chosen
    print(f"the sitting was on the page again {took:.1f} s after the address was out")

    # The first pass, and what was played of the second one: all that the service had.
    (folder,) = [each for each in second.folders() if each.name.endswith("-deploy")]
    assert not (folder / JOURNAL).exists()
    kept = read_session(folder)
    assert [each.measures for each in kept.session.passes] == ["1-2", "1-12"]
    beginnings = sum(message.data[0] & 0xF0 == 0x90 for message in kept.take.messages)
    assert beginnings >= acknowledged - len(OPEN_STRINGS)

    # And the practice goes on.
    seen.set("last", 1)
    tune(seen)
    play_along(seen, as_written(solo, TEMPO, 1))
    with seen.hears("report"):
        pass
    report = json.loads((second.folders()[-1] / "report.json").read_text("utf-8"))
    assert {note["verdict"] for note in report["notes"]} == {"on time"}
    seen.complaints[:] = [text for text in seen.complaints if "WebSocket connection" not in text]
