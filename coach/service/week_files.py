"""A week of somebody's practice as JSON, for its page, and as CSV, for spreadsheets.

``week/1`` has the fields of :class:`~coach.studio.weeks.WeekOfPractice` by their names::

    {"format": "week/1", "student": "…", "name": "Reed", "week": "2026-W10", "first": "2026-03-02",
     "last": "2026-03-08", "before": "2026-W09", "after": "2026-W11", "minutes": 12.5, "passes": 20,
     "days": [{"day": "2026-03-02", "minutes": 12.5, "tunes": {"mill-lane-1f3a9c20": 12.5}}],
     "tunes": [{"id": "mill-lane-1f3a9c20", "title": "Mill Lane", "minutes": 12.5, "passes": 20}],
     "sittings": [{"day": "2026-03-02", "began": "2026-03-02T17:00:00Z", "planned": 20.0, "minutes": 12.5,
                   "tempo": 84.0}],
     "climb": [{"tune": "…", "title": "Mill Lane", "tier": "beginner", "goal": 120.0, "passes": 9, "clean": 6,
                "before": 72.0, "after": 84.0, "ready": 81.2}],
     "held_back": [{"tune": "…", "title": "Mill Lane", "tier": "beginner", "measure": 6, "failed": 5, "played": 9,
                    "is_clean": false}],
     "habits": [{"name": "change late", "words": "Chord changes come late.", "passes": 4, "of": 18}],
     "takes": [{"folder": "…", "number": 3, "tune": "…", "title": "Mill Lane", "tier": "beginner", "tempo": 84.0,
                "day": "2026-03-02", "began": "2026-03-02T17:05:00Z", "first": 1, "last": 8, "clean": true,
                "why": "The fastest clean one, at 84.", "cues": "kept/…/3.cues.json", "midi": "kept/…/3.mid"}],
     "assignments": [the fields of an assignment of the wire, with "made" and "ended"],
     "pins": [{"tune": "…", "measure": 6, "words": "…", "by": "Ruth", "made": "…", "seen": null}]}

The CSV (RFC 4180, with a head) has one row for each figure: what it is, of which day, tune, tier and measure, the
amount with its unit, and words. A cell of words that begins with ``=``, ``+``, ``-``, ``@``, a tab or a carriage return
gets an apostrophe before it, so that no spreadsheet takes it for a formula (OWASP, "CSV Injection", from memory).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import msgspec

from coach.service.kept_lesson import assigned_line

if TYPE_CHECKING:
    from coach.studio.people import Person
    from coach.studio.takes_worth import TakeWorth
    from coach.studio.weeks import SetInWeek, WeekOfPractice

__all__ = ["FORMAT", "HEAD", "week_csv", "week_record"]

FORMAT = "week/1"
HEAD = ("what", "day", "tune", "tier", "measure", "amount", "unit", "words")

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def week_record(week: WeekOfPractice, person: Person) -> dict[str, Any]:
    """A week as plain values for JSON."""
    days = week.week.days
    return {
        "format": FORMAT,
        "student": person.id,
        "name": person.name,
        "week": week.week.name,
        "first": days[0],
        "last": days[-1],
        "before": week.week.moved(-1).name,
        "after": week.week.moved(1).name,
        "minutes": week.minutes,
        "passes": week.passes,
        "days": [asdict(each) for each in week.days],
        "tunes": [asdict(each) for each in week.tunes],
        "sittings": [asdict(each) for each in week.sittings],
        "climb": [asdict(each) for each in week.climb],
        "held_back": [asdict(each) for each in week.held_back],
        "habits": [asdict(each) for each in week.habits],
        "takes": [_take(each) for each in week.takes],
        "assignments": [_assignment(each, days[-1]) for each in week.set],
        "pins": [
            {name: getattr(each, name) for name in ("tune", "measure", "words", "by", "made", "seen")}
            for each in week.pins
        ],
    }


def week_csv(week: WeekOfPractice) -> str:
    """A week as CSV."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEAD)
    for row in _rows(week):
        writer.writerow([_cell(row.get(name)) for name in HEAD])
    return out.getvalue()


def _rows(week: WeekOfPractice) -> Iterator[dict[str, object]]:
    titles = {each.id: each.title for each in week.tunes}
    for day in week.days:
        for tune, minutes in day.tunes.items():
            yield {"what": "minutes", "day": day.day, "tune": titles[tune], "amount": minutes, "unit": "minutes"}
    for sitting in week.sittings:
        yield {"what": "sitting", "day": sitting.day, "amount": round(sitting.minutes, 2), "unit": "minutes"}
    for climb in week.climb:
        tempos = {
            "goal": climb.goal,
            "fastest clean before the week": climb.before,
            "fastest clean until its end": climb.after,
            "ready": climb.ready,
        }
        of = {"tune": climb.title, "tier": climb.tier}
        yield {"what": "passes of the whole", **of, "amount": climb.passes, "unit": "passes"}
        yield {"what": "clean passes of the whole", **of, "amount": climb.clean, "unit": "passes"}
        for what, tempo in tempos.items():
            if tempo is not None:
                yield {"what": what, **of, "amount": tempo, "unit": "quarters a minute"}
    for held in week.held_back:
        of = {"tune": held.title, "tier": held.tier, "measure": str(held.measure)}
        words = f"of {held.played}; {'clean' if held.is_clean else 'not clean'} in the last"
        yield {"what": "passes not clean", **of, "amount": held.failed, "unit": "passes", "words": words}
    for habit in week.habits:
        yield {"what": f"habit: {habit.name}", "amount": habit.passes, "unit": "passes", "words": habit.words}
    for take in week.takes:
        played = take.played
        of = {"day": played.day, "tune": played.title, "tier": played.tier}
        yield {
            "what": "take worth hearing",
            **of,
            "amount": played.tempo,
            "unit": "quarters a minute",
            "words": take.why,
        }
    for each in week.set:
        setting = each.assignment.setting
        of = {"tune": setting.title, "tier": setting.tier}
        yield {"what": "set: goal", **of, "amount": setting.goal, "unit": "quarters a minute", "words": setting.words}
        if each.reached is not None:
            yield {"what": "set: reached", **of, "amount": each.reached, "unit": "quarters a minute"}
    for pin in week.pins:
        yield {
            "what": "pinned and read" if pin.seen else "pinned, not read yet",
            "day": (pin.seen or pin.made)[:10],
            "tune": titles.get(pin.tune, pin.tune),
            "measure": str(pin.measure),
            "words": pin.words,
        }


def _cell(value: object) -> object:
    if isinstance(value, str) and value.startswith(_FORMULA):
        return f"'{value}"
    return "" if value is None else value


def _take(take: TakeWorth) -> dict[str, Any]:
    played = take.played
    names = ("folder", "number", "tune", "title", "tier", "tempo", "day", "began", "first", "last")
    address = f"kept/{played.folder}/{played.number}"
    return {name: getattr(played, name) for name in names} | {
        "clean": played.is_clean,
        "why": take.why,
        "cues": f"{address}.cues.json",
        "midi": f"{address}.mid",
    }


def _assignment(each: SetInWeek, day: str) -> dict[str, Any]:
    told: dict[str, Any] = msgspec.to_builtins(assigned_line(each.assignment, each.reached, day))
    return told | {"made": each.assignment.made, "ended": each.assignment.ended}
