"""The ladder as a session uses it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from msgspec import structs

from coach.service.climb import Climb, Outcome, loads_of, within

CLEAN = Outcome(
    tune="t",
    tier="beginner",
    tempo=100.0,
    first=1,
    last=4,
    floor=40.0,
    goal=120.0,
    all_measures=True,
    clean=True,
    whole=True,
    self_marked=False,
    calibrated=True,
)
LOADS = (("beginner", 1.0), ("intermediate", 2.0))


def test_loads_are_the_plucks_a_quarter_of_each_tier(solos: Any) -> None:
    loads = loads_of(solos)

    assert [tier for tier, _ in loads] == ["beginner", "intermediate", "advanced"]
    assert loads[1][1] == pytest.approx(2.0)  # eighths all through
    assert loads_of({}) == ()


def test_a_clean_pass_goes_up_and_the_next_counts_from_there() -> None:
    climb = Climb()
    first = climb.after(CLEAN, LOADS)
    second = climb.after(replace(CLEAN, tempo=first.tempo), LOADS)

    assert (first.tempo, second.tempo) == (pytest.approx(108.0), pytest.approx(116.64))
    assert (first.tier, first.first, first.last, first.offer_tier) == ("beginner", 1, 4, None)


def test_a_tempo_chosen_against_the_offer_is_where_the_ladder_goes_on() -> None:
    climb = Climb()
    climb.after(CLEAN, LOADS)

    assert climb.after(replace(CLEAN, tempo=60.0), LOADS).tempo == pytest.approx(64.8)


def test_three_clean_passes_at_the_goal_offer_the_next_tier_and_it_is_begun_by_playing_it() -> None:
    climb = Climb()
    for _ in range(3):
        rung = climb.after(replace(CLEAN, tempo=120.0), LOADS)
    assert (rung.tier, rung.offer_tier, rung.tempo) == ("intermediate", "intermediate", pytest.approx(60.0))

    rung = climb.after(replace(CLEAN, tier="intermediate", tempo=rung.tempo), LOADS)

    assert (rung.tier, rung.offer_tier, rung.tempo) == ("intermediate", None, pytest.approx(64.8))


def test_another_tune_begins_a_ladder_of_its_own() -> None:
    climb = Climb()
    climb.after(replace(CLEAN, clean=False), LOADS)

    assert climb.after(replace(CLEAN, tune="u"), LOADS).tempo == pytest.approx(108.0)


def test_another_goal_and_floor_hold_at_once() -> None:
    climb = Climb()
    climb.after(CLEAN, LOADS)

    assert climb.after(replace(CLEAN, goal=102.0), LOADS).tempo == pytest.approx(102.0)
    assert climb.after(replace(CLEAN, tempo=90.0, floor=89.0, clean=False), LOADS).tempo == pytest.approx(89.0)


def test_a_rung_that_stays_names_the_tempo_that_was_played_where_the_limits_changed_meanwhile() -> None:
    above = Climb().after(replace(CLEAN, tempo=150.0, calibrated=False), LOADS)
    below = Climb().after(replace(CLEAN, tempo=30.0, whole=False), LOADS)

    assert (above.tempo, above.why) == (120.0, "150 was played, which is above the goal now: 120 next.")
    assert (below.tempo, below.why) == (40.0, "30 was played, which is below the slowest tempo now: 40 next.")


def test_a_rung_follows_limits_that_change_after_it_was_offered() -> None:
    rung = Climb().after(CLEAN, LOADS)

    assert within(rung, 40.0, 120.0) == rung
    assert within(rung, 40.0, 90.0) == structs.replace(rung, tempo=90.0, why="The goal is 90 now.")
    assert within(rung, 110.0, 120.0) == structs.replace(rung, tempo=110.0, why="The slowest tempo is 110 now.")


def test_a_stopped_pass_and_a_first_one_on_a_new_instrument_move_nothing() -> None:
    assert Climb().after(replace(CLEAN, whole=False), LOADS).tempo == 100.0
    assert Climb().after(replace(CLEAN, calibrated=False), LOADS).tempo == 100.0


def test_where_it_stands_is_told_in_plain_values() -> None:
    climb = Climb()
    assert climb.record() is None
    climb.after(CLEAN, LOADS)
    record = climb.record()

    assert record is not None
    assert (record["tier"], record["tempo"]) == ("beginner", pytest.approx(108.0))
