"""What the tests of the service share: a session with pages in memory."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

import pytest
from stores import empty_file, on_server, postgres

from coach.arranging.arrangement import Tier
from coach.arranging.edits import Edits
from coach.errors import CoachError, PortError
from coach.service import protocol as wire
from coach.service.bus import Bus
from coach.service.climb import Climb
from coach.service.clock import FakeClock
from coach.service.edit_desk import EditDesk
from coach.service.edit_store import EditStore
from coach.service.instruments import Instruments
from coach.service.jobs import Solo, Ways, mixed_of, solo_of, tiers_of, ways_of
from coach.service.keeping import Keeper
from coach.service.memory import KeptPass, Remembered
from coach.service.midi_out import TimedMidi
from coach.service.outside import NoMidi
from coach.service.pages import Page
from coach.service.pieces import Piece
from coach.service.ports import PortList
from coach.service.session import Session
from coach.service.writing import TakeSolos
from coach.studio.people import ALONE, Person
from coach.tunes.chords import Chord
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Meter, Note, Tune

__all__ = ["empty_file", "on_server", "postgres"]

M = TypeVar("M")


# ------------------------------------------------------------------------------------------ a session without sockets


def _measure(number: int, pitches: list[int], chord: str) -> Measure:
    notes = tuple(
        Note(Fraction(at), Fraction(1), pitch, phrase_start=number == 1 and at == 0) for at, pitch in enumerate(pitches)
    )
    return Measure(number, Meter(4, 4), Fraction(4), notes, (ChordChange(Fraction(0), Chord(chord)),))


@pytest.fixture(scope="session")
def tune() -> Tune:
    """Four measures of quarters in G."""
    melody = [([55, 59, 62, 59], "G"), ([60, 59, 57, 55], "C"), ([62, 60, 59, 57], "D"), ([55, 55, 59, 55], "G")]
    measures = tuple(_measure(number, pitches, chord) for number, (pitches, chord) in enumerate(melody, 1))
    return Tune("Test Lane", "", Key("G"), measures)


def all_solos(source: Tune | Solo) -> dict[Tier, Solo]:
    """The solos of a tune, or the one that was given as such, by tier."""
    return {tier: solo_of(source, tier) for tier in tiers_of(source)}


@pytest.fixture(scope="session")
def solos_of() -> Callable[[Tune | Solo], dict[Tier, Solo]]:
    """Makes the solos of a tune."""
    return all_solos


@pytest.fixture(scope="session")
def solos(tune: Tune) -> dict[Tier, Solo]:
    """Its solos."""
    return all_solos(tune)


class FakeDriver:
    """Ports that a test plugs and unplugs."""

    def __init__(self, inputs: tuple[str, ...] = (), outputs: tuple[str, ...] = ()) -> None:
        self.inputs, self.outputs = inputs, outputs
        self.open_in: str | None = None
        self.open_foot: str | None = None
        self.received: dict[str, Callable[[float, bytes], None]] = {}
        self.open_out: str | None = None
        self.sent: list[bytes] = []

    def ports(self) -> PortList:
        return PortList(self.inputs, self.outputs, "")

    def open_input(self, name: str, received: Callable[[float, bytes], None], place: str = "") -> None:
        if name not in self.inputs:
            raise PortError(f"{name} is not there")
        self._opened(place, name)
        self.received[place] = received

    def close_input(self, place: str = "") -> None:
        self._opened(place, None)
        self.received.pop(place, None)

    def _opened(self, place: str, name: str | None) -> None:
        if place:
            self.open_foot = name
        else:
            self.open_in = name

    def open_output(self, name: str) -> Callable[[bytes], None]:
        if name not in self.outputs:
            raise PortError(f"{name} is not there")
        self.open_out = name

        def send(data: bytes) -> None:
            if self.open_out != name:
                raise PortError(f"{name} is closed")
            self.sent.append(data)

        return send

    def close_output(self) -> None:
        self.open_out = None

    def close(self) -> None: ...


@pytest.fixture(scope="session")
def make_driver() -> Callable[..., FakeDriver]:
    """Makes drivers in memory: their inputs and outputs."""
    return FakeDriver


class FakeMidi(NoMidi):
    """Ports in memory."""

    def __init__(self) -> None:
        self.reserved = frozenset({"midi", "foot"})
        self.open = False
        self.out: list[TimedMidi] | None = None
        self.silenced = 0

    def ports(self) -> wire.Ports:
        return wire.Ports(["banjo"] if self.open else [], [], "banjo" if self.open else None, None, "")

    @property
    def instrument(self) -> str:
        return "banjo" if self.open else ""

    def choose(self, *, midi_in: str | None, midi_out: str | None, midi_foot: str | None = None) -> None:
        if midi_in is not None:
            self.open = midi_in == "banjo"

    def seats(self) -> tuple[str, ...]:
        return ("midi",) if self.open else ()

    def sender(self) -> Callable[[list[TimedMidi]], None] | None:  # type: ignore[override]
        return None if self.out is None else self.out.extend

    def silence(self) -> None:
        self.silenced += 1


class FakeMemory:
    """What remembers, in memory: it answers when the world settles, or when it is told to.

    Attributes:
        remembered: of the player.
        fails: why nothing can be read or written; None where all can.
        is_slow: it does not answer by itself.
        waiting: its answers that are still to come.
        passes, settings: that were kept.
    """

    def __init__(self, later: deque[Callable[[], None]]) -> None:
        self.remembered = Remembered()
        self.fails: CoachError | None = None
        self.is_slow = False
        self.waiting: list[Callable[[], None]] = []
        self.passes: list[KeptPass] = []
        self.settings: dict[str, Any] = {}
        self._later = later

    def recall(self, player: str, done: Callable[[Remembered | CoachError], None]) -> None:
        self._answer(lambda: done(self.fails or self.remembered))

    def keep_pass(self, kept: KeptPass, done: Callable[[CoachError | None], None]) -> None:
        if self.fails is None:
            self.passes.append(kept)
        self._answer(lambda: done(self.fails))

    def keep_settings(
        self, player: str, settings: Mapping[str, Any], when: datetime, done: Callable[[CoachError | None], None]
    ) -> None:
        if self.fails is None:
            self.settings |= settings
        self._answer(lambda: done(self.fails))

    def answer(self) -> None:
        """Give all answers that are still to come."""
        self._later.extend(self.waiting)
        self.waiting.clear()

    def _answer(self, answer: Callable[[], None]) -> None:
        (self.waiting if self.is_slow else self._later).append(answer)


class FakePage:
    """A page in memory: its clock is ``theta`` ahead of the service's, and it answers pings at once."""

    def __init__(self, world: World, seat: str, theta: float) -> None:
        self.world = world
        self.seat = seat
        self.theta = theta
        self.messages: list[wire.FromService] = []
        self.page: Page | None = None
        self.sounds_at: float | None = 0.2  # seconds until the count-in, when asked to sound; None for never
        self.seq = 0
        self.sent: list[wire.InputNote] = []
        self.plays_on = seat  # the input that plucks come by

    def now(self) -> float:
        return self.world.clock() + self.theta

    def send(self, message: wire.FromService) -> None:
        """The service sends a message to this page."""
        self.messages.append(message)
        self.world.later.append(lambda: self._react(message))

    def _react(self, message: wire.FromService) -> None:
        if isinstance(message, wire.Ping) and self.page is not None:
            self.say(wire.Pong(message.id, message.t1, self.now(), self.now()))
        if isinstance(message, wire.Begin) and message.sounds and message.origin is None and self.sounds_at is not None:
            self.say(wire.Sounding(message.number, self.now() + self.sounds_at + message.lead))

    def come(self) -> None:
        self.page = self.world.session.join(self.seat, self)
        self.world.settle()

    def go(self) -> None:
        assert self.page is not None
        self.world.session.pages.leave(self.page, self)
        self.page = None

    def say(self, message: wire.FromPage) -> None:
        assert self.page is not None
        self.world.session.take(self.page, message)
        self.world.settle()

    def pluck(self, data: bytes, stamp: float | None = None) -> None:
        """A note of the pad, sent if the page is connected, kept until it is acknowledged in any case."""
        self.seq += 1
        note = wire.InputNote(self.seq, self.now() if stamp is None else stamp, list(data))
        self.sent.append(note)
        if self.page is not None:
            self.say(wire.Notes(self.plays_on, [note]))

    def mark(self, stamp: float | None = None) -> None:
        """The watermark."""
        if self.page is not None:
            for seat in {self.seat, self.plays_on}:
                self.say(wire.Notes(seat, [], self.now() if stamp is None else stamp))

    def hear(self, name: str, stamp: float | None = None) -> None:
        """The page hears an instrument by its browser, which is played on from now on; none where the name is empty."""
        self.plays_on = f"{self.seat}-midi"
        self.say(wire.Input(name, stamp))

    def all(self, kind: type[M]) -> list[M]:
        """The messages of a kind that came so far."""
        return [message for message in self.messages if isinstance(message, kind)]

    def last(self, kind: type[M]) -> M:
        """The last message of a kind."""
        return self.all(kind)[-1]


