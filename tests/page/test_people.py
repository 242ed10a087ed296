"""The pages by which people of a studio come in, and their account: what they ask, what they say, for whom they are."""

from __future__ import annotations

import json
import mimetypes
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, Route, expect

PAGE = Path(__file__).parents[2] / "web_client"
HOST = "http://localhost/"  # where a browser has passkeys without https
POLICY = "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'"
TOKEN = "wY3" * 14
WREN = {
    "format": "who/1",
    "studio": True,
    "person": {"id": "wren-1", "name": "Wren", "role": "student", "studio": {"id": "mill-lane", "name": "Mill Lane"}},
    "has_password": False,
    "passkeys": [{"id": "k1", "name": "My phone", "added": "2026-11-20T10:00:00Z"}],
    "devices": [
        {"id": "d1", "name": "A phone", "began": "2026-11-20T10:00:00Z", "seen": "2026-11-25T10:00:00Z", "here": False},
        {"id": "d2", "name": "This", "began": "2026-11-22T10:00:00Z", "seen": "2026-11-26T10:00:00Z", "here": True},
    ],
    "consent": {"version": "2026-11", "given": "2026-11-20T10:00:00Z", "guardian": True},
}
NOBODY = WREN | {"person": None, "passkeys": [], "devices": [], "consent": None}
INVITATION = {
    "studio": "Mill Lane",
    "role": "student",
    "by": "Ruth",
    "person": "",
    "expires": "2026-12-01T10:00:00Z",
    "consent": {"version": "2026-11", "words": ["What you play is kept.", "Your teacher may listen, and you see it."]},
}


class Service:
    """Files of the page under the policy, and answers as the test wants them, by path."""

    def __init__(self) -> None:
        self.answers: dict[str, Any] = {"/who.json": WREN}
        self.refuses: dict[str, str] = {}
        self.asked: list[tuple[str, Any]] = []

    def __call__(self, route: Route) -> None:
        path = urlsplit(route.request.url).path
        if route.request.method == "POST":
            assert route.request.headers["content-type"] == "application/json"
            self.asked.append((path, json.loads(route.request.post_data or "null")))
        if path in self.refuses:
            route.fulfill(status=403, json={"text": self.refuses[path]})
        elif path in self.answers or route.request.method == "POST":
            route.fulfill(json=self.answers.get(path, {}))
        elif (PAGE / path[1:]).is_file() and path != "/desk.html":
            kind = mimetypes.guess_type(path)[0] or "text/plain"
            headers = {"content-security-policy": POLICY}
            route.fulfill(body=(PAGE / path[1:]).read_bytes(), content_type=kind, headers=headers)
        else:
            route.fulfill(body=path, content_type="text/plain")  # where a page leads to


@pytest.fixture
def service() -> Service:
    """What the pages reach."""
    return Service()


@pytest.fixture
def opened(browser: Browser, service: Service) -> Iterator[Callable[..., Page]]:
    """Opens a page; at the end, none may have complained but of what it was refused."""
    contexts, complaints = [], []

    def opening(path: str, **options: Any) -> Page:
        contexts.append(browser.new_context(**options))
        page = contexts[-1].new_page()
        page.set_default_timeout(30_000)
        page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.route("**/*", service)
        page.goto(HOST + path)
        return page

    yield opening
    for context in contexts:
        context.close()
    assert [text for text in complaints if "status of 403" not in text] == []


def violations(page: Page) -> list[str]:
    """What axe-core finds."""
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    return [f"{one['id']}: {[node['html'][:160] for node in one['nodes']]}" for one in found]


# ---------------------------------------------------------------------------------------------- coming back


