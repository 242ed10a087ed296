"""A week of somebody's practice, as a teacher looks at it before the next lesson: what the records tell, nothing else.

Weeks are those of ISO 8601 (Monday to Sunday) by the day at the player's place. Minutes count every pass. The climb
goes by passes through the whole solo to a click that were played to their end; a jam run is none. A measure that was of
the next tier in a mixed solo counts for that tier.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from sqlalchemy import Connection, Row, case, func, select

from coach.arranging.arrangement import TIERS
from coach.ladder.curve import Curve, after_days, from_bytes
from coach.ladder.spots import ready_whole
from coach.records.known import curves_of
from coach.records.sittings import sittings_of
from coach.records.studio_tables import findings
from coach.records.tables import measures, passes, tunes
from coach.studio.assignments import assignments_of, reached
from coach.studio.calendar_weeks import Week
from coach.studio.pins import Pinned, pins_of
from coach.studio.rules import Assignment
from coach.studio.takes_worth import Played, TakeWorth, takes_worth

__all__ = [
    "ClimbOfWeek",
    "DayOfWeek",
    "HabitOfWeek",
    "HeldBack",
    "SetInWeek",
    "SittingOfWeek",
    "TuneOfWeek",
    "WeekOfPractice",
    "week_of",
]

MOST_HELD_BACK = 8
"""Measures that are named."""

LEAST_FAILED = 2
"""Passes in which a measure was not clean before it is said to have held anybody back (common practice, no source)."""

_SECONDS_A_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class DayOfWeek:
    """A day: its date, and the minutes that were played, in all and by the id of the tune."""

    day: str
    minutes: float
    tunes: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class TuneOfWeek:
    """A tune that was played: its minutes and passes."""

    id: str
    title: str
    minutes: float
    passes: int


@dataclass(frozen=True, slots=True)
class SittingOfWeek:
    """A sitting.

    Attributes:
        day: on which it began.
        began: when, RFC 3339 in UTC.
        planned: the minutes that there were; None where it was open.
        minutes: that were played.
        tempo: the fastest of its passes; None where there was none.
    """

    day: str
    began: str
    planned: float | None
    minutes: float
    tempo: float | None


@dataclass(frozen=True, slots=True)
class ClimbOfWeek:
    """A tune and tier whose whole was played to a click.

    Attributes:
        tune, title, tier: which; of a mixed solo the tier it came from.
        goal: of its last pass in the week.
        passes: in the week, and how many of them were ``clean``.
        before, after: the fastest clean pass before the week, and until its end; None where there was none.
        ready: the tempo at which four passes in five of the whole are clean, as of the week's end; None where it was
            played after that, since it is not known any more.
    """

    tune: str
    title: str
    tier: str
    goal: float
    passes: int
    clean: int
    before: float | None
    after: float | None
    ready: float | None


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A measure that was not clean in several passes.

    Attributes:
        tune, title, tier, measure: which.
        failed, played: in how many passes it was not clean, of how many.
        is_clean: whether it was in the last of them.
    """

    tune: str
    title: str
    tier: str
    measure: int
    failed: int
    played: int
    is_clean: bool


@dataclass(frozen=True, slots=True)
class HabitOfWeek:
    """Something that was found in passes.

    Attributes:
        name: what it is.
        words: as the report of the last of them has it.
        passes, of: in how many passes it was found, of how many that were heard.
    """

    name: str
    words: str
    passes: int
    of: int


@dataclass(frozen=True, slots=True)
class SetInWeek:
    """An assignment that was on in the week, and the fastest clean pass of what it asks for until the week's end."""

    assignment: Assignment
    reached: float | None


@dataclass(frozen=True, slots=True)
class WeekOfPractice:
    """What somebody practised in a week.

    Attributes:
        week: which.
        minutes, passes: in all.
        days: all seven.
        tunes: what took most minutes first.
        sittings: in order.
        climb: by tune as in ``tunes``, then by tier, the easiest first.
        held_back: the most failures first.
        habits: what was found most often first.
        takes: worth hearing.
        set: what was set.
        pins: that were pinned, read or unread in the week.
    """

    week: Week
    minutes: float
    passes: int
    days: tuple[DayOfWeek, ...]
    tunes: tuple[TuneOfWeek, ...]
    sittings: tuple[SittingOfWeek, ...]
    climb: tuple[ClimbOfWeek, ...]
    held_back: tuple[HeldBack, ...]
    habits: tuple[HabitOfWeek, ...]
    takes: tuple[TakeWorth, ...]
    set: tuple[SetInWeek, ...]
    pins: tuple[Pinned, ...]