class FakeBook:
    """The solos of one tune, made at once and kept.

    Attributes:
        why: why none of them can be edited; empty where they can.
        fails: why those can not be made that ``failing`` is true of; None where all can.
    """

    def __init__(self, tune: Tune, solos: dict[Tier, Solo]) -> None:
        self.tune = tune
        self.why = ""
        self.fails: CoachError | None = None
        self.failing: Callable[[Piece], bool] = lambda _: True
        self._kept = {Piece(tune.id, tier): solo for tier, solo in solos.items()}

    async def made(self, piece: Piece) -> Solo:
        if piece not in self._kept:
            if self.fails is not None and self.failing(piece):
                raise self.fails
            mixed, plain = (self.tune, piece.tier, piece.mix, piece.edits), (self.tune, piece.tier, piece.edits)
            self._kept[piece] = mixed_of(*mixed) if piece.mix else solo_of(*plain)
        return self._kept[piece]

    async def ways(self, digest: str, number: int) -> Ways:
        piece, solo = next((piece, solo) for piece, solo in self._kept.items() if solo.digest == digest)
        return ways_of(self.tune, solo.arrangement, number, piece.edits)

    def why_not(self, piece: Piece) -> str:
        return self.why


class World:
    """A session with a clock that stands still until it is told to go on.

    Attributes:
        lines: the list of tunes.
        solos: of each tune by its id.
        edits, first: with which edits the solos of each tune were asked for last, and which tier first.
        memory: of the session.
        day: on which it is played.
    """

    def __init__(
        self, root: Path, solos: dict[Tier, Solo], tune: Tune, person: Person = ALONE, bus: Bus | None = None
    ) -> None:
        self.clock = FakeClock(1000.0)
        self.later: deque[Callable[[], None]] = deque()
        self.midi = FakeMidi()
        self.root = root
        self.fetched: list[tuple[str, TakeSolos]] = []
        self.made: list[tuple[Piece, Callable[[Solo | CoachError], None]]] = []
        self.tune = wire.TuneLine(tune.id, tune.title, str(tune.key), "4/4", 4)
        self.lines = [self.tune]
        self.solos = {tune.id: solos}
        self.memory = FakeMemory(self.later)
        self.day = datetime(2026, 1, 1, tzinfo=UTC)
        self.folders = 0
        self.edits: dict[str, Edits | None] = {}
        self.first: dict[str, Tier] = {}
        self.book = FakeBook(tune, solos)
        self.desk = EditDesk(self.book, EditStore(root / "edits"), asyncio.run, self._edits_changed)
        self.session = Session(
            person.id,
            person=person,
            bus=bus,
            fetch=self._fetch,
            make=lambda piece, done: self.made.append((piece, done)),
            desk=self.desk,
            keeper=Keeper(root, self._name, lambda: "2026-01-01T00:00:00Z"),
            memory=self.memory,
            now=self.clock,
            wall=lambda: self.day + timedelta(seconds=self.clock()),
            midi=self.midi,
            climb=Climb(),
            instruments=Instruments(root / "instruments.json", lambda: "2026-01-01T00:00:00Z"),
            listed=lambda: self.lines,
            hello=lambda session, page: wire.Hello(
                "0", 1, "digest", session, page.seat, page.taken.seq, [], page.instrument_taken.seq, page.instrument
            ),
        )

    def _fetch(self, tune: str, first: Tier, edits: Edits | None, done: TakeSolos) -> None:
        self.edits[tune], self.first[tune] = edits, first
        self.fetched.append((tune, done))

    def _edits_changed(self, tune: str) -> None:
        self.session.edits_changed(tune)

    def _name(self) -> str:
        self.folders += 1
        return f"folder-{self.folders}"

    def settle(self) -> None:
        """Let pages react to what they were sent."""
        while self.later:
            self.later.popleft()()

    def begin(self) -> None:
        """Recall the player and choose the first tune."""
        self.session.recall(lambda: (), is_whole=lambda: True)
        self.settle()

    def ready(self) -> None:
        """Begin, and deliver the solos of the tune."""
        self.begin()
        self.deliver()

    def deliver(self) -> None:
        """Deliver the solos that were asked for."""
        asked = list(self.fetched)
        self.fetched.clear()
        for tune, done in asked:
            edits, solos = self.edits[tune], dict(self.solos[tune])
            if edits is not None:
                for tier in solos:
                    solos[tier] = asyncio.run(self.book.made(Piece(tune, tier).edited(edits)))
            done(solos)
        self.settle()

    def page(self, seat: str = "pad", theta: float = 500.0) -> FakePage:
        page = FakePage(self, seat, theta)
        page.come()
        return page

    def run(self, seconds: float, beat: float = 0.05, marks: tuple[FakePage, ...] = ()) -> None:
        """Let time go on in beats; ``marks`` send their watermark with each."""
        for _ in range(round(seconds / beat)):
            self.clock.advance(beat)
            for page in marks:
                page.mark()
            self.session.tick()
            self.settle()

    def play(self, page: FakePage, order: Iterable[tuple[float, bytes]], until: float, origin: float) -> None:
        """Play notes, given in pass time, at their times on the pad; time goes on until ``until`` in pass time."""
        notes = deque(sorted(order))
        while self.clock() + page.theta < origin + until:
            self.clock.advance(0.01)
            while notes and origin + notes[0][0] <= page.now():
                seconds, data = notes.popleft()
                page.pluck(data, origin + seconds)
            page.mark()
            self.session.tick()
            self.settle()


