"""Pictures of the page to look at: its main views at two widths, in light and dark, and what comes out of the printer.

``python tests/e2e/make_screenshots.py OUT`` serves, has a pass with errors played on an instrument in the browser, and
leaves a PNG of each view in OUT, named by view, width and theme, and a PDF for each paper; then the same of a studio.
``OUT practice`` and ``OUT studio`` make one half alone.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from a_studio import open_studio
from browser_midi import as_written, connect, on_strings_in_turn, play_along, plug, solo_of
from playwright.sync_api import Browser, Page, sync_playwright
from real_parts import Served
from studio_views import Studio, StudioViews, with_errors
from watched import Watched

WIDTHS = {"wide": {"width": 1280, "height": 800}, "phone": {"width": 390, "height": 844}}
TEMPO, LAST = 120, 8
LATE = 0.05  # seconds from a note to its message
NO_DIALOG = "window.print = () => { document.documentElement.dataset.printed = 'yes'; };"
CHROMIUM = "/usr/bin/chromium-headless-shell"


class Views:
    """The views of a page of one width and theme, one after another."""

    def __init__(self, seen: Watched, out: Path, name: str) -> None:
        self._seen = seen
        self._page: Page = seen.page
        self._out = out
        self._name = name

    def take(self, view: str, *, whole: bool = False) -> None:
        """A picture of what is on the screen, or of all of the page."""
        self._page.screenshot(path=self._out / f"{view}-{self._name}.png", full_page=whole)

    def _unfold(self, name: str) -> None:
        """Open a slip that is folded."""
        if self._page.locator(f"#{name}").get_attribute("open") is None:
            self._page.locator(f"#{name} summary").first.click()
        self._page.locator(f"#{name}").scroll_into_view_if_needed()

    def visit(self, url: str) -> None:
        """The first look, and the instrument in the settings."""
        self._seen.open(url)
        self.take("1-first-visit")
        connect(self._seen)
        self._page.locator("#open-settings").click()
        play_along(self._seen, on_strings_in_turn(16, 0.6, late=LATE, scatter=0.012, seed=4), by="#learn")
        self._page.locator("#learned-plot circle").first.wait_for()
        self.take("2-learned")
        self._page.keyboard.press("Escape")

    def practise(self) -> None:
        """A pass, while it is played and after."""
        page, seen = self._page, self._seen
        self._unfold("choice")
        seen.choose_solo(
            next(each["id"] for each in seen.last("tunes")["tunes"] if each["title"] == "Mill Lane"), "intermediate"
        )
        seen.set("tempo", TEMPO)
        seen.set("last", LAST)
        page.evaluate("scrollTo(0, 0)")
        self.take("3-sheet")
        play_along(seen, with_errors(as_written(solo_of(seen), TEMPO, last=LAST, late=LATE)))
        page.locator("#sheet #m6.sounding").wait_for()
        self.take("4-playing")
        page.locator("#report-head").wait_for()
        page.locator("#closer").wait_for()
        self.take("5-after-the-pass")
        page.locator("#closer").scroll_into_view_if_needed()
        self.take("6-looked-at-closely")

    def touch(self) -> None:
        """What is opened beside the sheet, one after another."""
        page = self._page
        self._unfold("listen")
        self.take("7-listen")
        page.locator("#strip .cell").nth(1).click()
        page.locator("#strip-edit").click()
        page.locator("#ways li").first.wait_for()
        self.take("8-edit")
        page.locator("#edit-close").click()
        page.locator("#open-pad").click()
        page.locator("#board").wait_for()
        self.take("9-pad")
        page.locator("#open-pad").click()
        self._unfold("choice")
        page.locator("#open-enter").click()
        page.locator("#enter-head").wait_for()
        for key in ("KeyA", "KeyS", "KeyD", "KeyA"):
            page.keyboard.press(key)
        self.take("10-writing-a-tune-down")
        page.locator("#enter-close").click()
        if page.locator("#pad").is_visible():
            page.locator("#open-pad").click()
        self._unfold("view")
        page.locator("#view [value=far]").check()
        page.locator("#view summary").click()
        page.evaluate("scrollTo(0, 0)")
        self.take("11-from-two-metres")
        self._unfold("view")
        page.locator("#view [value=arm]").check()
        page.locator("#view summary").click()

    def rest(self, url: str, session: str) -> None:
        """Paper and progress."""
        self._unfold("print")
        self._page.locator("#print-sheet").click()
        self._page.locator("html[data-printed]").wait_for()
        for paper in ("A4", "Letter"):
            self._page.pdf(path=self._out / f"12-print-{paper}-{self._name}.pdf", format=paper)
        self._page.goto(f"{url}progress.html?session={session}")
        self._page.locator("main svg").first.wait_for()
        self.take("13-progress", whole=True)


def looks() -> Iterator[tuple[str, dict[str, Any]]]:
    """Each width and theme: its name, and the options of a browser's context."""
    for width, theme in (("wide", "light"), ("phone", "light"), ("wide", "dark"), ("phone", "dark")):
        options: dict[str, Any] = {"viewport": WIDTHS[width], "color_scheme": theme, "reduced_motion": "reduce"}
        if width == "phone":
            options |= {"has_touch": True, "is_mobile": True, "device_scale_factor": 2}
        yield f"{width}-{theme}", options


class Browsing:
    """Opens pages, and tells at the end what they complained of."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._opened: list[tuple[str, Watched]] = []

    def new(self, name: str = "", **options: Any) -> Watched:
        """A page of a context of its own."""
        seen = Watched(self._browser.new_context(**options).new_page())
        self._opened.append((name, seen))
        return seen

    def tell(self) -> None:
        """What was complained of."""
        for name, seen in self._opened:
            for complaint in seen.complaints:
                print(f"{name}: {complaint}", file=sys.stderr)


def practice(browsing: Browsing, data: Path, out: Path) -> None:
    """Pictures of the page of one who practises alone."""
    with Served(data) as served:
        for session, options in looks():
            seen = browsing.new(session, **options)
            plug(seen)
            seen.page.add_init_script(NO_DIALOG)
            views = Views(seen, out, session)
            views.visit(f"{served.url}?session={session}")
            views.practise()
            views.touch()
            views.rest(served.url, session)


def studio(browsing: Browsing, data: Path, out: Path) -> None:
    """Pictures of a studio."""
    with ExitStack() as running:

        def serve(*words: object, data: Path) -> Served:
            return running.enter_context(Served(data, *words))

        _, url, link = open_studio(serve, data)
        opened = Studio(url, link, browsing.new)
        for name, options in looks():

            def new(name: str = name, options: dict[str, Any] = options, **more: Any) -> Watched:
                return browsing.new(name, **options, **more)

            def take(page: Page, view: str, *, whole: bool = True, name: str = name) -> None:
                page.screenshot(path=out / f"{view}-{name}.png", full_page=whole)

            views = StudioViews(opened, new, take)
            views.come_in()
            views.lesson()
            views.desk()
            week = views.week()
            for paper in ("A4", "Letter"):
                week.pdf(path=out / f"30-week-{paper}-{name}.pdf", format=paper)
            week.context.close()


def main(out: Path, *parts: str) -> None:
    """Make all pictures, or those of a part."""
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as data, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        browsing = Browsing(browser)
        for part in (practice, studio):
            if part.__name__ in parts or not parts:
                part(browsing, Path(data) / part.__name__, out)
        browsing.tell()
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), *sys.argv[2:])