def test_a_student_comes_back_by_a_password_to_practice(opened: Callable[..., Page], service: Service) -> None:
    service.answers |= {"/who.json": NOBODY, "/people/sign-in": WREN}
    page = opened("sign-in.html?studio=mill-lane")
    page.get_by_label("Your name there").fill("Wren")
    page.get_by_role("textbox", name="Password").fill("a hen on the roof")

    page.get_by_role("button", name="Sign in").click()

    page.wait_for_url(HOST)
    assert service.asked == [
        ("/people/sign-in", {"studio": "mill-lane", "name": "Wren", "password": "a hen on the roof"})
    ]


def test_what_does_not_fit_is_said_and_what_was_typed_stays(opened: Callable[..., Page], service: Service) -> None:
    service.answers["/who.json"] = NOBODY
    service.refuses["/people/sign-in"] = "These do not fit together; ask your teacher for a link."
    page = opened("sign-in.html?studio=mill-lane")
    page.get_by_label("Your name there").fill("Wren")
    page.get_by_role("textbox", name="Password").fill("wrong")

    page.get_by_role("button", name="Sign in").click()

    expect(page.get_by_role("alert")).to_have_text(service.refuses["/people/sign-in"])
    expect(page.get_by_label("Your name there")).to_have_value("Wren")


def test_who_is_signed_in_goes_on_at_once_a_teacher_to_the_desk(opened: Callable[..., Page], service: Service) -> None:
    service.answers["/who.json"] = WREN | {"person": WREN["person"] | {"role": "teacher"}}  # type: ignore[operator]

    page = opened("sign-in.html")

    page.wait_for_url(f"{HOST}desk.html")


# ---------------------------------------------------------------------------------------------- invitations


def test_an_invitation_says_what_is_kept_and_takes_a_name_and_a_word(
    opened: Callable[..., Page], service: Service
) -> None:
    service.answers["/people/invitation"] = INVITATION
    page = opened(f"join.html#{TOKEN}")
    expect(page.get_by_role("heading", level=1)).to_have_text("Come into Mill Lane")
    expect(page.locator("#by")).to_have_text("Ruth sent you this link. It works once, until 1 December 2026.")
    expect(page.locator("#consent li")).to_have_text(INVITATION["consent"]["words"])  # type: ignore[index]
    page.get_by_label("Your name in the studio").fill("Wren")
    page.get_by_role("button", name="Come in").click()
    assert [path for path, _ in service.asked] == ["/people/invitation"]  # nothing without the word

    page.get_by_label("I agree to that").check()
    page.get_by_label("I am not of age").check()
    page.get_by_role("button", name="Come in").click()

    page.wait_for_url(f"{HOST}account.html?new")
    expect(page.locator("#welcome")).to_be_visible()
    told = {"token": TOKEN, "name": "Wren", "agrees": True, "guardian": True}
    assert service.asked[1:] == [("/people/join", told)]


def test_who_gets_access_back_is_asked_for_no_name(opened: Callable[..., Page], service: Service) -> None:
    service.answers["/people/invitation"] = INVITATION | {"person": "Wren"}
    page = opened(f"join.html#{TOKEN}")
    expect(page.get_by_role("heading", level=1)).to_have_text("Back into Mill Lane")
    expect(page.get_by_label("Your name in the studio")).to_be_hidden()
    page.get_by_label("I agree to that").check()

    page.get_by_role("button", name="Come in").click()

    page.wait_for_url(f"{HOST}account.html?new")
    assert service.asked[-1][1]["name"] == ""


@pytest.mark.parametrize("text", ["", "#", "#short", "#<script>", f"#{'a' * 101}"])
def test_a_link_that_is_not_whole_is_said_to_be_so_and_asked_about_nowhere(
    opened: Callable[..., Page], service: Service, text: str
) -> None:
    page = opened(f"join.html{text}")

    expect(page.get_by_role("alert")).to_contain_text("This is not the whole link.")
    expect(page.locator("#join")).to_be_hidden()
    assert service.asked == []


# ---------------------------------------------------------------------------------------------- the account


