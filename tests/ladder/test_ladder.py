from __future__ import annotations

import json
import math
import random
from dataclasses import replace

import pytest

from coach.ladder.ladder import LadderState, Move, Offer, Outcome, next_rung, take_offer

CLEAN = Outcome(clean=True)
OTHER = Outcome(clean=False)

LOADS = (("beginner", 1.25), ("intermediate", 2.0), ("advanced", 2.25))


def ladder(tempo: float = 100.0, **more: object) -> LadderState:
    return LadderState(**{"tier": "beginner", "tempo": tempo, "floor": 40.0, "goal": 160.0, "heard": True, **more})


def after(state: LadderState, *outcomes: Outcome) -> LadderState:
    for outcome in outcomes:
        state = next_rung(state, outcome).state
    return state


def test_each_clean_pass_is_8_percent_up_until_the_first_that_is_not() -> None:
    assert after(ladder(), CLEAN).tempo == pytest.approx(108.0)
    assert after(ladder(), CLEAN, CLEAN).tempo == pytest.approx(116.64)
    assert after(ladder(), CLEAN, CLEAN).climbing


def test_the_first_that_is_not_clean_is_4_percent_down_and_ends_the_climb() -> None:
    state = after(ladder(), CLEAN, OTHER)

    assert state.tempo == pytest.approx(108.0 * 0.96)
    assert not state.climbing


def test_from_then_on_three_clean_in_a_row_are_4_percent_up() -> None:
    state = ladder(climbing=False)

    assert after(state, CLEAN, CLEAN).tempo == 100.0
    assert after(state, CLEAN, CLEAN, CLEAN).tempo == pytest.approx(104.0)
    assert after(state, CLEAN, CLEAN, CLEAN).in_a_row == 0


def test_one_that_is_not_clean_is_4_percent_down_and_ends_the_row() -> None:
    state = after(ladder(climbing=False), CLEAN, CLEAN, OTHER)

    assert (state.tempo, state.in_a_row) == (96.0, 0)
    assert after(state, CLEAN, CLEAN).tempo == 96.0


def test_the_tempo_stays_between_floor_and_goal() -> None:
    assert after(ladder(159.0), CLEAN).tempo == 160.0
    assert after(ladder(41.0, climbing=False), OTHER).tempo == 40.0
    assert "slowest" in next_rung(ladder(40.0), OTHER).why


@pytest.mark.parametrize("clean", [True, False])
@pytest.mark.parametrize("climbing", [True, False])
def test_a_pass_that_was_stopped_moves_nothing(clean: bool, climbing: bool) -> None:
    state = ladder(climbing=climbing, in_a_row=2)

    assert next_rung(state, Outcome(clean=clean, whole=False)).state == state


@pytest.mark.parametrize("clean", [True, False])
def test_a_first_pass_on_an_uncalibrated_instrument_moves_nothing_but_is_remembered(clean: bool) -> None:
    state = ladder(heard=False)
    moved = next_rung(state, Outcome(clean=clean, calibrated=False)).state

    assert moved == replace(state, heard=True)
    assert after(moved, Outcome(clean=True, calibrated=False)).tempo == pytest.approx(108.0)


def test_a_stopped_pass_is_no_first_pass() -> None:
    assert not after(ladder(heard=False), Outcome(clean=False, whole=False, calibrated=False)).heard


def test_a_first_pass_on_a_calibrated_instrument_counts() -> None:
    assert after(ladder(heard=False), CLEAN).tempo == pytest.approx(108.0)


def test_a_self_marked_pass_runs_the_same_ladder_and_is_labelled() -> None:
    marked = Outcome(clean=True, calibrated=False, self_marked=True)
    move = next_rung(ladder(heard=False), marked)

    assert move.state.tempo == pytest.approx(108.0)
    assert not move.state.heard  # an instrument that comes later is still to be heard
    assert move.self_marked
    assert move.why.endswith("(by your own mark).")


def test_three_clean_passes_at_the_goal_offer_the_next_tier_at_a_tempo_that_suits_it() -> None:
    state = ladder(160.0, loads=LOADS)

    assert after(state, CLEAN, CLEAN).offer is None
    offered = after(state, CLEAN, CLEAN, CLEAN)
    # As many plucks a second as before: 160 * 1.25 / 2.
    assert offered.offer == Offer("intermediate", 100.0)
    begun = take_offer(offered)
    assert (begun.tier, begun.tempo, begun.climbing, begun.at_goal) == ("intermediate", 100.0, True, 0)


def test_clean_passes_at_the_goal_need_not_be_in_a_row() -> None:
    state = after(ladder(160.0, loads=LOADS), CLEAN, CLEAN, OTHER, CLEAN, CLEAN, CLEAN)

    assert state.tempo == pytest.approx(159.744)
    assert after(state, CLEAN, CLEAN, CLEAN, CLEAN).offer is not None


