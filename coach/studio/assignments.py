"""What teachers set for students: a tune, a tier or a mixed solo, a goal, and rules of the ladder, for a while.

An assignment is on from when it is set to its last day, that day included, by the date at the player's place, unless a
teacher ends it before. Of those of one tune that are on the one that was set last holds. A cap has a last day of its
own.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, Row, Select, func, insert, select, update

from coach.ladder.standing import PolicyName
from coach.records.studio_tables import assignments, people
from coach.records.tables import passes

__all__ = [
    "Assignment",
    "Rules",
    "Setting",
    "assign",
    "assignment_of_id",
    "assignments_in",
    "assignments_of",
    "cap_words",
    "day_words",
    "end_assignment",
    "is_on",
    "reached",
    "rules_of",
    "rules_words",
]

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


@dataclass(frozen=True, slots=True)
class Setting:
    """What is set.

    Attributes:
        tune, title: of the tune.
        tier: of the solo; of a mixed one the tier it comes from.
        mix: the measures, as played, that are of the next tier, rising.
        goal: quarters a minute.
        until: the last day, ``2026-03-31``; None where there is none.
        policy: how the tempo moves; None where it is for the student to choose.
        step, clean_needed: of fixed steps; None where they are the student's own.
        tolerance_ms: what is on time; None where it is for the student to choose.
        cap: the tempo that nothing is to go above; None where there is none.
        cap_until: its last day; None where it lasts as long as the assignment.
        words: of the teacher; may be empty.
    """

    tune: str
    title: str
    tier: str
    goal: float
    mix: tuple[int, ...] = ()
    until: str | None = None
    policy: PolicyName | None = None
    step: float | None = None
    clean_needed: int | None = None
    tolerance_ms: float | None = None
    cap: float | None = None
    cap_until: str | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Assignment:
    """What a teacher has set for a student.

    Attributes:
        id: of it.
        student, student_name: for whom.
        by: the name of the teacher; empty where they have left.
        made: when, RFC 3339 in UTC.
        ended: when a teacher ended it, RFC 3339 in UTC; None where none has.
        setting: what is set.
    """

    id: str
    student: str
    student_name: str
    by: str
    made: str
    ended: str | None
    setting: Setting


@dataclass(frozen=True, slots=True)
class Rules:
    """What holds for a tune as long as an assignment is on: the student cannot change it.

    Attributes:
        by: the name of the teacher; empty where they have left.
        goal: quarters a minute.
        policy, step, clean_needed, tolerance_ms: None where it is the student's own.
        cap: None where there is none today.
        cap_words: of the cap, ``not above 80 this week``; empty where there is none.
    """

    by: str
    goal: float
    policy: PolicyName | None = None
    step: float | None = None
    clean_needed: int | None = None
    tolerance_ms: float | None = None
    cap: float | None = None
    cap_words: str = ""


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


def is_on(assignment: Assignment, day: str) -> bool:
    """Whether it holds on a day, the date at the player's place."""
    until = assignment.setting.until
    return assignment.ended is None and (until is None or day <= until)


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


def rules_of(given: Iterable[Assignment], tune: str, day: str) -> Rules | None:
    """What holds for a tune on a day; None where nothing is set.

    Args:
        given: assignments of one student, the newest first.
        tune: its id.
        day: the date at the player's place.
    """
    for each in given:
        setting = each.setting
        if setting.tune != tune or not is_on(each, day):
            continue
        capped = setting.cap is not None and (setting.cap_until is None or day <= setting.cap_until)
        return Rules(
            by=each.by,
            goal=setting.goal,
            policy=setting.policy,
            step=setting.step,
            clean_needed=setting.clean_needed,
            tolerance_ms=setting.tolerance_ms,
            cap=setting.cap if capped else None,
            cap_words=cap_words(setting, day) if capped else "",
        )
    return None


def cap_words(setting: Setting, day: str) -> str:
    """A cap in words, as of a day: ``not above 80 this week``."""
    until = setting.cap_until or setting.until
    return f"not above {setting.cap:g} {'for now' if until is None else _until(until, day)}"


def rules_words(setting: Setting, day: str) -> str:
    """What holds of the ladder besides the goal, in a sentence, as of a day; empty where all is the student's own."""
    said = []
    if setting.policy is not None:
        said.append(_POLICIES[setting.policy])
    if setting.policy == "steps" and setting.step is not None and setting.clean_needed is not None:
        often = "a clean pass" if setting.clean_needed == 1 else f"{setting.clean_needed} clean passes in a row"
        said[-1] = f"the tempo goes up by {setting.step:g} after {often}"
    if setting.tolerance_ms is not None:
        said.append(f"on time is within {setting.tolerance_ms:g} ms")
    if setting.cap is not None and (setting.cap_until is None or day <= setting.cap_until):
        said.append(cap_words(setting, day))
    if not said:
        return ""
    text = said[0] if len(said) == 1 else f"{', '.join(said[:-1])}, and {said[-1]}"
    return f"{text[0].upper()}{text[1:]}."


def day_words(day: str) -> str:
    """A date as it is said: ``29 November``."""
    when = date.fromisoformat(day)
    return f"{when.day} {_MONTHS[when.month - 1]}"


_POLICIES: dict[PolicyName, str] = {
    "coach": "the coach finds the tempo",
    "three clean": "the tempo goes up after three clean passes",
    "every pass": "the tempo moves after every pass",
    "steps": "the tempo goes up by fixed steps",
}

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


def _until(last: str, day: str) -> str:
    """Until when, as of a day: ``this week`` where it is a day of the same ISO 8601 week."""
    same = date.fromisoformat(last).isocalendar()[:2] == date.fromisoformat(day).isocalendar()[:2]
    return "this week" if same else f"until {day_words(last)}"
