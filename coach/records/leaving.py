"""A player's records as open formats, and forgetting them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import asdict, dataclass, fields

from sqlalchemy import Connection, delete, func, select, text

from coach.ladder.curve import from_bytes, ready
from coach.records.belonging import studio_json
from coach.records.known import ladders_of, settings_of
from coach.records.played import PlayedMeasure, PlayedPass, passes_of
from coach.records.sittings import PlayedSitting, sittings_of
from coach.records.studio_tables import people
from coach.records.tables import curves, ladders, passes, players, tunes

__all__ = ["Holding", "forget", "holding_of", "player_files", "players_by_folder"]

_PASS_COLUMNS = [field.name for field in fields(PlayedPass) if field.name != "measures"]
_MEASURE_COLUMNS = [field.name for field in fields(PlayedMeasure)]
_SITTING_COLUMNS = [field.name for field in fields(PlayedSitting)]


@dataclass(frozen=True, slots=True)
class Holding:
    """How much the records have of a player.

    Attributes:
        passes: how many.
        days: on how many days.
        tunes: of how many tunes.
    """

    passes: int
    days: int
    tunes: int


def holding_of(connection: Connection, player: str) -> Holding:
    """How much the records have of a player."""
    query = select(func.count(), func.count(passes.c.day.distinct()), func.count(passes.c.tune.distinct())).where(
        passes.c.player == player
    )
    return Holding(*connection.execute(query).one())


def player_files(connection: Connection, player: str) -> dict[str, str]:
    """All that the records have of a player, as texts by the names of their files.

    ``player.json`` has everything but the curves, which follow from the passes: in their place are the ready tempos
    that they give. ``passes.csv``, ``measures.csv`` and ``sittings.csv`` are tables of the same (RFC 4180, with heads).
    Of somebody in a studio ``studio.json`` has what belongs to them there.
    """
    played = passes_of(connection, player)
    sat = sittings_of(connection, player)
    studio = studio_json(connection, player)
    return {
        **({} if studio is None else {"studio.json": studio}),
        "player.json": _player_json(connection, player, played, sat),
        "passes.csv": _csv(_PASS_COLUMNS, ([_cell(each, name) for name in _PASS_COLUMNS] for each in played)),
        "measures.csv": _csv(
            ["folder", "pass", *_MEASURE_COLUMNS],
            (
                [each.folder, each.number, *(_cell(measure, name) for name in _MEASURE_COLUMNS)]
                for each in played
                for measure in each.measures
            ),
        ),
        "sittings.csv": _csv(_SITTING_COLUMNS, ([_cell(each, name) for name in _SITTING_COLUMNS] for each in sat)),
    }


def players_by_folder(connection: Connection) -> dict[str, str]:
    """Whose each session folder is, by its name, as far as passes tell."""
    rows = connection.execute(select(passes.c.folder, passes.c.player).distinct())
    return {row.folder: row.player for row in rows}


def forget(connection: Connection, player: str) -> bool:
    """Take a player and all that hangs on them out of the records and out of their studio, and tunes that nobody else
    played.

    In SQLite what was there is overwritten.

    Returns:
        whether there was such a player.
    """
    if connection.dialect.name == "sqlite":
        connection.execute(text("PRAGMA secure_delete=ON"))
    was_there = connection.execute(delete(players).where(players.c.id == player)).rowcount > 0
    connection.execute(delete(people).where(people.c.id == player))
    kept = (select(table.c.tune) for table in (passes, ladders, curves))
    connection.execute(delete(tunes).where(*(tunes.c.id.not_in(each) for each in kept)))
    return was_there


def _player_json(
    connection: Connection, player: str, played: Iterable[PlayedPass], sat: Iterable[PlayedSitting]
) -> str:
    row = connection.execute(select(players).where(players.c.id == player)).one_or_none()
    whole = {
        "format": "records/1",
        "player": player,
        "name": None if row is None else row.name,
        "began": None if row is None else row.began,
        "settings": {name: json.loads(value) for name, value in sorted(settings_of(connection, player).items())},
        "ladders": [
            {"tune": tune, "updated": ladder.updated, "state": json.loads(ladder.state)}
            for tune, ladder in sorted(ladders_of(connection, player).items())
        ],
        "tunes": _tunes(connection, player),
        "ready": _ready(connection, player),
        "sittings": [asdict(each) for each in sat],
        "passes": [asdict(each) for each in played],
    }
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def _tunes(connection: Connection, player: str) -> list[dict[str, object]]:
    """The tunes that were played, and which of their measures repeat which."""
    theirs = select(passes.c.tune).where(passes.c.player == player)
    rows = connection.execute(select(tunes).where(tunes.c.id.in_(theirs)).order_by(tunes.c.id))
    return [
        {
            "id": row.id,
            "title": row.title,
            "repeats": [{"measure": number, "of": first} for number, first in row.repeats.items()],
        }
        for row in rows
    ]


def _ready(connection: Connection, player: str) -> list[dict[str, object]]:
    """The ready tempo of each measure as of its last pass, with the interval that holds it nine times in ten."""
    query = select(curves).where(curves.c.player == player)
    found: list[dict[str, object]] = []
    for row in connection.execute(query.order_by(curves.c.tune, curves.c.tier, curves.c.measure)):
        with suppress(ValueError):  # a curve that cannot be read is measured anew
            at = asdict(ready(from_bytes(row.weights, row.passes)))
            found.append(
                {
                    "tune": row.tune,
                    "tier": row.tier,
                    "measure": row.measure,
                    "passes": row.passes,
                    "updated": row.updated,
                    **{name: round(tempo, 1) for name, tempo in at.items()},
                }
            )
    return found


def _cell(record: PlayedPass | PlayedMeasure | PlayedSitting, name: str) -> object:
    value = getattr(record, name)
    return " ".join(map(str, value)) if isinstance(value, tuple) else value


def _csv(head: list[str], rows: Iterable[list[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()
