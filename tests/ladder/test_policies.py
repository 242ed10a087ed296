"""Rules of the tempo: where they lead, what they hold to, and how they are kept."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import replace
from statistics import median
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ladder.curve import Curve, begin, begin_ready, share
from coach.ladder.policies import (
    EVEN,
    FAR_DOWN,
    HEARD,
    LEARNS_BEST,
    MOST_DOWN,
    MOST_LEAN,
    MOST_UP,
    POLICIES,
    ByCurve,
    FixedSteps,
    Policy,
    Transformed,
    Weighted,
    from_dict,
    offered,
    stepped,
    tempo_of_share,
)

RULES = st.sampled_from([ByCurve, Transformed, Weighted, FixedSteps])
CURVES = {number: begin_ready(90.0 + number, 0.1) for number in range(1, 9)}


def played(policy: Policy, *clean: bool, curves: Mapping[int, Curve] = CURVES) -> Policy:
    """The rule on the tempo that follows after some passes."""
    for each in clean:
        policy = policy.after(clean=each)
        policy = policy.at(policy.next_tempo(curves)) if isinstance(policy, ByCurve) else policy
    return policy


@given(RULES, st.lists(st.booleans(), max_size=30), st.floats(30, 200))
def test_the_tempo_stays_between_floor_and_goal(rule: type[Policy], clean: list[bool], tempo: float) -> None:
    policy = rule(60.0, 50.0, 120.0).at(tempo)

    for each in clean:
        policy = policy.after(clean=each)
        assert 50.0 <= policy.next_tempo(CURVES) <= 120.0
        policy = policy.at(policy.next_tempo(CURVES))


@given(RULES, st.lists(st.booleans(), max_size=12))
def test_a_rule_comes_back_from_what_is_kept_of_it(rule: type[Policy], clean: list[bool]) -> None:
    policy = played(rule(60.0, 50.0, 120.0), *clean)

    assert from_dict(json.loads(json.dumps(policy.to_dict()))) == policy


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": "by ear"},
        {"tempo": "fast"},
        {"tempo": 130.0},
        {"floor": 0.0},
        {"goal": math.nan},
        {"clean_needed": True},
        {"clean_needed": 0},
        {"step": 1.0},
        {"in_a_row": None},
    ],
)
def test_what_is_no_rule_is_refused(wrong: dict[str, Any]) -> None:
    kept = Transformed(60.0, 50.0, 120.0).to_dict() | wrong

    with pytest.raises(ValueError, match=r"rule|in range|in order"):
        from_dict(kept)


@pytest.mark.parametrize("rule", POLICIES.values())
def test_what_is_missing_is_refused(rule: type[Policy]) -> None:
    kept = rule(60.0, 50.0, 120.0).to_dict()

    for name in kept:
        with pytest.raises(ValueError, match="rule"):
            from_dict({key: value for key, value in kept.items() if key != name})


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Weighted(60.0, 50.0, 120.0, share=1.0),
        lambda: Weighted(60.0, 50.0, 120.0, down=1.0),
        lambda: FixedSteps(60.0, 50.0, 120.0, up=0.0),
        lambda: ByCurve(60.0, 50.0, 120.0, lean=1.0),
        lambda: ByCurve(60.0, 50.0, 40.0),
    ],
)
def test_numbers_out_of_range_are_refused(wrong: Any) -> None:
    with pytest.raises(ValueError, match=r"range|order"):
        wrong()


def test_the_transformed_rule_climbs_until_the_first_that_is_not_clean() -> None:
    policy = played(Transformed(60.0, 40.0, 120.0), True, True)

    assert policy.tempo == pytest.approx(60 * MOST_UP**2)
    fallen = played(policy, False)
    assert fallen.tempo == pytest.approx(60 * MOST_UP**2 / 1.04)
    assert played(fallen, True, True).tempo == fallen.tempo
    assert played(fallen, True, True, True).tempo == pytest.approx(60 * MOST_UP**2)
    assert played(fallen, True, True, False, True).tempo == pytest.approx(fallen.tempo / 1.04)


def test_a_tempo_of_ones_own_ends_the_rows() -> None:
    policy = played(FixedSteps(60.0, 40.0, 120.0), True)

    assert played(policy, True).tempo == 64.0
    assert played(policy.at(60.0), True).tempo == 64.0
    assert played(policy.at(70.0), True).tempo == 70.0
    assert played(policy.at(70.0), True, True).tempo == 74.0


def test_a_tempo_as_it_was_offered_is_the_one_that_the_rule_stands_on() -> None:
    policy = Weighted(60.0, 40.0, 120.0).after(clean=True)

    assert policy.tempo == pytest.approx(60.0 * 1.08 ** (0.16 / 0.84))
    assert policy.at(61.0) == policy
    assert policy.at(62.0).tempo == 62.0


@given(st.floats(20, 400), st.floats(20, 400), st.floats(20, 400))
def test_what_is_offered_is_whole_and_within_its_limits(tempo: float, one: float, other: float) -> None:
    floor, most = sorted((one, other))
    told = offered(tempo, floor, most)

    assert floor <= told <= most
    assert told in (floor, most) or (told == round(told) and abs(told - tempo) <= 0.5)


@pytest.mark.parametrize(
    ("wished", "clean", "tempo"),
    [
        (102.9, True, 100.0),
        (103.1, True, 103.1),
        (150.0, True, 108.0),
        (90.0, True, 100.0),
        (97.2, False, 100.0),
        (97.0, False, 97.0),
        (50.0, False, 93.0),
        (110.0, False, 100.0),
    ],
)
def test_a_step_of_the_coach_is_to_be_heard_and_is_no_leap(wished: float, clean: bool, tempo: float) -> None:
    assert stepped(100.0, wished, clean=clean, floor=40.0, goal=120.0) == pytest.approx(tempo)


def test_the_last_step_to_goal_or_floor_may_be_small() -> None:
    assert stepped(119.0, 121.0, clean=True, floor=40.0, goal=120.0) == 120.0
    assert stepped(41.0, 39.0, clean=False, floor=40.0, goal=120.0) == 40.0


def test_fixed_steps_go_down_after_two_in_a_row() -> None:
    policy = FixedSteps(60.0, 40.0, 120.0)

    assert played(policy, False, True, False).tempo == 60.0
    assert played(policy, False, False).tempo == 56.0


@pytest.mark.parametrize("rule", POLICIES.values())
def test_other_limits_move_the_tempo_only_where_they_must(rule: type[Policy]) -> None:
    policy = rule(60.0, 40.0, 120.0)

    assert policy.between(30.0, 100.0).tempo == 60.0
    assert policy.between(70.0, 100.0).tempo == 70.0
    assert policy.between(30.0, 50.0).tempo == 50.0


def test_the_coach_begins_where_it_is_put() -> None:
    assert ByCurve(60.0, 40.0, 120.0).next_tempo(CURVES) == 60.0


@given(st.lists(st.booleans(), min_size=1, max_size=20), st.floats(50, 110))
def test_the_coach_never_goes_down_after_a_clean_pass_nor_up_after_another(clean: list[bool], tempo: float) -> None:
    policy = ByCurve(tempo, 40.0, 120.0)
    for each in clean:
        before = policy.tempo
        policy = policy.after(clean=each)
        after = policy.next_tempo(CURVES)
        is_hopeless = median(share(curve, before) for curve in CURVES.values()) < EVEN
        down = FAR_DOWN if is_hopeless else MOST_DOWN
        least, most = (before, before * MOST_UP) if each else (before * down, before)
        assert least - 1e-9 <= after <= max(most, 40.0) + 1e-9
        assert after in (before, 40.0, 120.0) or not 1 / HEARD < after / before < HEARD
        assert abs(policy.lean) <= MOST_LEAN
        policy = policy.at(after)


def test_the_coach_goes_to_where_the_curves_have_the_share() -> None:
    settled = replace(ByCurve(60.0, 20.0, 300.0), was_clean=True)
    wished = tempo_of_share(CURVES, LEARNS_BEST)

    assert 0.95 * wished < settled.at(wished / 1.05).next_tempo(CURVES) <= wished
    # More failures than were asked for, and it keeps below that.
    failing = played(settled.at(wished), *[False, True] * 6)
    assert failing.tempo < 0.95 * wished


# Steady players: the share of clean passes over many, and where the staircases are said to lead it. Sources: H. Levitt
# 1971 (0.5 ** (1 / n): .7071, .7937, .8409), C. Kaernbach 1991 (any share, by unequal steps); both DERIVED, the papers'
# openings and abstracts SEEN. The steps are small beside the curve's fall, so that the drawing of the mean by the
# curve's bend is below .005; what else may differ is chance: three standard errors, found from batches.
BEND = 0.005


def shares_of_steady_players(policy: Policy, seed: int, *, passes: int = 2500, players: int = 8) -> tuple[float, float]:
    """The share of clean passes, and its standard error over the players."""
    means = []
    for player in range(players):
        rng = np.random.default_rng([seed, player])
        draws = rng.random(passes)
        here, clean = policy, 0
        for index, draw in enumerate(draws):
            is_clean = bool(draw < 1 / (1 + (here.tempo / 90.0) ** (1 / 0.15)))
            clean += is_clean and index >= 100
            here = here.after(clean=is_clean)
        means.append(clean / (passes - 100))
    return float(np.mean(means)), float(np.std(means, ddof=1) / math.sqrt(players))


@pytest.mark.parametrize(("needed", "levitt"), [(2, 0.7071), (3, 0.7937), (4, 0.8409)])
def test_players_of_steady_ability_settle_where_levitt_says(needed: int, levitt: float) -> None:
    rule = Transformed(90.0, 10.0, 900.0, clean_needed=needed, step=1.02, climbing=False)
    # The share of passes at the tempos visited is what equal steps balance: p ** n of the runs go up.
    share, error = shares_of_steady_players(rule, 1971)

    assert share == pytest.approx(levitt, abs=3 * error + BEND)
    assert error < 0.01


@pytest.mark.parametrize("wished", [0.75, 0.84, 0.9])
def test_players_of_steady_ability_settle_at_the_share_of_the_weighted_rule(wished: float) -> None:
    share, error = shares_of_steady_players(Weighted(90.0, 10.0, 900.0, share=wished, down=1.04), 1991)

    assert share == pytest.approx(wished, abs=3 * error + BEND)
    assert error < 0.01


def test_the_tempo_of_a_share_is_where_one_curve_has_it() -> None:
    assert tempo_of_share({1: begin_ready(100.0, 0.01)}, 0.8) == pytest.approx(100.0, rel=0.01)
    assert tempo_of_share({1: begin(100.0, 0.01)}, 0.49) == pytest.approx(100.0, rel=0.01)
