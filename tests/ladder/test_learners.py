"""Simulated learners, and how few passes they need under the default. It is a simulation."""

from __future__ import annotations

import math
from functools import cache
from statistics import NormalDist, mean

import numpy as np
import pytest

from coach.ladder.curve import LAPSE
from coach.ladder.policies import LEARNS_BEST
from coach.ladder.whole import clean_share

from .learners import GOAL, POLICIES, START, Climb, Learner, climb, is_clean, learner

LEARNERS = range(500, 508)
"""Others than those of the table of ``tests/bench/measure_policies.py``."""


@cache
def climbs(policy: str) -> tuple[Climb, ...]:
    name = next(name for name in POLICIES if name.startswith(policy))
    return tuple(climb(learner(seed), POLICIES[name](), seed) for seed in LEARNERS)


def passes(policy: str) -> float:
    return mean(each.passes for each in climbs(policy))


@pytest.mark.parametrize("seed", range(6))
def test_the_whole_is_ready_at_the_start_and_can_be_at_the_goal(seed: int) -> None:
    player = learner(seed)

    assert 8 <= len(player.thetas) <= 16
    assert clean_share(player.shares(START)) == pytest.approx(0.8, abs=1e-4)
    player.thetas = player.tops
    assert clean_share(player.shares(GOAL)) > LEARNS_BEST


@pytest.mark.parametrize("by_pass", [True, False])
def test_practice_teaches_as_the_published_curve_says(by_pass: bool) -> None:
    """One measure, for which the pass and the measure are the same: a part of the way to its ceiling, by z * phi(z)."""
    for share, part in (
        (NormalDist().cdf(1.0), 1.0),
        (0.5, 0.0),
        (0.3, 0.0),
        (NormalDist().cdf(2.0), 2 * math.exp(-1.5)),
    ):
        odds = math.log(share / (1 - LAPSE - share))
        player = Learner(np.array([0.1 * odds]), np.array([0.1]), np.array([1.0]), 0.05, np.array([2.0]), by_pass)
        before = player.thetas.copy()
        player.play(1, 1, 1.0, np.random.default_rng(1))
        assert player.thetas - before == pytest.approx(0.05 * part * (1.0 - before), abs=1e-9)


def test_a_loop_teaches_its_own_measures_only() -> None:
    player = learner(3)
    before = player.thetas.copy()
    clean = player.play(2, 3, 50.0, np.random.default_rng(1))

    assert set(clean) == {2, 3}
    assert set(np.flatnonzero(player.thetas != before) + 1) == {2, 3}


def test_a_pass_is_clean_by_the_rule_of_the_reports() -> None:
    assert is_clean(dict.fromkeys(range(8), True) | {3: False})
    assert not is_clean(dict.fromkeys(range(8), True) | {3: False, 4: False})
    assert not is_clean(dict.fromkeys(range(7), True) | {3: False})


def test_a_climb_comes_out_the_same_each_time() -> None:
    name = "transformed, 3 clean"

    assert climb(learner(1), POLICIES[name](), 1) == climb(learner(1), POLICIES[name](), 1)


def test_the_default_needs_fewer_passes_than_fixed_steps_and_the_staircases() -> None:
    """The table of 200 learners is made by hand; so few are told apart by margins: at least a fifth fewer than fixed
    steps, and no more than the better staircase."""
    assert passes("default") <= 0.8 * passes("fixed steps")
    assert passes("default") <= min(passes("transformed, 3"), passes("weighted"))


def test_the_default_fails_no_more_than_is_asked_for() -> None:
    """Of all whole passes, of those behind the first twenty, and of loops."""
    found = climbs("default")
    wholes = [share for each in found for share in each.failing]
    later = [share for each in found for share in each.failing[20:]]
    loops = [share for each in found for share in each.failing_spots]

    assert 0.05 < mean(wholes) <= 1 - LEARNS_BEST
    assert mean(later) <= 1 - LEARNS_BEST
    assert mean(loops) <= 1 - LEARNS_BEST + 0.03
    assert len(loops) > 10 * len(found)
