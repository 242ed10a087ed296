"""A player's progress as the records tell it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from played_passes import MEASURES, a_pass
from sqlalchemy import Connection, event

from coach.ladder.curve import after_days, after_pass, begin, ready, to_bytes
from coach.records.entry import Entry, keep_entry
from coach.records.known import KnownCurve
from coach.records.progress import LAST_PASSES, ClimbDay, DayPlayed, Progress, TunePlayed, progress_of
from coach.records.store import Store, url_of

NOW = datetime(2026, 3, 11, 18, tzinfo=UTC)


def keep(store: Store, *entries: Entry) -> None:
    """Write entries down."""

    def write(connection: Connection) -> None:
        for each in entries:
            keep_entry(connection, each)

    store.write(write).result()


def passes(*changes: dict[str, object]) -> list[Entry]:
    """Passes one after the other, each with what is told of it."""
    return [Entry(a_pass(number, **each)) for number, each in enumerate(changes, 1)]


def progress(store: Store, tune: str | None = None, player: str = "reed") -> Progress:
    """The progress of a player."""
    return store.read(lambda c: progress_of(c, player, tune, NOW))


def test_of_one_who_played_nothing_there_is_nothing(store: Store) -> None:
    keep(store, *passes({}))

    assert progress(store, player="sedge") == Progress("sedge", "", "", None, (), (), (), (), (), ())


def test_of_a_tune_that_was_not_played_there_is_its_id(store: Store) -> None:
    keep(store, *passes({}))

    found = progress(store, "another")

    assert (found.tune, found.title, found.goal, found.climb, found.passes) == ("another", "", None, (), ())
    assert len(found.tunes) == len(found.days) == 1


def test_minutes_are_told_by_day_and_by_tune(store: Store) -> None:
    keep(
        store,
        *passes(
            {"tune": "a", "title": "Alder", "day": "2026-03-01", "seconds": 60.0},
            {"tune": "b", "title": "Birch", "day": "2026-03-01", "seconds": 90.0, "whole": False},
            {"tune": "a", "title": "Alder", "day": "2026-03-01", "seconds": 31.0, "kind": "spot"},
            {"tune": "a", "title": "Alder", "day": "2026-03-03", "seconds": 120.0, "judged": "freely"},
            {"tune": "c", "title": "Alder", "day": "2026-03-01", "seconds": 6.0, "kind": "warm-up"},
            {"player": "sedge", "folder": "other", "seconds": 999.0},
        ),
    )

    found = progress(store)

    assert found.days == (
        DayPlayed("2026-03-01", 3.12, {"a": 1.52, "b": 1.5, "c": 0.1}),
        DayPlayed("2026-03-03", 2.0, {"a": 2.0}),
    )
    assert found.tunes == (
        TunePlayed("a", "Alder", 3, 3.52, "2026-03-03"),
        TunePlayed("c", "Alder", 1, 0.1, "2026-03-01"),
        TunePlayed("b", "Birch", 1, 1.5, "2026-03-01"),
    )


def test_a_day_is_the_players_own_and_not_that_of_utc(store: Store) -> None:
    keep(store, *passes({"began": "2026-03-02T01:30:00Z", "day": "2026-03-01"}))

    found = progress(store)

    assert [each.day for each in found.days] == [each.day for each in found.climb] == ["2026-03-01"]


def test_the_tune_at_hand_is_the_last_that_was_not_only_warmed_up_with_or_known(store: Store) -> None:
    keep(
        store,
        *passes(
            {"tune": "study", "kind": "warm-up"},
            {"tune": "a", "goal": 100.0},
            {"tune": "b", "kind": "spot", "goal": 110.0},
            {"tune": "a", "kind": "known"},
        ),
    )

    found = progress(store)

    assert (found.tune, found.title, found.goal) == ("b", "Mill Lane", 110.0)


def test_the_goal_of_a_tune_is_the_one_that_it_had_when_it_was_at_hand(store: Store) -> None:
    keep(
        store, *passes({"goal": 90.0}, {"goal": 100.0}, {"tune": "b", "goal": 140.0}, {"kind": "known", "goal": 140.0})
    )

    assert progress(store, "mill-lane-1f3a9c20").goal == 100.0


def test_where_nothing_but_a_warm_up_was_played_it_is_the_tune_at_hand(store: Store) -> None:
    keep(store, *passes({"tune": "study", "kind": "warm-up"}))

    assert progress(store).tune == "study"


def test_the_climb_goes_by_day_and_tier(store: Store) -> None:
    keep(
        store,
        *passes(
            {"tier": "intermediate", "tempo": 60.0},
            {"tier": "beginner", "tempo": 80.0, "clean": True},
            {"tier": "beginner", "tempo": 96.0},
            {"tier": "beginner", "tempo": 84.0, "clean": True, "mix": (2,)},
            {"tier": "beginner", "tempo": 100.0, "clean": True, "day": "2026-03-02", "kind": "known"},
        ),
    )

    assert progress(store).climb == (
        ClimbDay("2026-03-01", "beginner", 80.0, 96.0, 84.0, 3),
        ClimbDay("2026-03-01", "intermediate", 60.0, 60.0, None, 1),
        ClimbDay("2026-03-02", "beginner", 100.0, 100.0, 100.0, 1),
    )


@pytest.mark.parametrize(
    "aside",
    [
        {"whole": False},
        {"kind": "spot"},
        {"kind": "part"},
        {"kind": "jam"},
        {"judged": "freely"},
        {"tune": "another"},
        {"player": "sedge", "folder": "other"},
    ],
)
def test_what_is_no_pass_of_the_whole_solo_to_the_click_is_no_step_of_the_climb(
    store: Store, aside: dict[str, object]
) -> None:
    keep(store, *passes({}, {"tempo": 300.0, **aside}))

    assert [(each.high, each.passes) for each in progress(store, a_pass().tune).climb] == [(80.0, 1)]


def test_the_last_passes_are_told_measure_by_measure_the_oldest_first(store: Store) -> None:
    keep(
        store,
        *passes(
            {"kind": "spot", "mix": (2,), "measures": MEASURES[1:]},
            {"judged": "marked", "measures": (), "whole": False},
            {"kind": "jam"},
            {"clean": True},
        ),
    )

    found = progress(store)

    assert [(each.kind, each.judged, each.mix, each.measures) for each in found.passes] == [
        ("spot", "heard", (2,), {2: False}),
        ("whole", "marked", (), {}),
        ("jam", "heard", (), {}),
        ("whole", "heard", (), {1: True, 2: False}),
    ]
    assert [(each.whole, each.clean) for each in found.passes] == [
        (True, False),
        (False, False),
        (True, False),
        (True, True),
    ]
    assert found.measures == (1, 2)


def test_only_so_many_passes_are_told(tmp_path: Path, open_store: Callable[[str], Store]) -> None:
    store = open_store(url_of(tmp_path / "records.db"))
    keep(store, *passes(*({"tempo": 60.0 + number, "began": f"2026-03-01T18:{number:03}Z"} for number in range(70))))

    found = progress(store)

    assert [each.tempo for each in found.passes] == [60.0 + number for number in range(70 - LAST_PASSES, 70)]
    assert found.tunes[0].passes == 70


def test_ready_tempos_are_as_of_now_by_tier_and_measure(store: Store) -> None:
    curve = begin(80)
    for tempo in (70, 76, 82, 88):
        curve = after_pass(curve, tempo, clean=True)
    kept = KnownCurve(to_bytes(curve), curve.passes, "2026-03-01T18:00:00Z")
    fresh = KnownCurve(to_bytes(curve), curve.passes, "2026-03-11T18:00:00Z")
    later = KnownCurve(to_bytes(curve), curve.passes, "2026-03-12T18:00:00Z")  # by a clock that was set since
    curves = {"intermediate": {1: later}, "beginner": {10: kept, 9: fresh}}
    keep(store, Entry(a_pass(), curves))

    found = progress(store).ready

    assert [(each.tier, each.measure, each.passes) for each in found] == [
        ("beginner", 9, 4),
        ("beginner", 10, 4),
        ("intermediate", 1, 4),
    ]
    as_of_now = ready(curve), ready(after_days(curve, 10)), ready(curve)
    for each, expected in zip(found, as_of_now, strict=True):
        # Halves of the decimal that is told, and what three digits of the weights lose.
        assert (each.tempo, each.low, each.high) == pytest.approx(
            (expected.tempo, expected.low, expected.high), abs=0.2
        )
    assert found[1].tempo < found[0].tempo - 1


def test_measures_that_repeat_another_stand_where_that_one_does(store: Store) -> None:
    kept = KnownCurve(to_bytes(begin(80)), 3, "2026-03-01T18:00:00Z")
    keep(store, Entry(a_pass(), {"beginner": {1: kept, 2: kept}, "advanced": {2: kept}}, repeats={9: 1, 10: 2, 11: 3}))

    found = progress(store).ready

    assert [(each.tier, each.measure) for each in found] == [
        *(("beginner", 1), ("beginner", 2), ("beginner", 9), ("beginner", 10)),
        *(("advanced", 2), ("advanced", 10)),
    ]
    assert len({each.tempo for each in found}) == 1


def test_a_curve_that_cannot_be_read_is_left_out(store: Store) -> None:
    good = KnownCurve(to_bytes(begin(80)), 1, "2026-03-01T18:00:00Z")
    keep(store, Entry(a_pass(), {"beginner": {1: KnownCurve(b"?", 1, good.updated), 2: good}}))

    assert [each.measure for each in progress(store).ready] == [2]


def test_no_picture_looks_through_the_whole_of_a_large_table(
    tmp_path: Path, open_store: Callable[[str], Store]
) -> None:
    store = open_store(url_of(tmp_path / "records.db"))
    keep(store, *passes({}))
    asked: list[tuple[str, object]] = []

    def plans(connection: Connection) -> list[str]:
        def listen(_conn: object, _cursor: object, statement: str, parameters: object, *_rest: object) -> None:
            if statement.startswith("SELECT"):
                asked.append((statement, parameters))

        event.listen(connection, "before_cursor_execute", listen)
        progress_of(connection, "reed", None, NOW)
        event.remove(connection, "before_cursor_execute", listen)
        cursor = connection.connection.cursor()
        return [row[3] for words, told in asked for row in cursor.execute(f"EXPLAIN QUERY PLAN {words}", told)]

    found = store.read(plans)

    assert len(asked) == 8
    assert not [step for step in found if step.startswith("SCAN") and "CONSTANT" not in step]
    # The minutes of a year are summed up from the index alone.
    assert any("USING COVERING INDEX ix_passes_player_day" in step for step in found), found
