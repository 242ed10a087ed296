"""What the end-to-end tests share: programs that are served, and pages in the browser that complain of nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser
from real_parts import Served
from watched import Watched

WIDE = {"width": 1280, "height": 800}


@pytest.fixture
def watched(browser: Browser) -> Iterator[Callable[..., Watched]]:
    """Opens pages; at the end none of them may have complained of anything."""
    opened: list[Watched] = []

    def new(**options: Any) -> Watched:
        context = browser.new_context(**({"viewport": WIDE} | options))
        opened.append(Watched(context.new_page()))
        return opened[-1]

    yield new
    for each in opened:
        each.page.context.close()
    assert [each.complaints for each in opened] == [[] for _ in opened]


@pytest.fixture(scope="session")
def everyones(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A service for all tests that have a session of their own in it, as players have; it must end cleanly."""
    served = Served(tmp_path_factory.mktemp("everyones"))
    yield served
    assert served.end() == 0
    assert not [line for line in served.complaints.seen if "Traceback" in line]


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[..., Served]]:
    """Serves; what still runs at the end is ended, and must end cleanly."""
    begun: list[Served] = []

    def new(*words: object, command: str = "serve", data: Path | None = None) -> Served:
        begun.append(Served(data or tmp_path / "data", *words, command=command))
        return begun[-1]

    yield new
    codes = [served.end() for served in begun if not served.ended]
    assert codes == [0] * len(codes)
    assert not [line for served in begun for line in served.complaints.seen if "Traceback" in line]