@pytest.fixture(scope="session")
def make_world(solos: dict[Tier, Solo], tune: Tune) -> Callable[[Path], World]:
    """Makes a world in a folder; who makes it closes its session."""
    return lambda root: World(root, solos, tune)


@pytest.fixture
def new_world(tmp_path: Path, solos: dict[Tier, Solo], tune: Tune) -> Iterator[Callable[..., World]]:
    """Makes worlds, for a person and a bus where they are given; what is played in them ends with the test."""
    made: list[World] = []

    def make(person: Person = ALONE, bus: Bus | None = None) -> World:
        made.append(World(tmp_path / f"world-{len(made)}" if made else tmp_path, solos, tune, person, bus))
        return made[-1]

    yield make
    for world in made:
        world.session.close()


@pytest.fixture
def world(new_world: Callable[[], World]) -> World:
    return new_world()


@pytest.fixture
def as_written() -> Callable[..., list[tuple[float, bytes]]]:
    """Gives what to play, exactly in time."""
    return _as_written


def _as_written(solo: Solo, tempo: float, first: int = 1, last: int = 4) -> list[tuple[float, bytes]]:
    """The picked notes of some measures, in time: seconds from position 0, and note-on of string n on channel n."""
    notes = []
    at = Fraction(0)
    for measure in solo.arrangement.measures:
        if first <= measure.number <= last:
            for pluck in measure.plucks:
                seconds = float(at + pluck.at) * 60 / tempo
                notes.append((seconds, bytes((0x90 | pluck.string - 1, pluck.pitch, 90))))
            at += measure.length
    return notes
