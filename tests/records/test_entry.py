"""All that a pass leaves behind, in one transaction; and the sittings."""

from __future__ import annotations

from dataclasses import replace

import pytest
from played_passes import a_pass
from sqlalchemy import select

from coach.errors import RecordsError
from coach.records.entry import Entry, keep_entry, make_up
from coach.records.findings import FoundHabit, findings_of_pass
from coach.records.known import KnownCurve, KnownLadder, curves_of, ladders_of, settings_of
from coach.records.played import passes_of
from coach.records.sittings import PlayedSitting, keep_sitting, sittings_of
from coach.records.store import Store
from coach.records.tables import tunes

WHEN = "2026-03-01T17:55:00Z"
SITTING = PlayedSitting("reed", WHEN, 20.0, 6.5, 84.0)
CURVE = KnownCurve(b"\0\1", 4, WHEN)


def test_all_of_an_entry_is_kept(store: Store) -> None:
    entry = Entry(a_pass(), {"beginner": {1: CURVE}}, '{"tempo": 84}', {"bounce": "55"}, SITTING)

    store.write(lambda c: keep_entry(c, entry)).result()

    assert store.read(lambda c: passes_of(c, "reed")) == [a_pass()]
    assert store.read(lambda c: curves_of(c, "reed", a_pass().tune)) == {"beginner": {1: CURVE}}
    assert store.read(lambda c: ladders_of(c, "reed")) == {a_pass().tune: KnownLadder('{"tempo": 84}', a_pass().began)}
    assert store.read(lambda c: settings_of(c, "reed")) == {"bounce": "55"}
    assert store.read(lambda c: sittings_of(c, "reed")) == [SITTING]


def test_a_pass_alone_leaves_the_rest_as_it_is(store: Store) -> None:
    store.write(lambda c: keep_entry(c, Entry(a_pass(), ladder="1", settings={"bounce": "55"}))).result()
    store.write(lambda c: keep_entry(c, Entry(a_pass(2)))).result()

    assert len(store.read(lambda c: passes_of(c, "reed"))) == 2
    assert store.read(lambda c: ladders_of(c, "reed")) == {a_pass().tune: KnownLadder("1", a_pass().began)}
    assert store.read(lambda c: settings_of(c, "reed")) == {"bounce": "55"}


def test_of_an_entry_that_cannot_be_kept_nothing_is(store: Store) -> None:
    nobody = replace(SITTING, player="nobody")

    with pytest.raises(RecordsError):
        store.write(lambda c: keep_entry(c, Entry(a_pass(), ladder="1", sitting=nobody))).result()

    assert store.read(lambda c: passes_of(c, "reed")) == []
    assert store.read(lambda c: ladders_of(c, "reed")) == {}


def test_what_is_owed_is_kept_in_its_order_without_what_cannot_be(store: Store) -> None:
    owed = [
        Entry(a_pass(1), ladder="1"),
        Entry(a_pass(2, tempo=-1.0), ladder="2"),
        Entry(a_pass(3), ladder="3", settings={"bounce": "55"}),
    ]

    store.write(lambda c: make_up(c, owed)).result()

    assert store.read(lambda c: passes_of(c, "reed")) == [a_pass(1), a_pass(3)]
    assert store.read(lambda c: ladders_of(c, "reed")) == {a_pass().tune: KnownLadder("3", a_pass(3).began)}


def test_a_sitting_is_kept_as_it_goes_on(store: Store) -> None:
    further = replace(SITTING, minutes=12.0, tempo=88.0)
    open_one = PlayedSitting("reed", "2026-03-02T17:00:00Z", None, 3.0, None)
    store.write(lambda c: keep_entry(c, Entry(a_pass(), sitting=SITTING))).result()
    store.write(lambda c: keep_sitting(c, further)).result()
    store.write(lambda c: keep_sitting(c, open_one)).result()

    assert store.read(lambda c: sittings_of(c, "reed")) == [further, open_one]


def test_repeats_of_a_tune_stay_where_a_pass_does_not_tell_them(store: Store) -> None:
    def repeats() -> object:
        return store.read(lambda c: c.execute(select(tunes.c.repeats)).scalar())

    found = []
    for told in ({}, {9: 1, 10: 2}, {}, {10: 2, 9: 1}):
        store.write(lambda c, told=told: keep_entry(c, Entry(a_pass(), repeats=told))).result()
        found.append(repeats())

    assert found == [{}, {9: 1, 10: 2}, {9: 1, 10: 2}, {9: 1, 10: 2}]


def test_what_was_found_is_kept_with_its_pass_in_its_order(store: Store) -> None:
    late = FoundHabit("change late", "Chord changes come late.", 4.0)
    soft = FoundHabit("middle soft", "The middle finger is weak.", 1.5)

    def found(number: int) -> tuple[FoundHabit, ...]:
        return store.read(lambda c: findings_of_pass(c, "evening", number))

    store.write(lambda c: keep_entry(c, Entry(a_pass(1), found=(late, soft)))).result()
    store.write(lambda c: keep_entry(c, Entry(a_pass(2), found=(soft,)))).result()
    assert (found(1), found(2), found(3)) == ((late, soft), (soft,), ())

    store.write(lambda c: keep_entry(c, Entry(a_pass(1)))).result()
    assert (found(1), found(2)) == ((), (soft,))
