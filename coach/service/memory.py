"""What is remembered of players across days, as a session asks for it and adds to it.

The session does no input or output of its own: it hands over what is to be kept, and is called back on the event loop
when it is on the disk. :mod:`~coach.service.archive` is the memory in a database.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Protocol

from coach.errors import CoachError
from coach.ladder.known import Kept, Known
from coach.ladder.rungs import Kind
from coach.listening.findings import Finding
from coach.listening.scores import PassResult

__all__ = ["KeptPass", "Memory", "Remembered", "SittingKept", "days_of", "time_of"]

_DAY = 86400.0  # seconds


def days_of(when: datetime) -> float:
    """A time, with its zone, in days (of 24 hours) as the ladder counts them."""
    return when.timestamp() / _DAY


def time_of(day: float) -> datetime:
    """The time that is meant by days as the ladder counts them."""
    return datetime.fromtimestamp(day * _DAY, UTC)


@dataclass(frozen=True, slots=True)
class SittingKept:
    """A sitting as far as it has gone.

    Attributes:
        began: when, with its zone.
        planned: the minutes that there were; None where it was open.
        minutes: that were played.
        tempo: the fastest of its passes; None where there was none.
    """

    began: datetime
    planned: float | None
    minutes: float
    tempo: float | None


@dataclass(frozen=True, slots=True)
class Remembered:
    """What is remembered of a player.

    Attributes:
        settings: as plain values by the names of the wire.
        standings: where the ladder of each tune stands, as plain values; the tune that was played last comes first.
        known: the curves of each tune's measures.
        sitting: the last one; None where there was none.
    """

    settings: Mapping[str, Any] = field(default_factory=dict)
    standings: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    known: Mapping[str, Known] = field(default_factory=dict)
    sitting: SittingKept | None = None


@dataclass(frozen=True, slots=True)
class KeptPass:
    """A pass that is to be kept, with all that it leaves behind.

    Attributes:
        player: the name of the session.
        tune, title: of the tune.
        digest, tier, mix: of the solo; of a mixed one the tier it came from, and the measures of the next.
        kind: what it was for.
        tempo, goal: of the pass and of the ladder, quarters a minute.
        result: what came of it.
        seconds: how long it was played.
        over: when that ended, at the player's place and with its zone.
        whole, clean: as the report has it, or by the player's own mark; without one it is not clean.
        is_marked, is_free: whether it is for the player to mark; whether it was played without a click.
        folder: the name of its session folder.
        standing: where the ladder of the tune stands after it, as plain values; None where nothing moved.
        curves: that it changed, by tier and measure.
        sitting: that it is part of.
        found: habits and faults that were found in it, what costs most first.
    """

    player: str
    tune: str
    title: str
    digest: str
    tier: str
    mix: tuple[int, ...]
    kind: Kind
    tempo: float
    goal: float
    result: PassResult
    seconds: float
    over: datetime
    whole: bool
    clean: bool
    is_marked: bool
    is_free: bool
    folder: str
    standing: Mapping[str, Any] | None = None
    curves: Mapping[str, Mapping[int, Kept]] = field(default_factory=dict)
    sitting: SittingKept | None = None
    found: tuple[Finding, ...] = ()


class Memory(Protocol):
    """What a session asks of what remembers; it is called back on the event loop, now or later."""

    def recall(self, player: str, done: Callable[[Remembered | CoachError], None]) -> None:
        """Ask for what is remembered of a player."""
        ...

    def keep_pass(self, kept: KeptPass, done: Callable[[CoachError | None], None]) -> None:
        """Keep a pass, in place of what was kept of it; it is called back when it is on the disk, or with the reason
        why it is not."""
        ...

    def keep_settings(
        self, player: str, settings: Mapping[str, Any], when: datetime, done: Callable[[CoachError | None], None]
    ) -> None:
        """Keep settings, as plain values by their names, in place of those before."""
        ...
