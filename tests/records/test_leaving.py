"""A player's records in open formats, and out of the records."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from played_passes import MEASURES, a_pass
from sqlalchemy import func, select, text

from coach.ladder.curve import after_pass, begin, ready, to_bytes
from coach.records.entry import Entry, keep_entry
from coach.records.known import KnownCurve
from coach.records.leaving import Holding, forget, holding_of, player_files, players_by_folder
from coach.records.played import PlayedMeasure, PlayedPass, passes_of
from coach.records.sittings import PlayedSitting
from coach.records.store import Store, url_of
from coach.records.studio_tables import metadata
from coach.records.tables import tunes

WHEN = "2026-03-01T17:55:00Z"
CURVE = after_pass(begin(80), 84, clean=True)


def whole_entry(number: int = 1, **changes: object) -> Entry:
    """A pass with everything that it can leave behind."""
    played = a_pass(number, **changes)
    return Entry(
        played,
        {"beginner": {2: KnownCurve(to_bytes(CURVE), 1, WHEN)}},
        '{"tempo": 84}',
        {"bounce": "55", "mix": "[2]"},
        PlayedSitting(played.player, WHEN, None, 6.5, 84.0),
        {2: 1},
    )


@pytest.fixture
def two_players(store: Store) -> Store:
    """The records of two players with a tune in common and one each of their own."""
    for entry in (
        whole_entry(1, mix=(2,), kind="jam"),
        whole_entry(2, title='The "Mill", again', tune="other"),
        whole_entry(3, player="sedge", folder="hers"),
        whole_entry(4, player="sedge", folder="hers", tune="third", title="Third"),
    ):
        store.write(lambda c, entry=entry: keep_entry(c, entry)).result()
    return store


def rows_of(table: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table)))


def test_the_json_has_everything_of_the_player(two_players: Store) -> None:
    whole = json.loads(two_players.read(lambda c: player_files(c, "reed"))["player.json"])

    assert (whole["format"], whole["player"]) == ("records/1", "reed")
    assert [PlayedPass(**{**each, "mix": tuple(each["mix"]), "measures": MEASURES}) for each in whole["passes"]] == (
        two_players.read(lambda c: passes_of(c, "reed"))
    )
    assert [PlayedMeasure(**each) for each in whole["passes"][0]["measures"]] == list(MEASURES)
    assert whole["sittings"] == [
        {"player": "reed", "began": WHEN, "planned": None, "minutes": 6.5, "tempo": 84.0},
    ]
    assert whole["ladders"][0] == {"tune": a_pass().tune, "updated": a_pass().began, "state": {"tempo": 84}}
    assert whole["settings"] == {"bounce": 55, "mix": [2]}
    assert whole["tunes"] == [
        {"id": a_pass().tune, "title": "Mill Lane", "repeats": [{"measure": 2, "of": 1}]},
        {"id": "other", "title": 'The "Mill", again', "repeats": [{"measure": 2, "of": 1}]},
    ]
    at = ready(CURVE)
    assert [(each["tune"], each["tier"], each["measure"]) for each in whole["ready"]] == [
        (a_pass().tune, "beginner", 2),
        ("other", "beginner", 2),
    ]
    assert whole["ready"][0]["tempo"] == pytest.approx(at.tempo, abs=0.2)


def test_the_tables_have_a_line_for_each_pass_measure_and_sitting(two_players: Store) -> None:
    files = two_players.read(lambda c: player_files(c, "reed"))

    assert [
        (row["number"], row["tempo"], row["clean"], row["kind"], row["mix"]) for row in rows_of(files["passes.csv"])
    ] == [
        ("1", "80.0", "False", "jam", "2"),
        ("2", "80.0", "False", "whole", ""),
    ]
    assert rows_of(files["passes.csv"])[1]["title"] == 'The "Mill", again'
    assert [
        (row["folder"], row["pass"], row["number"], row["mean_offset_ms"]) for row in rows_of(files["measures.csv"])
    ] == [
        ("evening", "1", "1", "-3.5"),
        ("evening", "1", "2", ""),
        ("evening", "2", "1", "-3.5"),
        ("evening", "2", "2", ""),
    ]
    assert rows_of(files["sittings.csv"]) == [
        {"player": "reed", "began": WHEN, "planned": "", "minutes": "6.5", "tempo": "84.0"}
    ]


def test_of_one_who_is_not_known_there_are_empty_tables(store: Store) -> None:
    files = store.read(lambda c: player_files(c, "reed"))

    assert json.loads(files["player.json"])["passes"] == []
    assert all(rows_of(files[name]) == [] for name in files if name.endswith(".csv"))


def test_a_curve_that_cannot_be_read_does_not_keep_the_rest_back(store: Store) -> None:
    entry = Entry(a_pass(), {"beginner": {1: KnownCurve(b"?", 1, WHEN), 2: KnownCurve(to_bytes(CURVE), 1, WHEN)}})
    store.write(lambda c: keep_entry(c, entry)).result()

    whole = json.loads(store.read(lambda c: player_files(c, "reed"))["player.json"])

    assert [each["measure"] for each in whole["ready"]] == [2]


def test_how_much_there_is_is_counted(two_players: Store) -> None:
    two_players.write(lambda c: keep_entry(c, whole_entry(9, day="2026-03-05"))).result()

    assert two_players.read(lambda c: holding_of(c, "reed")) == Holding(passes=3, days=2, tunes=2)
    assert two_players.read(lambda c: holding_of(c, "nobody")) == Holding(0, 0, 0)


def test_each_folder_has_its_player(two_players: Store) -> None:
    assert two_players.read(players_by_folder) == {"evening": "reed", "hers": "sedge"}


def test_a_player_who_is_forgotten_is_in_no_table_and_the_others_stay(two_players: Store) -> None:
    def count(name: str) -> int:
        table = metadata.tables[name]
        found = two_players.read(lambda c: c.execute(select(func.count()).select_from(table)).scalar())
        assert isinstance(found, int)
        return found

    before = {name: count(name) for name in metadata.tables}
    hers = two_players.read(lambda c: player_files(c, "sedge"))

    assert two_players.write(lambda c: forget(c, "reed")).result()
    assert not two_players.write(lambda c: forget(c, "reed")).result()

    assert two_players.read(lambda c: player_files(c, "sedge")) == hers
    assert {name: count(name) for name in metadata.tables} == {
        name: 2 if name == "tunes" else number // 2 for name, number in before.items()
    }
    assert two_players.read(lambda c: list(c.execute(select(tunes.c.id).order_by(tunes.c.id)).scalars())) == sorted(
        [a_pass().tune, "third"]
    )


def test_what_is_forgotten_is_not_in_the_file_any_more(tmp_path: Path, open_store: Callable[[str], Store]) -> None:
    path = tmp_path / "records.db"
    store = open_store(url_of(path))
    entry = whole_entry(title="A quiet lullaby")
    store.write(lambda c: keep_entry(c, entry)).result()
    store.close()
    assert b"A quiet lullaby" in path.read_bytes()

    store = open_store(url_of(path))
    # Some builds of SQLite overwrite anyway.
    store.write(lambda c: c.execute(text("PRAGMA secure_delete=OFF"))).result()
    store.write(lambda c: forget(c, "reed")).result()
    store.close()

    assert b"A quiet lullaby" not in path.read_bytes()
    assert list(tmp_path.iterdir()) == [path]  # nor in a log beside it
