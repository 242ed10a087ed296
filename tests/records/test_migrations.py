"""Records of earlier versions, brought to the tables of now with all that was played."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, create_engine, func, inspect, select, text

from coach.records.known import KnownCurve, KnownLadder, curves_of, ladders_of, settings_of
from coach.records.played import passes_of
from coach.records.sittings import sittings_of
from coach.records.store import MIGRATIONS, VERSIONS, Store, url_of
from coach.records.studio_tables import metadata
from coach.records.tables import measures, tunes

DATA = Path(__file__).parent / "data"
MILL_LANE = "mill-lane-1f3a9c20"


def sqlite_of(version: str, path: Path) -> Path:
    """A SQLite file as that version left it."""
    with sqlite3.connect(path) as file:
        file.executescript((DATA / f"records-{version}.sql").read_text("utf-8"))
    file.close()
    return path


def old_records(version: str, url: str, scratch: Path) -> None:
    """Fill an empty database with what a version had left."""
    if url.startswith("sqlite"):
        sqlite_of(version, Path(url.removeprefix("sqlite:///")))
        return
    source, target = create_engine(url_of(sqlite_of(version, scratch / "old.db"))), create_engine(url)
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with source.connect() as old, target.begin() as new:
        config.attributes["connection"] = new
        command.upgrade(config, version)
        made = type(metadata)()
        made.reflect(new)
        for table in made.sorted_tables:
            if table.name != "alembic_version":
                rows = [dict(row._mapping) for row in old.execute(select(table))]
                new.execute(table.insert(), rows)
    source.dispose()
    target.dispose()


def shape(connection: Connection) -> dict[str, Any]:
    """All that a database says of its tables."""
    looking = inspect(connection)

    def by_name(found: Any) -> list[Any]:
        return sorted(found, key=lambda each: str(each["name"]))

    return {
        name: {
            "columns": by_name(
                {"name": each["name"], "type": str(each["type"]), "nullable": each["nullable"]}
                for each in looking.get_columns(name)
            ),
            "key": looking.get_pk_constraint(name)["constrained_columns"],
            "foreign": by_name(looking.get_foreign_keys(name)),
            "unique": by_name(looking.get_unique_constraints(name)),
            "checks": [(each["name"], each["sqltext"]) for each in by_name(looking.get_check_constraints(name))],
            "indexes": by_name(looking.get_indexes(name)),
        }
        for name in looking.get_table_names()
        if name != "alembic_version"
    }


def test_every_version_before_this_one_has_its_file() -> None:
    assert [path.stem for path in sorted(DATA.glob("*.sql"))] == [f"records-{each}" for each in VERSIONS[:-1]]


@pytest.fixture
def brought_up(url: str, tmp_path: Path, open_store: Callable[[str], Store]) -> Store:
    """The records of the first version, opened by this one."""
    old_records("0001", url, tmp_path)
    return open_store(url)


def test_the_passes_are_intact(brought_up: Store) -> None:
    home = brought_up.read(lambda c: passes_of(c, "home"))
    (other,) = brought_up.read(lambda c: passes_of(c, "sedge"))

    assert [(each.number, each.tempo, each.clean, each.judged, len(each.measures)) for each in home] == [
        (1, 72.0, True, "heard", 4),
        (2, 76.0, False, "heard", 4),
        (3, 66.0, True, "heard", 2),
        (1, 60.5, False, "marked", 0),
    ]
    assert [measure.clean for measure in home[1].measures] == [True, True, False, True]
    assert home[0].measures[3].mean_offset_ms == 0.5
    assert (other.judged, len(other.measures)) == ("freely", 4)
    assert brought_up.read(lambda c: c.execute(select(func.count()).select_from(measures)).scalar()) == 14


def test_what_is_new_of_a_pass_is_told_by_what_was_known(brought_up: Store) -> None:
    home = brought_up.read(lambda c: passes_of(c, "home"))

    assert [each.day for each in home] == ["2026-03-01"] * 3 + ["2026-03-02"]
    assert [each.kind for each in home] == ["whole", "whole", "part", "whole"]
    assert {each.mix for each in home} == {()}


def test_ladders_and_settings_stay_and_curves_begin_anew(brought_up: Store) -> None:
    assert brought_up.read(lambda c: ladders_of(c, "home")[MILL_LANE].state) == '{"tempo": 78.0}'
    assert brought_up.read(lambda c: settings_of(c, "home")) == {"bounce": "55", "tune": f'"{MILL_LANE}"'}
    assert brought_up.read(lambda c: curves_of(c, "home", MILL_LANE)) == {}


@pytest.fixture
def from_the_second(url: str, tmp_path: Path, open_store: Callable[[str], Store]) -> Store:
    """The records of the second version, opened by this one."""
    old_records("0002", url, tmp_path)
    return open_store(url)


def test_what_the_second_version_kept_is_as_it_was(from_the_second: Store) -> None:
    ask = from_the_second.read
    home = ask(lambda c: passes_of(c, "home"))

    assert [(each.number, each.kind, each.mix, each.day) for each in home] == [
        (1, "whole", (), "2026-03-01"),
        (2, "spot", (2, 4), "2026-03-01"),
        (3, "part", (), "2026-03-01"),
        (1, "whole", (), "2026-03-02"),
    ]
    assert [len(each.measures) for each in home] == [4, 4, 2, 0]
    assert ask(lambda c: c.execute(select(tunes.c.repeats).order_by(tunes.c.id)).scalars().all()) == [{3: 1, 4: 2}, {}]
    assert ask(lambda c: curves_of(c, "home", MILL_LANE)) == {
        "beginner": {1: KnownCurve(b"\0\1\2\3", 3, "2026-03-01T23:59:59Z")}
    }
    assert ask(lambda c: ladders_of(c, "home")) == {MILL_LANE: KnownLadder('{"tempo": 78.0}', "2026-03-01T18:01:00Z")}
    assert ask(lambda c: settings_of(c, "home")) == {"bounce": "55", "tune": f'"{MILL_LANE}"'}
    assert [(each.planned, each.minutes, each.tempo) for each in ask(lambda c: sittings_of(c, "home"))] == [
        (20.0, 12.5, 84.0),
        (None, 3.0, None),
    ]


@pytest.mark.parametrize("version", VERSIONS[:-1])
def test_the_tables_are_those_of_now(
    version: str, url: str, tmp_path: Path, open_store: Callable[[str], Store]
) -> None:
    old_records(version, url, tmp_path)
    brought_up = open_store(url)

    def fresh(connection: Connection) -> dict[str, Any]:
        for name in inspect(connection).get_table_names():
            connection.execute(text(f"DROP TABLE {name} {'' if url.startswith('sqlite') else 'CASCADE'}"))
        metadata.create_all(connection)
        return shape(connection)

    found = brought_up.read(shape)

    assert set(found) == set(metadata.tables)
    assert found == brought_up.read(fresh)


def test_rows_still_hang_on_their_players(brought_up: Store) -> None:
    brought_up.write(lambda c: c.execute(text("DELETE FROM players WHERE id = 'home'"))).result()

    assert brought_up.read(lambda c: c.execute(select(func.count()).select_from(measures)).scalar()) == 4


def test_measures_take_the_room_of_their_columns_only(tmp_path: Path, open_store: Callable[[str], Store]) -> None:
    store = open_store(url_of(sqlite_of("0001", tmp_path / "records.db")))
    made = store.read(lambda c: c.execute(text("SELECT sql FROM sqlite_master WHERE name = 'measures'")).scalar())

    assert str(made).rstrip().endswith("WITHOUT ROWID")
