"""What teachers set for students, in the records; :mod:`~coach.studio.rules` tells what it means."""

from __future__ import annotations

import secrets
from collections.abc import Sequence

from sqlalchemy import Connection, Row, Select, func, insert, select, update

from coach.records.studio_tables import assignments, people
from coach.records.tables import passes
from coach.studio.rules import Assignment, Setting

__all__ = ["assign", "assignment_of_id", "assignments_in", "assignments_of", "end_assignment", "reached"]

_FIELDS = tuple(Setting.__dataclass_fields__)


def assign(connection: Connection, setting: Setting, students: Sequence[str], by: str, made: str) -> list[str]:
    """Set something for students.

    Args:
        connection: of the store.
        setting: what.
        students: their ids, which are those of people.
        by: the id of the teacher.
        made: now, RFC 3339 in UTC.

    Returns:
        the ids of the assignments, in the order of the students.
    """
    told = {name: getattr(setting, name) for name in _FIELDS}
    rows = [{**told, "id": secrets.token_hex(8), "student": each, "by": by, "made": made} for each in students]
    if rows:
        connection.execute(insert(assignments), rows)
    return [str(row["id"]) for row in rows]


def end_assignment(connection: Connection, id: str, when: str) -> None:  # noqa: A002 - it is called so
    """End an assignment; one that has ended stays as it is."""
    change = update(assignments).where(assignments.c.id == id, assignments.c.ended.is_(None))
    connection.execute(change.values(ended=when))


def assignment_of_id(connection: Connection, id: str) -> Assignment | None:  # noqa: A002
    """The assignment of an id; None where there is none."""
    row = connection.execute(_query().where(assignments.c.id == id)).one_or_none()
    return None if row is None else _assignment(row)


def assignments_of(connection: Connection, student: str) -> list[Assignment]:
    """All that was ever set for a student, the newest first."""
    query = _query().where(assignments.c.student == student)
    return [_assignment(row) for row in connection.execute(_newest_first(query))]


def assignments_in(connection: Connection, studio: str) -> list[Assignment]:
    """All that was ever set in a studio, the newest first."""
    query = _query().where(_STUDENTS.c.studio == studio)
    return [_assignment(row) for row in connection.execute(_newest_first(query))]


def reached(connection: Connection, student: str, setting: Setting, *, until: str | None = None) -> float | None:
    """The fastest clean pass through the whole of what is set, to a click; a jam run is none.

    Args:
        connection: of the store.
        student: who played.
        setting: of which tune, tier and mix.
        until: the last day that counts; None for all.
    """
    query = select(func.max(passes.c.tempo)).where(
        passes.c.player == student,
        passes.c.tune == setting.tune,
        passes.c.tier == setting.tier,
        passes.c.mix == setting.mix,
        passes.c.whole,
        passes.c.clean,
        passes.c.judged != "freely",
        passes.c.kind.not_in(("part", "spot", "jam")),
    )
    if until is not None:
        query = query.where(passes.c.day <= until)
    found: float | None = connection.execute(query).scalar()
    return found


_STUDENTS = people.alias("students")
_TEACHERS = people.alias("teachers")


def _query() -> Select[tuple[object, ...]]:
    """Assignments beside the names of student and teacher."""
    return (
        select(assignments, _STUDENTS.c.name.label("student_name"), _TEACHERS.c.name.label("teacher"))
        .join(_STUDENTS, _STUDENTS.c.id == assignments.c.student)
        .outerjoin(_TEACHERS, _TEACHERS.c.id == assignments.c.by)
    )


def _newest_first(query: Select[tuple[object, ...]]) -> Select[tuple[object, ...]]:
    return query.order_by(assignments.c.made.desc(), assignments.c.id)


def _assignment(row: Row[tuple[object, ...]]) -> Assignment:
    told = row._mapping  # noqa: SLF001 - its documented name
    return Assignment(
        id=told["id"],
        student=told["student"],
        student_name=told["student_name"],
        by=told["teacher"] or "",
        made=told["made"],
        ended=told["ended"],
        setting=Setting(**{name: told[name] for name in _FIELDS}),
    )
