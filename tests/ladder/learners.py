"""Simulated learners: players whose every measure has a curve of its own, and who get better as they practise.

It is a simulation: the learners are made of published parts, and no hand on a string was ever measured with them.

The player
    A measure comes clean with the share of :mod:`coach.ladder.curve`: a logistic psychometric function on the logarithm
    of the tempo with lapses (F. A. Wichmann & N. J. Hill 2001, Percept. Psychophys. 63(8) 1293-1313, from memory). Each
    measure has a threshold and a steepness of its own; measures come out each for itself. Whether a pass is clean is
    the rule of the reports: at most one measure in eight (rounded down) is not.
Learning
    Each pass through a measure takes its threshold a part of the way to its ceiling, so that practice approaches the
    ceiling exponentially (A. Heathcote, S. Brown & D. J. K. Mewhort 2000, "The power law repealed", Psychon. Bull. Rev.
    7(2) 185-207, from memory). How large the part is depends on the success rate: as ``z * phi(z)``, where ``Phi(z)``
    is the share of clean ones, which is what learners by small corrections show under Gaussian noise (R. C. Wilson et
    al. 2019, Nat. Commun. 10, 4646, number from memory): most at 84.13 %, nothing at one in two or below. What succeeds
    or fails is the pass that is played, a whole or a loop (``by_pass``); the other way to read it, each measure for
    itself, has a table of its own in ``tests/bench/measure_policies.py``. Learners differ in their rate. The coach's
    own model of learning is another: logistic noise, each measure for itself, no ceiling, one rate.
The climb
    The whole is ready (four passes in five clean) at 60 quarters a minute when it begins, and it ends with the third
    clean whole pass at 120.
What is counted
    A whole pass is one; a loop of a trouble spot is as much of one as its measures, lead-in included, are of the whole.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from statistics import NormalDist
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from coach.ladder.curve import FASTEST, LAPSE, POINTS, READY, SIGMAS, SLOWEST, Curve
from coach.ladder.known import Known, curves, learned
from coach.ladder.policies import LEARNS_BEST, ByCurve, FixedSteps, Policy, Transformed, Weighted, tempo_of_share
from coach.ladder.rungs import Course, MeasurePlan, PassSeen, TierPlan
from coach.ladder.whole import MEASURES_A_FAULT, clean_share
from coach.ladder.worth import best_practice

Floats = NDArray[np.float64]

START, GOAL, FLOOR = 60.0, 120.0, 40.0
CLEAN_AT_GOAL = 3
RATE = 0.014
MOST = 3000.0  # passes: who has not arrived by then never does
TIER = "beginner"
QUARTERS = 4.0

_NORMAL = NormalDist()


@dataclass
class Learner:
    """A player.

    Attributes:
        thetas, sigmas, tops: thresholds, steepnesses and ceilings by measure, thresholds and ceilings as logarithms of
            quarters a minute. Practice changes the thresholds.
        rate: the part of the way to its ceiling that the best possible pass takes a measure.
        difficulties: what the coach is told of each measure.
        by_pass: learning depends on how the whole pass succeeds, not on each measure for itself.
    """

    thetas: Floats
    sigmas: Floats
    tops: Floats
    rate: float
    difficulties: Floats
    by_pass: bool

    def shares(self, tempo: float) -> Floats:
        """Of clean ones, by measure."""
        shares: Floats = (1 - LAPSE) / (1 + np.exp((math.log(tempo) - self.thetas) / self.sigmas))
        return shares

    def play(self, first: int, last: int, tempo: float, rng: np.random.Generator) -> dict[int, bool]:
        """Which measures come clean in a pass from one number to another, and what practice makes of them."""
        inside = slice(first - 1, last)
        shares = self.shares(tempo)[inside]
        clean = rng.random(len(shares)) < shares
        taught = _taught(clean_share(shares)) if self.by_pass else np.array([_taught(share) for share in shares])
        self.thetas[inside] += self.rate * taught * (self.tops - self.thetas)[inside]
        return {first + index: bool(each) for index, each in enumerate(clean)}


def _taught(share: float) -> float:
    """What a pass teaches, beside the best possible one."""
    if share <= 0.5:
        return 0.0
    z = _NORMAL.inv_cdf(share)
    return z * _NORMAL.pdf(z) / _NORMAL.pdf(1.0)


def learner(seed: int, *, by_pass: bool = True, rate: float = RATE) -> Learner:
    """One of many: 8 to 16 measures, of which some are harder than others; ``rate`` is the median of all learners'."""
    rng = np.random.default_rng([2026, seed])
    count = int(rng.integers(8, 17))
    easier = rng.normal(0, 0.15, count)
    sigmas = rng.uniform(0.05, 0.13, count)
    # The difficulty index tells which measures are harder, but not exactly.
    difficulties = np.maximum(0.5, rng.normal(2.0, 0.4) - (easier + rng.normal(0, 0.1, count)) / 0.3)
    rate *= math.exp(rng.normal(0, 0.4))
    made = Learner(easier, sigmas, easier, rate, difficulties, by_pass)
    low, high = math.log(10), math.log(400)
    while high - low > 1e-6:
        middle = (low + high) / 2
        made.thetas = easier + middle
        low, high = (middle, high) if clean_share(made.shares(START)) < READY else (low, middle)
    made.thetas = easier + low
    made.tops = made.thetas + math.log(1.5 * GOAL / START) + rng.normal(0, 0.1, count)
    return made


