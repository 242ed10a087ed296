"""Invitations: links that let somebody into a studio, once, within some days.

An invitation for somebody who is there already gives access back: whoever takes it is that person, and what they came
in by before holds no more.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import cast

from sqlalchemy import Connection, RowMapping, delete, insert, select, update

from coach.errors import InputError
from coach.records.played import moment
from coach.records.studio_tables import invitations, people, studios
from coach.studio.devices import sign_out_everywhere
from coach.studio.members import MemberRole, add_person, person_of_id
from coach.studio.passkeys import drop_passkeys
from coach.studio.passwords import drop_password
from coach.studio.people import Person, StudioName
from coach.studio.tokens import digest_of

__all__ = [
    "KEPT_DAYS",
    "MOST_OPEN",
    "Invitation",
    "invitations_of",
    "invite",
    "look_at",
    "sweep_invitations",
    "take",
    "withdraw",
]

KEPT_DAYS = 7
"""Days for which it is told of an invitation that it was used or ran out."""

MOST_OPEN = 200
"""Invitations of a studio that wait to be taken."""


@dataclass(frozen=True, slots=True)
class Invitation:
    """An invitation.

    Attributes:
        id: of the invitation.
        studio: into which.
        role: of whoever takes it.
        person: to whom it gives access back; None where somebody new comes.
        by: the name of the teacher who made it; empty where it was not one.
        made, expires: when.
        used: when it was taken; None where it was not.
    """

    id: str
    studio: StudioName
    role: MemberRole
    person: Person | None
    by: str
    made: str
    expires: str
    used: str | None


def invite(
    connection: Connection,
    studio: StudioName,
    role: MemberRole,
    *,
    id: str,  # noqa: A002 - it is called so
    token: str,
    when: datetime,
    days: int,
    person: Person | None = None,
    by: Person | None = None,
) -> Invitation:
    """Make an invitation; an older one that gives the same person access back is withdrawn.

    Args:
        connection: of the store.
        studio: into which.
        role: of whoever takes it.
        id: of the invitation, as no other has it.
        token: that opens it.
        when: now.
        days: for how many it holds.
        person: to whom it gives access back.
        by: the teacher who makes it.

    Raises:
        InputError: when too many wait to be taken.
    """
    now = moment(when)
    if person is not None:
        connection.execute(delete(invitations).where(invitations.c.person == person.id, invitations.c.used.is_(None)))
    waiting = [each for each in invitations_of(connection, studio) if each.used is None and each.expires > now]
    if len(waiting) >= MOST_OPEN:
        raise InputError(f"{MOST_OPEN} invitations wait to be taken", cure="withdraw some of them")
    made = Invitation(
        id,
        studio,
        role if person is None else cast(MemberRole, person.role),
        person,
        "" if by is None else by.name,
        now,
        moment(when + timedelta(days=days)),
        None,
    )
    row = {
        "id": id,
        "studio": studio.id,
        "role": made.role,
        "person": None if person is None else person.id,
        "by": None if by is None else by.id,
        "digest": digest_of(token),
        "made": made.made,
        "expires": made.expires,
    }
    connection.execute(insert(invitations).values(row))
    return made


def look_at(connection: Connection, token: str, when: datetime) -> Invitation:
    """The invitation that a token opens.

    Raises:
        InputError: when it opens none, or one that was used or has expired.
    """
    row = connection.execute(_QUERY.where(invitations.c.digest == digest_of(token))).mappings().one_or_none()
    if row is None:
        raise InputError("this is no invitation, or it was withdrawn", cure="ask your teacher for another link")
    found = _invitation(connection, row)
    if found.used is not None:
        raise InputError("this invitation was used", cure="sign in, or ask your teacher for another link")
    if found.expires <= moment(when):
        raise InputError("this invitation has expired", cure="ask your teacher for another link")
    return found


def take(connection: Connection, token: str, name: str, *, id: str, when: datetime) -> tuple[Person, bool]:  # noqa: A002
    """Take an invitation: whoever does is in the studio.

    Args:
        connection: of the store.
        token: that opens the invitation.
        name: of somebody new, as it was typed; that of somebody who is there already stays.
        id: of somebody new.
        when: now.

    Returns:
        who it is, and whether they were there already; all their devices are signed out then.

    Raises:
        InputError: when it opens none that can be taken, or the name cannot be had; nothing is to be kept then.
    """
    found = look_at(connection, token, when)
    # Of two who take it at once the database lets one find it unused.
    taken = update(invitations).where(invitations.c.id == found.id, invitations.c.used.is_(None))
    if connection.execute(taken.values(used=moment(when))).rowcount != 1:
        raise InputError("this invitation was used", cure="sign in, or ask your teacher for another link")
    if found.person is None:
        return add_person(connection, id, name, found.role, found.studio, moment(when)), False
    sign_out_everywhere(connection, found.person.id)
    drop_password(connection, found.person.id)
    drop_passkeys(connection, found.person.id)
    return found.person, True


def withdraw(connection: Connection, studio: str, id: str) -> bool:  # noqa: A002
    """Withdraw an invitation of a studio; False where there is none of that id that was not used."""
    gone = delete(invitations).where(
        invitations.c.id == id, invitations.c.studio == studio, invitations.c.used.is_(None)
    )
    return connection.execute(gone).rowcount > 0


def invitations_of(connection: Connection, studio: StudioName) -> list[Invitation]:
    """The invitations of a studio, the latest first."""
    query = _QUERY.where(invitations.c.studio == studio.id)
    rows = connection.execute(query.order_by(invitations.c.made.desc(), invitations.c.id)).mappings().all()
    return [_invitation(connection, row) for row in rows]


def sweep_invitations(connection: Connection, when: datetime) -> None:
    """Take out those that expired :data:`KEPT_DAYS` ago."""
    gone = moment(when - timedelta(days=KEPT_DAYS))
    connection.execute(delete(invitations).where(invitations.c.expires < gone))


_QUERY = select(
    invitations.c.id,
    invitations.c.role,
    invitations.c.person,
    invitations.c.made,
    invitations.c.expires,
    invitations.c.used,
    studios.c.id.label("studio"),
    studios.c.name.label("studio_name"),
    people.c.name.label("by_name"),
).select_from(
    invitations.join(studios, invitations.c.studio == studios.c.id).outerjoin(people, invitations.c.by == people.c.id)
)


def _invitation(connection: Connection, row: RowMapping) -> Invitation:
    return Invitation(
        row["id"],
        StudioName(row["studio"], row["studio_name"]),
        row["role"],
        None if row["person"] is None else person_of_id(connection, row["person"]),
        row["by_name"] or "",
        row["made"],
        row["expires"],
        row["used"],
    )
