"""Says 100,000 messages that are made of the published schema of the wire, and near misses, to a service that runs.

    python tests/bench/fuzz_wire.py --messages 100000 [--seed 1]

People of two studios say them, in one process and over connections in memory; solos are there, so that passes begin.
What it prints has to end in "nothing": exceptions that nobody had thought of, messages that could not be read and were
not answered, and secrets of somebody that reached those who may not see them.
"""

from __future__ import annotations

import argparse
import asyncio
import logging
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from wire_fuzz import PEOPLE, Everybody, rows_of

from coach.service.clock import FakeClock
from coach.service.service import Service

ROOM = 8000
"""Messages that are made at a time."""


async def say(messages: int, first_seed: int, data: Path) -> bool:
    """Say them; tells whether all went well."""
    clock = FakeClock(1000.0)
    service = Service(data, studio=True, now=clock)
    everybody = Everybody(service, clock)
    making = 0.0
    begun = time.perf_counter()
    async with service.running():
        await everybody.come()
        students = [service.sessions[person.id] for person in PEOPLE.values() if person.id in service.sessions]
        while not all(session._state().digest for session in students):  # noqa: ASYNC110 - no one is told of it
            await asyncio.sleep(0.1)
        number = first_seed
        while everybody.told.said < messages:
            start = time.perf_counter()
            rows = list(rows_of(min(ROOM, messages - everybody.told.said), number))
            making += time.perf_counter() - start
            for row in rows:
                for said in row:
                    await everybody.hear(said)
            number += 1
            print(f"{everybody.told.said} said, {time.perf_counter() - begun:.0f} s", flush=True)
        await everybody.leave()
    told = everybody.told
    seconds = time.perf_counter() - begun
    print(
        f"{told.said} messages by {len(PEOPLE)} people over {told.connections} connections,"
        f" {told.unread} that cannot be read"
    )
    print(f"in {seconds:.0f} s, of which {making:.0f} s to make them")
    print("said:", ", ".join(f"{kind} {count}" for kind, count in told.kinds.most_common()))
    print("answered:", ", ".join(f"{kind} {count}" for kind, count in told.answers.most_common()))
    for what, found in (("broke", told.broken), ("was left unanswered", told.unanswered), ("leaked", told.leaks)):
        print(f"{what}: {len(found) or 'nothing'}", *dict.fromkeys(found[:5]), sep="\n  " if found else "")
    return not (told.broken or told.unanswered or told.leaks)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--messages", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    logging.getLogger("coach.refused").setLevel(logging.ERROR)
    with tempfile.TemporaryDirectory() as folder:
        return 0 if asyncio.run(say(asked.messages, asked.seed, Path(folder))) else 1


if __name__ == "__main__":
    sys.exit(main())
