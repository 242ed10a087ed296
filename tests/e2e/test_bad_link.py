"""A bad link, and its loss in mid-pass, change no verdict where the page sounds the click and stamps the notes."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from bad_link import BAD, GOOD, Lateness, Link, Relay
from browser_midi import OPEN_STRINGS, Timed, connect, play_along, plug, solo_of
from hypothesis import given
from hypothesis import strategies as st
from own_network import OwnNetwork, own_network
from playwright.sync_api import Page, expect
from real_parts import Served

from coach.arranging.arrangement import Arrangement

TEMPO = 140
LAST = 4
OFF_CHORD = 61  # C sharp, in none of the chords of G major
SIZES = (-0.13, -0.05, -0.02, 0.0, 0.02, 0.05, 0.13)  # seconds by which notes come early or late


@pytest.fixture
def relayed() -> Iterator[Callable[..., Relay]]:
    """Puts a link before services, a bad one if no other is wanted; it ends after the pages, which
    would complain of its loss."""
    relays: list[Relay] = []

    def new(far_off: FarOff, link: Link = BAD) -> Relay:
        relays.append(Relay(far_off.served.url, link, 2, far_off.network))
        return relays[-1]

    yield new
    for relay in relays:
        relay.end()


def with_errors(solo: Arrangement) -> Timed:
    """What is played: seconds from position 0 and bytes; early, late, missed, wrong and extra notes, by a seed."""
    rng = random.Random(5)
    starts = solo.starts()
    notes = []
    for measure, pluck in solo.plucks():
        if measure.number > LAST:
            break
        what = rng.random()
        if what < 0.1:
            continue
        pitch = pluck.pitch + 1 if what < 0.2 else pluck.pitch
        seconds = float(starts[measure.number] + pluck.at) * 60 / TEMPO + rng.choice(SIZES)
        notes.append((seconds, [0x90 | pluck.string - 1, pitch, 90]))
        if what > 0.9:
            notes.append((seconds + 0.09, [0x93, OFF_CHORD, 90]))
    return sorted(notes)


def arrive(seen: Any, url: str) -> None:
    """Have a page come whose browser has an instrument."""
    plug(seen)
    seen.page.goto(url, wait_until="commit")


def prepare(seen: Any) -> Page:
    """A page that is coming, with its solo on the sheet and its instrument connected."""
    page: Page = seen.page
    page.locator("#sheet svg .measure").first.wait_for()
    tune = next(line["id"] for line in seen.last("tunes")["tunes"] if line["title"] == "Mill Lane")
    seen.choose_solo(tune, "intermediate")
    seen.set("tempo", TEMPO)
    seen.set("last", LAST)
    connect(seen)
    return page


def sends_a_note(data: str | bytes) -> bool:
    """Whether what a page sends has a note in it."""
    message = json.loads(data)
    return bool(message["kind"] == "notes" and message["items"])


@dataclass(frozen=True)
class FarOff:
    """A service, and the network that it is in; None where it is in this one."""

    served: Served
    network: OwnNetwork | None


@pytest.fixture
def far_off(tmp_path: Path) -> Iterator[FarOff]:
    """A service in a network of its own, as on another computer; in this one where no other can be made."""
    with own_network() as network:
        if network is None:
            print("no network namespace can be made here: the service is on the loopback")
        served = Served(tmp_path / "data", inside=() if network is None else network.inside)
        yield FarOff(served, network)
        assert served.end() == 0
        assert not [line for line in served.complaints.seen if "Traceback" in line]


def test_a_bad_link_that_is_lost_in_mid_pass_changes_no_verdict(
    far_off: FarOff, relayed: Callable[..., Relay], watched: Callable[..., Any]
) -> None:
    relay, good = relayed(far_off, GOOD), relayed(far_off, GOOD)
    near, far = watched(), watched()
    arrive(far, f"{relay.url}?session=far")
    arrive(near, f"{good.url}?session=near")
    pages = [prepare(near), prepare(far)]
    relay.become(BAD)  # the page itself came over a good one
    notes = with_errors(solo_of(near))
    for seen in (near, far):
        play_along(seen, notes)
    pages[1].locator("#sheet #m2.sounding").wait_for()
    with far.socket.expect_event("framesent", sends_a_note):
        pass  # it is on its way, and lost
    relay.cut()
    expect(pages[1].locator("#notice")).to_contain_text("The connection is lost")
    pages[1].locator("#sheet #m3.sounding").wait_for()
    relay.mend()
    for page in pages:
        expect(page.locator("#report-head")).to_have_text("Pass 1: not clean yet")

    one, other = far_off.served.report_of("near"), far_off.served.report_of("far")
    assert {note["verdict"] for note in one["notes"]} == {"early", "on time", "late", "missed", "wrong note"}
    assert one["extra"]
    assert other == one
    assert far.marks() == near.marks()
    # The link was as bad as it was meant to be, and the page came back over it with notes that were on their way.
    assert relay.longest > BAD.delay + BAD.jitter + BAD.stall[0]
    assert [message["kind"] for message in far.sent].count("join") >= 2
    sent = [note["seq"] for message in far.sent if message["kind"] == "notes" for note in message["items"]]
    assert len(sent) > len(set(sent)) == len(notes) + len(OPEN_STRINGS)
    far.complaints[:] = [text for text in far.complaints if "WebSocket connection" not in text]


moments = st.lists(st.floats(0.0, 30.0), min_size=2, max_size=60).map(sorted)


@given(moments, st.integers(0, 1000))
def test_nothing_overtakes_and_nothing_takes_longer_than_the_link_says(sent: list[float], seed: int) -> None:
    lateness = Lateness(BAD, random.Random(seed), 0.0)

    due = [lateness.due(moment) for moment in sent]

    assert all(before <= after for before, after in pairwise(due))
    most = BAD.delay + BAD.jitter + BAD.stall[1]
    assert all(BAD.delay - BAD.jitter <= came - moment <= most for moment, came in zip(sent, due, strict=True))
    assert lateness.longest == max(came - moment for moment, came in zip(sent, due, strict=True))


def test_a_link_becomes_another_one_from_now_on() -> None:
    lateness = Lateness(GOOD, random.Random(1), 0.0)

    assert [lateness.due(moment) for moment in (0.0, 1.0, 9.0)] == [0.0, 1.0, 9.0]
    lateness.become(BAD, 9.5)
    due = [lateness.due(10 + tick / 100) for tick in range(1000)]

    assert due[0] >= 10 + BAD.delay - BAD.jitter
    assert lateness.longest > BAD.delay + BAD.jitter  # it stands still before long, too


def test_the_link_stands_still_now_and_then_and_passes_all_that_waited_at_once() -> None:
    lateness = Lateness(BAD, random.Random(1), 0.0)

    due = [lateness.due(tick / 100) for tick in range(6000)]

    gaps = [after - before for before, after in pairwise(due) if after - before >= BAD.stall[0] - BAD.jitter]
    assert 60 / (BAD.between + BAD.stall[1]) / 2 < len(gaps) < 60 / BAD.between * 2
    assert all(gap <= BAD.stall[1] + 2 * BAD.jitter for gap in gaps)
