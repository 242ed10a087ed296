"""The sheet on paper, as the browser prints it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from coach.service import protocol

NO_DIALOG = "window.print = () => { document.documentElement.dataset.printed = 'yes'; };"
"""The dialog of the browser would wait for somebody."""

SIZES = {"A4": (595, 842), "Letter": (612, 792)}
"""Points: ISO 216, and ANSI/ASME Y14.1."""


def printed(page: Page, folder: Path, size: str) -> tuple[list[int], list[str]]:
    """What the printer gets: the size of its pages in points, and what each page says."""
    path = folder / f"{size}.pdf"
    page.pdf(path=path, format=size)
    pages = PdfReader(path).pages
    return [round(side) for side in pages[0].mediabox[2:]], [one.extract_text() for one in pages]


def press(page: Page) -> None:
    """Press the button, and wait until the sheet is laid out."""
    if page.locator("#print").get_attribute("open") is None:
        page.locator("#print summary").click()
    page.evaluate("delete document.documentElement.dataset.printed")
    page.locator("#print-sheet").click()
    page.locator("html[data-printed]").wait_for()


def measures_of(text: str) -> int:
    """How many measures a printed page has: each has eight letters of the right hand, in a row."""
    return len(re.findall(r"^(?:[TIM] ){7}[TIM]$", text, re.MULTILINE))


def numbers_of(text: str) -> int:
    """How many numbers stand on a printed page by themselves."""
    return len(re.findall(r"^\d+$", text, re.MULTILINE))


def test_a_sheet_is_printed_with_its_heading_on_either_paper(open_page: Callable[..., Page], tmp_path: Path) -> None:
    page = open_page(script=NO_DIALOG)
    for size, wanted in SIZES.items():
        press(page)
        expect(page.locator("#print-systems svg")).to_have_count(4)

        points, pages = printed(page, tmp_path, size)

        assert points == pytest.approx(wanted, abs=1)
        for told in (
            *("Reed Bank", "written for the tests", "intermediate", "G major", "open G tuning", "g D G B D"),
            *("Name", "Date", "84 quarters a minute (42 halves)"),
        ):
            assert told in pages[0]
        assert measures_of("\n".join(pages)) == 16
        assert "What to practise" not in "".join(pages)


def test_no_page_ends_within_a_system_when_the_browsers_own_command_prints(
    open_page: Callable[..., Page], tmp_path: Path
) -> None:
    page = open_page()
    page.locator("#view summary").click()
    page.locator("#view [value=large]").check()
    page.locator("#sheet .system").nth(7).wait_for()

    for size in SIZES:
        _, pages = printed(page, tmp_path, size)

        assert len(pages) >= 3
        assert "Reed Bank" in pages[0]
        assert "What to practise" not in "".join(pages)
        assert sum(measures_of(text) for text in pages) == 16
        # Eight frets and the number of the measure: they are over the letters of the right hand.
        assert [numbers_of(text) for text in pages] == [9 * measures_of(text) for text in pages]


def test_the_pencil_marks_are_printed_where_the_player_wants_them(
    open_page: Callable[..., Page], fake: Any, tmp_path: Path
) -> None:
    page = open_page(script=NO_DIALOG)
    fake.begin(1, sounds=False)
    fake.send(
        protocol.VerdictMark(
            number=1, id="m2e1", measure=2, verdict="wrong note", offset_ms=1.0, pitch=62, string=3, fret=7
        )
    )
    page.locator("#sheet [data-note=m2e1]").wait_for()
    fake.change(state="between passes")

    press(page)
    expect(page.locator("#print-systems .pencil")).to_have_count(0)
    expect(page.locator("#print-lines")).not_to_contain_text("Pencil")
    printed(page, tmp_path, "A4")  # the browser tells the page that it has printed

    expect(page.locator("#print-systems svg")).to_have_count(0)
    page.locator("#print [name=marks]").check()
    press(page)
    expect(page.locator("#print-systems .pencil text")).to_have_text(["7"])
    _, pages = printed(page, tmp_path, "Letter")
    assert len(pages) == 1
    assert "a ring: missed" in pages[0]  # who reads it at home has no page that tells


def test_extra_notes_of_a_pass_are_not_printed_with_the_marks_of_the_next(
    open_page: Callable[..., Page], fake: Any, tmp_path: Path
) -> None:
    page = open_page(script=NO_DIALOG)
    page.locator("#print summary").click()
    page.locator("#print [name=marks]").check()
    for number, measure in ((1, 2), (2, 5)):
        fake.begin(number, sounds=False)
        extra = protocol.VerdictMark(
            number=number, id=None, measure=measure, verdict="extra", offset_ms=None, pitch=57, string=3, at="1/4"
        )
        fake.send(extra)
        page.locator(f'#sheet [data-note^="extra {measure} "]').wait_for()
        fake.change(state="between passes")
        press(page)

        expect(page.locator("#print-systems .mark")).to_have_count(1)
        printed(page, tmp_path, "A4")


def test_during_a_pass_printing_waits(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(script=NO_DIALOG)
    page.locator("#print summary").click()
    button = page.locator("#print-sheet")
    expect(button).to_be_enabled()
    fake.begin(1, sounds=False)

    expect(button).to_be_disabled()
    expect(page.locator("#print-later")).to_have_text(
        "The sheet can be printed when the pass is over: printing would hold up the click."
    )
    fake.change(state="between passes")
    expect(button).to_be_enabled()
    expect(page.locator("#print-later")).to_have_text("")


def test_a_large_sheet_has_two_measures_to_a_line(open_page: Callable[..., Page], tmp_path: Path) -> None:
    page = open_page(script=NO_DIALOG)
    page.locator("#print summary").click()
    page.locator("#print [name=large]").check()
    press(page)

    expect(page.locator("#print-systems svg")).to_have_count(8)
    _, pages = printed(page, tmp_path, "A4")
    assert sum(measures_of(text) for text in pages) == 16


def test_from_a_phone_the_sheet_is_printed_as_from_a_desk(open_page: Callable[..., Page]) -> None:
    page = open_page(viewport={"width": 390, "height": 844}, script=NO_DIALOG)
    press(page)

    expect(page.locator("#print-systems svg")).to_have_count(4)
    expect(page.locator("#print-systems svg").first.locator(".measure")).to_have_count(4)


def test_what_is_hidden_on_the_page_is_not_printed(open_page: Callable[..., Page], tmp_path: Path) -> None:
    page = open_page()
    page.locator("#view summary").click()
    page.locator("#view [name=words]").uncheck()
    _, pages = printed(page, tmp_path, "A4")

    assert "reeds" not in "".join(pages)
    assert "Reed Bank" in pages[0]


def test_the_page_links_to_the_sheet_as_a_file_on_either_paper(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.locator("#print summary").click()

    links = page.locator("#print-papers a")
    digest = fake.arrangement["digest"]
    assert [link.get_attribute("href") for link in links.all()] == [
        f"arrangements/{digest}.pdf?paper=a4",
        f"arrangements/{digest}.pdf?paper=letter",
    ]
