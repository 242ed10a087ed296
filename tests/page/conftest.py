"""A page in a real browser, against a service that does what the test says."""

from __future__ import annotations

import importlib.util
import json
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Error, Page, ViewportSize, expect

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, Finger, MelodyNote, Pluck
from coach.arranging.files import to_json
from coach.instrument.tuning import OPEN_G
from coach.sheets.svg import to_svg
from coach.tunes.chords import read_chord
from coach.tunes.tune import Meter

WIDE = ViewportSize(width=1280, height=800)
PHONE = ViewportSize(width=360, height=740)

# Rolls over three chords, as (string, fret) by slot; the thumb leads.
_FINGERS: tuple[Finger, ...] = ("T", "I", "T", "M", "T", "I", "T", "M")
_ROLLS = {
    "G": ((3, 0), (2, 0), (5, 0), (1, 0), (4, 0), (2, 0), (5, 0), (1, 0)),
    "C": ((3, 0), (2, 1), (5, 0), (1, 2), (4, 2), (2, 1), (5, 0), (1, 2)),
    "D7": ((3, 2), (2, 1), (5, 0), (1, 0), (4, 0), (2, 1), (5, 0), (1, 0)),
}
_WORDS = ["Down", "by", "the", "reeds", "where", "the", "slow", "wa-", "ter", "bends"]


