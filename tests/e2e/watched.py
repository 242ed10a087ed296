"""A page in the browser as the end-to-end tests and the sample sessions use it."""

from __future__ import annotations

import json
from contextlib import AbstractContextManager
from typing import Any

from playwright.sync_api import Page, WebSocket, expect
from real_parts import PATIENCE

expect.set_options(timeout=PATIENCE * 1000)


class Watched:
    """A page in the browser, and what it complained of and exchanged with the service."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.complaints: list[str] = []
        self.sent: list[dict[str, Any]] = []
        self.told: list[dict[str, Any]] = []
        page.set_default_timeout(PATIENCE * 1000)
        page.on("console", lambda message: self.complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("websocket", self._listen)
        self.socket: WebSocket | None = None

    def _listen(self, socket: WebSocket) -> None:
        self.socket = socket
        socket.on("framesent", lambda data: self.sent.append(json.loads(data)))
        socket.on("framereceived", lambda data: self.told.append(json.loads(data)))

    def last(self, kind: str) -> dict[str, Any]:
        """The last message of a kind that the service sent."""
        return [message for message in self.told if message["kind"] == kind][-1]

    def open(self, url: str) -> Page:
        """Open the page and wait for its sheet."""
        self.page.goto(url)
        self.page.locator("#sheet svg .measure").first.wait_for()
        return self.page

    def hears(self, kind: str, **fields: object) -> AbstractContextManager[Any]:
        """Waits, at its end, for a message of the service with these fields that comes after its beginning."""

        def fits(data: str | bytes) -> bool:
            message = json.loads(data)
            return message["kind"] == kind and all(message[name] == value for name, value in fields.items())

        assert self.socket is not None
        return self.socket.expect_event("framereceived", fits)

    def says(self, kind: str) -> AbstractContextManager[Any]:
        """Waits, at its end, for a message of a kind that the page sends after its beginning."""
        assert self.socket is not None
        return self.socket.expect_event("framesent", lambda data: json.loads(data)["kind"] == kind)

    def set(self, name: str, value: float) -> None:
        """Fill a field of the form in the margin, and wait until the service has it."""
        if self.last("state")[name] == value:
            return  # a field that is left as it was says nothing
        with self.hears("state", **{name: value}):
            field = self.page.locator(f"#chooser [name={name}]")
            field.fill(str(value))
            field.press("Tab")

    def choose_solo(self, tune: str, tier: str) -> None:
        """Choose a tune and a tier by their controls, and wait for the sheet."""
        if self.last("state")["tune"] != tune:
            with self.hears("state", tune=tune, waiting=""):
                self.page.locator("#chooser [name=tune]").select_option(tune)
        if self.last("state")["tier"] != tier:
            with self.hears("state", tier=tier, waiting=""):
                self.page.locator(f"#chooser .tiers label:has([value={tier}])").click()
        expect(self.page.locator("#facts")).to_contain_text(tier)

    def marks(self) -> set[tuple[str, str]]:
        """The marks on the sheet: what they are on, and the verdict."""
        found = self.page.locator("#sheet .mark").evaluate_all(
            "marks => marks.map(mark => [mark.dataset.note, mark.dataset.verdict])"
        )
        return {(note, verdict) for note, verdict in found}
