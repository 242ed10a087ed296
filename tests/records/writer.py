"""Writes passes until it is killed, and says each on its output when it is acknowledged."""

from __future__ import annotations

import sys
from dataclasses import replace

from played_passes import a_pass

from coach.records.played import add_pass
from coach.records.store import Store

store = Store(sys.argv[1])
number = int(sys.argv[2])
while True:
    number += 1
    played = replace(a_pass(1), number=number)
    store.write(lambda connection: add_pass(connection, played)).result()  # noqa: B023
    print(number, flush=True)