def _fake_service() -> Any:
    path = Path(__file__).parent / "fake_service.py"
    spec = importlib.util.spec_from_file_location("page_fake_service", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


FAKE = _fake_service()
PATIENCE = FAKE.PATIENCE
expect.set_options(timeout=PATIENCE * 1000)


def solo() -> Arrangement:
    """Sixteen measures of alternating thumb over G, C and D7."""
    measures = []
    for number, name in enumerate(["G", "G", "C", "G", "G", "C", "D7", "G"] * 2, start=1):
        plucks = tuple(
            Pluck(
                id=f"m{number}e{slot + 1}",
                at=Fraction(slot, 2),
                length=Fraction(1, 2),
                string=string,
                fret=fret,
                pitch=OPEN_G.open_pitch(string) + fret,
                finger=_FINGERS[slot],
                role="melody" if slot in {0, 4} else "drone" if string == 5 else "fill",
            )
            for slot, (string, fret) in enumerate(_ROLLS[name])
        )
        melody = tuple(
            MelodyNote(
                at=Fraction(2 * half),
                length=Fraction(2),
                pitch=plucks[4 * half].pitch,
                lyric=_WORDS[(2 * number + half) % len(_WORDS)],
                phrase_start=number % 4 == 1 and half == 0,
                kept=True,
                pluck=plucks[4 * half].id,
            )
            for half in range(2)
        )
        chords = (ChordAt(Fraction(0), read_chord(name)),)
        measures.append(
            ArrangedMeasure(number, number, Meter(4, 4), Fraction(4), "intermediate", chords, melody, plucks)
        )
    return Arrangement(
        tune="reed-bank-0",
        title="Reed Bank",
        rights="written for the tests",
        tier="intermediate",
        key="G major",
        sounding_key=None,
        capo=0,
        meter=Meter(4, 4),
        slot=Fraction(1, 2),
        source_scale=1,
        bounce=50,
        tuning=OPEN_G,
        remarks=(),
        measures=tuple(measures),
    )


@pytest.fixture(scope="session")
def solo_file() -> dict[str, Any]:
    """The solo of the tests, as its file has it."""
    read: dict[str, Any] = json.loads(to_json(solo()))
    return read


@pytest.fixture(scope="session")
def sheets() -> dict[str, str]:
    """The sheet of the solo in all layouts."""
    return {
        "wide": to_svg(solo(), measures_per_system=4, heading=False),
        "narrow": to_svg(solo(), measures_per_system=2, heading=False),
        "single": to_svg(solo(), measures_per_system=1, heading=False),
    }


@pytest.fixture(scope="session")
def make_address() -> Iterator[Callable[[], Any]]:
    """Makes addresses at which services can be served."""
    addresses = []

    def making() -> Any:
        addresses.append(FAKE.Address())
        return addresses[-1]

    yield making
    for address in addresses:
        address.end()


@pytest.fixture(scope="session")
def address(make_address: Callable[[], Any]) -> Any:
    """The address of the services of most tests."""
    return make_address()


@pytest.fixture(scope="session")
def make_service(solo_file: dict[str, Any], sheets: dict[str, str]) -> Callable[[], Any]:
    """Makes services that do what the test says, to be served at an address."""
    return lambda: FAKE.FakeService(solo_file, sheets)


@pytest.fixture
def fake(address: Any, make_service: Callable[[], Any]) -> Any:
    """A service of the test's own."""
    service = make_service()
    service.serve_at(address)
    return service


class Window:
    """A window of the browser, with the files of the page that the browser keeps from test to test.

    Loaded anew, a page costs half of what one in a process of its own does; so one page stays, empty, for the next
    test. The script of a test is taken out of it again.
    """

    def __init__(self, browser: Browser, options: dict[str, Any]) -> None:
        self._context = browser.new_context(**options)
        self._idle: Page | None = None

    def open(self, script: str) -> tuple[Page, Callable[[], None]]:
        """A page that no other test has, and what takes the script out again that runs in it before what it loads."""
        page, self._idle = self._idle, None
        if page is None:
            page = self._context.new_page()
            page.set_default_timeout(PATIENCE * 1000)
        if not script:
            return page, lambda: None
        session = self._context.new_cdp_session(page)
        session.send("Page.enable")
        added = session.send("Page.addScriptToEvaluateOnNewDocument", {"source": script})

        def take_out() -> None:
            session.send("Page.removeScriptToEvaluateOnNewDocument", added)
            session.detach()

        return page, take_out

    def take_back(self, page: Page) -> None:
        """Leave nothing of what a page was given to answer and was touched with."""
        page.unroute_all()
        page.goto("about:blank")
        page.mouse.move(0, 0)
        self._idle = page

    def close(self) -> None:
        """Close all that is in it."""
        self._context.close()


@pytest.fixture(scope="session")
def windows() -> dict[str, Window]:
    """The windows of all tests, by what cannot be changed in one that is open; the browser closes them."""
    return {}


@pytest.fixture
def complaints() -> list[str]:
    """What pages complained of on their console; a test that provokes complaints takes them out again."""
    return []


@pytest.fixture
def open_page(
    browser: Browser, windows: dict[str, Window], fake: Any, complaints: list[str]
) -> Iterator[Callable[..., Page]]:
    """Opens pages of the service; at the end, no page may have complained about anything.

    The first page opens in a window that stays for other tests; nothing that it keeps is left there. A further one
    shares nothing with it.
    """
    others: list[Window] = []
    lent: list[tuple[Window, Page, Callable[[], None]]] = []

    def on_console(message: ConsoleMessage) -> None:
        if message.type == "error":
            complaints.append(message.text)

    def on_error(error: Error) -> None:
        complaints.append(str(error))

    def window_for(options: dict[str, Any]) -> Window:
        if lent:
            others.append(Window(browser, options))
            return others[-1]
        key = repr(sorted(options.items()))
        if key not in windows:
            windows[key] = Window(browser, options)
        return windows[key]

    def opening(
        *,
        viewport: ViewportSize = WIDE,
        script: str = "",
        color_scheme: Literal["light", "dark"] = "light",
        reduced_motion: Literal["reduce", "no-preference"] = "no-preference",
        path: str = "",
        ready: str = "#sheet svg #m1e1",
        **options: Any,
    ) -> Page:
        window = window_for(options)
        page, take_out = window.open(script)
        page.set_viewport_size(viewport)
        page.emulate_media(color_scheme=color_scheme, reduced_motion=reduced_motion)
        lent.append((window, page, take_out))
        page.on("console", on_console)
        page.on("pageerror", on_error)
        page.goto(f"{fake.url}{path}")
        page.locator(ready).wait_for()
        return page

    yield opening
    for window, page, take_out in lent:
        if window not in others:
            # What it complained of until now is heard while it answers.
            page.evaluate("localStorage.clear(); sessionStorage.clear()")
            page.remove_listener("console", on_console)
            page.remove_listener("pageerror", on_error)
            take_out()
            window.take_back(page)
    for window in others:
        window.close()
    # A lost connection is what some tests are about; the browser notes it by itself.
    assert [text for text in complaints if "WebSocket connection" not in text] == []
