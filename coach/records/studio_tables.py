"""The tables of studios: people, how they come in, and what teachers leave for students.

Ids of people are those of players too; somebody who is forgotten takes all of it along. Secrets are never kept, only
what tells whether one is right: SHA-256 of tokens (which are random and long), Argon2id of passwords, public keys.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    String,
    Table,
    Text,
    UniqueConstraint,
)

from coach.records.tables import Numbers, metadata

__all__ = [
    "assignments",
    "consents",
    "devices",
    "findings",
    "invitations",
    "metadata",
    "passkeys",
    "passwords",
    "people",
    "pins",
    "studios",
]

studios = Table(
    "studios",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("name", Text, nullable=False),
    Column("began", String(32), nullable=False),
)

people = Table(
    "people",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("studio", ForeignKey("studios.id", ondelete="CASCADE"), nullable=False),
    Column("role", String(8), nullable=False),
    Column("name", Text, nullable=False),
    # The name as it is compared: case-folded, in normal form KC.
    Column("folded", Text, nullable=False),
    Column("began", String(32), nullable=False),
    UniqueConstraint("studio", "folded"),
    CheckConstraint("role in ('teacher', 'student')", name="role"),
)

invitations = Table(
    "invitations",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("studio", ForeignKey("studios.id", ondelete="CASCADE"), nullable=False),
    Column("role", String(8), nullable=False),
    # For whom, where somebody who lost access is given it back; null for somebody new.
    Column("person", ForeignKey("people.id", ondelete="CASCADE")),
    # Who invited; null for the service itself.
    Column("by", ForeignKey("people.id", ondelete="CASCADE")),
    Column("digest", String(64), nullable=False),
    Column("made", String(32), nullable=False),
    Column("expires", String(32), nullable=False),
    Column("used", String(32)),
    UniqueConstraint("digest"),
    CheckConstraint("role in ('teacher', 'student')", name="role"),
)

devices = Table(
    "devices",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("person", ForeignKey("people.id", ondelete="CASCADE"), nullable=False),
    Column("digest", String(64), nullable=False),
    # What it calls itself, in a few words: "Firefox on Android".
    Column("name", Text, nullable=False),
    Column("began", String(32), nullable=False),
    Column("seen", String(32), nullable=False),
    UniqueConstraint("digest"),
    Index("ix_devices_person", "person"),
)

passwords = Table(
    "passwords",
    metadata,
    Column("person", ForeignKey("people.id", ondelete="CASCADE"), primary_key=True),
    Column("hash", Text, nullable=False),
    Column("changed", String(32), nullable=False),
)

passkeys = Table(
    "passkeys",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("person", ForeignKey("people.id", ondelete="CASCADE"), nullable=False),
    Column("credential", LargeBinary, nullable=False),
    Column("public_key", LargeBinary, nullable=False),
    # Unsigned, of 32 bits (Web Authentication Level 2, section 6.1).
    Column("count", BigInteger, nullable=False),
    Column("name", Text, nullable=False),
    Column("added", String(32), nullable=False),
    UniqueConstraint("credential"),
    Index("ix_passkeys_person", "person"),
)

consents = Table(
    "consents",
    metadata,
    Column("person", ForeignKey("people.id", ondelete="CASCADE"), primary_key=True),
    # Of the words that were agreed to.
    Column("version", String(20), primary_key=True),
    Column("given", String(32), nullable=False),
    # Whether a parent or guardian agreed for them.
    Column("guardian", Boolean, nullable=False),
)

assignments = Table(
    "assignments",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("student", ForeignKey("people.id", ondelete="CASCADE"), nullable=False),
    Column("by", ForeignKey("people.id", ondelete="SET NULL")),
    Column("made", String(32), nullable=False),
    Column("tune", String(80), nullable=False),
    Column("title", Text, nullable=False),
    Column("tier", String(16), nullable=False),
    Column("mix", Numbers, nullable=False),
    Column("goal", Float, nullable=False),
    # The last day, as a date; null where there is none.
    Column("until", String(10)),
    # The ladder's rules for this student; null where they are the student's own.
    Column("policy", String(16)),
    Column("step", Float),
    Column("clean_needed", Integer),
    Column("tolerance_ms", Float),
    # Not above this tempo, until this date (null: as long as the assignment lasts).
    Column("cap", Float),
    Column("cap_until", String(10)),
    Column("words", Text, nullable=False),
    Column("ended", String(32)),
    Index("ix_assignments_student", "student"),
)

pins = Table(
    "pins",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("student", ForeignKey("people.id", ondelete="CASCADE"), nullable=False),
    Column("by", ForeignKey("people.id", ondelete="SET NULL")),
    Column("made", String(32), nullable=False),
    Column("tune", String(80), nullable=False),
    # As it is played: the same number in all tiers of the tune.
    Column("measure", Integer, nullable=False),
    Column("words", Text, nullable=False),
    Column("seen", String(32)),
    Index("ix_pins_student_tune", "student", "tune"),
)

findings = Table(
    "findings",
    metadata,
    Column("pass", ForeignKey("passes.id", ondelete="CASCADE"), primary_key=True),
    # Habits that were found in a pass, the most costly first.
    Column("place", Integer, primary_key=True),
    Column("name", String(40), nullable=False),
    Column("words", Text, nullable=False),
    Column("cost", Float, nullable=False),
    sqlite_with_rowid=False,
)
