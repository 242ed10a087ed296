"""Rules by which the tempo of the next pass follows from the passes before: staircases, and one that knows a curve.

Each rule is a value that stands on a tempo; :meth:`Policy.after` gives the rule after a pass. All tempos are quarters a
minute and stay between floor and goal. Where the rules lead a player of steady ability:

``Transformed``
    Up after ``clean_needed`` clean passes in a row, down after one that is not, by equal steps of the logarithm: to the
    tempo at which a share of ``0.5 ** (1 / clean_needed)`` is clean: .707, .794, .841 for 2, 3, 4 (H. Levitt 1971,
    "Transformed up-down methods in psychoacoustics", J. Acoust. Soc. Am. 49, 467-477).
``Weighted``
    A step after every pass, up or down, of different sizes: ``up * share = down * (1 - share)`` leads to any share
    (C. Kaernbach 1991, "Simple adaptive testing with the weighted up-down method", Percept. Psychophys. 49(3)
    227-229; up is harder here).
``FixedSteps``
    What a teacher writes down: so many quarters a minute up after so many clean passes in a row, down after so many in
    a row that are not.
``ByCurve``
    The fastest tempo at which the curve of the player (:mod:`~coach.ladder.curve`) lets a share be clean. The share is
    .84 unless asked otherwise: where learning is by small corrections from right and wrong alone, it is quickest with
    15.87 % of errors (R. C. Wilson et al. 2019, "The eighty five percent rule for optimal learning", Nat. Commun. 10,
    4646). That holds for learners of that kind, and is a sensible wager, no more, for hands on strings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Protocol, Self

from coach.ladder.curve import Curve, after_pass, begin, share

__all__ = ["ByCurve", "FixedSteps", "Policy", "Transformed", "Weighted", "tempo_of_share"]

LEARNS_BEST = 0.84
MEMORY = 1 / 8
SAFEST = 0.95
MOST_UP = 1.08
"""No tempo is raised by more than this at once: hands are to grow used to it (common practice, no source)."""


class Policy(Protocol):
    """A rule, standing on a tempo."""

    @property
    def tempo(self) -> float:
        """Of the next pass."""
        ...

    def after(self, *, clean: bool) -> Self:
        """The rule after a pass at its tempo."""
        ...


@dataclass(frozen=True, slots=True)
class Transformed:
    """The transformed up-down rule; ``step`` is the ratio of two neighbouring tempos, > 1."""

    tempo: float
    floor: float
    goal: float
    clean_needed: int = 3
    step: float = 1.04
    in_a_row: int = 0

    def after(self, *, clean: bool) -> Self:
        """Up after enough clean passes, down after any other."""
        if not clean:
            return replace(self, tempo=max(self.floor, self.tempo / self.step), in_a_row=0)
        if self.in_a_row + 1 < self.clean_needed:
            return replace(self, in_a_row=self.in_a_row + 1)
        return replace(self, tempo=min(self.goal, self.tempo * self.step), in_a_row=0)


@dataclass(frozen=True, slots=True)
class Weighted:
    """The weighted up-down rule; ``down`` is the ratio of a step down, > 1, and the step up follows from the share."""

    tempo: float
    floor: float
    goal: float
    share: float = LEARNS_BEST
    down: float = 1.08

    def after(self, *, clean: bool) -> Self:
        """A step up or down."""
        up = math.exp(math.log(self.down) * (1 - self.share) / self.share)
        tempo = min(self.goal, self.tempo * up) if clean else max(self.floor, self.tempo / self.down)
        return replace(self, tempo=tempo)


@dataclass(frozen=True, slots=True)
class FixedSteps:
    """A teacher's steps, in quarters a minute."""

    tempo: float
    floor: float
    goal: float
    up: float = 4.0
    down: float = 4.0
    clean_needed: int = 2
    failed_needed: int = 2
    clean_in_a_row: int = 0
    failed_in_a_row: int = 0

    def after(self, *, clean: bool) -> Self:
        """A step once enough passes in a row say so."""
        row = (self.clean_in_a_row if clean else self.failed_in_a_row) + 1
        if row < (self.clean_needed if clean else self.failed_needed):
            return replace(self, clean_in_a_row=row if clean else 0, failed_in_a_row=0 if clean else row)
        tempo = min(self.goal, self.tempo + self.up) if clean else max(self.floor, self.tempo - self.down)
        return replace(self, tempo=tempo, clean_in_a_row=0, failed_in_a_row=0)


@dataclass(frozen=True, slots=True)
class ByCurve:
    """The rule that knows a curve."""

    tempo: float
    floor: float
    goal: float
    curve: Curve = field(default_factory=lambda: begin(90.0))
    share: float = LEARNS_BEST
    failed: float = 0.0

    def after(self, *, clean: bool) -> Self:
        """The fastest tempo with the share, at most a little above the last; after a pass that was not clean not
        above it at all.

        The curve may think better of a player than is true for a while. So the share of passes that failed is
        remembered (each pass counts for :data:`MEMORY` of it), and where that is above what was asked for, as much
        more is asked for.
        """
        curve = after_pass(self.curve, self.tempo, clean=clean)
        failed = self.failed + MEMORY * ((0.0 if clean else 1.0) - self.failed)
        wanted = min(SAFEST, self.share + max(0.0, failed - (1 - self.share)))
        most = min(self.goal, self.tempo * (MOST_UP if clean else 1.0))
        tempo = max(self.floor, min(most, tempo_of_share(curve, wanted)))
        return replace(self, curve=curve, failed=failed, tempo=tempo)


def tempo_of_share(curve: Curve, wanted: float) -> float:
    """The tempo at which a share of clean passes is to be expected, by bisection to a thousandth of itself."""
    low, high = math.log(15.0), math.log(600.0)
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (middle, high) if share(curve, math.exp(middle)) >= wanted else (low, middle)
    return math.exp(low)
