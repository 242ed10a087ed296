"""An entry in the records: all that a pass leaves behind, kept together or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field

from sqlalchemy import Connection
from sqlalchemy.exc import DataError, IntegrityError

from coach.records.findings import FoundHabit, keep_findings
from coach.records.known import KnownCurve, keep_curves, keep_ladder, keep_settings
from coach.records.played import PlayedPass, add_pass, keep_repeats
from coach.records.sittings import PlayedSitting, keep_sitting

__all__ = ["Entry", "keep_entry", "make_up"]


@dataclass(frozen=True, slots=True)
class Entry:
    """What a pass leaves behind.

    Attributes:
        played: the pass; its player and tune are those of all else.
        curves: that it changed, by tier and measure.
        ladder: where the ladder of the tune stands after it, as JSON text; None where it did not move.
        settings: of the player, each as JSON text.
        sitting: the one that it is part of, as far as it has gone.
        repeats: of the tune, the number of each measure that repeats another, with the number of that one; empty where
            there are none, or the pass does not tell.
        found: habits that were found in the pass, what costs most first.
    """

    played: PlayedPass
    curves: Mapping[str, Mapping[int, KnownCurve]] = field(default_factory=dict)
    ladder: str | None = None
    settings: Mapping[str, str] = field(default_factory=dict)
    sitting: PlayedSitting | None = None
    repeats: Mapping[int, int] = field(default_factory=dict)
    found: tuple[FoundHabit, ...] = ()


def keep_entry(connection: Connection, entry: Entry) -> None:
    """Keep all of an entry; within :meth:`~coach.records.store.Store.write` that is one transaction."""
    played = entry.played
    key = add_pass(connection, played)
    keep_findings(connection, key, entry.found)
    if entry.repeats:
        keep_repeats(connection, played.tune, entry.repeats)
    keep_curves(connection, played.player, played.tune, entry.curves)
    if entry.ladder is not None:
        keep_ladder(connection, played.player, played.tune, entry.ladder, played.began)
    keep_settings(connection, played.player, entry.settings)
    if entry.sitting is not None:
        keep_sitting(connection, entry.sitting)


def make_up(connection: Connection, owed: Iterable[Entry]) -> None:
    """Keep entries that could not be kept in their time, in their order; one that the tables refuse is left out."""
    for entry in owed:
        with suppress(DataError, IntegrityError), connection.begin_nested():
            keep_entry(connection, entry)
