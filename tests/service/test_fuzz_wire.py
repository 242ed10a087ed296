"""A few messages made of the published schema, and near misses; ``tests/bench/fuzz_wire.py`` says 100,000."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import wire_fuzz
from wire_fuzz import PEOPLE, Everybody, Said, rows_of

from coach.service import protocol as wire
from coach.service.clock import FakeClock
from coach.service.service import Service

COUNT = 1200


async def test_messages_of_the_schema_and_near_misses_break_nothing_and_reach_nobody_else(tmp_path: Path) -> None:
    clock = FakeClock(1000.0)
    service = Service(tmp_path, studio=True, now=clock)
    everybody = Everybody(service, clock)
    await everybody.come()
    for row in rows_of(COUNT):
        for said in row:
            await everybody.hear(said)
    await everybody.leave()
    await wire_fuzz.close(service)

    told = everybody.told
    assert told.broken == []
    assert told.unanswered == []
    assert told.leaks == []
    assert told.said >= COUNT * 0.9
    kinds = {struct.__struct_config__.tag for struct in get_args(wire.FromPage)}
    assert {*told.kinds} <= kinds
    assert len(told.kinds) >= len(kinds) - 2  # chance may leave one out
    assert told.unread > COUNT / 10
    assert {"state", "failure", "card", "watched"} <= {*told.answers}


async def test_a_leak_would_be_seen(tmp_path: Path) -> None:
    clock = FakeClock(1000.0)
    service = Service(tmp_path, studio=True, now=clock)
    everybody = Everybody(service, clock)
    await everybody.come()
    service.sessions[PEOPLE["ben"].id].pages.broadcast(wire.Failure(PEOPLE["cat"].name))
    await everybody.hear(Said("ann", '{"kind":"again"}'))
    await everybody.leave()
    await wire_fuzz.close(service)

    assert [leak.partition(":")[0] for leak in everybody.told.leaks] == ["ben was sent the secret of cat"]
