"""What is answered to somebody stays with them, also where a cache stands between them and the service."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from studio_people import WREN, a_studio
from studio_service import StudioService

from coach.errors import RecordsError

pytestmark = pytest.mark.asyncio(loop_scope="function")


@pytest_asyncio.fixture
async def studio(tmp_path: Path, make_driver: Any, empty_file: Path) -> AsyncIterator[StudioService]:
    shutil.copy(empty_file, tmp_path / "records.db")
    made = StudioService(tmp_path, make_driver())
    await made.service.archive.change(a_studio)
    yield made
    await asyncio.to_thread(made.service.archive.close)
    await asyncio.to_thread(made.service.workers.close)


# RFC 9111, section 5.2.2: a shared cache may keep what is not told to be private or not to be stored, cookies and all.


@pytest.mark.parametrize("path", ["/", "/tunes.json", "/progress.json", "/takes/wren/1.json", "/studio.json"])
async def test_no_shared_cache_keeps_what_is_answered_to_somebody(studio: StudioService, path: str) -> None:
    answer = await (await studio.signed_in(WREN)).get(path)

    kept = answer.headers.get_list("cache-control", split_commas=True)

    assert {"private", "no-store"} & set(kept), answer.headers
    assert "public" not in kept


async def test_what_anybody_may_keep_has_no_cookie_of_anybody(
    studio: StudioService, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def bank() -> tuple[str, bytes, bytes]:
        return "bank.flac", b"sounds", b"{}"

    monkeypatch.setattr(studio.service, "sound_bank", bank)
    browser = await studio.signed_in(WREN)
    studio.today += timedelta(days=2)

    answer = await browser.get("/sound/bank.flac")

    assert (answer.status_code, "set-cookie" in answer.headers) == (200, False)
    assert "public" in answer.headers["cache-control"]
    assert "set-cookie" in (await browser.get("/tunes.json")).headers


async def test_who_is_seen_is_answered_though_that_cannot_be_written_down(
    studio: StudioService, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def full(_: object) -> None:
        raise RecordsError("the records cannot be used (disk full)")

    browser = await studio.signed_in(WREN)
    studio.today += timedelta(days=2)
    monkeypatch.setattr(studio.service.archive, "change", full)

    assert (await browser.get("/tunes.json")).status_code == 200
