"""Passes in the records: writing them down, and asking for them again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Literal

from sqlalchemy import Connection, Row, Table, delete, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from coach.ladder.rungs import Kind
from coach.records.tables import measures, passes, players, tunes

__all__ = [
    "Judged",
    "PlayedMeasure",
    "PlayedPass",
    "add_pass",
    "add_player",
    "keep_repeats",
    "moment",
    "passes_of",
    "players_in",
]

PORTION = 500
"""How many passes one statement names: databases limit its values."""

Judged = Literal["heard", "marked", "freely"]
"""Whether the coach heard a pass to the click, the player marked it, or it was heard without a click."""


@dataclass(frozen=True, slots=True)
class PlayedMeasure:
    """What came of a measure of a pass; the fields are those of a report's ``measures``."""

    number: int
    expected: int
    played: int
    wrong: int
    extra: int
    off_time: int
    mean_offset_ms: float | None
    clean: bool


@dataclass(frozen=True, slots=True)
class PlayedPass:
    """A pass.

    Attributes:
        player: whose; a player who is not known yet is made.
        tune, title: of the tune.
        digest, tier: of the solo; of a mixed one the tier it came from.
        tempo, goal: of the click and of the ladder, quarters a minute.
        first, last: the numbers of its measures.
        began: when, RFC 3339 in UTC (:func:`moment`).
        day: the date at the player's place, ``2026-03-01``.
        seconds: how long it was played.
        whole, clean: as the report has it, or by the player's own mark.
        judged: by whom.
        kept_going: whether the player never stopped; None where nobody listened.
        folder, number: the session folder and the number of the pass there.
        scoring: the version of the scorer.
        kind: what it was for.
        mix: the measures that were of the next tier.
        measures: what came of each; empty where the player marked the pass.
    """

    player: str
    tune: str
    title: str
    digest: str
    tier: str
    tempo: float
    goal: float
    first: int
    last: int
    began: str
    day: str
    seconds: float
    whole: bool
    clean: bool
    judged: Judged
    folder: str
    number: int
    scoring: int
    kind: Kind = "whole"
    mix: tuple[int, ...] = ()
    kept_going: bool | None = None
    measures: tuple[PlayedMeasure, ...] = ()


def moment(when: datetime) -> str:
    """A time as the records have it: RFC 3339 in UTC, to the second.

    Raises:
        ValueError: when the time does not say where on earth it is meant.
    """
    if when.tzinfo is None:
        raise ValueError("a time needs its zone")
    return when.astimezone(UTC).replace(microsecond=0, tzinfo=None).isoformat() + "Z"


def add_player(connection: Connection, player: str, name: str, began: str) -> None:
    """Note down a player, who may be known already."""
    _ensure(connection, players, id=player, name=name, began=began)


def add_pass(connection: Connection, played: PlayedPass) -> int:
    """Note down a pass; one of the same folder and number is replaced. Returns its key in the tables."""
    add_player(connection, played.player, played.player, played.began)
    _ensure(connection, tunes, id=played.tune, title=played.title, repeats={})
    connection.execute(delete(passes).where(passes.c.folder == played.folder, passes.c.number == played.number))
    row = {column.name: getattr(played, column.name) for column in passes.columns if column.name != "id"}
    (key,) = connection.execute(insert(passes), row).inserted_primary_key or (0,)
    if played.measures:
        connection.execute(
            insert(measures),
            [
                {"pass": key}
                | {column.name: getattr(measure, column.name) for column in measures.columns if column.name != "pass"}
                for measure in played.measures
            ],
        )
    return int(key)


def keep_repeats(connection: Connection, tune: str, repeats: Mapping[int, int]) -> None:
    """Keep which measures of a tune repeat which; the tune is one of the records.

    Args:
        connection: of the store.
        tune: its id.
        repeats: the number of each measure that repeats another, with the number of that one.
    """
    connection.execute(update(tunes).where(tunes.c.id == tune).values(repeats=repeats))


def players_in(connection: Connection) -> list[str]:
    """All players of the records, by name."""
    return list(connection.execute(select(players.c.id).order_by(players.c.id)).scalars())


def passes_of(connection: Connection, player: str) -> list[PlayedPass]:
    """The passes of a player, the oldest first."""
    query = select(passes, tunes.c.title).join(tunes).where(passes.c.player == player)
    rows = connection.execute(query.order_by(passes.c.began, passes.c.id)).all()
    within = _measures_of(connection, [row.id for row in rows])
    return [_pass(row, within.get(row.id, ())) for row in rows]


def _measures_of(connection: Connection, keys: Sequence[int]) -> dict[int, tuple[PlayedMeasure, ...]]:
    found: dict[int, list[PlayedMeasure]] = {}
    for some in _portions(keys):
        rows = connection.execute(
            select(measures).where(measures.c["pass"].in_(some)).order_by(measures.c["pass"], measures.c.number)
        )
        for key, *values in rows:
            found.setdefault(key, []).append(PlayedMeasure(*values))
    return {key: tuple(each) for key, each in found.items()}


def _portions(keys: Sequence[int]) -> Iterable[Sequence[int]]:
    """In portions that a statement can hold."""
    return (keys[start : start + PORTION] for start in range(0, len(keys), PORTION))


def _pass(row: Row[tuple[object, ...]], within: tuple[PlayedMeasure, ...]) -> PlayedPass:
    values = {name: value for name, value in row._mapping.items() if name != "id"}  # noqa: SLF001 - its documented name
    return PlayedPass(**values, measures=within)


def _ensure(connection: Connection, table: Table, **values: object) -> None:
    """Insert a row where none of its key is there yet."""
    made = (postgresql if connection.dialect.name == "postgresql" else sqlite).insert(table)
    connection.execute(made.on_conflict_do_nothing(), values)
