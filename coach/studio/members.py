"""Studios and their people in the records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sqlalchemy import Connection, Label, RowMapping, Table, func, insert, select
from sqlalchemy.exc import IntegrityError

from coach.errors import InputError
from coach.records.played import add_player
from coach.records.studio_tables import devices, passkeys, passwords, people, studios
from coach.records.tables import passes
from coach.studio.names import folded, read_name, slug
from coach.studio.people import Person, StudioName

__all__ = [
    "PERSON",
    "WITH_STUDIO",
    "Member",
    "MemberRole",
    "add_person",
    "known_studio",
    "members_of",
    "open_studio",
    "person_named",
    "person_of_id",
    "studios_in",
    "to_person",
]

MemberRole = Literal["teacher", "student"]


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody of a studio, with what a teacher sees of them in a list.

    Attributes:
        person: who.
        began: when they came.
        practised: when they began a pass last; None where they never did.
        devices: on how many they are signed in.
        has_password: whether they can come back by one.
        passkeys: how many they have.
    """

    person: Person
    began: str
    practised: str | None
    devices: int
    has_password: bool
    passkeys: int


WITH_STUDIO = people.join(studios, people.c.studio == studios.c.id)
"""People beside their studios."""

PERSON = (people.c.id, people.c.name, people.c.role, studios.c.id.label("studio"), studios.c.name.label("studio_name"))
"""What :func:`to_person` takes."""


def to_person(row: RowMapping) -> Person:
    """Somebody from a row with :data:`PERSON`."""
    return Person(row["id"], row["name"], row["role"], StudioName(row["studio"], row["studio_name"]))


def open_studio(connection: Connection, name: str, when: str) -> StudioName:
    """Open a studio: its id is made of its name, with a number where there is one of that id.

    Raises:
        InputError: when the name is none.
    """
    shown = read_name(name, of="name of the studio")
    taken = set(connection.execute(select(studios.c.id)).scalars())
    start = slug(shown)
    id_, number = start, 1
    while id_ in taken:
        number += 1
        id_ = f"{start}-{number}"
    connection.execute(insert(studios).values(id=id_, name=shown, began=when))
    return StudioName(id_, shown)


def studios_in(connection: Connection) -> list[tuple[StudioName, int, int]]:
    """All studios by id, each with the numbers of its teachers and students."""

    def those(role: str) -> list[tuple[str, int]]:
        query = select(people.c.studio, func.count()).where(people.c.role == role).group_by(people.c.studio)
        return [(row[0], row[1]) for row in connection.execute(query)]

    teachers, students = dict(those("teacher")), dict(those("student"))
    rows = connection.execute(select(studios.c.id, studios.c.name).order_by(studios.c.id))
    return [(StudioName(id_, name), teachers.get(id_, 0), students.get(id_, 0)) for id_, name in rows]


def known_studio(connection: Connection, id: str) -> StudioName | None:  # noqa: A002 - it is called so
    """The studio of an id; None where there is none."""
    row = connection.execute(select(studios.c.id, studios.c.name).where(studios.c.id == id)).one_or_none()
    return None if row is None else StudioName(row.id, row.name)


def add_person(
    connection: Connection,
    id: str,  # noqa: A002
    name: str,
    role: MemberRole,
    studio: StudioName,
    when: str,
) -> Person:
    """Put somebody into a studio, and among the players.

    Args:
        connection: of the store; the transaction is of no use any more when an error is raised.
        id: of the person, as nobody has it.
        name: as it was typed.
        role: theirs.
        studio: where.
        when: now.

    Raises:
        InputError: when the name is none, or somebody there has it.
    """
    shown = read_name(name)
    row = {"id": id, "studio": studio.id, "role": role, "name": shown, "folded": folded(shown), "began": when}
    try:
        connection.execute(insert(people).values(row))
    except IntegrityError as error:
        raise InputError(f"somebody in {studio.name} is called {shown} already", cure="choose another name") from error
    add_player(connection, id, shown, when)
    return Person(id, shown, role, studio)


def person_of_id(connection: Connection, id: str) -> Person | None:  # noqa: A002
    """Somebody by their id; None where there is nobody of that id."""
    row = connection.execute(select(*PERSON).select_from(WITH_STUDIO).where(people.c.id == id)).mappings().one_or_none()
    return None if row is None else to_person(row)


def person_named(connection: Connection, studio: str, name: str) -> Person | None:
    """Somebody by the id of their studio and their name, however it is written; None where nobody is called so."""
    query = select(*PERSON).select_from(WITH_STUDIO).where(people.c.studio == studio, people.c.folded == folded(name))
    row = connection.execute(query).mappings().one_or_none()
    return None if row is None else to_person(row)


def members_of(connection: Connection, studio: str) -> list[Member]:
    """All of a studio: teachers first, each by name."""

    def number(table: Table) -> Label[int]:
        theirs = select(func.count()).where(table.c.person == people.c.id)
        return theirs.scalar_subquery().label(table.name)

    last = select(func.max(passes.c.began)).where(passes.c.player == people.c.id).scalar_subquery()
    query = (
        select(*PERSON, people.c.began, last.label("practised"), number(devices), number(passwords), number(passkeys))
        .select_from(WITH_STUDIO)
        .where(people.c.studio == studio)
        .order_by(people.c.role.desc(), people.c.folded)
    )
    return [
        Member(
            to_person(row),
            row["began"],
            row["practised"],
            row["devices"],
            row["passwords"] > 0,
            row["passkeys"],
        )
        for row in connection.execute(query).mappings()
    ]