class Practising(Protocol):
    """Who chooses what to play."""

    def choose(self, player: Learner) -> tuple[int, int, float]:
        """The first and the last measure and the tempo of the next pass."""
        ...

    def hear(self, first: int, last: int, tempo: float, clean: Mapping[int, bool]) -> None:
        """How it came out."""
        ...


@dataclass
class Whole:
    """Whole passes by a rule that asks for no curves."""

    policy: Policy

    def choose(self, player: Learner) -> tuple[int, int, float]:
        return 1, len(player.thetas), self.policy.next_tempo({})

    def hear(self, first: int, last: int, tempo: float, clean: Mapping[int, bool]) -> None:
        self.policy = self.policy.at(tempo).after(clean=is_clean(clean))


@dataclass
class Coached:
    """The default: whole passes by the curves of the measures, and trouble spots where they are worth more."""

    policy: Policy
    spots: bool = True
    known: Known = field(default_factory=Known)
    lately: list[tuple[int, int] | None] = field(default_factory=list)
    course: Course | None = None

    def choose(self, player: Learner) -> tuple[int, int, float]:
        if self.course is None:
            plans = (MeasurePlan(1 + index, float(d), QUARTERS) for index, d in enumerate(player.difficulties))
            self.course = Course("simulated", (TierPlan(TIER, tuple(plans), 2.0),), {})
        now = curves(self.known, self.course, TIER, (), 0.0)
        tempo = self.policy.next_tempo(now)
        if not self.spots:
            return 1, len(now), tempo
        best = best_practice(now, dict.fromkeys(now, QUARTERS), tempo=tempo, floor=FLOOR, goal=GOAL, lately=self.lately)
        return (1, len(now), tempo) if best.spot is None else (best.spot.lead_in, best.spot.last, best.tempo)

    def hear(self, first: int, last: int, tempo: float, clean: Mapping[int, bool]) -> None:
        assert self.course is not None
        whole = len(clean) == len(self.course.tiers[0].measures)
        seen = PassSeen(TIER, tempo, is_clean(clean), 0.0, 1.0, clean, {}, all_measures=whole)
        self.known = learned(self.known, self.course, seen)
        self.lately.append(None if whole else (first, last))
        if whole:
            self.policy = self.policy.at(tempo).after(clean=is_clean(clean))


