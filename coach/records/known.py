"""What is known of a player besides passes: curves, where the ladder stands, settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import Connection, Table, delete, insert, select

from coach.records.tables import curves, ladders, settings

__all__ = [
    "KnownCurve",
    "curves_of",
    "keep_curves",
    "keep_ladder",
    "keep_settings",
    "ladder_of",
    "settings_of",
]


@dataclass(frozen=True, slots=True)
class KnownCurve:
    """A curve of one measure of a solo: its bytes are the ladder's own, and say nothing here.

    Attributes:
        weights: the bytes.
        passes: how many it rests on.
        updated: the moment of the last of them.
    """

    weights: bytes
    passes: int
    updated: str


def curves_of(connection: Connection, player: str, digest: str) -> dict[int, KnownCurve]:
    """The curves of a solo, by the number of the measure."""
    query = select(curves.c.measure, curves.c.weights, curves.c.passes, curves.c.updated)
    rows = connection.execute(query.where(curves.c.player == player, curves.c.digest == digest))
    return {measure: KnownCurve(weights, passes, updated) for measure, weights, passes, updated in rows}


def keep_curves(connection: Connection, player: str, digest: str, known: Mapping[int, KnownCurve]) -> None:
    """Keep curves in place of those of the same measures; the player is one of the records."""
    rows = [
        {
            "player": player,
            "digest": digest,
            "measure": measure,
            "passes": each.passes,
            "updated": each.updated,
            "weights": each.weights,
        }
        for measure, each in known.items()
    ]
    if rows:
        connection.execute(
            delete(curves).where(
                curves.c.player == player, curves.c.digest == digest, curves.c.measure.in_(list(known))
            )
        )
        connection.execute(insert(curves), rows)


def ladder_of(connection: Connection, player: str, tune: str) -> str | None:
    """Where the ladder of a tune stands, as the text that was kept; None where it was never climbed."""
    query = select(ladders.c.state).where(ladders.c.player == player, ladders.c.tune == tune)
    return connection.execute(query).scalar()


def keep_ladder(connection: Connection, player: str, tune: str, state: str, updated: str) -> None:
    """Keep where the ladder of a tune stands; player and tune are among the records."""
    _put(connection, ladders, {"player": player, "tune": tune}, {"state": state, "updated": updated})


def settings_of(connection: Connection, player: str) -> dict[str, str]:
    """The settings of a player, each as the text that was kept."""
    query = select(settings.c.name, settings.c.value).where(settings.c.player == player)
    return {row.name: row.value for row in connection.execute(query)}


def keep_settings(connection: Connection, player: str, told: Mapping[str, str]) -> None:
    """Keep settings in place of those of the same names; the player is one of the records."""
    for name, value in told.items():
        _put(connection, settings, {"player": player, "name": name}, {"value": value})


def _put(connection: Connection, table: Table, key: Mapping[str, str], values: Mapping[str, str]) -> None:
    connection.execute(delete(table).where(*(table.c[name] == value for name, value in key.items())))
    connection.execute(insert(table).values({**key, **values}))
