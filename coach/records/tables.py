"""The tables of the records, as they are now; :mod:`coach.records.migrations` brings older files here.

Times are text, RFC 3339 in UTC with ``Z``, so that they sort as they follow one another in every database. Tempos are
quarters a minute of the solo's notation. A pass is named by its session folder and its number there, which is where its
take lies.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

__all__ = ["curves", "ladders", "measures", "metadata", "passes", "players", "settings", "tunes"]

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

players = Table(
    "players",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("name", Text, nullable=False),
    Column("began", String(32), nullable=False),
)

tunes = Table(
    "tunes",
    metadata,
    Column("id", String(80), primary_key=True),
    Column("title", Text, nullable=False),
)

passes = Table(
    "passes",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("player", ForeignKey("players.id", ondelete="CASCADE"), nullable=False),
    Column("tune", ForeignKey("tunes.id"), nullable=False),
    Column("digest", String(64), nullable=False),
    Column("tier", String(16), nullable=False),
    Column("tempo", Float, nullable=False),
    Column("goal", Float, nullable=False),
    Column("first", Integer, nullable=False),
    Column("last", Integer, nullable=False),
    Column("began", String(32), nullable=False),
    Column("seconds", Float, nullable=False),
    Column("whole", Boolean, nullable=False),
    Column("clean", Boolean, nullable=False),
    Column("judged", String(8), nullable=False),
    Column("kept_going", Boolean),
    Column("folder", String(80), nullable=False),
    Column("number", Integer, nullable=False),
    Column("scoring", Integer, nullable=False),
    UniqueConstraint("folder", "number"),
    CheckConstraint("tempo > 0", name="tempo"),
    CheckConstraint("judged in ('heard', 'marked', 'freely')", name="judged"),
    Index("ix_passes_player_began", "player", "began"),
    Index("ix_passes_player_tune", "player", "tune", "began"),
)

measures = Table(
    "measures",
    metadata,
    Column("pass", ForeignKey("passes.id", ondelete="CASCADE"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("expected", Integer, nullable=False),
    Column("played", Integer, nullable=False),
    Column("wrong", Integer, nullable=False),
    Column("extra", Integer, nullable=False),
    Column("off_time", Integer, nullable=False),
    Column("mean_offset_ms", Float),
    Column("clean", Boolean, nullable=False),
)

curves = Table(
    "curves",
    metadata,
    Column("player", ForeignKey("players.id", ondelete="CASCADE"), primary_key=True),
    Column("digest", String(64), primary_key=True),
    Column("measure", Integer, primary_key=True),
    Column("passes", Integer, nullable=False),
    Column("updated", String(32), nullable=False),
    Column("weights", LargeBinary, nullable=False),
)

ladders = Table(
    "ladders",
    metadata,
    Column("player", ForeignKey("players.id", ondelete="CASCADE"), primary_key=True),
    Column("tune", ForeignKey("tunes.id"), primary_key=True),
    Column("state", Text, nullable=False),
    Column("updated", String(32), nullable=False),
)

settings = Table(
    "settings",
    metadata,
    Column("player", ForeignKey("players.id", ondelete="CASCADE"), primary_key=True),
    Column("name", String(40), primary_key=True),
    Column("value", Text, nullable=False),
)
