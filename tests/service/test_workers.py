"""Workers: results, errors in words, and deadlines."""

import asyncio
import os
import signal
import sys
import time
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio

from coach.errors import CoachError, TuneError
from coach.service import workers as workers_module
from coach.service.workers import Workers


def process_of_the_job() -> int:
    return os.getpid()


def add(first: int, second: int) -> int:
    return first + second


def refuse() -> None:
    raise TuneError("this is no tune", where="x.abc, line 3", cure="write one")


def break_down() -> None:
    raise ZeroDivisionError("oh")


def go_on_for_ever() -> None:
    while True:
        time.sleep(60)


def die() -> None:
    os._exit(3)


def interrupt_itself() -> str:
    os.kill(os.getpid(), signal.SIGINT)
    return "still here"


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def workers() -> AsyncIterator[Workers]:
    pool = Workers()
    yield pool
    pool.close()


pytestmark = pytest.mark.asyncio(loop_scope="module")


async def test_a_job_runs_in_another_process(workers: Workers) -> None:
    assert await workers.run(process_of_the_job, 20, "looking") != os.getpid()
    assert await workers.run(add, 20, "adding", 2, 3) == 5


async def test_an_error_of_ours_comes_back_as_it_is(workers: Workers) -> None:
    with pytest.raises(TuneError, match=r"^x\.abc, line 3: this is no tune; write one\.$"):
        await workers.run(refuse, 20, "reading 'x.abc'")


async def test_a_breakdown_comes_back_as_a_sentence(workers: Workers) -> None:
    with pytest.raises(CoachError, match=r"^reading 'x' failed \(ZeroDivisionError: oh\); try another one\.$"):
        await workers.run(break_down, 20, "reading 'x'")


async def test_a_job_past_its_deadline_is_killed_and_the_others_go_on(workers: Workers) -> None:
    with pytest.raises(CoachError, match=r"^reading 'x' took longer than 0\.2 seconds and was ended"):
        await workers.run(go_on_for_ever, 0.2, "reading 'x'")

    assert await workers.run(add, 20, "adding", 2, 3) == 5


async def test_a_worker_that_dies_is_replaced(workers: Workers) -> None:
    with pytest.raises(CoachError, match=r"^reading 'x' ended the process that did it; try a simpler one\.$"):
        await workers.run(die, 20, "reading 'x'")

    assert await workers.run(add, 20, "adding", 2, 3) == 5


async def test_an_interrupt_does_not_reach_a_job(workers: Workers) -> None:
    assert await workers.run(interrupt_itself, 20, "looking") == "still here"


async def test_more_jobs_than_there_is_room_for_are_refused_in_words(
    workers: Workers, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workers_module, "MOST_JOBS", 2)
    asked = (workers.run(add, 20, "adding", 1, 1) for _ in range(3))
    made = await asyncio.gather(*asked, return_exceptions=True)

    assert made[:2] == [2, 2]
    assert str(made[2]) == "adding was not begun: too much is asked for at once; try again in a minute."
    assert await workers.run(add, 20, "adding", 2, 3) == 5


async def test_a_closed_pool_refuses_in_words() -> None:
    pool = Workers()
    pool.close()

    with pytest.raises(CoachError, match="the service is ending"):
        await pool.run(add, 20, "adding", 1, 1)


async def test_closing_ends_a_job_that_is_running() -> None:
    pool = Workers()
    await pool.run(add, 20, "adding", 1, 1)
    running = asyncio.ensure_future(pool.run(go_on_for_ever, 60, "reading 'x'"))
    await asyncio.sleep(0)
    await asyncio.to_thread(pool.close)

    with pytest.raises(CoachError, match="reading 'x'"):
        await running


CLOSING = """
import asyncio, time
from coach.service.workers import Workers

async def close_after(seconds):
    workers = Workers()
    job = asyncio.ensure_future(workers.run(time.monotonic, 5.0, "looking at the clock"))
    await asyncio.sleep(seconds)
    job.cancel()
    await asyncio.to_thread(workers.close)

if __name__ == "__main__":
    for step in range(10):
        asyncio.run(close_after(0.01 + 0.015 * step))
"""


async def test_workers_that_are_just_starting_end_without_a_word(tmp_path: Path) -> None:
    program = tmp_path / "closing.py"
    program.write_text(CLOSING)

    done = await asyncio.create_subprocess_exec(sys.executable, str(program), stderr=asyncio.subprocess.PIPE)
    _, said = await done.communicate()

    assert (done.returncode, said) == (0, b"")
