"""Words that teachers pin to measures, where the student sees them."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Row, Select, delete, insert, select, update

from coach.records.studio_tables import people, pins

__all__ = ["Pinned", "pin", "pin_of_id", "pins_of", "remove_pin", "see_pin"]


@dataclass(frozen=True, slots=True)
class Pinned:
    """Words at a measure.

    Attributes:
        id: of it.
        student: for whom.
        by: the name of the teacher; empty where they have left.
        made: when, RFC 3339 in UTC.
        tune: the id of the tune.
        measure: its number as played, the same in all tiers.
        words: what is said.
        seen: when the student had read them, RFC 3339 in UTC; None before.
    """

    id: str
    student: str
    by: str
    made: str
    tune: str
    measure: int
    words: str
    seen: str | None


def pin(connection: Connection, student: str, tune: str, measure: int, words: str, by: str, made: str) -> str:
    """Pin words to a measure; returns their id.

    Args:
        connection: of the store.
        student: the id of somebody.
        tune, measure: where.
        words: what is said.
        by: the id of the teacher.
        made: now, RFC 3339 in UTC.
    """
    key = secrets.token_hex(8)
    row = {"id": key, "student": student, "by": by, "made": made, "tune": tune, "measure": measure, "words": words}
    connection.execute(insert(pins).values(row))
    return key


def remove_pin(connection: Connection, id: str) -> None:  # noqa: A002 - it is called so
    """Take words away."""
    connection.execute(delete(pins).where(pins.c.id == id))


def see_pin(connection: Connection, id: str, when: str) -> None:  # noqa: A002
    """Words were read; the first time counts."""
    connection.execute(update(pins).where(pins.c.id == id, pins.c.seen.is_(None)).values(seen=when))


def pin_of_id(connection: Connection, id: str) -> Pinned | None:  # noqa: A002
    """The words of an id; None where there are none."""
    row = connection.execute(_QUERY.where(pins.c.id == id)).one_or_none()
    return None if row is None else _pinned(row)


def pins_of(connection: Connection, student: str, tune: str | None = None) -> list[Pinned]:
    """What is pinned for a student: by tune and measure, the oldest first.

    Args:
        connection: of the store.
        student: their id.
        tune: only of this one; None for all.
    """
    query = _QUERY.where(pins.c.student == student)
    if tune is not None:
        query = query.where(pins.c.tune == tune)
    query = query.order_by(pins.c.tune, pins.c.measure, pins.c.made, pins.c.id)
    return [_pinned(row) for row in connection.execute(query)]


_QUERY: Select[Any] = select(
    pins.c.id,
    pins.c.student,
    people.c.name.label("teacher"),
    pins.c.made,
    pins.c.tune,
    pins.c.measure,
    pins.c.words,
    pins.c.seen,
).outerjoin(people, people.c.id == pins.c.by)


def _pinned(row: Row[Any]) -> Pinned:
    return Pinned(row.id, row.student, row.teacher or "", row.made, row.tune, row.measure, row.words, row.seen)
