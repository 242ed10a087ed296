"""A week of practice: exactly what the records tell of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from played_passes import a_pass
from studio_people import REED, RUTH, a_studio

from coach.errors import InputError
from coach.ladder.curve import after_days, after_pass, begin, to_bytes
from coach.ladder.spots import ready_whole
from coach.records.entry import Entry, keep_entry
from coach.records.findings import FoundHabit
from coach.records.known import KnownCurve
from coach.records.played import PlayedMeasure
from coach.records.sittings import PlayedSitting
from coach.records.store import Store
from coach.service.week_files import HEAD, week_csv, week_record
from coach.studio.assignments import assign, end_assignment
from coach.studio.calendar_weeks import Week, read_week
from coach.studio.pins import pin, see_pin
from coach.studio.rules import Setting
from coach.studio.weeks import (
    ClimbOfWeek,
    HabitOfWeek,
    HeldBack,
    SittingOfWeek,
    WeekOfPractice,
    week_of,
)

WEEK = Week(2026, 10)  # 2026-03-02 is a Monday
NOW = datetime(2026, 3, 9, 12, tzinfo=UTC)
MILL = "mill-lane"


@pytest.fixture
def keep(store: Store) -> Callable[..., None]:
    """Keeps passes of Reed's; the number is also the minute of the day."""
    store.write(a_studio).result()

    def kept(number: int, day: str = "2026-03-03", *, entry: Entry | None = None, **changes: object) -> None:
        told = {"tune": MILL, "day": day, "began": f"{day}T18:{number:02}:00Z", "seconds": 30.0, **changes}
        made = entry or Entry(a_pass(number))
        store.write(lambda c: keep_entry(c, replace(made, played=a_pass(number, **told)))).result()

    return kept


def week(store: Store, which: Week = WEEK, now: datetime = NOW) -> WeekOfPractice:
    return store.read(lambda c: week_of(c, REED.id, which, now))


# ------------------------------------------------------------------------------------------ weeks


@pytest.mark.parametrize(
    ("name", "first", "last"),
    [
        # Python's calendar knows ISO 8601; these are known by the standard's rule of the first Thursday.
        ("2026-W10", "2026-03-02", "2026-03-08"),
        ("2026-W01", "2025-12-29", "2026-01-04"),
        ("2020-W53", "2020-12-28", "2021-01-03"),
    ],
)
def test_a_week_has_its_days(name: str, first: str, last: str) -> None:
    found = read_week(name)

    assert (found.days[0], found.days[-1], len(found.days)) == (first, last, 7)
    assert found.name == name


@pytest.mark.parametrize(
    "text", ["", "2026-W54", "2025-W53", "2026-W00", "2026-10", "2026-W1", "26-W10", "２０２６-W10", "2026-W1a"]
)
def test_what_is_no_week_is_said(text: str) -> None:
    with pytest.raises(InputError, match="there is no such week"):
        read_week(text)


@given(st.dates(date(1900, 1, 1), date(2100, 1, 1)), st.integers(-60, 60))
def test_weeks_follow_one_another(day: date, weeks: int) -> None:
    here = Week.of(day)

    assert day.isoformat() in here.days
    assert read_week(here.name) == here
    assert here.moved(weeks).moved(-weeks) == here
    assert here.moved(1).days[0] > here.days[-1]


# ------------------------------------------------------------------------------------------ what is told


def test_who_did_not_play_has_an_empty_week(store: Store) -> None:
    found = week(store)

    assert (found.minutes, found.passes, found.tunes, found.climb, found.takes) == (0.0, 0, (), (), ())
    assert [each.minutes for each in found.days] == [0.0] * 7
    assert week_csv(found) == ",".join(HEAD) + "\r\n"


def test_minutes_are_told_by_day_and_tune(store: Store, keep: Callable[..., None]) -> None:
    keep(1, "2026-03-01")
    keep(2, "2026-03-02", seconds=90.0)
    keep(3, "2026-03-08", tune="reel", title="Reel", seconds=120.0, kind="known")
    keep(4, "2026-03-08", seconds=60.0)
    keep(5, "2026-03-09")
    keep(6, "2026-03-04", player="wren", folder="other")

    found = week(store)

    assert (found.minutes, found.passes) == (4.5, 3)
    assert [each.minutes for each in found.days] == [1.5, 0, 0, 0, 0, 0, 3.0]
    assert found.days[6].tunes == {MILL: 1.0, "reel": 2.0}
    assert [(each.id, each.minutes, each.passes) for each in found.tunes] == [(MILL, 2.5, 2), ("reel", 2.0, 1)]


