"""A player's progress as the page asks for it."""

from __future__ import annotations

from collections.abc import AsyncIterator
from datetime import datetime
from pathlib import Path
from typing import Any

import httpx
import pytest
import pytest_asyncio
from played_passes import a_pass

from coach.errors import InputError
from coach.ladder.curve import begin, to_bytes
from coach.records.entry import Entry, keep_entry
from coach.records.known import KnownCurve
from coach.records.progress import progress_of
from coach.records.store import Store, url_of
from coach.service.app import create_app
from coach.service.progress import ProgressAsked, progress_json, read_question
from coach.service.service import Service


def filled(folder: Path) -> None:
    """Records in which a player has played two tunes."""
    store = Store(url_of(folder / "records.db"))
    curves = {"beginner": {2: KnownCurve(to_bytes(begin(80)), 3, "2026-03-01T18:01:00Z")}}
    for entry in (
        Entry(a_pass(1, player="home", mix=(2,), seconds=90.0), curves),
        Entry(a_pass(2, player="home", tune="birch-road-00000001", title="Birch Road", clean=True)),
    ):
        store.write(lambda connection, entry=entry: keep_entry(connection, entry)).result()
    store.close()


@pytest_asyncio.fixture
async def client(tmp_path: Path, make_driver: Any) -> AsyncIterator[httpx.AsyncClient]:
    """Asks a service over such records."""
    filled(tmp_path)
    service = Service(tmp_path, driver=make_driver())
    transport = httpx.ASGITransport(create_app(service))
    async with httpx.AsyncClient(transport=transport, base_url="http://here") as asking:
        yield asking
    service.archive.close()


async def test_the_whole_of_it_in_its_order(client: httpx.AsyncClient) -> None:
    answer = await client.get("/progress.json", params={"session": "home", "tune": "mill-lane-1f3a9c20"})
    told = answer.json()
    (ready,) = told.pop("ready")

    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/json")
    assert answer.headers["cache-control"] == "no-cache"
    assert list(answer.json()) == [
        *("format", "player", "tune", "title", "goal", "tunes", "days", "climb", "passes", "measures", "ready")
    ]
    assert told == {
        "format": "progress/1",
        "player": "home",
        "tune": "mill-lane-1f3a9c20",
        "title": "Mill Lane",
        "goal": 120.0,
        "tunes": [
            {"id": "birch-road-00000001", "title": "Birch Road", "passes": 1, "minutes": 0.1, "last": "2026-03-01"},
            {"id": "mill-lane-1f3a9c20", "title": "Mill Lane", "passes": 1, "minutes": 1.5, "last": "2026-03-01"},
        ],
        "days": [
            {"day": "2026-03-01", "minutes": 1.6, "tunes": {"birch-road-00000001": 0.1, "mill-lane-1f3a9c20": 1.5}}
        ],
        "climb": [
            {"day": "2026-03-01", "tier": "beginner", "low": 80.0, "high": 80.0, "fastest_clean": None, "passes": 1}
        ],
        "passes": [
            {
                "began": "2026-03-01T18:01:00Z",
                "tempo": 80.0,
                "tier": "beginner",
                "mix": [2],
                "kind": "whole",
                "judged": "heard",
                "clean": False,
                "whole": True,
                "measures": {"1": True, "2": False},
            }
        ],
        "measures": [1, 2],
    }
    assert list(ready) == ["measure", "tier", "tempo", "low", "high", "passes"]
    assert (ready["measure"], ready["tier"], ready["passes"]) == (2, "beginner", 3)
    assert ready["low"] < ready["tempo"] < ready["high"]


async def test_without_a_tune_it_is_about_the_last_one(client: httpx.AsyncClient) -> None:
    assert (await client.get("/progress.json")).json()["tune"] == "birch-road-00000001"


async def test_one_who_played_nothing_gets_empty_lists(client: httpx.AsyncClient) -> None:
    told = (await client.get("/progress.json?session=sedge")).json()

    assert (told["player"], told["tune"], told["goal"]) == ("sedge", "", None)
    assert not any(told[name] for name in ("tunes", "days", "climb", "passes", "measures", "ready"))


@pytest.mark.parametrize(
    "query", [{"session": "No Session!"}, {"session": ""}, {"session": "home\n"}, {"tune": "x" * 81}]
)
async def test_what_cannot_be_asked_is_said(client: httpx.AsyncClient, query: dict[str, str]) -> None:
    answer = await client.get("/progress.json", params=query)

    assert answer.status_code == 422
    assert answer.json()["text"].startswith("this cannot be asked for: ")
    with pytest.raises(InputError):
        read_question(query)


async def test_records_that_cannot_be_read_are_said(tmp_path: Path, make_driver: Any) -> None:
    (tmp_path / "records.db").write_bytes(b"a letter, and no database at all\n" * 100)
    service = Service(tmp_path, driver=make_driver())
    transport = httpx.ASGITransport(create_app(service))
    async with httpx.AsyncClient(transport=transport, base_url="http://here") as asking:
        answer = await asking.get("/progress.json")
    service.archive.close()

    assert answer.status_code == 422
    assert "file is not a database" in answer.json()["text"]


def test_a_question_has_what_it_leaves_out() -> None:
    assert read_question({}) == ProgressAsked("home", "")
    assert read_question({"session": "a-1", "tune": "b", "more": "c"}) == ProgressAsked("a-1", "b")


def test_the_same_records_give_the_same_bytes(tmp_path: Path) -> None:
    filled(tmp_path)
    store = Store(url_of(tmp_path / "records.db"))
    now = datetime.fromisoformat("2026-03-05T18:00:00Z")

    one, other = (progress_json(store.read(lambda c: progress_of(c, "home", None, now))) for _ in range(2))
    store.close()

    assert one == other
