"""The service: its sessions, its tune book, its ports and workers, and what it does by itself while it runs."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator, Callable, Coroutine, Sequence
from datetime import UTC, datetime
from functools import partial
from importlib import metadata
from pathlib import Path
from typing import Any

from coach.arranging.arrangement import Tier
from coach.arranging.edits import Edits
from coach.errors import ArrangeError, CoachError, InputError
from coach.listening.report import SCORING
from coach.service import jobs
from coach.service import protocol as wire
from coach.service.absences import LOOK
from coach.service.archive import Archive
from coach.service.book import Book
from coach.service.climb import Climb
from coach.service.clock import Now, monotonic
from coach.service.edit_desk import EditDesk
from coach.service.edit_store import EditStore
from coach.service.home import HomePorts
from coach.service.instruments import Instruments
from coach.service.keeping import Keeper
from coach.service.outside import MidiOutside, NoMidi
from coach.service.page import page_digest, page_folder
from coach.service.pages import Page
from coach.service.pieces import Piece
from coach.service.ports import MidiDriver, RtMidiDriver
from coach.service.recovery import keep_owned
from coach.service.session import Session
from coach.service.shelf import Shelf
from coach.service.student import Student
from coach.service.words import CAUTIONS
from coach.service.workers import Workers
from coach.service.writing import TakeSolos, write_solos
from coach.takes.player import VirtualPlayer

__all__ = ["HOME", "Service"]

HOME = "home"
"""The session that the MIDI ports belong to."""

MOST_SESSIONS = 32
BEAT = 0.05  # seconds between ticks of the sessions
QUICK_BEAT = 0.01  # the same where a virtual player plays

_log = logging.getLogger(__name__)


class Service:
    """Everything that pages reach.

    Args:
        data: where session folders are kept.
        records: URL of the database of what is remembered; None for the file in the data folder.
        given: files with tunes, put into the book first.
        driver: of the MIDI ports.
        player: plays in place of an instrument, in a demo.
        now: the clock.
        most_sessions: how many sessions there may be at once; deserted ones give way to new ones.
        failed: told when a given file cannot be read.

    Attributes:
        archive: what is remembered of players.
        given_read: set when all given files have been read.
    """

    def __init__(
        self,
        data: Path,
        *,
        records: str | None = None,
        given: Sequence[Path] = (),
        driver: MidiDriver | None = None,
        player: VirtualPlayer | None = None,
        now: Now = monotonic,
        most_sessions: int = MOST_SESSIONS,
        failed: Callable[[CoachError], None] = lambda error: _log.error("%s", error),
    ) -> None:
        self.now = now
        self._most_sessions = most_sessions
        self.workers = Workers()
        self.book = Book(self.workers)
        self._desk = EditDesk(self.book, EditStore(data / "edits"), self.begin, self._edits_changed)
        self.sessions: dict[str, Session] = {}
        self.page_folder = page_folder()
        self.page_digest = page_digest(self.page_folder)
        self._sound: Shelf[str, tuple[str, bytes, bytes]] = Shelf(1)
        self.archive = Archive(data, records, self._hand_over)
        self._root = data / "sessions"
        self._instruments = Instruments(data / "instruments.json", _time_of_day)
        self._given = given
        self._given_tunes: list[str] = []
        self._is_book_whole = False
        self._failed = failed
        self.given_read = asyncio.Event()
        if not given:
            self.given_read.set()
        self._beat = BEAT if player is None else QUICK_BEAT
        self._tasks: set[asyncio.Task[None]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        student = None if player is None else Student(player, now)
        self.ports = HomePorts(driver or RtMidiDriver(now), now, self._hand_over, self._say_of_ports, student)

    @contextlib.asynccontextmanager
    async def running(self) -> AsyncIterator[None]:
        """Run the service while the context is entered."""
        self._loop = asyncio.get_running_loop()
        home = self._new_session(HOME)
        self.ports.heard, self.ports.lost = home.midi_in, home.midi_lost
        self.ports.look()
        for work in (self._fill_book(), self._tick(), self._look_at_ports(), self._own(), self._open(home)):
            self.begin(work)
        try:
            yield
        finally:
            for session in self.sessions.values():
                try:
                    session.close()
                except Exception:  # noqa: BLE001 - the others are to be closed all the same
                    _log.exception("session %s could not be closed", session.name)
            tasks = tuple(self._tasks)
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)
            await asyncio.to_thread(self.workers.close)
            await self.book.close()
            await self._sound.close()
            await asyncio.to_thread(self.archive.close)
            self.ports.close()

    def session(self, name: str) -> Session:
        """The session of a name, begun where there is none.

        Raises:
            InputError: when there are too many.
        """
        if name in self.sessions:
            return self.sessions[name]
        if len(self.sessions) >= self._most_sessions:
            deserted = [other for other, session in self.sessions.items() if session.is_deserted and other != HOME]
            if not deserted:
                raise InputError(f"there are {self._most_sessions} sessions already", cure="close one of them, or join it")
            del self.sessions[deserted[0]]
        session = self._new_session(name)
        self._recall(session)
        return session

    async def sound_bank(self) -> tuple[str, bytes, bytes]:
        """The sounds of the page: name and bytes of the file, and its index as JSON; made by a worker when first asked
        for."""

        async def make() -> tuple[str, bytes, bytes]:
            return await self.workers.run(jobs.render_sounds, 60.0, "making the sounds")

        return await self._sound.get_or_make("bank", make)

    async def add_file(self, data: bytes, name: str) -> tuple[list[wire.TuneLine], tuple[str, ...]]:
        """Add the tunes of a file to the book, and tell every page.

        Raises:
            InputError: when none could be read, or the book is full.
        """
        lines, complaints = await self.book.add(data, name, self._desk.meet)
        self._tell_tunes()
        return lines, complaints

    def begin(self, work: Coroutine[Any, Any, None]) -> None:
        """Do something in the background; what goes wrong in it is written to the log."""
        task = asyncio.get_running_loop().create_task(_logged(work))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    # The parts

    def _new_session(self, name: str) -> Session:
        session = self.sessions[name] = Session(
            name,
            fetch=self._fetch,
            make=self._make,
            desk=self._desk,
            keeper=Keeper(self._root, partial(self._folder_name, name), _time_of_day),
            memory=self.archive,
            now=self.now,
            wall=lambda: datetime.now().astimezone(),
            midi=self._midi_of(name),
            climb=Climb(),
            instruments=self._instruments,
            listed=self.book.lines,
            hello=self._hello,
        )
        return session

    def _recall(self, session: Session) -> None:
        session.recall(lambda: self._given_tunes, is_whole=lambda: self._is_book_whole)

    def _midi_of(self, name: str) -> MidiOutside:
        return self.ports if name == HOME else NoMidi()

    def _hello(self, session: str, page: Page) -> wire.Hello:
        return wire.Hello(
            version=metadata.version("banjo-practice-coach"),
            scoring=SCORING,
            page_digest=self.page_digest,
            session=session,
            seat=page.seat,
            acknowledged=page.taken.seq,
            cautions=CAUTIONS,
            instrument_acknowledged=page.instrument_taken.seq,
            instrument=page.instrument,
        )

    def _fetch(self, tune: str, first: Tier, edits: Edits | None, done: TakeSolos) -> None:
        async def fetch() -> None:
            try:
                await write_solos(self.book, tune, first, edits, done)
            except ArrangeError as error:
                self._desk.set_aside(tune, edits, error)

        self.begin(fetch())

    def _edits_changed(self, tune: str) -> None:
        for session in tuple(self.sessions.values()):
            session.edits_changed(tune)

    def _make(self, piece: Piece, done: Callable[[jobs.Solo | CoachError], None]) -> None:
        async def make() -> None:
            solo: jobs.Solo | CoachError
            try:
                solo = await self.book.made(piece)
            except CoachError as error:
                solo = error
            done(solo)

        self.begin(make())

    def _folder_name(self, session: str) -> str:
        name = f"{datetime.now(UTC):%Y%m%dT%H%M%S}-{session}"
        count = 1
        while (self._root / name).exists():
            count += 1
            name = f"{datetime.now(UTC):%Y%m%dT%H%M%S}-{session}-{count}"
        return name

    def _tell_tunes(self) -> None:
        for session in self.sessions.values():
            session.tell_tunes()
            session.choose_first(self._given_tunes, is_whole=self._is_book_whole)

    def _hand_over(self, call: Callable[[], None]) -> None:
        if self._loop is not None:
            self._loop.call_soon_threadsafe(call)

    def _say_of_ports(self, sentence: str) -> None:
        _log.info("%s", sentence)

    async def _fill_book(self) -> None:
        for path in self._given:
            try:
                data = await asyncio.to_thread(_read, path)
                lines, complaints = await self.book.add(data, path.name, self._desk.meet)
            except CoachError as error:
                self._failed(error)
                return
            self._given_tunes += [line.id for line in lines]
            self._tell_tunes()
            for complaint in complaints:
                _log.warning("%s", complaint)
        self.given_read.set()
        for name, data in await self.workers.run(jobs.demo_files, 60.0, "finding the demo tunes"):
            await self._add_own(name, data)
        self._is_book_whole = True
        self._tell_tunes()
        await self.workers.run(jobs.warm_up, 60.0, "warming up")
        await self.sound_bank()

    async def _add_own(self, name: str, data: bytes) -> None:
        """Add a tune of our own. On a machine that is busy the first try may take too long, since its worker begins
        with it; a tune that cannot be added all the same leaves the others."""
        for _ in range(2):
            try:
                await self.add_file(data, name)
            except CoachError as error:
                _log.warning("%s", error)
            else:
                return

    async def _open(self, home: Session) -> None:
        """Ask for what is remembered, a beat after the start: the address is out then, whatever that takes."""
        await asyncio.sleep(self._beat)
        self._recall(home)

    async def _own(self) -> None:
        await keep_owned(self._root, lambda sentence: _log.warning("%s", sentence))

    async def _tick(self) -> None:
        while True:
            for session in tuple(self.sessions.values()):
                try:
                    session.tick()
                except Exception:  # noqa: BLE001 - the other sessions go on
                    _log.exception("The session %r stumbled", session.name)
            await asyncio.sleep(self._beat)

    async def _look_at_ports(self) -> None:
        while True:
            await asyncio.sleep(LOOK)
            before = self.ports.notice
            if self.ports.look():
                home = self.session(HOME)
                if self.ports.notice not in ("", before):
                    home.pages.broadcast(wire.Failure(self.ports.notice, "ports"))
                home.tell_ports()


async def _logged(work: Coroutine[Any, Any, None]) -> None:
    try:
        await work
    except Exception:  # noqa: BLE001 - nobody waits for it
        _log.exception("Something in the background went wrong")


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            f"the file cannot be opened ({error.strerror or error})", where=str(path), cure="check its name and place"
        ) from error


def _time_of_day() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
