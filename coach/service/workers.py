"""Worker processes for what takes long or holds the interpreter's lock: parsing, arranging, engraving.

The process that clicks does nothing long. Each job has a deadline; one that passes it is killed with its worker, and a
new worker takes the place. Workers are started on first use, by spawning, and do not see Ctrl-C. Where the system
allows, a worker that wants more memory than any tune needs does not get it.
"""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import Callable, Iterator
from multiprocessing.context import SpawnContext, SpawnProcess
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from coach.errors import CoachError

if TYPE_CHECKING:
    from pebble import ProcessFuture, ProcessPool

__all__ = ["Workers"]

P = ParamSpec("P")
T = TypeVar("T")

MOST_WORKERS = 2

MOST_JOBS = 128
"""Jobs that run or wait: more than all sessions have at a time. Who asks without end does not hold up others long."""


MOST_MEMORY = 1536 * 1024 * 1024
"""Bytes of data of one worker. Measured: 45 MB before its first job, 580 MB when it has read a tune of 500 measures,
arranged it and written it on every kind of paper."""


def _begin() -> None:
    """What a worker does first."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _limit_memory(MOST_MEMORY)


def _limit_memory(most: int) -> None:
    """Let this process have so many bytes of data, where the system can be told so.

    The limit is on data, which Linux counts whatever it was asked for by (setrlimit(2), since Linux 4.7), and not on
    addresses: numeric libraries reserve a lot of these and use little.
    """
    try:
        import resource
    except ImportError:  # Windows has none; the deadline is there all the same
        return
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    limit = most if hard == resource.RLIM_INFINITY else min(most, hard)
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_DATA, (limit, limit))


@contextlib.contextmanager
def _interrupts_held_back() -> Iterator[None]:
    """Block Ctrl-C in this thread; threads and processes begun meanwhile inherit that until they ignore it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _Spawning(SpawnContext):
    """Begins processes by spawning, and remembers them."""

    def __init__(self) -> None:
        super().__init__()
        self.begun: list[SpawnProcess] = []

    def Process(self, *args: Any, **kwargs: Any) -> SpawnProcess:  # type: ignore[override]  # noqa: N802 - its name there
        self.begun = [process for process in self.begun if process.is_alive()]
        self.begun.append(SpawnProcess(*args, **kwargs))
        return self.begun[-1]


class Workers:
    """A pool of at most two worker processes."""

    def __init__(self) -> None:
        self._pool: ProcessPool | None = None
        self._spawning = _Spawning()
        self._running: set[ProcessFuture] = set()
        self._closed = False

    async def run(self, job: Callable[P, T], deadline: float, what: str, /, *args: P.args, **kwargs: P.kwargs) -> T:
        """Run a job in a worker.

        Args:
            job: a function that a worker can import; its arguments and result are pickled.
            deadline: seconds from when a worker begins it; then it is killed.
            what: what it does, for the sentence about a kill: ``reading 'x.abc'``.

        Raises:
            CoachError: what the job raised, or a sentence where it was killed, its worker died, or it broke down, or
                where too many jobs are there already.
        """
        if self._closed:
            raise CoachError(f"{what} was not begun: the service is ending")
        if len(self._running) >= MOST_JOBS:
            raise CoachError(f"{what} was not begun: too much is asked for at once", cure="try again in a minute")
        future = self._started().schedule(job, args=list(args), kwargs=dict(kwargs), timeout=deadline)
        self._running.add(future)
        try:
            result: T = await asyncio.wrap_future(future)
        except CoachError:
            raise
        except TimeoutError:
            raise CoachError(
                f"{what} took longer than {deadline:g} seconds and was ended", cure="try a simpler one"
            ) from None
        except MemoryError:
            raise CoachError(f"{what} took more memory than there is for it", cure="try a simpler one") from None
        except asyncio.CancelledError:
            task = asyncio.current_task()
            if task is not None and task.cancelling():
                raise
            raise CoachError(f"{what} was ended") from None
        except Exception as error:
            if type(error).__name__ == "ProcessExpired":  # libraries end their process where memory ends
                raise CoachError(f"{what} ended the process that did it", cure="try a simpler one") from error
            raise CoachError(f"{what} failed ({type(error).__name__}: {error})", cure="try another one") from error
        finally:
            self._running.discard(future)
        return result

    def close(self) -> None:
        """End the workers, whatever they do."""
        self._closed = True
        for future in tuple(self._running):
            future.cancel()
        if self._pool is not None:
            self._pool.stop()
            # Before the pool takes its semaphores away: a worker that is just starting would complain of that.
            for process in self._spawning.begun:
                with contextlib.suppress(ValueError, AttributeError):  # it ended meanwhile, or was not begun yet
                    process.kill()
            self._pool.join()
            self._pool = None

    def _started(self) -> ProcessPool:
        if self._pool is None:
            from pebble import ProcessPool

            self._pool = ProcessPool(
                max_workers=MOST_WORKERS,
                initializer=_begin,
                context=self._spawning,
            )
            with _interrupts_held_back():
                # Reading it starts the pool's threads, which start the workers.
                assert self._pool.active
        return self._pool