def test_an_account_shows_devices_passkeys_and_what_was_agreed_to(opened: Callable[..., Page]) -> None:
    page = opened("account.html")

    expect(page.get_by_role("heading", level=1)).to_have_text("Wren")
    expect(page.locator("#keys li")).to_contain_text(["My phone added on 20 November 2026"])
    expect(page.locator("#devices li")).to_contain_text(["A phone", "This device"])
    expect(page.locator("#consent")).to_contain_text("Agreed to on 20 November 2026, by a parent or guardian too")
    expect(page.get_by_role("link", name="Take all of it")).to_have_attribute("href", "people/wren-1/export.zip")
    assert page.get_by_role("link", name="To the desk").count() == 0


def test_a_password_is_set_and_a_passkey_removed(opened: Callable[..., Page], service: Service) -> None:
    page = opened("account.html")
    page.get_by_label("New password").fill("too short")
    page.get_by_role("button", name="Set the password").click()
    assert service.asked == []

    page.get_by_label("New password").fill("a hen on the roof")
    page.get_by_role("button", name="Set the password").click()
    expect(page.get_by_role("alert")).to_have_text("The password is set.")
    kept = page.evaluate("JSON.parse(localStorage.getItem('coach-signed-in-as'))")
    assert kept == {"studio": "mill-lane", "name": "Wren"}
    page.get_by_role("button", name="Remove").click()
    expect(page.get_by_role("alert")).to_have_text("The passkey is removed.")

    assert service.asked == [
        ("/people/password", {"password": "a hen on the roof"}),
        ("/people/passkeys/k1/remove", {}),
    ]


@pytest.mark.parametrize(("button", "everywhere"), [("Sign out here", False), ("Sign out everywhere", True)])
def test_signing_out_leads_to_signing_in(
    opened: Callable[..., Page], service: Service, button: str, *, everywhere: bool
) -> None:
    page = opened("account.html")
    expect(page.locator("#account")).to_be_visible()
    service.answers["/who.json"] = NOBODY

    page.get_by_role("button", name=button).click()

    page.wait_for_url(f"{HOST}sign-in.html")
    assert service.asked == [("/people/sign-out", {"everywhere": everywhere})]


def test_nothing_is_deleted_without_the_name(opened: Callable[..., Page], service: Service) -> None:
    page = opened("account.html")
    page.get_by_text("Delete all of it").first.click()
    page.get_by_label("Type your name").fill("Tam")
    page.get_by_role("button", name="Delete all of it").click()
    expect(page.get_by_role("alert")).to_contain_text("Type your name as it stands above")
    assert service.asked == []

    page.get_by_label("Type your name").fill("Wren")
    page.get_by_role("button", name="Delete all of it").click()

    expect(page.get_by_role("alert")).to_contain_text("All of it is deleted.")
    expect(page.locator("#account")).to_be_hidden()
    assert service.asked == [("/people/wren-1/forget", {"name": "Wren"})]


def test_an_account_is_for_people_who_are_signed_in(opened: Callable[..., Page], service: Service) -> None:
    service.answers["/who.json"] = NOBODY

    page = opened("account.html")

    page.wait_for_url(f"{HOST}sign-in.html")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_and_a_phone_shows_all(opened: Callable[..., Page], service: Service, scheme: Any) -> None:
    service.answers["/people/invitation"] = INVITATION
    phone: dict[str, Any] = {"viewport": {"width": 320, "height": 700}, "color_scheme": scheme}
    for path, there in ((f"join.html#{TOKEN}", "#join"), ("account.html?new", "#account")):
        page = opened(path, **phone)
        expect(page.locator(there)).to_be_visible()
        page.locator("details summary").evaluate_all("(all) => all.forEach((one) => one.click())")
        assert violations(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") == 320
    service.answers["/who.json"] = NOBODY
    page = opened("sign-in.html", **phone)
    expect(page.get_by_role("button", name="Use a passkey")).to_be_visible()
    assert violations(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") == 320
