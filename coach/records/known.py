"""What is known of a player besides passes: curves, where ladders stand, settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, Table, select
from sqlalchemy.dialects import postgresql, sqlite

from coach.records.tables import curves, ladders, settings

__all__ = [
    "KnownCurve",
    "KnownLadder",
    "curves_of",
    "keep_curves",
    "keep_ladder",
    "keep_settings",
    "ladders_of",
    "settings_of",
]


@dataclass(frozen=True, slots=True)
class KnownCurve:
    """The curve of one measure: its bytes are the ladder's own, and say nothing here.

    Attributes:
        weights: the bytes.
        passes: how many it rests on.
        updated: the moment of the last of them.
    """

    weights: bytes
    passes: int
    updated: str


@dataclass(frozen=True, slots=True)
class KnownLadder:
    """Where the ladder of a tune stands.

    Attributes:
        state: the JSON text that was kept.
        updated: the moment of the last pass before it was.
    """

    state: str
    updated: str


def curves_of(connection: Connection, player: str, tune: str) -> dict[str, dict[int, KnownCurve]]:
    """The curves of a tune, by tier and then by the number of the measure; only those that were kept."""
    query = (
        select(curves.c.tier, curves.c.measure, curves.c.weights, curves.c.passes, curves.c.updated)
        .where(curves.c.player == player, curves.c.tune == tune)
        .order_by(curves.c.tier, curves.c.measure)
    )
    found: dict[str, dict[int, KnownCurve]] = {}
    for tier, measure, weights, passes, updated in connection.execute(query):
        found.setdefault(tier, {})[measure] = KnownCurve(weights, passes, updated)
    return found


def keep_curves(connection: Connection, player: str, tune: str, known: Mapping[str, Mapping[int, KnownCurve]]) -> None:
    """Keep curves, by tier and measure, in place of those of the same measures; player and tune are in the records."""
    rows = [
        {
            "player": player,
            "tune": tune,
            "tier": tier,
            "measure": measure,
            "passes": each.passes,
            "updated": each.updated,
            "weights": each.weights,
        }
        for tier, measures in known.items()
        for measure, each in measures.items()
    ]
    _put(connection, curves, rows)


def ladders_of(connection: Connection, player: str) -> dict[str, KnownLadder]:
    """The ladders of a player by tune, the one that was climbed last first."""
    query = select(ladders.c.tune, ladders.c.state, ladders.c.updated).where(ladders.c.player == player)
    rows = connection.execute(query.order_by(ladders.c.updated.desc(), ladders.c.tune))
    return {tune: KnownLadder(state, updated) for tune, state, updated in rows}


def keep_ladder(connection: Connection, player: str, tune: str, state: str, updated: str) -> None:
    """Keep where the ladder of a tune stands, as JSON text; player and tune are among the records."""
    _put(connection, ladders, [{"player": player, "tune": tune, "state": state, "updated": updated}])


def settings_of(connection: Connection, player: str) -> dict[str, str]:
    """The settings of a player, each as the JSON text that was kept."""
    query = select(settings.c.name, settings.c.value).where(settings.c.player == player)
    return {row.name: row.value for row in connection.execute(query)}


def keep_settings(connection: Connection, player: str, told: Mapping[str, str]) -> None:
    """Keep settings, each as JSON text, in place of those of the same names; the player is one of the records."""
    _put(connection, settings, [{"player": player, "name": name, "value": value} for name, value in told.items()])


def _put(connection: Connection, table: Table, rows: Sequence[Mapping[str, object]]) -> None:
    """Insert rows, each in place of the one of its key where there is one."""
    if not rows:
        return
    made = (postgresql if connection.dialect.name == "postgresql" else sqlite).insert(table)
    key = [column.name for column in table.primary_key]
    fresh = {column.name: made.excluded[column.name] for column in table.columns if column.name not in key}
    connection.execute(made.on_conflict_do_update(index_elements=key, set_=fresh), list(rows))
