"""People of a studio on the real service, in a real browser: an invitation, a passkey, signing out, coming back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest
from a_studio import STUDIO, come_in, invited, open_studio
from playwright.sync_api import Page, expect
from real_parts import Served
from watched import Watched


@pytest.fixture
def opened(tmp_path: Path, serve: Callable[..., Served]) -> tuple[str, str]:
    """A service with a studio: its address, by a name for which browsers have passkeys, and the teacher's link."""
    _, url, link = open_studio(serve, tmp_path / "data")
    return url, link


def with_passkeys(page: Page) -> None:
    """Give a page a device that keeps passkeys and knows its user (WebDriver's virtual authenticator)."""
    line = page.context.new_cdp_session(page)
    line.send("WebAuthn.enable")
    options: dict[str, Any] = {"protocol": "ctap2", "transport": "internal", "hasResidentKey": True}
    options |= {"hasUserVerification": True, "isUserVerified": True, "automaticPresenceSimulation": True}
    line.send("WebAuthn.addVirtualAuthenticator", {"options": options})


def test_a_teacher_comes_in_by_the_link_keeps_a_passkey_and_comes_back_by_it(
    opened: tuple[str, str], watched: Callable[..., Watched]
) -> None:
    url, link = opened
    page = watched().page
    with_passkeys(page)
    page.goto(url)
    page.wait_for_url(f"{url}sign-in.html")  # nobody practises here without a name
    come_in(page, link, "Ruth")
    page.get_by_label("Name of the passkey").fill("This laptop")
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.locator("#keys")).to_contain_text("This laptop")

    page.get_by_role("button", name="Sign out here").click()
    page.wait_for_url(f"{url}sign-in.html")
    page.goto(f"{url}account.html")
    page.wait_for_url(f"{url}sign-in.html")
    page.get_by_role("button", name="Use a passkey").click()

    page.wait_for_url(f"{url}desk.html")
    page.goto(f"{url}account.html")
    expect(page.get_by_role("heading", level=1)).to_have_text("Ruth")
    cookies = {cookie["name"]: cookie for cookie in page.context.cookies()}
    assert {name: (each["httpOnly"], each["sameSite"]) for name, each in cookies.items()} == {"coach": (True, "Strict")}


def test_a_link_works_once_and_a_student_practises_under_their_own_name_and_is_signed_out_everywhere(
    opened: tuple[str, str], watched: Callable[..., Watched]
) -> None:
    url, link = opened
    teacher, student, other = watched(), watched(), watched()
    come_in(teacher.page, link, "Ruth")
    other.page.goto(link)
    expect(other.page.get_by_role("alert")).not_to_be_empty()
    other.complaints.clear()  # the browser notes what is refused by itself
    come_in(student.page, invited(teacher.page, url), "Wren")
    student.page.get_by_label("New password").fill("a hen on the roof")
    student.page.get_by_role("button", name="Set the password").click()
    expect(student.page.get_by_role("alert")).to_have_text("The password is set.")

    student.open(url)

    assert (student.last("hello")["person"], student.last("hello")["studio"]) == ("Wren", STUDIO)
    assert student.last("hello")["session"] != "home"
    expect(student.page.get_by_role("link", name="Wren")).to_be_visible()

    other.page.goto(f"{url}sign-in.html?studio=mill-lane")
    other.page.get_by_label("Your name there").fill("wren")
    other.page.get_by_role("textbox", name="Password").fill("a hen on the roof")
    other.page.get_by_role("button", name="Sign in").click()
    other.page.wait_for_url(url)
    other.page.goto(f"{url}account.html")
    other.page.get_by_role("button", name="Sign out everywhere").click()

    other.page.wait_for_url(f"{url}sign-in.html")
    student.page.wait_for_url(f"{url}sign-in.html")  # the page that practised, at once
    assert httpx.get(f"{url}progress.json").status_code == 401