def test_reaching_the_goal_is_not_yet_a_clean_pass_at_it() -> None:
    assert after(ladder(150.0), CLEAN).at_goal == 0


def test_some_measures_at_the_goal_do_not_earn_the_next_tier() -> None:
    some = Outcome(clean=True, all_measures=False)

    assert after(ladder(160.0, loads=LOADS), some, some, some).offer is None


def test_the_last_tier_and_a_lone_solo_offer_nothing() -> None:
    last = after(ladder(160.0, tier="advanced", loads=LOADS), CLEAN, CLEAN, CLEAN)

    assert last.offer is None
    with pytest.raises(ValueError, match="no tier"):
        take_offer(last)
    assert after(ladder(160.0), CLEAN, CLEAN, CLEAN).offer is None


def test_the_offered_tempo_stays_above_the_floor() -> None:
    state = ladder(160.0, floor=120.0, loads=LOADS, at_goal=3)

    assert state.offer == Offer("intermediate", 120.0)


def test_a_tempo_of_ones_own_is_kept_within_the_limits_and_ends_the_row() -> None:
    state = ladder(climbing=False, in_a_row=2)

    assert (state.at_tempo(90.0).tempo, state.at_tempo(90.0).in_a_row) == (90.0, 0)
    assert state.at_tempo(500.0).tempo == 160.0
    assert state.at_tempo(5.0).tempo == 40.0


def test_another_goal_starts_the_count_anew() -> None:
    state = ladder(160.0, at_goal=2)

    assert state.towards(120.0) == ladder(120.0, goal=120.0)
    assert state.towards(30.0).floor == 30.0


@pytest.mark.parametrize(
    "outcome",
    [CLEAN, OTHER, Outcome(clean=True, whole=False), Outcome(clean=True, all_measures=False)],
)
@pytest.mark.parametrize(
    "state",
    [
        ladder(),
        ladder(climbing=False),
        ladder(climbing=False, in_a_row=2),
        ladder(160.0),
        ladder(160.0, at_goal=2),
        ladder(160.0, at_goal=2, loads=LOADS),
        ladder(40.0, climbing=False),
    ],
)
def test_every_move_is_explained_in_one_sentence_that_names_the_tempo(state: LadderState, outcome: Outcome) -> None:
    move: Move = next_rung(state, outcome)

    assert move.why[0].isupper()
    assert move.why.endswith(".")
    assert move.why.count(".") == 1
    assert f"{move.state.tempo:.0f}" in move.why or "this solo is yours" in move.why or move.state.offer is not None


def test_a_state_survives_being_written_as_json() -> None:
    state = ladder(climbing=False, in_a_row=1, loads=LOADS)

    assert LadderState.from_dict(json.loads(json.dumps(state.to_dict()))) == state


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"tier": "beginner"},
        {**ladder().to_dict(), "tempo": "fast"},
        {**ladder().to_dict(), "loads": [1]},
        {**ladder().to_dict(), "tempo": 500.0},
    ],
)
def test_what_is_no_state_is_refused(data: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"."):
        LadderState.from_dict(data)


@pytest.mark.parametrize(
    "fields",
    [
        {"tempo": 39.0},
        {"tempo": 161.0},
        {"floor": 0.0},
        {"floor": 170.0},
        {"tempo": float("nan")},
        {"loads": (("a", 0.0),)},
    ],
)
def test_numbers_out_of_range_are_refused(fields: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"must be"):
        ladder(**fields)


# Levitt 1971, JASA 49, 467-477: three right in a row up, one wrong down settles at p = 0.5 ** (1 / 3) = 0.794
# (DERIVED; paper opening SEEN). Steps of 4 % up and 4 % down are not quite equal in the logarithm: with
# p ** 3 * ln 1.04 = (1 - p ** 3) * -ln 0.96 the balance lies at 0.799.
@pytest.mark.parametrize("ability", [70.0, 95.0, 130.0])
def test_players_of_known_ability_settle_where_levitt_says(ability: float) -> None:
    rng = random.Random(1971)
    steepness = 0.12
    shares = []
    for _ in range(12):
        state = ladder(60.0, goal=400.0, floor=20.0)
        for trial in range(500):
            clean = rng.random() < 1 / (1 + (state.tempo / ability) ** (1 / steepness))
            if trial >= 50:
                shares.append((math.log(state.tempo), clean))
            state = next_rung(state, Outcome(clean=clean)).state

    settled = math.exp(sum(log for log, _ in shares) / len(shares))
    chance = 1 / (1 + (settled / ability) ** (1 / steepness))
    assert chance == pytest.approx(0.794, abs=0.025)
    assert sum(clean for _, clean in shares) / len(shares) == pytest.approx(0.794, abs=0.025)
