"""The memory in a database: what players played, and what is known of them.

The database and its libraries are taken up by a thread of its own when something is first asked, so that nobody waits
for them. What is asked is done in order, each pass in one transaction; trouble comes back as a sentence. A pass that
could not be kept is kept with the next one that can be.
"""

from __future__ import annotations

import asyncio
import json
import logging
import time
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar

from coach.errors import CoachError, RecordsError
from coach.ladder.curve import from_bytes, to_bytes
from coach.ladder.known import Kept, Known
from coach.ladder.sitting import COUNTS
from coach.listening.report import SCORING
from coach.listening.saying import words_of
from coach.service.memory import KeptPass, Remembered, SittingKept, days_of
from coach.service.pieces import repeats_of
from coach.service.seen import measures_over

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from coach.records.entry import Entry
    from coach.records.known import KnownCurve
    from coach.records.played import PlayedMeasure
    from coach.records.store import Store

__all__ = ["Archive"]

FILE = "records.db"

AGAIN = 30.0
"""Seconds before records that could not be opened are tried again."""

_log = logging.getLogger(__name__)

T = TypeVar("T")


class Archive:
    """The memory in a database.

    Args:
        folder: where ``records.db`` lies, where no other database is named; it is made where needed.
        url: of another database, as :class:`~coach.records.store.Store` takes it; None for none.
        hand_over: runs something on the event loop.
    """

    def __init__(self, folder: Path, url: str | None, hand_over: Callable[[Callable[[], None]], None]) -> None:
        self._folder = folder
        self._url = url
        self._hand_over = hand_over
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="memory")
        # One question at a time: more would keep the clicking thread waiting for the interpreter.
        self._asking = ThreadPoolExecutor(max_workers=1, thread_name_prefix="asking")
        self._opening = Lock()
        self._store: Store | None = None
        self._trouble: tuple[float, CoachError] | None = None
        self._owed: list[Entry] = []  # passes that are not on the disk yet; the thread's own, as are:
        self._forgotten: set[str] = set()  # players of whom what is still on its way is not written

    def recall(self, player: str, done: Callable[[Remembered | CoachError], None]) -> None:
        """Ask for what is remembered of a player."""
        self._do(lambda: self._opened().read(lambda connection: _remembered(connection, player)), done)

    def keep_pass(self, kept: KeptPass, done: Callable[[CoachError | None], None]) -> None:
        """Keep a pass in one transaction, behind those that could not be kept before."""

        def keep() -> None:
            from coach.records.entry import keep_entry, make_up

            if kept.player in self._forgotten:
                return
            entry, owed = _entry(kept), tuple(self._owed)
            self._owed.append(entry)

            def change(connection: Connection) -> None:
                make_up(connection, owed)
                keep_entry(connection, entry)

            self._opened().write(change).result()
            self._owed.clear()

        self._do(keep, done)

    def keep_settings(
        self, player: str, settings: Mapping[str, Any], when: datetime, done: Callable[[CoachError | None], None]
    ) -> None:
        """Keep settings, as plain values by their names, in place of those before."""

        def change(connection: Connection) -> None:
            from coach.records.known import keep_settings
            from coach.records.played import add_player, moment

            add_player(connection, player, player, moment(when))
            keep_settings(connection, player, _texts(settings))

        def keep() -> None:
            if player not in self._forgotten:
                self._opened().write(change).result()

        self._do(keep, done)

    async def ask(self, question: Callable[[Connection], T]) -> T:
        """Ask something of the records, off the event loop and behind what was asked before.

        Raises:
            RecordsError: when they cannot be reached.
        """
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._asking, lambda: self._opened().read(question))

    async def change(self, change: Callable[[Connection], T]) -> T:
        """Change something in the records, in one transaction and behind what was written before; done, it is on the
        disk.

        Raises:
            RecordsError: when they cannot be reached, and nothing was changed.
        """
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._thread, lambda: self._opened().write(change).result())

    async def forget(self, player: str, change: Callable[[Connection], T]) -> T:
        """Change something so that nothing is left of a player for good: what of theirs was not written yet, or comes
        later, never is.

        Raises:
            RecordsError: when they cannot be reached, and nothing was changed.
        """

        def forget() -> T:
            self._owed = [each for each in self._owed if each.played.player != player]
            store = self._opened()
            result = store.write(change).result()
            self._forgotten.add(player)
            store.clear()
            return result

        return await asyncio.get_running_loop().run_in_executor(self._thread, forget)

    def close(self) -> None:
        """Finish what was asked, and let go."""
        self._asking.shutdown(cancel_futures=True)
        self._thread.shutdown()
        if self._store is not None:
            self._store.close()

    def _do(self, work: Callable[[], T], done: Callable[[T | CoachError], None]) -> None:
        def run() -> None:
            result: T | CoachError
            try:
                result = work()
            except CoachError as error:
                result = error
            except Exception as error:  # noqa: BLE001 - the practice goes on, whatever is wrong with the records
                _log.exception("The records stumbled")
                result = RecordsError(f"the records cannot be used ({type(error).__name__})", cure="see the log")
            self._hand_over(lambda: done(result))

        with suppress(RuntimeError):  # closed already
            self._thread.submit(run)

    def _opened(self) -> Store:
        """The store, opened when it is first needed; errors as sentences."""
        with self._opening:
            if self._store is not None:
                return self._store
            if self._trouble is not None and time.monotonic() - self._trouble[0] < AGAIN:
                raise self._trouble[1]
            try:
                self._store = self._open()
            except CoachError as error:
                self._trouble = time.monotonic(), error
                raise
            return self._store

    def _open(self) -> Store:
        from coach.records.store import Store, url_of

        if self._url is not None:
            return Store(self._url)
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise RecordsError(
                f"the records cannot be kept ({error.strerror or error})",
                where=str(self._folder),
                cure="serve with another --data",
            ) from error
        return Store(url_of(self._folder / FILE))


