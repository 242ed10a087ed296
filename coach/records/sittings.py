"""Sittings in the records: how long a player practised at a time, and how fast."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from sqlalchemy import Connection, delete, insert, select

from coach.records.tables import sittings

__all__ = ["PlayedSitting", "keep_sitting", "last_sitting", "sittings_of"]


@dataclass(frozen=True, slots=True)
class PlayedSitting:
    """A sitting.

    Attributes:
        player: whose.
        began: when, RFC 3339 in UTC.
        planned: the minutes that there were; None where it was open.
        minutes: that were played, >= 0.
        tempo: the fastest of its passes, quarters a minute; None where there was none.
    """

    player: str
    began: str
    planned: float | None
    minutes: float
    tempo: float | None


def keep_sitting(connection: Connection, sitting: PlayedSitting) -> None:
    """Keep a sitting as far as it has gone, in place of what was kept of it; the player is one of the records."""
    same = (sittings.c.player == sitting.player, sittings.c.began == sitting.began)
    connection.execute(delete(sittings).where(*same))
    connection.execute(insert(sittings), asdict(sitting))


def sittings_of(connection: Connection, player: str) -> list[PlayedSitting]:
    """The sittings of a player, the oldest first."""
    rows = connection.execute(select(sittings).where(sittings.c.player == player).order_by(sittings.c.began))
    return [PlayedSitting(*row) for row in rows]


def last_sitting(connection: Connection, player: str, *, minutes: float) -> PlayedSitting | None:
    """The last sitting of a player in which so many minutes were played at the least; None where there was none."""
    query = select(sittings).where(sittings.c.player == player, sittings.c.minutes >= minutes)
    row = connection.execute(query.order_by(sittings.c.began.desc()).limit(1)).one_or_none()
    return None if row is None else PlayedSitting(*row)
