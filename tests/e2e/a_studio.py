"""People of a studio as the end-to-end tests have them: a studio on the real service, and who comes into it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, expect
from real_parts import Served, coach

STUDIO = "Mill Lane"


def open_studio(serve: Callable[..., Served], data: Path) -> tuple[Served, str, str]:
    """Serve a studio; gives its address, by a name for which browsers have passkeys, and the teacher's link."""
    token = re.search(r"join\.html#(\S+)", coach("studio", "open", STUDIO, "--data", data))
    assert token is not None
    served = serve("--studio", data=data)
    url = served.url
    return served, url, f"{url}join.html#{token[1]}"


def come_in(page: Page, link: str, name: str) -> None:
    """Take an invitation."""
    page.goto(link)
    page.get_by_label("Your name in the studio").fill(name)
    page.get_by_label("I agree to that").check()
    page.get_by_role("button", name="Come in").click()
    expect(page.locator("#welcome")).to_be_visible()


def invited(teacher: Page, url: str) -> str:
    """The link of an invitation that a teacher makes at the desk."""
    teacher.goto(f"{url}desk.html#people")
    before = teacher.locator("#link-text").input_value()
    teacher.locator("#invite button[type=submit]").click()
    expect(teacher.locator("#link-text")).not_to_have_value(before)
    expect(teacher.locator("#link-text")).to_have_value(re.compile(r"join\.html#\S{20,}"))
    return f"{url}join.html#{teacher.locator('#link-text').input_value().partition('#')[2]}"
