"""Passwords, for coming back without a passkey: kept as Argon2id hashes.

References:
    RFC 9106 (Argon2); its cost is that of the OWASP Password Storage Cheat Sheet's second row, from memory: the service
    that clicks must not be short of its cores. NIST SP 800-63B, section 5.1.1.2: at least 8 characters, in normal form
    KC, no rules of composition, but none that are guessed first.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

from sqlalchemy import Connection, delete, insert, select

from coach.errors import InputError
from coach.records.studio_tables import passwords
from coach.studio.names import folded

if TYPE_CHECKING:
    from argon2 import PasswordHasher

__all__ = [
    "LONGEST",
    "SHORTEST",
    "drop_password",
    "hash_kept",
    "hash_of",
    "is_old",
    "is_right",
    "keep_hash",
    "nobodys_hash",
    "read_password",
]

SHORTEST = 8
LONGEST = 200
_FEWEST_DIFFERENT = 5
_GUESSED_FIRST = (
    "password",
    "passwort",
    "12345",
    "23456",
    "34567",
    "abcdef",
    "qwert",
    "letmein",
    "iloveyou",
    "banjo123",
)


def read_password(text: str, name: str) -> str:
    """A new password in normal form.

    Args:
        text: as it was typed.
        name: of the person.

    Raises:
        InputError: when it is too short or long, or among the first that are guessed.
    """
    password = unicodedata.normalize("NFKC", text)
    if not SHORTEST <= len(password) <= LONGEST:
        raise InputError(
            f"the password has {len(password)} characters", cure=f"take {SHORTEST} to {LONGEST}: some words do well"
        )
    # A shorter name is part of too many words.
    plain, own = folded(password), folded(name)
    if len(set(plain)) < _FEWEST_DIFFERENT or (len(own) > 2 and own in plain):
        raise InputError("the password is too easy to guess", cure="take some words that have nothing to do with you")
    if any(each in plain for each in _GUESSED_FIRST):
        raise InputError("the password is among the first that are guessed", cure="take some words of your own")
    return password


def hash_of(password: str) -> str:
    """The hash of a password; it takes its time, so ask off the event loop."""
    return _hasher().hash(password)


def is_right(kept: str, text: str) -> bool:
    """Whether a hash is that of a password as it was typed; it takes its time."""
    from argon2.exceptions import Argon2Error, InvalidHashError

    try:
        return _hasher().verify(kept, unicodedata.normalize("NFKC", text))
    except (Argon2Error, InvalidHashError):
        return False


def is_old(kept: str) -> bool:
    """Whether a hash was made at another cost than that of now."""
    return _hasher().check_needs_rehash(kept)


@lru_cache(maxsize=1)
def nobodys_hash() -> str:
    """The hash that is asked where nobody has one, so that it takes as long; no password is right."""
    import secrets

    return hash_of(secrets.token_urlsafe(32))


def hash_kept(connection: Connection, person: str) -> str | None:
    """The hash of somebody; None where they have no password."""
    return connection.execute(select(passwords.c.hash).where(passwords.c.person == person)).scalar_one_or_none()


def keep_hash(connection: Connection, person: str, hashed: str, when: str) -> None:
    """Keep the hash of somebody, in place of the one before."""
    drop_password(connection, person)
    connection.execute(insert(passwords).values(person=person, hash=hashed, changed=when))


def drop_password(connection: Connection, person: str) -> None:
    """Take the password of somebody away."""
    connection.execute(delete(passwords).where(passwords.c.person == person))


@lru_cache(maxsize=1)
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=2, memory_cost=19_456, parallelism=1)
