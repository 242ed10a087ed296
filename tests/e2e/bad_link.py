"""A bad network between a page and a service: a TCP relay that delays, stalls, and can be cut.

What TCP makes of a network that loses packets is this: everything comes, in order, and some of it late, with all that
was sent after it. So nothing is dropped here; each direction of a connection has a delay that varies, and at random
moments stands still for a while (a lost packet is sent again after the retransmission timeout, which is at least
200 ms and doubles: RFC 6298 and common practice, from memory). The random numbers are seeded.
"""

from __future__ import annotations

import asyncio
import contextlib
import random
import socket
import threading
from collections import deque
from collections.abc import AsyncIterator, Coroutine
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from own_network import OwnNetwork

PATIENCE = 60.0
CHUNK = 1 << 16


@dataclass(frozen=True, slots=True)
class Link:
    """What a network does to what is sent in one direction; times in seconds.

    Attributes:
        delay: that everything takes, on the average.
        jitter: by how much it takes less or more, at the most.
        stall: the shortest and the longest time for which nothing comes through at all.
        between: from the end of one stall to the beginning of the next, on the average.
    """

    delay: float
    jitter: float
    stall: tuple[float, float]
    between: float


BAD = Link(delay=0.15, jitter=0.08, stall=(0.2, 0.6), between=1.5)
GOOD = Link(delay=0.0, jitter=0.0, stall=(0.0, 0.0), between=3600.0)
"""As good as none: it leads into a network where nothing else does."""


class Lateness:
    """When what is sent at some moment comes through: never before what was sent earlier.

    Args:
        link: what it goes over.
        rng: for delays and stalls.
        since: the moment from which stalls come; all moments are on one clock, in seconds.
    """

    def __init__(self, link: Link, rng: random.Random, since: float) -> None:
        self._link = link
        self._rng = rng
        self._last = since
        self._stall = (since, since)  # from when to when
        self.longest = 0.0

    def become(self, link: Link, since: float) -> None:
        """Go over another link from some moment on; what was sent before is not overtaken."""
        self._link = link
        self._stall = (since, since)

    def due(self, sent: float) -> float:
        """When it comes, for a moment that is not before the last one that was asked for."""
        link = self._link
        due = max(self._last, sent + link.delay + self._rng.uniform(-link.jitter, link.jitter))
        while self._stall[1] <= due:
            begin = self._stall[1] + self._rng.expovariate(1 / link.between)
            self._stall = (begin, begin + self._rng.uniform(*link.stall))
        if self._stall[0] <= due:
            due = self._stall[1]
        self._last = due
        self.longest = max(self.longest, due - sent)
        return due


class Relay:
    """A port of its own that stands for a service's, behind a link.

    Args:
        url: of the service.
        link: both ways.
        seed: of what is random.
        network: where the service is; None for here.

    Attributes:
        url: under which the service is reached over the link.
    """

    def __init__(self, url: str, link: Link, seed: int = 0, network: OwnNetwork | None = None) -> None:
        parts = urlsplit(url)
        assert parts.hostname is not None
        assert parts.port is not None
        self._service = parts.hostname, parts.port
        self._link = link
        self._rng = random.Random(seed)
        self._directions: list[Lateness] = []
        self._writers: set[asyncio.StreamWriter] = set()
        self._is_cut = False
        self._loop = asyncio.new_event_loop()
        self._network = network
        listening = socket.create_server(("127.0.0.1", 0))  # here; what it leads to may be elsewhere
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()
        self._server = self._ask(asyncio.start_server(self._relay, sock=listening))
        port = listening.getsockname()[1]
        self.url = parts._replace(netloc=f"{parts.hostname}:{port}").geturl()

    @property
    def longest(self) -> float:
        """The longest that anything was on its way so far, in seconds."""
        return max((each.longest for each in self._directions), default=0.0)

    def become(self, link: Link) -> None:
        """Be another link from now on, for connections that are there and for new ones."""
        self._ask(self._become(link))

    def cut(self) -> None:
        """Lose every connection, with all that is on its way; new ones are refused until :meth:`mend`."""
        self._ask(self._cut())

    def mend(self) -> None:
        """Let new connections through again."""
        self._is_cut = False

    def end(self) -> None:
        """Close everything."""
        self._ask(self._end())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(PATIENCE)
        self._loop.close()

    def _run(self) -> None:
        if self._network is not None:
            self._network.enter()
        self._loop.run_forever()

    def _ask(self, what: Coroutine[Any, Any, Any]) -> Any:
        return asyncio.run_coroutine_threadsafe(what, self._loop).result(PATIENCE)

    async def _end(self) -> None:
        """Take no new connections, end those that are there, and see all that was done for them end."""
        self._server.close()
        await self._cut()
        rest = asyncio.all_tasks() - {asyncio.current_task()}
        await asyncio.gather(*rest, return_exceptions=True)

    async def _become(self, link: Link) -> None:
        self._link = link
        for each in self._directions:
            each.become(link, self._loop.time())

    async def _cut(self) -> None:
        self._is_cut = True
        for writer in self._writers:
            writer.transport.abort()

    async def _relay(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        async with self._kept(writer):
            if self._is_cut:
                return
            there, back = await asyncio.open_connection(*self._service)
            async with self._kept(back):
                ways = [asyncio.ensure_future(way) for way in (self._carry(reader, back), self._carry(there, writer))]
                # Who closes a connection here is done with both directions of it.
                await asyncio.wait(ways, return_when=asyncio.FIRST_COMPLETED)
                for way in ways:
                    way.cancel()
                await asyncio.gather(*ways, return_exceptions=True)

    @contextlib.asynccontextmanager
    async def _kept(self, writer: asyncio.StreamWriter) -> AsyncIterator[None]:
        self._writers.add(writer)
        try:
            yield
        finally:
            self._writers.discard(writer)
            writer.close()

    async def _carry(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """Carry one direction to its end: what is read is written when it is due, in order."""
        lateness = Lateness(self._link, self._rng, self._loop.time())
        self._directions.append(lateness)
        through = self._loop.create_future()
        on_its_way: deque[bytes] = deque()  # timers that are due at one moment come in no order

        def arrive() -> None:
            data = on_its_way.popleft()
            if data and not writer.is_closing():
                writer.write(data)
            elif not through.done():
                through.set_result(None)

        data = b"to begin with"
        while data:
            data = await reader.read(CHUNK)
            on_its_way.append(data)
            self._loop.call_at(lateness.due(self._loop.time()), arrive)
        await through
