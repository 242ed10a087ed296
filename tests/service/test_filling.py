"""The tune book is filled when the service begins, also on a machine that is too busy for the first try."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

from coach.errors import CoachError
from coach.service import jobs
from coach.service.service import Service
from coach.studio.people import ALONE


async def test_one_tune_that_takes_too_long_costs_no_other(tmp_path: Path, make_driver: Any) -> None:
    service = Service(tmp_path, driver=make_driver())
    tried: list[str] = []
    done = asyncio.Event()

    async def work(job: Any, deadline: float, what: str, *given: Any) -> Any:
        if job is jobs.demo_files:
            return [("slow.abc", b"slow"), ("lost.abc", b"lost"), ("good.abc", b"good")]
        if job is jobs.read_file:
            name = given[1]
            tried.append(name)
            if name == "lost.abc" or (name, tried.count(name)) == ("slow.abc", 1):
                raise CoachError(f"{what} took longer than {deadline:g} seconds")
            study = jobs.GivenTune(name, name, "G major", "4/4", 1, None)  # type: ignore[arg-type]
            return (study,), ()
        done.set()
        return b"", b""

    service.workers.run = work  # type: ignore[method-assign, assignment]
    async with service.running():
        async with asyncio.timeout(30):
            await done.wait()
        titles = [line.title for line in service.repertoire_of(ALONE).lines_for(ALONE)]

    assert titles == ["slow.abc", "good.abc"]
    assert tried == ["slow.abc", "slow.abc", "lost.abc", "lost.abc", "good.abc"]