def _remembered(connection: Connection, player: str) -> Remembered:
    from coach.records.known import curves_of, ladders_of, settings_of
    from coach.records.sittings import last_sitting

    ladders = ladders_of(connection, player)
    last = last_sitting(connection, player, minutes=COUNTS)
    return Remembered(
        settings={name: json.loads(value) for name, value in settings_of(connection, player).items()},
        standings={tune: json.loads(ladder.state) for tune, ladder in ladders.items()},
        known={tune: _known(curves_of(connection, player, tune)) for tune in ladders},
        sitting=None if last is None else SittingKept(_time(last.began), last.planned, last.minutes, last.tempo),
    )


def _known(curves: Mapping[str, Mapping[int, KnownCurve]]) -> Known:
    """Curves as the ladder has them; one that cannot be read is left out, and measured anew."""
    known: dict[str, dict[int, Kept]] = {}
    for tier, measures in curves.items():
        for measure, each in measures.items():
            with suppress(ValueError):
                curve = from_bytes(each.weights, each.passes)
                known.setdefault(tier, {})[measure] = Kept(curve, days_of(_time(each.updated)))
    return Known(known)


def _time(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _entry(kept: KeptPass) -> Entry:
    """A pass as the records take it."""
    from coach.records.entry import Entry
    from coach.records.findings import FoundHabit
    from coach.records.known import KnownCurve
    from coach.records.played import PlayedPass, moment
    from coach.records.sittings import PlayedSitting

    result, sitting = kept.result, kept.sitting
    began = kept.over - timedelta(seconds=kept.seconds)
    measures = result.plan.measures
    return Entry(
        played=PlayedPass(
            player=kept.player,
            tune=kept.tune,
            title=kept.title,
            digest=kept.digest,
            tier=kept.tier,
            tempo=kept.tempo,
            goal=kept.goal,
            first=measures[0].number,
            last=measures[-1].number,
            began=moment(began),
            day=began.date().isoformat(),
            seconds=kept.seconds,
            whole=kept.whole,
            clean=kept.clean,
            judged="marked" if kept.is_marked else "freely" if kept.is_free else "heard",
            folder=kept.folder,
            number=result.plan.number,
            scoring=SCORING,
            kind=kept.kind,
            mix=kept.mix,
            kept_going=None if kept.is_marked else result.kept_going,
            measures=() if kept.is_marked else _measures(kept),
        ),
        # A jam run has measures of its own.
        repeats={} if kept.kind == "jam" else repeats_of(result.plan.arrangement),
        curves={
            tier: {
                measure: KnownCurve(to_bytes(each.curve), each.curve.passes, moment(kept.over))
                for measure, each in curves.items()
            }
            for tier, curves in kept.curves.items()
        },
        ladder=None if kept.standing is None else json.dumps(kept.standing, ensure_ascii=False),
        sitting=None
        if sitting is None
        else PlayedSitting(kept.player, moment(sitting.began), sitting.planned, sitting.minutes, sitting.tempo),
        found=tuple(FoundHabit(each.name, words_of(each), each.cost) for each in kept.found),
    )


def _measures(kept: KeptPass) -> tuple[PlayedMeasure, ...]:
    """What came of each measure; of a pass to the click those that were over when it was stopped."""
    from coach.records.played import PlayedMeasure

    over = None if kept.is_free else measures_over(kept.result.plan, kept.seconds)
    return tuple(
        PlayedMeasure(
            number=score.number,
            expected=score.expected,
            played=score.played,
            wrong=score.wrong,
            extra=score.extra,
            off_time=score.off_time,
            mean_offset_ms=None if kept.is_free else score.mean_offset_ms,
            clean=score.clean,
        )
        for score in kept.result.measures
        if over is None or score.number in over
    )


def _texts(settings: Mapping[str, Any]) -> dict[str, str]:
    return {name: json.dumps(value, ensure_ascii=False) for name, value in settings.items()}