def week_of(connection: Connection, player: str, week: Week, now: datetime) -> WeekOfPractice:
    """A week of somebody's practice.

    Args:
        connection: of the store.
        player: whose; one who is not known has played nothing.
        week: which.
        now: when, with its zone: what was not played since the end of a week that is over is not counted as forgotten.
    """
    first, last = week.days[0], week.days[-1]
    played = _played(connection, player, first, last)
    titles = {row.tune: row.title for row in played}
    by_tune: dict[str, list[Row[Any]]] = defaultdict(list)
    for row in played:
        by_tune[row.tune].append(row)
    tunes_played = sorted(
        (TuneOfWeek(tune, titles[tune], _minutes(rows), len(rows)) for tune, rows in by_tune.items()),
        key=lambda each: (-each.minutes, each.title, each.id),
    )
    within = _measures(connection, [row.id for row in played])
    held = _held_back(played, within, titles)
    return WeekOfPractice(
        week=week,
        minutes=_minutes(played),
        passes=len(played),
        days=tuple(_day(day, [row for row in played if row.day == day]) for day in week.days),
        tunes=tuple(tunes_played),
        sittings=tuple(_sittings(connection, player, first, last)),
        climb=tuple(_climb(connection, player, week, [each.id for each in tunes_played], titles, now)),
        held_back=tuple(held[:MOST_HELD_BACK]),
        habits=tuple(_habits(connection, played)),
        takes=tuple(takes_worth([_for_takes(row, within.get(row.id, {})) for row in played], held)),
        set=tuple(_set(connection, player, first, last)),
        pins=tuple(each for each in pins_of(connection, player) if _concerns(each, first, last)),
    )


# ------------------------------------------------------------------------------------------ the parts


def _played(connection: Connection, player: str, first: str, last: str) -> list[Row[Any]]:
    query = (
        select(passes, tunes.c.title)
        .join(tunes)
        .where(passes.c.player == player, passes.c.day >= first, passes.c.day <= last)
        .order_by(passes.c.began, passes.c.id)
    )
    return list(connection.execute(query))


def _minutes(rows: Sequence[Row[Any]]) -> float:
    seconds: float = sum(row.seconds for row in rows)
    return round(seconds / 60, 2)


def _day(day: str, rows: Sequence[Row[Any]]) -> DayOfWeek:
    ids = sorted({row.tune for row in rows})
    return DayOfWeek(day, _minutes(rows), {tune: _minutes([row for row in rows if row.tune == tune]) for tune in ids})


def _measures(connection: Connection, keys: Sequence[int]) -> dict[int, dict[int, bool]]:
    """Whether each measure was clean, by pass and number."""
    found: dict[int, dict[int, bool]] = {}
    for start in range(0, len(keys), 500):  # databases limit the values of a statement
        query = select(measures.c["pass"], measures.c.number, measures.c.clean)
        query = query.where(measures.c["pass"].in_(keys[start : start + 500])).order_by(measures.c.number)
        for key, number, clean in connection.execute(query):
            found.setdefault(key, {})[number] = clean
    return found


def _sittings(connection: Connection, player: str, first: str, last: str) -> list[SittingOfWeek]:
    """Those whose first pass was in the week."""
    near = [
        (date.fromisoformat(day) + timedelta(days=more)).isoformat() for day, more in ((first, -2), (last, 3))
    ]  # no place is further from UTC
    found = []
    for each in sittings_of(connection, player):
        if near[0] <= each.began < near[1]:
            query = select(passes.c.day).where(passes.c.player == player, passes.c.began >= each.began)
            day = connection.execute(query.order_by(passes.c.began, passes.c.id).limit(1)).scalar()
            if day is not None and first <= day <= last:
                found.append(SittingOfWeek(day, each.began, each.planned, each.minutes, each.tempo))
    return found


_CLIMBS = (passes.c.whole, passes.c.judged != "freely", passes.c.kind.not_in(("part", "spot", "jam")))


def _climb(
    connection: Connection, player: str, week: Week, ids: Sequence[str], titles: Mapping[str, str], now: datetime
) -> list[ClimbOfWeek]:
    first, last = week.days[0], week.days[-1]
    tempo, clean = passes.c.tempo, passes.c.clean
    in_week = passes.c.day >= first
    query = (
        select(
            passes.c.tune,
            passes.c.tier,
            func.max(case((clean & ~in_week, tempo))),
            func.max(case((clean, tempo))),
            func.count(case((in_week, 1))),
            func.count(case((in_week & clean, 1))),
        )
        .where(passes.c.player == player, passes.c.tune.in_(list(ids)), passes.c.day <= last, *_CLIMBS)
        .group_by(passes.c.tune, passes.c.tier)
    )
    found = []
    for tune, tier, before, after, count, came_clean in connection.execute(query):
        if count:
            ready = _ready(connection, player, tune, tier, week, now)
            goal = _goal(connection, player, tune, last)
            found.append(ClimbOfWeek(tune, titles[tune], tier, goal, count, came_clean, before, after, ready))
    return sorted(found, key=lambda each: (ids.index(each.tune), _order(each.tier), each.tier))


