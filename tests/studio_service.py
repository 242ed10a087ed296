"""A studio's service without sockets, and browsers that call it."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Literal

import httpx
from starlette.applications import Starlette
from studio_people import OAK

from coach.service.accounts import Accounts
from coach.service.app import create_app
from coach.service.clock import FakeClock
from coach.service.service import Service
from coach.studio.invitations import invite
from coach.studio.people import Person, StudioName

__all__ = ["ADDRESS", "BEGAN", "Browser", "StudioService"]

ADDRESS = "https://banjo.example"
BEGAN = datetime(2026, 3, 2, 10, tzinfo=UTC)


class Browser:
    """A browser: it keeps its cookie, and says where its page is from."""

    def __init__(self, app: Starlette, *, host: str = "198.51.100.7", address: str = ADDRESS) -> None:
        transport = httpx.ASGITransport(app, client=(host, 50_000), raise_app_exceptions=True)
        self.client = httpx.AsyncClient(
            transport=transport, base_url=address, headers={"User-Agent": "Firefox/1 Linux"}
        )
        self.origin = {"Origin": address}

    async def get(self, path: str) -> httpx.Response:
        return await self.client.get(path)

    async def post(self, path: str, body: Any = None, **headers: str) -> httpx.Response:
        return await self.client.post(
            path,
            content=json.dumps({} if body is None else body),
            headers={"Content-Type": "application/json"} | self.origin | headers,
        )


class StudioService:
    """A service of studios, whose clocks a test turns."""

    def __init__(self, data: Path, driver: Any, records: str | None = None, address: str | None = ADDRESS) -> None:
        self.clock = FakeClock()
        self.today = BEGAN
        self.service = Service(data, records=records, driver=driver, now=self.clock, studio=True)
        self.accounts = self.service.accounts = Accounts(self.service.archive, lambda: self.today)
        self.app = create_app(self.service, hosts=frozenset({"localhost"}), address=address)

    def browser(self, host: str = "198.51.100.7") -> Browser:
        return Browser(self.app, host=host)

    async def invited(
        self, role: Literal["teacher", "student"] = "student", studio: StudioName = OAK, person: Person | None = None
    ) -> str:
        token = f"token-{self.today.isoformat()}-{role}-{id(object())}-{len(self.service.sessions)}"
        self.today += timedelta(seconds=1)
        await self.service.archive.change(
            lambda c: invite(c, studio, role, id=token[-40:], token=token, when=self.today, days=7, person=person)
        )
        return token

    async def signed_in(self, person: Person, host: str = "198.51.100.7") -> Browser:
        """The browser of somebody."""
        browser = self.browser(host)
        token = await self.accounts.sign_in(person, "Firefox/1 Linux")
        browser.client.headers["Cookie"] = f"__Host-coach={token}"
        return browser
