"""The store: one database, one thread that writes.

SQLite in a file is the default; any database that SQLAlchemy reaches serves by its URL. All writing goes through one
thread in the order in which it was asked for, each piece in a transaction of its own, so that two pages of one service
never wait for each other with half a change made. With SQLite a transaction takes the write lock at its beginning
(``BEGIN IMMEDIATE``) and another process waits for it up to :data:`PATIENCE`; the log is written ahead (WAL), so that
readers never wait; every commit is on the disk before it is acknowledged (``synchronous=FULL``), so that what was
acknowledged is there after a kill or a loss of power. PostgreSQL waits as long for another's rows; a server that has
gone away meanwhile is noticed and reached again, and one that does not answer is not waited for longer than
:data:`REACH`.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Lock
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from coach.errors import RecordsError

__all__ = ["PATIENCE", "Store", "file_of", "url_of"]

PATIENCE = 10.0
"""Seconds for which a transaction waits for another process's."""

REACH = 5
"""Seconds, whole ones, within which a server of databases must be reached; libpq takes no less than 2."""

_OPENING = 527_410_001
"""The advisory lock that PostgreSQL holds for the one who brings the tables up; a number of our own."""

_STEPPING = Lock()
"""Held while steps are taken: Alembic has one context for the whole process, so that two stores which are opened at
once would write with each other's connections."""

MIGRATIONS = Path(__file__).parent / "migrations"
VERSIONS = sorted(path.name.partition("_")[0] for path in (MIGRATIONS / "versions").glob("[0-9]*.py"))
"""The steps to the tables of now, in order: a step's file begins with its name."""

T = TypeVar("T")


def url_of(path: Path) -> str:
    """The URL of a SQLite file."""
    return URL.create("sqlite", database=str(path)).render_as_string()


def file_of(url: str) -> Path | None:
    """The SQLite file of a URL; None where it is another database.

    Raises:
        RecordsError: when it is no URL.
    """
    read = _read_url(url)
    return Path(read.database) if read.get_backend_name() == "sqlite" and read.database else None


class Store:
    """An open store.

    Args:
        url: of the database, ``sqlite:///…`` or ``postgresql+psycopg://…``; it is made, or brought to the tables of
            now, as it is opened.

    Raises:
        RecordsError: when it cannot be reached, or was made by a newer version of this program.
    """

    def __init__(self, url: str) -> None:
        self._name = _read_url(url).render_as_string(hide_password=True)
        self._engine = _engine(url, self._name)
        try:
            with self._words():
                self._migrate()
        except BaseException:
            self._engine.dispose()
            raise
        self._writer = ThreadPoolExecutor(max_workers=1, thread_name_prefix="records")

    def write(self, change: Callable[[Connection], T]) -> Future[T]:
        """Make a change, after those asked for before; done, it is on the disk.

        Args:
            change: is given a connection within a transaction, in the writing thread; when it raises, nothing of it
                is kept.
        """
        return self._writer.submit(self._write, change)

    def read(self, question: Callable[[Connection], T]) -> T:
        """Ask something, in the thread of the one who asks; nothing that it changes is kept."""
        with self._words(), self._engine.connect() as connection:
            return question(connection.execution_options(reads=True))

    def clear(self) -> None:
        """Have nothing left in SQLite's log of what was deleted (https://www.sqlite.org/pragma.html#pragma_wal_checkpoint);
        where that cannot be, it goes with a later checkpoint."""
        if self._engine.dialect.name == "sqlite":
            with self._words(), self._engine.connect() as connection, suppress(sqlite3.Error):
                # As it is: within a transaction the log cannot be brought in.
                _pragma(connection.connection.dbapi_connection, "wal_checkpoint(TRUNCATE)")

    def close(self) -> None:
        """Finish what is being written, and let go."""
        self._writer.shutdown()
        self._engine.dispose()

    def _write(self, change: Callable[[Connection], T]) -> T:
        with self._words(), self._engine.begin() as connection:
            return change(connection)

    @contextmanager
    def _words(self) -> Iterator[None]:
        """Errors of the database as a sentence."""
        try:
            yield
        except DBAPIError as error:
            raise RecordsError(
                f"the records cannot be used ({' '.join(str(error.orig).split())})",
                where=self._name,
                cure="see that the file or database is there, whole, not full and may be written, or name another",
            ) from error

    def _migrate(self) -> None:
        with self._engine.connect() as connection:
            if self._engine.dialect.name == "sqlite":
                # A step copies a table and drops the old one, and rows that hang on it would go with it. Within a
                # transaction this has no effect, so it is said before one is begun.
                _pragma(connection.connection.dbapi_connection, "foreign_keys=OFF")
            with connection.begin():
                if self._engine.dialect.name == "postgresql":  # SQLite is locked already
                    connection.execute(text(f"SELECT pg_advisory_xact_lock({_OPENING})"))
                self._bring_up(connection)
            connection.invalidate()  # the next connection holds to foreign keys

    def _bring_up(self, connection: Connection) -> None:
        """Take the steps that the tables have not taken yet."""
        now = None
        if inspect(connection).has_table("alembic_version"):
            now = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
        if now == VERSIONS[-1]:
            return
        if now is not None and now not in VERSIONS:
            raise RecordsError(
                "the records were written by a newer version of this program",
                where=self._name,
                cure="use that version, or name another file",
            )
        # Late: it takes as long to import as all the rest, and is needed once.
        from alembic import command
        from alembic.config import Config

        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
        config.attributes["connection"] = connection
        with _STEPPING:
            command.upgrade(config, "head")


def _read_url(url: str) -> URL:
    try:
        return make_url(url)
    except (ArgumentError, ValueError) as error:
        # It is not said: it may hold a password.
        raise RecordsError("this is no address of a database", cure="write it like sqlite:///records.db") from error


def _engine(url: str, name: str) -> Engine:
    try:
        engine = create_engine(url, pool_pre_ping=True)
    except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
        raise RecordsError(
            f"this kind of database cannot be reached ({error})", where=name, cure="install its driver, or use sqlite"
        ) from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up)
        event.listen(engine, "begin", _begin)
    elif engine.dialect.name == "postgresql":
        event.listen(engine, "do_connect", _limit_reach)
        event.listen(engine, "begin", _begin_there)
    return engine


def _set_up(connection: Any, _record: object) -> None:
    # The driver's own habit of beginning transactions late is off: it would take the write lock in mid-transaction.
    connection.isolation_level = None
    for pragma in (
        f"busy_timeout={round(PATIENCE * 1000)}",
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
    ):
        _pragma(connection, pragma)


def _pragma(connection: Any, words: str) -> None:
    connection.execute(f"PRAGMA {words}")


def _begin(connection: Connection) -> None:
    reads = connection.get_execution_options().get("reads", False)
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")


def _limit_reach(_dialect: object, _record: object, _words: object, options: dict[str, Any]) -> None:
    # https://www.postgresql.org/docs/current/libpq-connect.html#LIBPQ-PARAMKEYWORDS; what the URL says goes before it.
    options.setdefault("connect_timeout", REACH)
    options.setdefault("tcp_user_timeout", REACH * 1000)
    options.setdefault("keepalives_idle", REACH)


def _begin_there(connection: Connection) -> None:
    if connection.get_execution_options().get("reads", False):
        # All that a question is answered from is of one moment, as it is in SQLite.
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
    else:
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {round(PATIENCE * 1000)}")
