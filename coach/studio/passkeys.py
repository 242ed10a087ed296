"""Passkeys in the records: of each the public key, and how often it says that it was used."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, delete, insert, select, update
from sqlalchemy.exc import IntegrityError

from coach.errors import InputError
from coach.records.studio_tables import passkeys

__all__ = [
    "MOST_PASSKEYS",
    "Passkey",
    "add_passkey",
    "drop_passkeys",
    "note_used",
    "passkey_of_credential",
    "passkeys_of",
    "remove_passkey",
]

MOST_PASSKEYS = 10
"""Passkeys of one person."""


@dataclass(frozen=True, slots=True)
class Passkey:
    """A passkey.

    Attributes:
        id: in the records.
        person: the id of the one who has it.
        credential: the id that its authenticator gave it.
        public_key: as COSE bytes (RFC 9052).
        count: its signature counter when it was used last; 0 where it has none.
        name: that its owner gave it.
        added: when.
    """

    id: str
    person: str
    credential: bytes
    public_key: bytes
    count: int
    name: str
    added: str


def add_passkey(connection: Connection, passkey: Passkey) -> None:
    """Keep a passkey.

    Raises:
        InputError: when it is kept already, or its owner has too many.
    """
    if len(passkeys_of(connection, passkey.person)) >= MOST_PASSKEYS:
        raise InputError(f"you have {MOST_PASSKEYS} passkeys already", cure="remove one first")
    try:
        connection.execute(
            insert(passkeys).values({column.name: getattr(passkey, column.name) for column in passkeys.columns})
        )
    except IntegrityError as error:
        raise InputError("this passkey is known already", cure="sign in with it") from error


def passkeys_of(connection: Connection, person: str) -> list[Passkey]:
    """The passkeys of somebody, the oldest first."""
    rows = connection.execute(
        select(passkeys).where(passkeys.c.person == person).order_by(passkeys.c.added, passkeys.c.id)
    )
    return [Passkey(**row) for row in rows.mappings()]


def passkey_of_credential(connection: Connection, credential: bytes) -> Passkey | None:
    """The passkey of that id of an authenticator; None where there is none."""
    row = connection.execute(select(passkeys).where(passkeys.c.credential == credential)).mappings().one_or_none()
    return None if row is None else Passkey(**row)


def note_used(connection: Connection, id: str, count: int) -> None:  # noqa: A002 - it is called so
    """Note how far the signature counter of a passkey is."""
    connection.execute(update(passkeys).where(passkeys.c.id == id).values(count=count))


def remove_passkey(connection: Connection, person: str, id: str) -> bool:  # noqa: A002
    """Take a passkey of somebody away; False where they have none of that id."""
    return connection.execute(delete(passkeys).where(passkeys.c.id == id, passkeys.c.person == person)).rowcount > 0


def drop_passkeys(connection: Connection, person: str) -> None:
    """Take all passkeys of somebody away."""
    connection.execute(delete(passkeys).where(passkeys.c.person == person))