def _goal(connection: Connection, player: str, tune: str, last: str) -> float:
    """The goal of a tune when it was at hand last; a pass aside has the goal of the tune that was at hand."""
    query = select(passes.c.goal).where(passes.c.player == player, passes.c.tune == tune, passes.c.day <= last)
    is_aside = passes.c.kind.in_(("warm-up", "known"))
    goal = connection.execute(query.order_by(is_aside, passes.c.began.desc(), passes.c.id.desc()).limit(1)).scalar()
    return float(goal or 0.0)


def _ready(connection: Connection, player: str, tune: str, tier: str, week: Week, now: datetime) -> float | None:
    known = curves_of(connection, player, tune).get(tier, {})
    end = datetime.combine(date.fromisoformat(week.days[-1]) + timedelta(days=1), time(), UTC)
    query = select(func.count()).where(passes.c.player == player, passes.c.tune == tune, passes.c.day > week.days[-1])
    if not known or connection.execute(query).scalar():
        return None
    own: dict[int, Curve] = {}
    for number, kept in known.items():
        with suppress(ValueError):  # a curve that cannot be read is measured anew
            since = (min(now, end) - datetime.fromisoformat(kept.updated)).total_seconds() / _SECONDS_A_DAY
            own[number] = after_days(from_bytes(kept.weights, kept.passes), max(0.0, since))
    repeats = connection.execute(select(tunes.c.repeats).where(tunes.c.id == tune)).scalar() or {}
    own |= {number: own[of] for number, of in repeats.items() if of in own}
    return round(ready_whole(own), 1) if own else None


def _held_back(
    played: Sequence[Row[Any]], within: Mapping[int, Mapping[int, bool]], titles: Mapping[str, str]
) -> list[HeldBack]:
    seen: dict[tuple[str, str, int], list[bool]] = defaultdict(list)
    for row in played:
        if row.kind == "jam":
            continue  # it has measures of its own
        for number, clean in within.get(row.id, {}).items():
            seen[row.tune, _tier(row, number), number].append(clean)
    found = [
        HeldBack(tune, titles[tune], tier, number, came.count(False), len(came), came[-1])
        for (tune, tier, number), came in seen.items()
        if came.count(False) >= LEAST_FAILED
    ]
    return sorted(found, key=lambda each: (-each.failed, each.is_clean, each.title, _order(each.tier), each.measure))


def _tier(row: Row[Any], number: int) -> str:
    """Of which tier a measure of a pass was."""
    at = _order(row.tier)
    return TIERS[at + 1] if number in row.mix and at + 1 < len(TIERS) else str(row.tier)


def _habits(connection: Connection, played: Sequence[Row[Any]]) -> list[HabitOfWeek]:
    heard = [row.id for row in played if row.judged != "marked"]
    found: dict[str, list[str]] = defaultdict(list)
    for start in range(0, len(heard), 500):
        query = select(findings.c.name, findings.c.words).join(passes, passes.c.id == findings.c["pass"])
        query = query.where(findings.c["pass"].in_(heard[start : start + 500]), findings.c.cost > 0)
        for name, words in connection.execute(query.order_by(passes.c.began, passes.c.id, findings.c.place)):
            found[name].append(words)
    told = [HabitOfWeek(name, words[-1], len(words), len(heard)) for name, words in found.items()]
    return sorted(told, key=lambda each: (-each.passes, each.name))


def _set(connection: Connection, player: str, first: str, last: str) -> list[SetInWeek]:
    def was_on(each: Assignment) -> bool:
        until, ended = each.setting.until, each.ended
        over = (until is not None and until < first) or (ended is not None and ended[:10] < first)
        return each.made[:10] <= last and not over

    given = [each for each in assignments_of(connection, player) if was_on(each)]
    return [SetInWeek(each, reached(connection, player, each.setting, until=last)) for each in given]


def _concerns(each: Pinned, first: str, last: str) -> bool:
    """Whether words were pinned by the end of the week, and not read before it."""
    return each.made[:10] <= last and (each.seen is None or each.seen[:10] >= first)


def _for_takes(row: Row[Any], within: Mapping[int, bool]) -> Played:
    return Played(
        folder=row.folder,
        number=row.number,
        tune=row.tune,
        title=row.title,
        tier=row.tier,
        mix=row.mix,
        tempo=row.tempo,
        began=row.began,
        day=row.day,
        first=row.first,
        last=row.last,
        is_clean=row.clean,
        climbs=row.whole and row.judged == "heard" and row.kind not in ("part", "spot", "jam"),
        is_heard=row.judged != "marked",
        measures={} if row.kind == "jam" else {(_tier(row, number), number): ok for number, ok in within.items()},
    )


def _order(tier: str) -> int:
    """The easiest first."""
    return TIERS.index(tier) if tier in TIERS else len(TIERS)
