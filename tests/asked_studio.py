"""A studio whose addresses are asked from a test, each person by a device of their own."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
from studio_people import REED, RUTH, TILDA, WREN, a_studio

from coach.service.app import create_app
from coach.service.jobs import GivenTune
from coach.service.looking import to
from coach.service.repertoire import Repertoire
from coach.service.service import Service
from coach.studio.people import Person
from coach.tunes.tune import Tune

__all__ = ["Studio", "in_studio"]


@dataclass
class Studio:
    """A studio that is asked from a test."""

    service: Service
    clients: dict[str, httpx.AsyncClient]
    told: list[tuple[str, bytes]]

    async def get(self, person: Person, path: str) -> httpx.Response:
        return await self.clients[person.id].get(path)

    async def post(self, person: Person, path: str, body: object = None) -> httpx.Response:
        headers = {"Origin": "http://127.0.0.1"}
        return await self.clients[person.id].post(path, json={} if body is None else body, headers=headers)

    async def set(self, **changes: Any) -> str:
        body = {"students": [REED.id], "tune": "test-lane", "tier": "beginner", "goal": 100.0, **changes}
        answer = await self.post(RUTH, "/assignments", body)
        assert answer.status_code == 200, answer.text
        return str(answer.json()["ids"][0])

    async def pin(self, **changes: Any) -> httpx.Response:
        return await self.post(
            RUTH, "/pins", {"student": REED.id, "tune": "test-lane", "measure": 2, "words": "Let it ring.", **changes}
        )


@pytest.fixture
def in_studio(
    tmp_path: Path, tune: Tune, monkeypatch: pytest.MonkeyPatch
) -> Callable[[Callable[[Studio], Coroutine[Any, Any, None]]], None]:
    """Runs something in a studio with a tune that all have but Wren."""
    monkeypatch.setattr(Repertoire, "sees_tune", lambda _, person, tune: tune == "test-lane" and person.id != WREN.id)

    async def run(test: Callable[[Studio], Coroutine[Any, Any, None]]) -> None:
        service = Service(tmp_path, studio=True)
        await service.archive.change(a_studio)
        assert service.accounts is not None
        app = create_app(service, hosts=frozenset({"127.0.0.1"}))
        given = GivenTune("test-lane", "Test Lane", "G", "4/4", 4, tune)
        service.repertoire_of(RUTH).book.put([given], "test-lane.abc")
        told: list[tuple[str, bytes]] = []
        clients = {}
        for person in (RUTH, REED, WREN, TILDA):
            token = await service.accounts.sign_in(person, "test")
            clients[person.id] = httpx.AsyncClient(
                transport=httpx.ASGITransport(app), base_url="http://127.0.0.1", cookies={"coach": token}
            )
            service.bus.subscribe(to(person.id), lambda data, who=person.id: told.append((who, data)))  # type: ignore[misc]
        try:
            await test(Studio(service, clients, told))
        finally:
            for client in clients.values():
                await client.aclose()
            service.archive.close()
            service.workers.close()

    return lambda test: asyncio.run(run(test))