@dataclass(frozen=True)
class Climb:
    """How a climb went.

    Attributes:
        passes: that it took, as counted.
        failing: of each whole pass how likely it was not to be clean.
        failing_spots: of each loop.
    """

    passes: float
    failing: tuple[float, ...]
    failing_spots: tuple[float, ...]


def is_clean(clean: Mapping[int, bool]) -> bool:
    """Whether a pass is, by the rule of the reports."""
    return sum(not each for each in clean.values()) <= len(clean) // MEASURES_A_FAULT


def climb(player: Learner, practising: Practising, seed: int) -> Climb:
    """From 60 to three clean whole passes at 120."""
    rng = np.random.default_rng([1971, seed])
    count = len(player.thetas)
    passes, at_goal = 0.0, 0
    failing: list[float] = []
    failing_spots: list[float] = []
    while at_goal < CLEAN_AT_GOAL and passes < MOST:
        first, last, tempo = practising.choose(player)
        whole = last - first + 1 == count
        (failing if whole else failing_spots).append(1 - clean_share(player.shares(tempo)[first - 1 : last]))
        clean = player.play(first, last, tempo, rng)
        passes += (last - first + 1) / count
        at_goal += whole and tempo >= GOAL and is_clean(clean)
        practising.hear(first, last, tempo, clean)
    return Climb(passes, tuple(failing), tuple(failing_spots))


@dataclass
class Oracle:
    """What could be done if the player were known exactly: the default's choice on the true curves, with no caution."""

    lately: list[tuple[int, int] | None] = field(default_factory=list)
    count: int = 0

    def choose(self, player: Learner) -> tuple[int, int, float]:
        true = {
            1 + index: _as_curve(*each) for index, each in enumerate(zip(player.thetas, player.sigmas, strict=True))
        }
        self.count = len(true)
        tempo = max(FLOOR, min(GOAL, tempo_of_share(true, LEARNS_BEST)))
        best = best_practice(
            true, dict.fromkeys(true, QUARTERS), tempo=tempo, floor=FLOOR, goal=GOAL, lately=self.lately
        )
        return (1, self.count, tempo) if best.spot is None else (best.spot.lead_in, best.spot.last, best.tempo)

    def hear(self, first: int, last: int, tempo: float, clean: Mapping[int, bool]) -> None:
        self.lately.append(None if len(clean) == self.count else (first, last))


def _as_curve(theta: float, sigma: float) -> Curve:
    """A curve that is known: all weight on the four points of the grid around it, so that their mean is the truth."""
    weights = np.zeros((POINTS, len(SIGMAS)))
    thetas = np.linspace(math.log(SLOWEST), math.log(FASTEST), POINTS)
    for row, much in _beside(thetas, theta):
        for column, many in _beside(np.array(SIGMAS), sigma):
            weights[row, column] += much * many
    return Curve(weights)


def _beside(grid: Floats, value: float) -> list[tuple[int, float]]:
    """The two points of a grid around a value, each with its part of it."""
    place = float(np.interp(value, grid, np.arange(len(grid))))
    below = min(int(place), len(grid) - 2)
    return [(below, 1 - (place - below)), (below + 1, place - below)]


POLICIES: Mapping[str, Callable[[], Practising]] = {
    "fixed steps (4 up after 2 clean, 4 down after 2 not)": lambda: Whole(FixedSteps(START, FLOOR, GOAL)),
    "transformed, 3 clean": lambda: Whole(Transformed(START, FLOOR, GOAL)),
    "transformed, 2 clean": lambda: Whole(Transformed(START, FLOOR, GOAL, 2)),
    "weighted, .84": lambda: Whole(Weighted(START, FLOOR, GOAL)),
    "default": lambda: Coached(ByCurve(START, FLOOR, GOAL)),
    "default without spots": lambda: Coached(ByCurve(START, FLOOR, GOAL), spots=False),
    "oracle": Oracle,
}
"""Who chooses what to play, by name."""
