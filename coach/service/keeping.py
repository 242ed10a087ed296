"""Keeping what is played: the session folder, its journal while a pass runs, and its report at the end of each pass.

A folder holds passes of one tune on one instrument with one set of its settings; when one of these changes, the next
pass begins a new folder. The journal has a line for every message and one for every second, and is written once a
second, so that what was played is there after a kill, up to the last second.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, wait
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from coach.errors import TakeError
from coach.listening.free_time import FreePass
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult, following
from coach.listening.told import Told, tell_last
from coach.service.aside import Aside, AtOnce
from coach.service.jobs import Solo
from coach.takes.recorder import Recorder
from coach.takes.replay import AnyPass, make_reports, report_text
from coach.takes.sessions import Instrument, JournalWriter, Session, SessionPass, save_arrangement, save_session

__all__ = ["Keeper", "PassKeeping"]

MOST_PASSES = 16
"""Passes of a folder: it is written anew after each, so that a long one would make each pass dearer than the last."""

_GATHERED = frozenset({"midi", "dropped"})
"""Kinds of entries that wait for company on their way to the journal."""

_BEFORE = 0.5  # seconds of the take before the count-in of its first pass


@dataclass(slots=True)
class _Open:
    """The folder that passes go to now."""

    folder: Path
    zero: float
    session: Session
    tolerance: float | None
    recorder: Recorder
    entries: list[Mapping[str, Any]] = field(default_factory=list)
    unwritten: int = 0  # how many of the last of these are not in the journal yet
    journal: JournalWriter | None = None
    heard: list[tuple[str, AnyPass]] = field(default_factory=list)  # each with the digest of its solo
    told: list[Told] = field(default_factory=list)  # of each of these


@dataclass(frozen=True, slots=True)
class PassKeeping:
    """What a pass that begins is to be kept with.

    Attributes:
        solo: what is played.
        plan: of the pass; its origin is not known yet.
        instrument: what is played on.
        tolerance_ms: what is on time; None for the usual share of the gap.
        origin: when position 0 is heard, on the service's clock.
        lead: seconds of count-in before it.
        self_marked: whether the player will mark it.
        free: whether it is played in free time.
    """

    solo: Solo
    plan: PassPlan
    instrument: Instrument
    tolerance_ms: float | None
    origin: float
    lead: float
    self_marked: bool
    free: bool


class Keeper:
    """Keeps the passes of one session of the service.

    Args:
        root: the folder of all session folders.
        name: gives the folder of a session that begins a name.
        started: gives the time of day, RFC 3339 in UTC.
        aside: tells what is told of a pass, and writes its folder.
    """

    def __init__(
        self, root: Path, name: Callable[[], str], started: Callable[[], str], aside: Aside | None = None
    ) -> None:
        self._root = root
        self._aside = aside or AtOnce()
        self._writing_down: Future[None] | None = None
        self._name = name
        self._started = started
        self._open: _Open | None = None
        self._trouble = ""
        self._folders: dict[int, tuple[Path, int]] = {}

    def begin(self, keeping: PassKeeping) -> PassPlan:
        """Begin a pass; returns its plan with its place in the take, which it is to be judged by.

        Raises:
            TakeError: when its folder cannot be written; the next pass begins another one.
        """
        self._settle()
        try:
            return self._begin(keeping)
        except OSError as error:
            self._open = None
            raise TakeError(
                f"the pass cannot be kept ({error.strerror or error})",
                where=str(self._root),
                cure="make room there, or serve with another --data",
            ) from error

    def _begin(self, keeping: PassKeeping) -> PassPlan:
        tune = keeping.solo.arrangement.tune
        now = self._open
        if (
            now is None
            or len(now.session.passes) >= MOST_PASSES
            or (now.session.tune, now.session.instrument, now.tolerance)
            != (tune, keeping.instrument, keeping.tolerance_ms)
        ):
            now = self._open = self._new(keeping, tune)
        self._resume(now)
        if not (now.folder / f"arrangement-{keeping.solo.digest}.json").exists():  # to write it takes milliseconds
            save_arrangement(now.folder, keeping.solo.arrangement)
        plan = keeping.plan
        # A pass that was stopped early takes all of its time in the take: what follows it begins with its count-in.
        seconds = max(keeping.origin - now.zero, now.recorder.take().end + keeping.lead)
        whole = plan.first is None and plan.last is None
        numbers = [measure.number for measure in plan.measures]
        mark = now.recorder.begin_pass(
            seconds, plan.tempo, first=None if whole else numbers[0], last=None if whole else numbers[-1]
        )
        plan = replace(plan, tempo=mark.tempo, origin=mark.seconds, number=len(now.recorder.passes))
        plan = following(plan, _played(now.heard[-1][1]) if now.heard else None)
        now.session = now.session.with_pass(
            SessionPass(
                number=plan.number,
                tier=plan.arrangement.tier,
                digest=keeping.solo.digest,
                tempo=plan.tempo,
                measures=plan.span,
                lean_ms=plan.lean_ms,
                bounce=plan.bounce,
                self_marked=False if keeping.self_marked else None,
                free=keeping.free,
            )
        )
        self._say_session(now)
        return plan

    # The take as a pass needs it.

    def snap(self, seconds: float) -> float:
        """A stamp put on its tick."""
        return self._now.recorder.grid.snap(seconds)

    def snap_down(self, seconds: float) -> float:
        """A watermark put on the tick at or before it."""
        return self._now.recorder.grid.snap_down(seconds)

    def keep(self, seconds: float, data: bytes) -> None:
        """Keep a message that was put on its tick."""
        self._now.recorder.add(seconds, data)

    def goes_on(self, seconds: float) -> None:
        """The take goes on until at least ``seconds``; said once a second while a pass runs."""
        self._now.recorder.now(seconds)

    def write_down(self) -> None:
        """Bring what was kept to the journal; asked for once a second where the take does not go on."""
        self._write_down(self._now)

    def cancel(self) -> None:
        """The pass that was begun last does not take place."""
        now = self._now
        now.recorder.cancel_pass()
        now.session = replace(now.session, passes=now.session.passes[:-1])
        self._say_session(now)
        self._rest(now)()

    def end(
        self,
        result: AnyPass,
        *,
        end: float,
        stopped: float | None,
        ladder: Mapping[str, Any] | None,
        done: Callable[[Told | None], None],
    ) -> None:
        """A pass is done: write its folder.

        Args:
            result: what came of it.
            end: until when the take goes on, in its seconds.
            stopped: where the player stopped it, in seconds of the take.
            ladder: the ladder's state as a plain dictionary.
            done: called when the folder is written, with what is told of the pass; with None where the player is to
                mark it.
        """
        now = self._now
        if stopped is not None:
            now.recorder.stop_pass(stopped)
        now.recorder.now(end)
        for dropped in _played(result).dropped:
            now.recorder.drop(dropped.seconds, dropped.pitch, dropped.reason)
        alike: list[PassResult] = []
        free = isinstance(result, FreePass)
        if now.session.passes[-1].self_marked is None:
            solo = now.session.passes[-1].digest
            now.heard.append((solo, result))
            alike = [
                _played(each) for digest, each in now.heard if digest == solo and isinstance(each, FreePass) == free
            ]
        now.session = replace(now.session, ladder=ladder)
        write = self._rest(now)

        def work() -> Told | None:
            told = None
            if alike:
                told = tell_last(alike, to_click=not free)
                now.told.append(told)
            write()
            return told

        self._writing_down = self._aside.do(work, done)

    def mark(self, *, clean: bool, ladder: Mapping[str, Any] | None) -> None:
        """The player marks the pass that was ended last."""
        self._settle()
        now = self._now
        last = replace(now.session.passes[-1], self_marked=clean)
        now.session = replace(now.session, passes=(*now.session.passes[:-1], last), ladder=ladder)
        self._say_session(now)
        self._rest(now)()

    def remember(self, number: int) -> None:
        """Remember where the pass that was ended last is kept, by its number on the wire."""
        self._folders[number] = self._now.folder, self._now.session.passes[-1].number

    def folder_of(self, number: int) -> Path | None:
        """The folder of a pass, None where there is none."""
        place = self.place_of(number)
        return None if place is None else place[0]

    def place_of(self, number: int) -> tuple[Path, int] | None:
        """The folder of a pass and its number there, None where there is none."""
        return self._folders.get(number)

    @property
    def _now(self) -> _Open:
        assert self._open is not None
        return self._open

    def _new(self, keeping: PassKeeping, tune: str) -> _Open:
        entries: list[Mapping[str, Any]] = []
        opened = _Open(
            folder=self._root / self._name(),
            zero=keeping.origin - keeping.lead - _BEFORE,
            session=Session(
                tune=tune,
                instrument=keeping.instrument,
                tolerance_ms=keeping.tolerance_ms,
                started=self._started(),
            ),
            tolerance=keeping.tolerance_ms,
            recorder=Recorder(),
            entries=entries,
        )

        def journal(entry: dict[str, Any]) -> None:
            entries.append(entry)
            opened.unwritten += 1
            if entry["kind"] not in _GATHERED:
                self._write_down(opened)

        opened.recorder = Recorder(journal)
        return opened

    def _write_down(self, now: _Open) -> None:
        """Bring to the journal what is not there yet."""
        if now.unwritten:
            entries, now.unwritten = now.entries[-now.unwritten :], 0
            with self._writing(now):
                if now.journal is not None:
                    now.journal.write_all(entries)

    def _resume(self, now: _Open) -> None:
        """Take up the journal; between passes there is none, since everything is in the other files."""
        if now.journal is not None:
            return
        now.folder.mkdir(parents=True, exist_ok=True)
        beside = now.folder / ".journal.new"
        lines = [{"kind": "session", "session": now.session.to_dict()}, *now.entries]
        beside.write_text(
            "".join(json.dumps(line, ensure_ascii=False, separators=(",", ":")) + "\n" for line in lines), "utf-8"
        )
        beside.replace(now.folder / "journal.jsonl")
        now.unwritten = 0
        now.journal = JournalWriter(now.folder)

    def _say_session(self, now: _Open) -> None:
        self._write_down(now)
        with self._writing(now):
            if now.journal is not None:
                now.journal.session(now.session)

    @contextmanager
    def _writing(self, now: _Open) -> Iterator[None]:
        """What cannot be written now is kept in memory, so that playing and judging go on; the end tries again."""
        try:
            yield
        except OSError as error:
            if now.journal is not None:
                with suppress(OSError):
                    now.journal.close()
                now.journal = None
            self._trouble = str(
                TakeError(
                    f"what was played could not be written ({error.strerror or error})",
                    where=str(now.folder),
                    cure="make room there: it is written with the next pass",
                )
            )

    @property
    def is_writing(self) -> bool:
        """Whether a folder is being written."""
        return self._writing_down is not None and not self._writing_down.done()

    def trouble(self) -> str:
        """What could not be written since this was asked last, in a sentence; empty where all was."""
        trouble, self._trouble = self._trouble, ""
        return trouble

    def _rest(self, now: _Open) -> Callable[[], None]:
        """Let the journal go; gives what writes the folder whole, as it stands now."""
        self._write_down(now)
        with self._writing(now):
            if now.journal is not None:
                now.journal.close()
                now.journal = None
        session, heard = now.session, tuple(now.heard)
        take = now.recorder.take() if now.recorder.passes else None

        def write() -> None:
            report = report_text(make_reports(heard, now.told)) if heard else None
            with self._writing(now):
                if take is not None:
                    save_session(now.folder, session, take, report)

        return write

    def _settle(self) -> None:
        """Wait for what is being written aside: the journal of a pass that begins must not go with it."""
        if self._writing_down is not None:
            wait([self._writing_down])
            self._writing_down = None


def _played(each: AnyPass) -> PassResult:
    """What became of the plucks of a pass."""
    return each.result if isinstance(each, FreePass) else each
