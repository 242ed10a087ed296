"""What waits for a slow page, and how much a page may send."""

import asyncio

from coach.service.clock import FakeClock
from coach.service.link import CROWDED, FULL, STALE, Link, TokenBucket
from coach.service.protocol import Ack, Failure, HeardMark


def mark(seq: int) -> HeardMark:
    return HeardMark(number=1, seat="pad", seq=seq, pitch=60, string=None, id=None, mark="extra", offset_ms=None)


async def sent_by(link: Link) -> list[str]:
    sent: list[str] = []

    async def send(text: str) -> None:
        sent.append(text)

    draining = asyncio.ensure_future(link.drain(send))
    await asyncio.sleep(0)
    link.close()
    await draining
    return sent


async def test_messages_leave_in_order() -> None:
    link = Link(FakeClock())
    for seq in range(3):
        link.send(Ack(seat="pad", seq=seq))

    assert await sent_by(link) == [f'{{"kind":"ack","seat":"pad","seq":{seq}}}' for seq in range(3)]


async def test_stale_marks_are_dropped_from_a_crowd_and_nothing_else() -> None:
    clock = FakeClock()
    link = Link(clock)
    for seq in range(CROWDED):
        link.send(mark(seq))
    link.send(Failure(text="kept"))
    clock.advance(STALE + 0.01)
    link.send(mark(1000))
    sent = await sent_by(link)

    assert len(sent) == 2
    assert '"kept"' in sent[0]
    assert '"seq":1000' in sent[1]


async def test_fresh_marks_are_kept_in_a_crowd() -> None:
    link = Link(FakeClock())
    for seq in range(CROWDED + 10):
        link.send(mark(seq))

    assert len(await sent_by(link)) == CROWDED + 10


async def test_a_page_that_does_not_read_is_let_go() -> None:
    link = Link(FakeClock())
    for seq in range(FULL + 1):
        link.send(Ack(seat="pad", seq=seq))

    assert link.overflowed
    assert await sent_by(link) == []


async def test_a_closed_link_takes_nothing() -> None:
    link = Link(FakeClock())
    link.close()
    link.send(Ack(seat="pad", seq=1))

    assert await sent_by(link) == []


def test_a_bucket_allows_a_burst_and_then_its_rate() -> None:
    clock = FakeClock()
    bucket = TokenBucket(rate=10, burst=3, now=clock)

    assert [bucket.take() for _ in range(4)] == [True, True, True, False]
    clock.advance(0.1)
    assert [bucket.take() for _ in range(2)] == [True, False]
    clock.advance(100)
    assert [bucket.take() for _ in range(4)] == [True, True, True, False]
