"""What waits for a slow page, and how much a page may send."""

import asyncio
from collections.abc import Sequence

from msgspec import Raw

from coach.service.clock import FakeClock
from coach.service.link import CROWDED, FULL, FULL_BYTES, LOOKS, PATIENCE, STALE, Link, TokenBucket
from coach.service.protocol import Ack, Card, Failure, HeardMark, Live, Sounded, VerdictMark, encode


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


async def test_stale_marks_of_a_crowd_are_looked_for_now_and_then_not_at_each_message() -> None:
    clock = FakeClock()
    looked = 0

    class Told(Link):
        def _drop_marks(self, before: float) -> None:
            nonlocal looked
            looked += 1
            super()._drop_marks(before)

    link = Told(clock)
    for seq in range(CROWDED):
        link.send(Ack(seat="pad", seq=seq))
    for seq in range(200):
        link.send(mark(seq))
        clock.advance(LOOKS / 10)

    assert 2 <= looked <= 20
    assert sum('"heard"' in text for text in await sent_by(link)) <= (STALE + LOOKS) / (LOOKS / 10) + 1


async def test_for_a_desk_notes_and_marks_of_the_student_grow_stale_and_verdicts_do_not() -> None:
    clock = FakeClock()
    link = Link(clock)
    verdict = VerdictMark(1, 1, "p", "late", 40.0, 60, 1)
    link.send(Live("ann", Raw(encode(verdict))))
    for seq in range(CROWDED):
        link.send(Live("ann", Raw(encode(mark(seq)))) if seq % 2 else Sounded("ann", 1.0, [0x90, 60, 90], None))
    clock.advance(STALE + 0.01)
    link.send(Failure(text="kept"))
    sent = await sent_by(link)

    assert len(sent) == 2
    assert '"verdict"' in sent[0]
    assert '"kept"' in sent[1]


async def test_in_a_crowd_a_newer_card_takes_the_place_of_the_one_that_waits() -> None:
    link = Link(FakeClock())
    link.send(Card("ann", "Ann", here=False))
    link.send(Card("ben", "Ben", here=False))
    for seq in range(CROWDED - 3):
        link.send(Ack(seat="pad", seq=seq))
    link.send(Card("ann", "Ann", here=True))  # no crowd yet
    assert link.size
    link.send(Card("ben", "Ben", here=True, state="playing"))
    link.send(Card("cat", "Cat", here=True))
    sent = await sent_by(link)

    assert [text for text in sent if '"ben"' in text] == [
        encode(Card("ben", "Ben", here=True, state="playing")).decode()
    ]
    assert len([text for text in sent if '"ann"' in text]) == 2
    assert sent[1] == encode(Card("ben", "Ben", here=True, state="playing")).decode()
    assert '"cat"' in sent[-1]


async def test_cards_that_take_each_others_place_keep_the_size_and_are_let_go_all_the_same() -> None:
    clock = FakeClock()
    link = Link(clock)
    for seq in range(CROWDED):
        link.send(Ack(seat="pad", seq=seq))
    link.send(Card("ann", "Ann", here=False))
    before = link.size
    for _ in range(FULL):
        link.send(Card("ann", "Ann", here=False))
    assert link.size == before

    clock.advance(PATIENCE + 0.1)
    link.send(Card("ann", "Ann", here=False))
    assert link.overflowed


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


async def test_a_full_queue_gives_up_its_marks_first_and_keeps_all_else() -> None:
    link = Link(FakeClock())
    for seq in range(FULL):
        link.send(mark(seq) if seq % 2 else Ack(seat="pad", seq=seq))
    link.send(Failure(text="the last"))
    sent = await sent_by(link)

    assert not link.overflowed
    assert len(sent) == FULL // 2 + 1
    assert not any('"heard"' in text for text in sent)
    assert '"the last"' in sent[-1]


async def test_a_page_is_let_go_at_so_many_bytes_and_not_at_one_fewer() -> None:
    said: list[str] = []
    link = Link(FakeClock(), full=lambda: said.append("full"))
    empty = len(encode(Failure(text="")))
    half = FULL_BYTES // 2 - empty
    link.send(Failure(text="a" * half))
    link.send(Failure(text="b" * half))
    assert (link.overflowed, link.size, said) == (False, FULL_BYTES, [])

    link.send(Ack(seat="pad", seq=1))
    assert (link.overflowed, link.size, said) == (True, 0, ["full"])

    link.send(Ack(seat="pad", seq=2))
    assert (link.size, said) == (0, ["full"])


async def test_a_page_that_reads_nothing_for_too_long_is_let_go() -> None:
    clock = FakeClock()
    link = Link(clock)
    link.send(Ack(seat="pad", seq=1))
    clock.advance(PATIENCE)
    link.send(Ack(seat="pad", seq=2))
    assert not link.overflowed

    clock.advance(0.01)
    link.send(Ack(seat="pad", seq=3))
    assert link.overflowed


class FakeLine:
    """Takes what is written while it is free."""

    def __init__(self) -> None:
        self.is_free = True
        self.writes: list[list[bytes]] = []

    def write(self, messages: Sequence[bytes]) -> None:
        self.writes.append(list(messages))


async def test_what_is_said_in_one_go_leaves_in_one_write() -> None:
    line = FakeLine()
    link = Link(FakeClock(), line)
    for seq in range(3):
        link.send(Ack(seat="pad", seq=seq))
    await asyncio.sleep(0)
    link.send(Ack(seat="pad", seq=3))
    await asyncio.sleep(0)

    assert [len(texts) for texts in line.writes] == [3, 1]
    assert line.writes[1] == [b'{"kind":"ack","seat":"pad","seq":3}']
    assert link.size == 0


async def test_what_a_busy_line_does_not_take_goes_when_it_is_free() -> None:
    line = FakeLine()
    line.is_free = False
    link = Link(FakeClock(), line)
    link.send(Ack(seat="pad", seq=1))
    await asyncio.sleep(0)
    assert (line.writes, link.size > 0) == ([], True)

    line.is_free = True
    link.flush()
    assert [len(texts) for texts in line.writes] == [1]


async def test_a_message_to_several_pages_is_written_down_once() -> None:
    lines = [FakeLine(), FakeLine()]
    message = Failure(text="to all")
    for line in lines:
        Link(FakeClock(), line).send(message)
    await asyncio.sleep(0)

    assert lines[0].writes[0][0] is lines[1].writes[0][0]


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
