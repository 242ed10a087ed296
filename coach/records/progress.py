"""A player's progress, as pictures and tables show it: what the records tell of minutes, tempos and measures.

Minutes count every pass. The climb goes by passes through the whole solo to a click that were played to their end; a
jam run is none, since it has measures of its own. Measures that repeat others stand where the first of them does
(:mod:`coach.ladder.known`).
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Connection, case, func, select

from coach.arranging.arrangement import TIERS
from coach.ladder.curve import after_days, from_bytes, ready
from coach.ladder.rungs import Kind
from coach.records.known import KnownCurve, curves_of
from coach.records.played import Judged
from coach.records.tables import measures, passes, tunes

__all__ = [
    "LAST_PASSES",
    "ClimbDay",
    "DayPlayed",
    "PassPlayed",
    "Progress",
    "ReadyMeasure",
    "TunePlayed",
    "progress_of",
]

LAST_PASSES = 60
"""How many passes are shown measure by measure."""

_SECONDS_A_DAY = 86400.0

_IS_ASIDE = passes.c.kind.in_(("warm-up", "known"))
"""Whether a pass was of a tune that one warms up with or ends with, while another one was at hand."""


@dataclass(frozen=True, slots=True)
class TunePlayed:
    """A tune that was played, or a roll study.

    Attributes:
        id, title: of the tune.
        passes: how many there were.
        minutes: that were played of it in all.
        last: the day on which it was played last.
    """

    id: str
    title: str
    passes: int
    minutes: float
    last: str


@dataclass(frozen=True, slots=True)
class DayPlayed:
    """A day on which something was played.

    Attributes:
        day: the date at the player's place.
        minutes: of all tunes.
        tunes: minutes by the id of the tune.
    """

    day: str
    minutes: float
    tunes: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class ClimbDay:
    """Passes through the whole solo of a tier on a day.

    Attributes:
        day: the date at the player's place.
        tier: of the solo; of a mixed one the tier it came from.
        low, high: the slowest and the fastest tempo.
        fastest_clean: the fastest that was clean; None for none.
        passes: how many.
    """

    day: str
    tier: str
    low: float
    high: float
    fastest_clean: float | None
    passes: int


@dataclass(frozen=True, slots=True)
class PassPlayed:
    """One of the last passes of a tune.

    Attributes:
        began: when, RFC 3339 in UTC.
        tempo: of the click; of a pass in free time only what it was begun with.
        tier: of the solo; of a mixed one the tier it came from.
        mix: the measures that were of the next tier.
        kind: what it was for.
        judged: by whom.
        clean: as the report has it, or by the player's own mark.
        whole: it was played to its end.
        measures: whether each was clean, by its number; one that is not there was not played. None is there where the
            player marked the pass, and of a jam run, whose measures are not those of the solo.
    """

    began: str
    tempo: float
    tier: str
    mix: tuple[int, ...]
    kind: Kind
    judged: Judged
    clean: bool
    whole: bool
    measures: Mapping[int, bool]


@dataclass(frozen=True, slots=True)
class ReadyMeasure:
    """The ready tempo of a measure in a tier.

    Attributes:
        measure, tier: which.
        tempo: at which four passes in five are clean, as of now.
        low, high: the interval that holds it with a probability of 0.9.
        passes: how many it rests on.
    """

    measure: int
    tier: str
    tempo: float
    low: float
    high: float
    passes: int


@dataclass(frozen=True, slots=True)
class Progress:
    """A player's progress.

    Attributes:
        player: whose.
        tune, title: the tune that climb, passes, measures and ready are about; empty where nothing was played.
        goal: of the tune when it was at hand last; None where nothing was played.
        tunes: all that were played, the one that was played last first; those of one day by title.
        days: on which something was played, the oldest first.
        climb: by day, and then by tier, the easiest first.
        passes: the last :data:`LAST_PASSES`, the oldest first.
        measures: the numbers of all measures that these went through, in order.
        ready: of each measure that was played, by tier, the easiest first, and then by measure.
    """

    player: str
    tune: str
    title: str
    goal: float | None
    tunes: tuple[TunePlayed, ...]
    days: tuple[DayPlayed, ...]
    climb: tuple[ClimbDay, ...]
    passes: tuple[PassPlayed, ...]
    measures: tuple[int, ...]
    ready: tuple[ReadyMeasure, ...]


def progress_of(connection: Connection, player: str, tune: str | None, now: datetime) -> Progress:
    """A player's progress.

    Args:
        connection: of the store.
        player: whose; one who is not known has played nothing.
        tune: which the climb is to be about; None for the one at which the player was last. Of one that the player
            has not played there is nothing but its id.
        now: when, with its zone: what was not played for some days is less well known.
    """
    tune = tune or _last_tune(connection, player) or ""
    played, days = _minutes(connection, player)
    title, goal, repeats = _at_last_pass(connection, player, tune)
    last = _last_passes(connection, player, tune)
    return Progress(
        player=player,
        tune=tune,
        title=title,
        goal=goal,
        tunes=tuple(played),
        days=tuple(days),
        climb=tuple(_climb(connection, player, tune)),
        passes=tuple(last),
        measures=tuple(sorted({number for each in last for number in each.measures})),
        ready=tuple(_ready(curves_of(connection, player, tune), repeats, now)),
    )


def _last_tune(connection: Connection, player: str) -> str | None:
    """The tune at which a player was last; of those that came and went aside only where there is no other."""
    query = select(passes.c.tune).where(passes.c.player == player)
    query = query.order_by(passes.c.began.desc(), passes.c.id.desc()).limit(1)
    at_hand = connection.execute(query.where(~_IS_ASIDE)).scalar()
    return at_hand or connection.execute(query).scalar()


def _minutes(connection: Connection, player: str) -> tuple[list[TunePlayed], list[DayPlayed]]:
    """What was played, by tune and by day."""
    query = (
        select(passes.c.day, passes.c.tune, func.count(), func.sum(passes.c.seconds) / 60)
        .where(passes.c.player == player)
        .group_by(passes.c.day, passes.c.tune)
        .order_by(passes.c.day, passes.c.tune)
    )
    by_day: dict[str, dict[str, float]] = {}
    by_tune: dict[str, tuple[int, float, str]] = {}
    for day, tune, count, minutes in connection.execute(query):
        by_day.setdefault(day, {})[tune] = minutes
        before = by_tune.get(tune, (0, 0.0, ""))
        by_tune[tune] = before[0] + count, before[1] + minutes, day
    titles = select(tunes.c.id, tunes.c.title).where(tunes.c.id.in_(list(by_tune)))
    named = {row.id: row.title for row in connection.execute(titles)}
    played = [
        TunePlayed(tune, named[tune], count, round(minutes, 2), last)
        for tune, (count, minutes, last) in by_tune.items()
    ]
    played.sort(key=lambda each: (each.title, each.id))
    played.sort(key=lambda each: each.last, reverse=True)
    return played, [
        DayPlayed(day, round(sum(each.values()), 2), {tune: round(minutes, 2) for tune, minutes in each.items()})
        for day, each in by_day.items()
    ]


def _at_last_pass(connection: Connection, player: str, tune: str) -> tuple[str, float | None, Mapping[int, int]]:
    """Title, goal and repeats of a tune; none of it where there was no pass. A pass aside has the goal of the tune that
    was at hand."""
    query = select(tunes.c.title, passes.c.goal, tunes.c.repeats).join(tunes)
    query = query.where(passes.c.player == player, passes.c.tune == tune)
    query = query.order_by(_IS_ASIDE, passes.c.began.desc(), passes.c.id.desc()).limit(1)
    row = connection.execute(query).one_or_none()
    return ("", None, {}) if row is None else (row.title, row.goal, row.repeats)


def _climb(connection: Connection, player: str, tune: str) -> list[ClimbDay]:
    tempo = passes.c.tempo
    query = (
        select(
            passes.c.day,
            passes.c.tier,
            func.min(tempo),
            func.max(tempo),
            func.max(case((passes.c.clean, tempo))),
            func.count(),
        )
        .where(
            passes.c.player == player,
            passes.c.tune == tune,
            passes.c.whole,
            passes.c.judged != "freely",
            passes.c.kind.not_in(("part", "spot", "jam")),
        )
        .group_by(passes.c.day, passes.c.tier)
    )
    found = [ClimbDay(*row) for row in connection.execute(query)]
    return sorted(found, key=lambda each: (each.day, _order(each.tier), each.tier))


def _last_passes(connection: Connection, player: str, tune: str) -> list[PassPlayed]:
    query = select(
        passes.c.id,
        passes.c.began,
        passes.c.tempo,
        passes.c.tier,
        passes.c.mix,
        passes.c.kind,
        passes.c.judged,
        passes.c.clean,
        passes.c.whole,
    ).where(passes.c.player == player, passes.c.tune == tune)
    query = query.order_by(passes.c.began.desc(), passes.c.id.desc()).limit(LAST_PASSES)
    rows = connection.execute(query).all()[::-1]
    inside = select(measures.c["pass"], measures.c.number, measures.c.clean).order_by(measures.c.number)
    by_pass: dict[int, dict[int, bool]] = {}
    for key, number, clean in connection.execute(
        inside.where(measures.c["pass"].in_([row.id for row in rows if row.kind != "jam"]))
    ):
        by_pass.setdefault(key, {})[number] = clean
    return [PassPlayed(*row[1:], by_pass.get(row.id, {})) for row in rows]


def _ready(
    known: Mapping[str, Mapping[int, KnownCurve]], repeats: Mapping[int, int], now: datetime
) -> list[ReadyMeasure]:
    found = []
    for tier, curves in known.items():
        for number, kept in curves.items():
            days = (now - datetime.fromisoformat(kept.updated)).total_seconds() / _SECONDS_A_DAY
            with suppress(ValueError):  # a curve that cannot be read is measured anew
                at = ready(after_days(from_bytes(kept.weights, kept.passes), days))
                tempo, low, high = (round(each, 1) for each in (at.tempo, at.low, at.high))
                found.append(ReadyMeasure(number, tier, tempo, low, high, kept.passes))
    for number, first in repeats.items():
        found += [replace(each, measure=number) for each in found if each.measure == first]
    return sorted(found, key=lambda each: (_order(each.tier), each.tier, each.measure))


def _order(tier: str) -> int:
    """The easiest first."""
    return TIERS.index(tier) if tier in TIERS else len(TIERS)
