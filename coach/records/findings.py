"""What was found about how a pass was played: habits and faults that a teacher would name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, insert, select

from coach.records.studio_tables import findings
from coach.records.tables import passes

__all__ = ["FoundHabit", "findings_of_pass", "keep_findings"]


@dataclass(frozen=True, slots=True)
class FoundHabit:
    """Something that was found in a pass.

    Attributes:
        name: what it is, as the listener calls it.
        words: the sentence that a report has of it.
        cost: how much it stood in the way of a clean pass, in notes.
    """

    name: str
    words: str
    cost: float


def keep_findings(connection: Connection, key: int, found: Sequence[FoundHabit]) -> None:
    """Keep what was found in a pass that was just noted down.

    Args:
        connection: of the store.
        key: of the pass, as :func:`~coach.records.played.add_pass` gave it.
        found: what costs most first.
    """
    if found:
        rows = [
            {"pass": key, "place": place, "name": each.name, "words": each.words, "cost": each.cost}
            for place, each in enumerate(found)
        ]
        connection.execute(insert(findings), rows)


def findings_of_pass(connection: Connection, folder: str, number: int) -> tuple[FoundHabit, ...]:
    """What was found in a pass, what costs most first.

    Args:
        connection: of the store.
        folder, number: of the pass.
    """
    query = (
        select(findings.c.name, findings.c.words, findings.c.cost)
        .join(passes, passes.c.id == findings.c["pass"])
        .where(passes.c.folder == folder, passes.c.number == number)
        .order_by(findings.c.place)
    )
    return tuple(FoundHabit(*row) for row in connection.execute(query))