def test_sittings_belong_to_the_day_of_their_first_pass(store: Store, keep: Callable[..., None]) -> None:
    # Somewhere east of Greenwich it is Monday already.
    sitting = PlayedSitting(REED.id, "2026-03-01T23:30:00Z", 20.0, 6.0, 80.0)
    keep(1, entry=Entry(a_pass(), sitting=sitting), day="2026-03-02", began="2026-03-01T23:30:05Z")

    assert week(store).sittings == (SittingOfWeek("2026-03-02", "2026-03-01T23:30:00Z", 20.0, 6.0, 80.0),)
    assert week(store, WEEK.moved(-1)).sittings == ()


def test_the_climb_goes_from_before_the_week_to_its_end(store: Store, keep: Callable[..., None]) -> None:
    keep(1, "2026-02-20", clean=True, tempo=70.0)
    keep(2, "2026-03-03", clean=True, tempo=76.0, goal=110.0)
    keep(3, "2026-03-04", clean=False, tempo=90.0, goal=110.0)
    keep(4, "2026-03-04", clean=True, tempo=95.0, kind="part")
    keep(5, "2026-03-04", clean=True, tempo=60.0, tier="intermediate")
    keep(6, "2026-03-09", clean=True, tempo=99.0)

    assert week(store).climb == (
        ClimbOfWeek(MILL, "Mill Lane", "beginner", 120.0, 2, 1, 70.0, 76.0, None),
        ClimbOfWeek(MILL, "Mill Lane", "intermediate", 120.0, 1, 1, None, 60.0, None),
    )


def test_the_ready_tempo_is_that_of_the_weeks_end(store: Store, keep: Callable[..., None]) -> None:
    curve = after_pass(begin(80.0), 80.0, clean=True)
    known = {"beginner": {n: KnownCurve(to_bytes(curve), 1, "2026-03-06T00:00:00Z") for n in (1, 2)}}
    keep(1, entry=Entry(a_pass(), curves=known, repeats={3: 1}))
    aged = after_days(curve, 3.0)

    (line,) = week(store).climb
    assert line.ready == pytest.approx(ready_whole({1: aged, 2: aged, 3: aged}), abs=0.3)  # curves are kept as halves

    keep(2, "2026-03-10")
    assert week(store).climb[0].ready is None


def test_measures_that_held_back_are_told_with_the_most_failures_first(store: Store, keep: Callable[..., None]) -> None:
    def came(**clean: bool) -> tuple[PlayedMeasure, ...]:
        return tuple(PlayedMeasure(int(n[1:]), 8, 8, 0, 0, 0, 0.0, clean=ok) for n, ok in clean.items())

    keep(1, measures=came(m1=True, m2=False, m3=False))
    keep(2, measures=came(m1=True, m2=False, m3=False))
    keep(3, measures=came(m1=False, m2=False, m3=True))
    keep(4, measures=came(m2=True, m3=False), mix=(3,), kind="spot")
    keep(5, measures=came(m1=False), kind="jam")
    keep(6, "2026-03-09", measures=came(m1=False))

    assert week(store).held_back == (
        HeldBack(MILL, "Mill Lane", "beginner", 2, 3, 4, is_clean=True),
        HeldBack(MILL, "Mill Lane", "beginner", 3, 2, 3, is_clean=True),
    )


def test_habits_are_counted_over_passes(store: Store, keep: Callable[..., None]) -> None:
    late, soft = FoundHabit("change late", "Changes come late.", 4.0), FoundHabit("middle soft", "Weak.", 1.0)
    lead = FoundHabit("leaning ahead", "You lead.", 0.0)
    keep(1, entry=Entry(a_pass(), found=(late, lead)))
    keep(2, entry=Entry(a_pass(), found=(soft, replace(late, words="Changes come late, still."))))
    keep(3)
    keep(4, judged="marked")
    keep(5, "2026-03-09", entry=Entry(a_pass(), found=(late,)))

    assert week(store).habits == (
        HabitOfWeek("change late", "Changes come late, still.", 2, 3),
        HabitOfWeek("middle soft", "Weak.", 1, 3),
    )


