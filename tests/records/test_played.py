"""Passes and what is known of a player, written and asked for again."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from played_passes import MEASURES, a_pass
from sqlalchemy import func, select

from coach.errors import RecordsError
from coach.records.known import (
    KnownCurve,
    KnownLadder,
    curves_of,
    keep_curves,
    keep_ladder,
    keep_settings,
    ladders_of,
    settings_of,
)
from coach.records.played import PlayedPass, add_pass, moment, passes_of
from coach.records.store import Store
from coach.records.tables import measures


def keep(store: Store, *played: PlayedPass) -> None:
    """Write passes down."""
    for each in played:
        store.write(lambda connection, each=each: add_pass(connection, each)).result()


def test_passes_come_back_as_they_were_the_oldest_first(store: Store) -> None:
    written = [a_pass(3), a_pass(1, mix=(2,), kind="jam"), a_pass(2, measures=(), judged="marked", kept_going=None)]
    keep(store, *written)

    assert store.read(lambda c: passes_of(c, "reed")) == [written[1], written[2], written[0]]


def test_a_pass_that_is_written_again_takes_the_place_of_the_first(store: Store) -> None:
    keep(store, a_pass(), a_pass(clean=True, measures=MEASURES[:1]))

    assert store.read(lambda c: passes_of(c, "reed")) == [a_pass(clean=True, measures=MEASURES[:1])]
    assert store.read(lambda c: c.execute(select(func.count()).select_from(measures)).scalar()) == 1


def test_more_passes_than_one_statement_names(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coach.records.played.PORTION", 7)
    keep(store, *(a_pass(number, folder=f"f{number}") for number in range(1, 23)))

    found = store.read(lambda c: passes_of(c, "reed"))

    assert [each.number for each in found] == list(range(1, 23))
    assert all(each.measures == MEASURES for each in found)


@pytest.mark.parametrize("wrong", [{"tempo": 0.0}, {"judged": "guessed"}])
def test_what_cannot_be_is_refused(store: Store, wrong: dict[str, object]) -> None:
    with pytest.raises(RecordsError):
        keep(store, a_pass(**wrong))

    assert store.read(lambda c: passes_of(c, "reed")) == []


def test_curves_ladder_and_settings_are_replaced(store: Store) -> None:
    keep(store, a_pass())
    tune = a_pass().tune
    early, late = "2026-03-01T18:00:00Z", "2026-03-02T18:00:00Z"
    first = {"beginner": {1: KnownCurve(b"\0\1", 1, early), 2: KnownCurve(b"\2", 1, early)}}
    second = {"beginner": {2: KnownCurve(b"\3\0", 2, late)}, "advanced": {2: KnownCurve(b"\4", 1, late)}}
    for known, state, tempo, when in ((first, "{}", "80", early), (second, '{"tempo": 84}', "84", late)):
        store.write(lambda c, known=known: keep_curves(c, "reed", tune, known)).result()
        store.write(lambda c, state=state, when=when: keep_ladder(c, "reed", tune, state, when)).result()
        store.write(lambda c, tempo=tempo: keep_settings(c, "reed", {"tempo": tempo, "bounce": "50"})).result()

    assert store.read(lambda c: curves_of(c, "reed", tune)) == {
        "beginner": {1: first["beginner"][1], 2: second["beginner"][2]},
        "advanced": second["advanced"],
    }
    assert store.read(lambda c: curves_of(c, "reed", "another")) == {}
    assert store.read(lambda c: ladders_of(c, "reed")) == {tune: KnownLadder('{"tempo": 84}', late)}
    assert store.read(lambda c: ladders_of(c, "sedge")) == {}
    assert store.read(lambda c: settings_of(c, "reed")) == {"tempo": "84", "bounce": "50"}


def test_the_ladder_that_was_climbed_last_comes_first(store: Store) -> None:
    keep(store, *(a_pass(number, tune=tune) for number, tune in enumerate(["a", "b", "c"], 1)))
    for number, tune in enumerate(["b", "c", "a"]):
        when = f"2026-03-0{number + 1}T18:00:00Z"
        store.write(lambda c, tune=tune, when=when: keep_ladder(c, "reed", tune, f'"{tune}"', when)).result()

    found = store.read(lambda c: ladders_of(c, "reed"))

    assert list(found) == ["a", "c", "b"]
    assert found["c"] == KnownLadder('"c"', "2026-03-02T18:00:00Z")


def test_a_moment_is_in_utc_whatever_the_zone() -> None:
    east = datetime(2026, 3, 1, 20, 30, 15, 999, tzinfo=timezone(timedelta(hours=2)))

    assert moment(east) == moment(east.astimezone(UTC)) == "2026-03-01T18:30:15Z"
    with pytest.raises(ValueError, match="zone"):
        moment(datetime(2026, 3, 1))  # noqa: DTZ001
