"""The service: its sessions, its repertoires, its ports and workers, and what it does by itself while it runs."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import secrets
from collections.abc import AsyncIterator, Callable, Collection, Coroutine, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from importlib import metadata
from pathlib import Path
from typing import Any

from coach.errors import CoachError, InputError
from coach.listening.report import SCORING
from coach.service import jobs
from coach.service import protocol as wire
from coach.service.absences import LOOK
from coach.service.accounts import Accounts
from coach.service.archive import Archive
from coach.service.aside import Writer
from coach.service.bus import Bus, LocalBus
from coach.service.climb import Climb
from coach.service.clock import Now, monotonic
from coach.service.common_book import CommonBook
from coach.service.desk import Desk, Students
from coach.service.home import HomePorts
from coach.service.instruments import FILE, Instruments
from coach.service.keeping import Keeper
from coach.service.kept_lesson import KeptLesson
from coach.service.looking import of_people
from coach.service.outside import MidiOutside, NoMidi
from coach.service.page import page_digest, page_folder
from coach.service.pages import Page, Sender
from coach.service.players_book import PlayersBook
from coach.service.ports import MidiDriver, RtMidiDriver
from coach.service.recovery import keep_owned
from coach.service.repertoire import Readers, Repertoire
from coach.service.session import Session
from coach.service.shelf import Shelf
from coach.service.student import Student
from coach.service.words import CAUTIONS
from coach.service.workers import Workers
from coach.studio.people import ALONE, Person, StudioName
from coach.takes.player import VirtualPlayer

__all__ = ["HOME", "MOST_SESSIONS", "STUDIO_SESSIONS", "Service"]

HOME = "home"
"""The session that the MIDI ports belong to."""

MOST_SESSIONS = 32
STUDIO_SESSIONS = 2000
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
        studio: whether people sign in, each with a session of the name of their id; no ports are used then.

    Attributes:
        archive: what is remembered of players.
        accounts: who is signed in; None without a studio.
        bus: by which sessions and desks of studios speak.
        repertoires: of all whose tunes were asked for, by the id of their studio.
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
        studio: bool = False,
    ) -> None:
        self.now = now
        self._most_sessions = most_sessions
        self.workers = Workers()
        self.repertoires: dict[str, Repertoire] = {}
        self.sessions: dict[str, Session] = {}
        self.page_folder = page_folder()
        self.page_digest = page_digest(self.page_folder)
        self._sound: Shelf[str, tuple[str, bytes, bytes]] = Shelf(1)
        self.archive = Archive(data, records, self._hand_over)
        self._writer = Writer(self._hand_over)
        self.accounts = Accounts(self.archive) if studio else None
        self.bus: Bus = LocalBus()
        self._desks: set[Desk] = set()
        self._data = data
        self._root = data / "sessions"
        self._instruments = None if studio else Instruments(data / FILE, _time_of_day)
        self._common = CommonBook(self.workers, given, failed)
        self._beat = BEAT if player is None else QUICK_BEAT
        self._tasks: set[asyncio.Task[None]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        student = None if player is None else Student(player, now)
        self.ports = HomePorts(driver or RtMidiDriver(now), now, self._hand_over, self._say_of_ports, student)

    @contextlib.asynccontextmanager
    async def running(self) -> AsyncIterator[None]:
        """Run the service while the context is entered."""
        self._loop = asyncio.get_running_loop()
        works = [self._fill_book(), self._tick(), self._own()]
        if self.accounts is None:
            home = self._new_session(HOME, ALONE)
            self.ports.heard, self.ports.lost = home.midi_in, home.midi_lost
            self.ports.look()
            works += [self._look_at_ports(), self._open(home)]
        else:
            works.append(self.accounts.keep_swept())
        for work in works:
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
            for repertoire in self.repertoires.values():
                await repertoire.close()
            await self._common.book.close()
            await self._sound.close()
            await asyncio.to_thread(self._writer.close)
            await asyncio.sleep(0)  # what it handed over goes to the records
            await asyncio.to_thread(self.archive.close)
            self.ports.close()

    def session(self, name: str, person: Person = ALONE) -> Session:
        """The session of a name, begun where there is none.

        Args:
            name: of the session; in a studio the id of the person.
            person: who practises.

        Raises:
            InputError: when there are too many.
        """
        if name in self.sessions:
            return self.sessions[name]
        if len(self.sessions) >= self._most_sessions:
            deserted = [other for other, session in self.sessions.items() if session.is_deserted and other != HOME]
            if not deserted:
                raise InputError(
                    f"there are {self._most_sessions} sessions already", cure="close one of them, or join it"
                )
            self.sessions.pop(deserted[0]).close()
        session = self._new_session(name, person)
        self._recall(session)
        return session

    def is_played(self) -> bool:
        """Whether a pass is being played in any session."""
        return any(session.is_played for session in self.sessions.values())

    async def person(self, id: str) -> Person | None:  # noqa: A002 - it is called so
        """Somebody by their id; None where there is nobody of that id. Alone everybody is there, by the name of their
        session."""
        if self.accounts is not None:
            return await self.accounts.person(id)
        return ALONE if id == ALONE.id else replace(ALONE, id=id)

    def open_desk(self, teacher: Person, link: Sender) -> Desk:
        """Open the desk of a teacher."""
        desk = Desk(
            secrets.token_hex(8),
            teacher,
            link,
            self.bus,
            partial(self._students_of, teacher.studio.id),
            begin=self.begin,
            hello=wire.DeskHello(
                metadata.version("banjo-practice-coach"), self.page_digest, teacher.name, teacher.studio.name
            ),
            now=self.now,
        )
        self._desks.add(desk)
        return desk

    def close_desk(self, desk: Desk) -> None:
        """Close a desk whose connection is gone."""
        self._desks.discard(desk)
        desk.close()

    def people_changed(self, studio: StudioName) -> None:
        """Somebody has come into a studio, or is gone from it: desks read its people anew."""
        self.bus.publish(of_people(studio), b"{}")

    async def sound_bank(self) -> tuple[str, bytes, bytes]:
        """The sounds of the page: name and bytes of the file, and its index as JSON; made by a worker when first asked
        for."""

        async def make() -> tuple[str, bytes, bytes]:
            return await self.workers.run(jobs.render_sounds, 60.0, "making the sounds")

        return await self._sound.get_or_make("bank", make)

    @property
    def given_read(self) -> asyncio.Event:
        """Set when all files have been read that the service was begun with."""
        return self._common.given_read

    @property
    def takes_folder(self) -> Path:
        """Where the session folders of all are."""
        return self._root

    async def written(self) -> None:
        """Wait until all is written, and told, that was played up to now."""
        done = self._writer.do(lambda: None, lambda _: None)
        if done is not None:
            await asyncio.wrap_future(done)

    def folder_of(self, person: Person) -> Path:
        """Where files are kept that are of somebody of a studio alone; it need not be there."""
        return self._folder_of(person.studio) / "people" / person.id

    def repertoire_of(self, person: Person) -> Repertoire:
        """Tunes and edits of the studio of somebody, or of the player alone; begun where nobody asked for it before."""
        studio = person.studio
        repertoire = self.repertoires.get(studio.id)
        if repertoire is None:
            folder = self._folder_of(studio)
            repertoire = self.repertoires[studio.id] = Repertoire(
                studio,
                folder,
                workers=self.workers,
                common=self._common,
                begin=self.begin,
                readers=Readers(
                    partial(self._tell_tunes, studio.id),
                    partial(self._edits_changed, studio.id),
                    partial(self._licks_changed, studio.id),
                    partial(self._tunes_in_use, studio.id),
                    partial(self._practising, studio.id),
                    partial(self._tell_people, studio.id),
                ),
                time_of_day=_time_of_day,
            )
            self.begin(repertoire.open())
        return repertoire

    def begin(self, work: Coroutine[Any, Any, None]) -> None:
        """Do something in the background; what goes wrong in it is written to the log."""
        task = asyncio.get_running_loop().create_task(_logged(work))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    # The parts

    def _folder_of(self, studio: StudioName) -> Path:
        return self._data / "studios" / studio.id if studio.id else self._data

    def _new_session(self, name: str, person: Person) -> Session:
        book = PlayersBook(self.repertoire_of(person), person)
        session = self.sessions[name] = Session(
            name,
            person=person,
            fetch=book.fetch,
            make=book.make,
            desk=book,
            keeper=Keeper(self._root, partial(self._folder_name, name), _time_of_day, self._writer),
            memory=self.archive,
            now=self.now,
            wall=lambda: datetime.now().astimezone(),
            midi=self._midi_of(name),
            climb=Climb(),
            instruments=self._instruments or Instruments(self.folder_of(person) / FILE, _time_of_day),
            listed=book.lines,
            hello=self._hello,
            bus=self.bus,
        )
        if person.role == "student":
            session.lesson = KeptLesson(session, self.archive.ask, self.begin, lambda: datetime.now().astimezone())
        return session

    def _recall(self, session: Session) -> None:
        repertoire = self.repertoire_of(session.person)
        session.recall(lambda: repertoire.given, is_whole=lambda: repertoire.is_whole)

    def _midi_of(self, name: str) -> MidiOutside:
        return self.ports if name == HOME and self.accounts is None else NoMidi()

    def _hello(self, session: str, page: Page) -> wire.Hello:
        person = self.sessions[session].person
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
            person=person.name,
            role=person.role,
            studio=person.studio.name,
        )

    async def _students_of(self, studio: str) -> Students:
        from coach.studio.members import members_of

        members = await self.archive.ask(partial(members_of, studio=studio))
        return {
            each.person.id: (each.person, each.practised or "") for each in members if each.person.role == "student"
        }

    def _of_studio(self, studio: str) -> list[Session]:
        return [session for session in self.sessions.values() if session.person.studio.id == studio]

    def _edits_changed(self, studio: str, tune: str) -> None:
        for session in self._of_studio(studio):
            session.edits_changed(tune)

    def _folder_name(self, session: str) -> str:
        name = f"{datetime.now(UTC):%Y%m%dT%H%M%S}-{session}"
        count = 1
        while (self._root / name).exists():
            count += 1
            name = f"{datetime.now(UTC):%Y%m%dT%H%M%S}-{session}-{count}"
        return name

    def _tell_tunes(self, studio: str) -> None:
        repertoire = self.repertoires[studio]
        for session in self._of_studio(studio):
            session.tell_tunes()
            session.choose_first(repertoire.given, is_whole=repertoire.is_whole)

    def _licks_changed(self, studio: str, tune: str) -> None:
        for session in self._of_studio(studio):
            if session.plays(tune):
                session.licks_changed()

    def _tunes_in_use(self, studio: str) -> frozenset[str]:
        return frozenset(session.chosen.tune for session in self._of_studio(studio) if session.chosen.tune)

    def _practising(self, studio: str, tune: str) -> frozenset[str]:
        return frozenset(session.person.id for session in self._of_studio(studio) if session.practises(tune))

    def _tell_people(self, studio: str, people: Collection[str], sentence: str) -> None:
        for session in self._of_studio(studio):
            if session.person.id in people:
                session.pages.broadcast(wire.Failure(sentence, "tune"))

    async def _look_at_tunes(self) -> None:
        for repertoire in tuple(self.repertoires.values()):
            await repertoire.look()

    def _hand_over(self, call: Callable[[], None]) -> None:
        if self._loop is not None:
            self._loop.call_soon_threadsafe(call)

    def _say_of_ports(self, sentence: str) -> None:
        _log.info("%s", sentence)

    async def _fill_book(self) -> None:
        await self._common.fill(self._look_at_tunes)
        await self.workers.run(jobs.warm_up, 60.0, "warming up")
        await self.sound_bank()

    async def _open(self, home: Session) -> None:
        """Ask for what is remembered, a beat after the start: the address is out then, whatever that takes."""
        await asyncio.sleep(self._beat)
        self._recall(home)

    async def _own(self) -> None:
        await keep_owned(self._root, lambda sentence: _log.warning("%s", sentence))

    async def _tick(self) -> None:
        while True:
            now = self.now()
            for session in [each for each in self.sessions.values() if each.tick_at <= now]:
                try:
                    session.tick()
                except Exception:  # noqa: BLE001 - the other sessions go on
                    _log.exception("The session %r stumbled", session.name)
            for desk in tuple(self._desks):
                desk.tick()
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


def _time_of_day() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