def test_what_was_set_and_pinned_is_told(store: Store, keep: Callable[..., None]) -> None:
    def write(do: Callable[..., object]) -> object:
        return store.write(do).result()

    def set_(title: str, made: str, until: str | None = None) -> str:
        setting = Setting(MILL, title, "beginner", 100.0, until=until)
        return store.write(lambda c: assign(c, setting, [REED.id], RUTH.id, made)).result()[0]

    set_("over", "2026-02-20T10:00:00Z", "2026-03-01")
    set_("until Monday", "2026-02-20T10:00:00Z", "2026-03-02")
    set_("on", "2026-03-08T10:00:00Z")
    set_("later", "2026-03-09T10:00:00Z")
    ended = set_("ended", "2026-02-20T10:00:00Z")
    write(lambda c: end_assignment(c, ended, "2026-03-01T10:00:00Z"))
    for words, made, seen in (
        ("read before", "2026-02-20T10:00:00Z", "2026-02-21T10:00:00Z"),
        ("read now", "2026-02-20T10:00:00Z", "2026-03-05T10:00:00Z"),
        ("unread", "2026-02-20T10:00:00Z", None),
        ("later", "2026-03-09T10:00:00Z", None),
    ):
        key = store.write(lambda c, w=words, m=made: pin(c, REED.id, MILL, 2, w, RUTH.id, m)).result()
        if seen:
            write(lambda c, key=key, seen=seen: see_pin(c, key, seen))
    keep(1, clean=True, tempo=84.0)
    keep(2, "2026-03-09", clean=True, tempo=99.0)

    found = week(store)
    assert [(each.assignment.setting.title, each.reached) for each in found.set] == [
        ("on", 84.0),
        ("until Monday", 84.0),
    ]
    assert {each.words for each in found.pins} == {"read now", "unread"}


# ------------------------------------------------------------------------------------------ takes and files


def test_takes_worth_hearing_come_with_their_reasons(store: Store, keep: Callable[..., None]) -> None:
    bad = (PlayedMeasure(1, 8, 8, 0, 0, 0, 0.0, clean=True), PlayedMeasure(2, 8, 4, 0, 0, 0, 0.0, clean=False))
    good = tuple(replace(each, clean=True) for each in bad)
    for number in (1, 2, 3, 4):
        keep(number, measures=bad, tempo=70.0)
    keep(5, measures=good, clean=True, tempo=70.0)
    keep(6, measures=good, clean=True, tempo=80.0)
    keep(7, measures=bad, tempo=90.0)
    keep(8, judged="marked", clean=True, tempo=120.0, measures=())

    found = week(store).takes

    assert [(each.played.number, each.why) for each in found] == [
        (5, "The first clean one after 4 tries that were not."),
        (6, "The fastest clean one, at 80."),
        (7, "Measure 2 was not clean in 5 of 7 passes: this is the last."),
    ]


@pytest.mark.parametrize(("tries", "told"), [(3, False), (4, True)])
def test_few_tries_are_no_news(store: Store, keep: Callable[..., None], tries: int, told: bool) -> None:
    for number in range(1, tries + 1):
        keep(number, measures=())
    keep(9, clean=True, measures=())

    (take,) = week(store).takes

    assert ("tries" in take.why) is told


def test_a_week_as_json_names_where_its_takes_are(store: Store, keep: Callable[..., None]) -> None:
    keep(1, clean=True, tempo=84.0)

    record = week_record(week(store), REED)

    assert (record["format"], record["week"], record["before"], record["after"]) == (
        "week/1",
        "2026-W10",
        "2026-W09",
        "2026-W11",
    )
    assert record["takes"][0]["cues"] == "kept/evening/1.cues.json"


@given(st.builds(str.__add__, st.sampled_from(["", "=", "+", "-", "@", "\t", "\r"]), st.text(max_size=30)))
def test_no_cell_is_a_formula(words: str) -> None:
    """Nothing of a text is lost, and no spreadsheet takes it for a formula (OWASP, "CSV Injection", from memory)."""
    empty = WeekOfPractice(WEEK, 0.0, 0, (), (), (), (), (), (HabitOfWeek("x", words, 1, 1),), (), (), ())

    text = week_csv(empty)
    head, row = csv.reader(io.StringIO(text, newline=""))

    assert tuple(head) == HEAD
    assert row[-1][:1] not in ("=", "+", "-", "@", "\t", "\r")
    assert row[-1] in (words, f"'{words}")
