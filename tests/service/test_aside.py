"""Work done aside is done in order, and told on the loop."""

from __future__ import annotations

import asyncio
import logging
import threading

import pytest

from coach.service.aside import AtOnce, Writer


def test_at_once_is_at_once() -> None:
    got: list[int] = []
    assert AtOnce().do(lambda: 3, got.append) is None
    assert got == [3]


async def test_a_writer_works_in_order_off_the_loop_and_tells_on_it() -> None:
    loop = asyncio.get_running_loop()
    writer = Writer(loop.call_soon_threadsafe)
    threads: list[threading.Thread] = []
    got: list[int] = []
    all_done = asyncio.Event()

    def work(number: int) -> int:
        threads.append(threading.current_thread())
        return number

    def done(number: int) -> None:
        assert threading.current_thread() is threading.main_thread()
        got.append(number)
        if number == 9:
            all_done.set()

    for number in range(10):
        writer.do(lambda number=number: work(number), done)  # type: ignore[misc]
    await asyncio.wait_for(all_done.wait(), 10)
    await asyncio.to_thread(writer.close)

    assert got == list(range(10))
    assert len(set(threads)) == 1
    assert threads[0] is not threading.main_thread()


async def test_what_goes_wrong_is_logged_and_the_next_is_done(caplog: pytest.LogCaptureFixture) -> None:
    loop = asyncio.get_running_loop()
    writer = Writer(loop.call_soon_threadsafe)
    got: asyncio.Future[str] = loop.create_future()

    def fails() -> str:
        raise ValueError("broken")

    with caplog.at_level(logging.ERROR):
        first = writer.do(fails, got.set_result)
        writer.do(lambda: "fine", got.set_result)
        assert await asyncio.wait_for(got, 10) == "fine"
    await asyncio.to_thread(writer.close)

    assert first is not None
    assert isinstance(first.exception(), ValueError)
    assert "could not be told or written" in caplog.text
