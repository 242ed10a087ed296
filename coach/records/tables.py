"""The tables of the records, as they are now; :mod:`coach.records.migrations` brings older files here.

Times are text, RFC 3339 in UTC with ``Z``, so that they sort as they follow one another in every database; a day is the
date at the player's place. Tempos are quarters a minute of the solo's notation. A pass is named by its session folder
and its number there, which is where its take lies.
"""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

__all__ = ["Numbers", "curves", "ladders", "measures", "metadata", "passes", "players", "settings", "sittings", "tunes"]

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Numbers(TypeDecorator[tuple[int, ...]]):
    """Whole numbers as text, with a blank between."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: tuple[int, ...] | None, dialect: Dialect) -> str:  # noqa: ARG002 - its signature
        """Write them."""
        return " ".join(map(str, value or ()))

    def process_result_value(self, value: str | None, dialect: Dialect) -> tuple[int, ...]:  # noqa: ARG002
        """Read them."""
        return tuple(map(int, (value or "").split()))


class _Repeats(TypeDecorator[Mapping[int, int]]):
    """Whole numbers by whole numbers as text, ``9=1 10=2``."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Mapping[int, int] | None, dialect: Dialect) -> str:  # noqa: ARG002
        return " ".join(f"{number}={first}" for number, first in sorted((value or {}).items()))

    def process_result_value(self, value: str | None, dialect: Dialect) -> Mapping[int, int]:  # noqa: ARG002
        pairs = (pair.split("=") for pair in (value or "").split())
        return {int(number): int(first) for number, first in pairs}


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
    Column("repeats", _Repeats, nullable=False),
)

passes = Table(
    "passes",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("player", ForeignKey("players.id", ondelete="CASCADE"), nullable=False),
    Column("tune", ForeignKey("tunes.id"), nullable=False),
    Column("digest", String(64), nullable=False),
    Column("tier", String(16), nullable=False),
    Column("mix", Numbers, nullable=False),
    Column("kind", String(8), nullable=False),
    Column("tempo", Float, nullable=False),
    Column("goal", Float, nullable=False),
    Column("first", Integer, nullable=False),
    Column("last", Integer, nullable=False),
    Column("began", String(32), nullable=False),
    Column("day", String(10), nullable=False),
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
    CheckConstraint("kind in ('whole', 'part', 'spot', 'warm-up', 'known', 'jam')", name="kind"),
    Index("ix_passes_player_began", "player", "began"),
    # All that the minutes of each day need lies in the index.
    Index("ix_passes_player_day", "player", "day", "tune", "seconds"),
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
    # By far the most rows: without a number of its own each takes a third less of a SQLite file.
    sqlite_with_rowid=False,
)

curves = Table(
    "curves",
    metadata,
    Column("player", ForeignKey("players.id", ondelete="CASCADE"), primary_key=True),
    Column("tune", ForeignKey("tunes.id"), primary_key=True),
    Column("tier", String(16), primary_key=True),
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

sittings = Table(
    "sittings",
    metadata,
    Column("player", ForeignKey("players.id", ondelete="CASCADE"), primary_key=True),
    Column("began", String(32), primary_key=True),
    Column("planned", Float),
    Column("minutes", Float, nullable=False),
    Column("tempo", Float),
)
