"""A player's records as open formats, and forgetting them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from dataclasses import asdict, fields

from sqlalchemy import Connection, delete, select

from coach.records.known import settings_of
from coach.records.played import PlayedMeasure, PlayedPass, passes_of
from coach.records.tables import ladders, players

__all__ = ["folders_of", "forget", "measures_csv", "passes_csv", "player_json"]

_PASS_COLUMNS = [field.name for field in fields(PlayedPass) if field.name != "measures"]
_MEASURE_COLUMNS = [field.name for field in fields(PlayedMeasure)]


def passes_csv(played: list[PlayedPass]) -> str:
    """Passes as comma-separated values (RFC 4180), a line each, with a head."""
    return _csv(_PASS_COLUMNS, ([getattr(each, name) for name in _PASS_COLUMNS] for each in played))


def measures_csv(played: list[PlayedPass]) -> str:
    """The measures of passes, a line each, with folder and number of their pass in front."""
    return _csv(
        ["folder", "pass", *_MEASURE_COLUMNS],
        (
            [each.folder, each.number, *(getattr(measure, name) for name in _MEASURE_COLUMNS)]
            for each in played
            for measure in each.measures
        ),
    )


def player_json(connection: Connection, player: str) -> str:
    """All that the records have of a player: name, passes with measures, ladders, settings.

    Curves are left out: they follow from the passes.
    """
    row = connection.execute(select(players).where(players.c.id == player)).one_or_none()
    stands = connection.execute(select(ladders).where(ladders.c.player == player).order_by(ladders.c.tune)).all()
    whole = {
        "format": "records/1",
        "player": player,
        "name": None if row is None else row.name,
        "began": None if row is None else row.began,
        "passes": [asdict(each) for each in passes_of(connection, player)],
        "ladders": [{"tune": each.tune, "updated": each.updated, "state": json.loads(each.state)} for each in stands],
        "settings": {name: json.loads(value) for name, value in sorted(settings_of(connection, player).items())},
    }
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def folders_of(connection: Connection, player: str) -> list[str]:
    """The session folders that a player's passes lie in, each once, in order."""
    return list(dict.fromkeys(each.folder for each in passes_of(connection, player)))


def forget(connection: Connection, player: str) -> bool:
    """Take a player and all that hangs on them out of the records; tells whether there was one."""
    return connection.execute(delete(players).where(players.c.id == player)).rowcount > 0


def _csv(head: list[str], rows: Iterable[list[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()
