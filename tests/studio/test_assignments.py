"""What teachers set, and what of it holds today."""

from __future__ import annotations

from dataclasses import replace

import pytest
from played_passes import a_pass
from studio_people import REED, RUTH, TILDA, WREN, a_studio

from coach.records.entry import Entry, keep_entry
from coach.records.played import PlayedPass
from coach.records.store import Store
from coach.records.studio_tables import people
from coach.studio.assignments import assign, assignment_of_id, assignments_in, assignments_of, end_assignment, reached
from coach.studio.rules import Rules, Setting, is_on, rules_of, rules_words

MADE = "2026-03-02T10:00:00Z"
LATER = "2026-03-03T10:00:00Z"
MILL = Setting("mill-lane", "Mill Lane", "beginner", 100.0)


@pytest.fixture
def studio(store: Store) -> Store:
    """A store with two studios."""
    store.write(a_studio).result()
    return store


def test_a_class_gets_one(studio: Store) -> None:
    setting = Setting(
        *("mill-lane", "Mill Lane", "beginner", 100.0, (2, 3), "2026-03-08", "steps", 5.0, 3, 40.0, 80.0),
        *("2026-03-07", "Slowly, and with the metronome."),
    )

    ids = studio.write(lambda c: assign(c, setting, [REED.id, WREN.id], RUTH.id, MADE)).result()

    assert [studio.read(lambda c, key=key: assignment_of_id(c, key)).student_name for key in ids] == ["Reed", "Wren"]  # type: ignore[union-attr]
    (own,) = studio.read(lambda c: assignments_of(c, REED.id))
    assert own.setting == setting
    assert (own.id, own.by, own.made, own.ended) == (ids[0], "Ruth", MADE, None)
    assert {each.id for each in studio.read(lambda c: assignments_in(c, RUTH.studio.id))} == set(ids)
    assert studio.read(lambda c: assignments_in(c, TILDA.studio.id)) == []


def test_nobody_gets_nothing(studio: Store) -> None:
    assert studio.write(lambda c: assign(c, MILL, [], RUTH.id, MADE)).result() == []
    assert studio.read(lambda c: assignment_of_id(c, "none")) is None


def test_the_one_that_was_set_last_holds_until_it_is_ended(studio: Store) -> None:
    studio.write(lambda c: assign(c, MILL, [REED.id], RUTH.id, MADE)).result()
    (last,) = studio.write(lambda c: assign(c, replace(MILL, goal=90.0), [REED.id], RUTH.id, LATER)).result()

    def goal() -> float | None:
        rules = rules_of(studio.read(lambda c: assignments_of(c, REED.id)), "mill-lane", "2026-03-04")
        return None if rules is None else rules.goal

    assert goal() == 90.0
    studio.write(lambda c: end_assignment(c, last, "2026-03-04T09:00:00Z")).result()
    assert goal() == 100.0
    studio.write(lambda c: end_assignment(c, last, "2026-03-05T09:00:00Z")).result()
    assert studio.read(lambda c: assignment_of_id(c, last)).ended == "2026-03-04T09:00:00Z"  # type: ignore[union-attr]


def test_what_was_set_stays_when_the_teacher_has_left(studio: Store) -> None:
    studio.write(lambda c: assign(c, MILL, [REED.id], RUTH.id, MADE)).result()
    studio.write(lambda c: c.execute(people.delete().where(people.c.id == RUTH.id))).result()

    (left,) = studio.read(lambda c: assignments_of(c, REED.id))

    assert (left.by, left.setting) == ("", MILL)


def test_it_goes_with_the_student(studio: Store) -> None:
    studio.write(lambda c: assign(c, MILL, [REED.id, WREN.id], RUTH.id, MADE)).result()
    studio.write(lambda c: c.execute(people.delete().where(people.c.id == REED.id))).result()

    assert [each.student for each in studio.read(lambda c: assignments_in(c, RUTH.studio.id))] == [WREN.id]


@pytest.mark.parametrize(("day", "holds"), [("2026-03-07", True), ("2026-03-08", True), ("2026-03-09", False)])
def test_the_last_day_is_included(studio: Store, day: str, holds: bool) -> None:
    dated = replace(MILL, until="2026-03-08")
    studio.write(lambda c: assign(c, dated, [REED.id], RUTH.id, MADE)).result()
    given = studio.read(lambda c: assignments_of(c, REED.id))

    assert is_on(given[0], day) is holds
    assert (rules_of(given, "mill-lane", day) is not None) is holds
    assert rules_of(given, "other", day) is None


@pytest.mark.parametrize(("day", "cap"), [("2026-03-07", 80.0), ("2026-03-08", None)])
def test_a_cap_has_a_last_day_of_its_own(studio: Store, day: str, cap: float | None) -> None:
    capped = replace(MILL, cap=80.0, cap_until="2026-03-07", tolerance_ms=40.0)
    studio.write(lambda c: assign(c, capped, [REED.id], RUTH.id, MADE)).result()

    rules = rules_of(studio.read(lambda c: assignments_of(c, REED.id)), "mill-lane", day)

    words = "not above 80 this week" if cap else ""
    assert rules == Rules("Ruth", 100.0, tolerance_ms=40.0, cap=cap, cap_words=words)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, ""),
        ({"policy": "coach"}, "The coach finds the tempo."),
        ({"policy": "steps", "step": 5.0, "clean_needed": 1}, "The tempo goes up by 5 after a clean pass."),
        ({"tolerance_ms": 40.0, "cap": 80.0}, "On time is within 40 ms, and not above 80 for now."),
        ({"cap": 80.0, "cap_until": "2026-03-08"}, "Not above 80 this week."),  # the Sunday of the week of 2026-03-02
        ({"cap": 80.0, "cap_until": "2026-03-09"}, "Not above 80 until 9 March."),
        ({"cap": 80.0, "until": "2026-03-09"}, "Not above 80 until 9 March."),
        ({"cap": 80.0, "cap_until": "2026-03-01"}, ""),
    ],
)
def test_rules_are_said(changes: dict[str, object], words: str) -> None:
    assert rules_words(replace(MILL, **changes), "2026-03-02") == words  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "counts"),
    [
        ({}, True),
        ({"kind": "warm-up"}, True),
        ({"clean": False}, False),
        ({"whole": False}, False),
        ({"kind": "part"}, False),
        ({"kind": "jam"}, False),
        ({"judged": "freely"}, False),
        ({"judged": "marked"}, True),
        ({"tier": "advanced"}, False),
        ({"mix": (2,)}, False),
        ({"tune": "other"}, False),
        ({"player": "wren"}, False),
        ({"day": "2026-03-09"}, False),
    ],
)
def test_what_was_reached_is_the_fastest_clean_pass_of_the_whole(
    studio: Store, change: dict[str, object], counts: bool
) -> None:
    def kept(number: int, **changes: object) -> PlayedPass:
        return a_pass(number, **{"clean": True, "tune": "mill-lane", **changes})

    def keep(each: PlayedPass) -> None:
        studio.write(lambda c: keep_entry(c, Entry(each))).result()

    def best() -> float | None:
        return studio.read(lambda c: reached(c, REED.id, MILL, until="2026-03-08"))

    assert best() is None
    keep(kept(1, tempo=70.0))
    assert best() == 70.0
    keep(kept(2, tempo=75.0, **change))
    assert best() == (75.0 if counts else 70.0)
