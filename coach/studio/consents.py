"""What people of a studio agree to when they come in, and when they did."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, delete, insert, select

from coach.records.studio_tables import consents

__all__ = ["VERSION", "WORDS", "Consent", "agree", "consent_of"]

VERSION = "2026-11-26"
"""Of the words: the day they were written. It changes with them."""

WORDS = (
    "What is kept: the name you choose, what you play and when, as notes, and your progress and settings.",
    "What your teachers set and write for you is kept too. No sound and no picture is recorded.",
    "Who sees it: you and the teachers of your studio, and whoever runs the service. Other students see nothing of it.",
    "A teacher may listen while you practise. You see a sign as long as one does.",
    "How long: until you or a teacher delete it. A device that was not seen for 90 days is signed out.",
    "You can have all of it in open formats, and delete all of it, on the page of your account at any time.",
    "Where the law says that you are too young to agree alone, a parent or guardian agrees with you.",
)
"""In sentences for people."""


@dataclass(frozen=True, slots=True)
class Consent:
    """That somebody agreed.

    Attributes:
        version: to which words.
        given: when.
        guardian: whether a parent or guardian agreed too.
    """

    version: str
    given: str
    guardian: bool


def agree(connection: Connection, person: str, consent: Consent) -> None:
    """Keep that somebody agreed, in place of what they said of the same words before."""
    connection.execute(delete(consents).where(consents.c.person == person, consents.c.version == consent.version))
    connection.execute(
        insert(consents).values(person=person, version=consent.version, given=consent.given, guardian=consent.guardian)
    )


def consent_of(connection: Connection, person: str) -> Consent | None:
    """To what somebody agreed last; None where they did not."""
    query = select(consents.c.version, consents.c.given, consents.c.guardian).where(consents.c.person == person)
    row = connection.execute(query.order_by(consents.c.given.desc(), consents.c.version.desc()).limit(1)).one_or_none()
    return None if row is None else Consent(row.version, row.given, row.guardian)
