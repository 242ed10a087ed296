"""A teacher's edit on real parts: a way is taken and locked, seen and undone, and what is printed is what stands."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from real_parts import Served

MEASURE = 2
NO_DIALOG = "window.print = () => { document.documentElement.dataset.printed = 'yes'; };"
PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}


def open_edit(page: Page) -> None:
    """Open the slip of the measure by the strip."""
    page.locator("#strip .cell").nth(MEASURE - 1).click()
    page.get_by_role("button", name=f"Edit measure {MEASURE}").click()
    expect(page.locator("#edit-head")).to_have_text(f"Measure {MEASURE}")


def is_another(data: str | bytes, before: str) -> bool:
    """Whether a message is a state with another solo, which is there."""
    message = json.loads(data)
    return bool(message["kind"] == "state" and not message["waiting"] and message["digest"] not in ("", before))


@pytest.mark.parametrize("options", [{}, PHONE], ids=["desktop", "phone"])
def test_a_way_is_taken_undone_done_again_and_printed(
    everyones: Served, watched: Callable[..., Any], options: dict[str, Any]
) -> None:
    session = "pupil" if options else "teacher"
    seen = watched(**options)
    seen.page.add_init_script(NO_DIALOG)
    page: Page = seen.open(f"{everyones.url}?session={session}")
    tune = {line["title"]: line["id"] for line in seen.last("tunes")["tunes"]}[
        "Mill Lane" if options else "Turn the Barrow"
    ]
    if page.locator("#choice").get_attribute("open") is None:
        page.locator("#choice summary").click()
    seen.choose_solo(tune, "intermediate")
    written, before = page.locator(f"#sheet #m{MEASURE}").text_content(), seen.last("state")["digest"]

    open_edit(page)
    page.locator("#ways li").first.wait_for()
    assert 1 <= page.locator("#ways li").count() <= 8
    with seen.socket.expect_event("framereceived", lambda data: is_another(data, before)):
        page.get_by_role("button", name=f"Take way 1 through measure {MEASURE}").click()
    expect(page.locator("#edit-undo")).to_be_enabled()
    taken = seen.last("state")["digest"]
    assert MEASURE in seen.last("state")["edits"]["locked"]  # and wherever the tune repeats it
    expect(page.locator(f"#sheet #m{MEASURE}")).not_to_have_text(written or "")

    with seen.hears("state", digest=before):
        page.locator("#edit-undo").click()
    with seen.hears("state", digest=taken):
        page.locator("#edit-redo").click()
    page.locator("#edit-close").click()
    expect(page.locator("#edit")).to_be_hidden()

    page.locator("#print summary").click()
    page.locator("#print-sheet").click()
    page.locator("html[data-printed]").wait_for()
    text = "\n".join(one.extract_text() for one in PdfReader(io.BytesIO(page.pdf(format="A4"))).pages)
    assert seen.last("state")["title"] in text
    assert "What to practise" not in text
    page.locator("#print summary").click()
    for paper, size in (("a4", (595, 842)), ("letter", (612, 792))):
        answer = page.request.get(f"{everyones.url}arrangements/{taken}.pdf?paper={paper}")
        box = PdfReader(io.BytesIO(answer.body())).pages[0].mediabox
        assert (round(box.width), round(box.height)) == pytest.approx(size, abs=1)
    assert re.search(r"arrangements/[0-9a-f]+\.pdf", page.locator("#print-papers a").first.get_attribute("href") or "")
