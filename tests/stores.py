"""A store in SQLite and one in a real PostgreSQL server: fixtures for every room that keeps something."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from sqlalchemy import create_engine

from coach.records.store import Store, url_of
from coach.records.studio_tables import metadata

__all__ = [
    "BINARIES",
    "KINDS",
    "as_server",
    "empty_file",
    "new_database",
    "on_server",
    "open_store",
    "postgres",
    "store",
    "tables",
    "url",
]

BINARIES = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
_NUMBERS = count(1)


def as_server(words: list[str]) -> list[str]:
    """A command line for the user that the server runs as: it refuses to run as root."""
    return ["runuser", "-u", "postgres", "--", *words] if os.geteuid() == 0 else words


@pytest.fixture(scope="session")
def postgres(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A PostgreSQL server of our own, reached by a socket in its folder; gives the start of its URLs."""
    if not BINARIES:
        pytest.fail("PostgreSQL is not installed: apt-get install -y postgresql")
    folder = Path("/tmp") / f"coach-tests-pg-{os.getpid()}-{next(_NUMBERS)}"
    folder.mkdir(mode=0o755)
    if os.geteuid() == 0:
        user = pwd.getpwnam("postgres")
        os.chown(folder, user.pw_uid, user.pw_gid)

    def run(*words: str) -> None:
        subprocess.run(
            as_server([str(BINARIES[-1] / words[0]), *words[1:]]), check=True, stdout=subprocess.DEVNULL, cwd=folder
        )

    data = str(folder / "data")
    run("initdb", "-D", data, "-A", "trust", "-U", "coach", "--no-sync")
    options = f"-c listen_addresses='' -c unix_socket_directories='{folder}' -c fsync=off"
    run("pg_ctl", "-D", data, "-w", "-l", str(folder / "log"), "-o", options, "start")
    try:
        yield f"postgresql+psycopg://coach@/{{name}}?host={folder}"
    finally:
        run("pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


KINDS = ["sqlite", "postgresql"]


def new_database(server: str) -> str:
    """The address of a database that is made, empty, in a PostgreSQL server."""
    name = f"test{next(_NUMBERS)}"
    engine = create_engine(server.format(name="postgres"), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.exec_driver_sql(f"CREATE DATABASE {name}")
    engine.dispose()
    return server.format(name=name)


@pytest.fixture
def on_server(postgres: str) -> str:
    """The address of an empty database in a PostgreSQL server."""
    return new_database(postgres)


@pytest.fixture(params=KINDS)
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty database."""
    if request.param == "sqlite":
        return url_of(tmp_path / "records.db")
    return str(request.getfixturevalue("on_server"))


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with the tables of now and nothing in them, to be copied."""
    path = tmp_path_factory.mktemp("records") / "records.db"
    Store(url_of(path)).close()
    return path


@pytest.fixture(scope="session")
def tables(postgres: str) -> str:
    """The address of a PostgreSQL database with the tables of now, which one test after the other uses."""
    url = new_database(postgres)
    Store(url).close()
    return url


@pytest.fixture
def open_store() -> Iterator[Callable[[str], Store]]:
    """Opens stores, and closes them at the end."""
    opened: list[Store] = []

    def new(url: str) -> Store:
        opened.append(Store(url))
        return opened[-1]

    yield new
    for store in opened:
        store.close()


@pytest.fixture(params=KINDS)
def store(request: pytest.FixtureRequest, tmp_path: Path, open_store: Callable[[str], Store]) -> Store:
    """An empty store."""
    if request.param == "sqlite":
        path = shutil.copy(request.getfixturevalue("empty_file"), tmp_path / "records.db")
        return open_store(url_of(path))
    store = open_store(request.getfixturevalue("tables"))
    names = ", ".join(metadata.tables)
    store.write(lambda connection: connection.exec_driver_sql(f"TRUNCATE {names} RESTART IDENTITY")).result()
    return store
