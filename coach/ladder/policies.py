"""Rules by which the tempo of the next whole pass follows from those before: staircases, and one that knows curves.

Each rule is a value that stands on a tempo. :meth:`Policy.at` puts it on the tempo that was really played,
:meth:`Policy.after` tells it how that came out, and :meth:`Policy.next_tempo` answers. All tempos are quarters a minute
and stay between floor and goal. What is offered is whole (:func:`offered`); the rules go on from what they found.
Where they lead a player of steady ability:

``Transformed``
    8 % up after each clean pass until the first that is not clean. From then on up after ``clean_needed`` clean passes
    in a row, down after one that is not, by equal steps of the logarithm: to the tempo at which a share of
    ``0.5 ** (1 / clean_needed)`` is clean: .707, .794, .841 for 2, 3, 4 (H. Levitt 1971, "Transformed up-down methods
    in psychoacoustics", J. Acoust. Soc. Am. 49, 467-477).
``Weighted``
    A step after every pass, up or down, of different sizes: ``up * share = down * (1 - share)`` leads to any share
    (C. Kaernbach 1991, "Simple adaptive testing with the weighted up-down method", Percept. Psychophys. 49(3)
    227-229; up is harder here).
``FixedSteps``
    What a teacher writes down: so many quarters a minute up after so many clean passes in a row, down after so many in
    a row that are not.
``ByCurve``
    The fastest tempo at which the curves of the measures (:mod:`~coach.ladder.known`) let a share of whole passes be
    clean, put right by a weighted rule of small steps, so that it fails no more often than asked whatever the curves
    think. The share is .84 unless asked otherwise: where learning is by small corrections from right and wrong alone,
    it is quickest with 15.87 % of errors (R. C. Wilson et al. 2019, "The eighty five percent rule for optimal
    learning", Nat. Commun. 10, 4646, number from memory). That holds for learners of that kind, and is a sensible
    wager, no more, for hands on strings.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import MISSING, asdict, dataclass, fields, replace
from types import NoneType
from typing import Any, ClassVar, Self

import numpy as np

from coach.ladder.curve import Curve, shares
from coach.ladder.whole import clean_shares, fastest

__all__ = [
    "LEARNS_BEST",
    "POLICIES",
    "ByCurve",
    "FixedSteps",
    "Policy",
    "Transformed",
    "Weighted",
    "from_dict",
    "offered",
    "stepped",
    "tempo_of_share",
]

LEARNS_BEST = 0.84
MOST_UP = 1.08
"""No tempo is raised by more than this at once: hands are to grow used to it (common practice, no source)."""

MOST_DOWN = 0.93
EVEN, FAR_DOWN = 0.5, 0.8  # common practice, no source
"""Where half of the measures are to be expected clean no more often than that, it was no slip that brought the last
pass down, and the tempo may fall by more."""

HEARD = 1.03
"""A step of the coach's own is no smaller: of six intervals 3 % more or less are just noticed (C. Drake & M.-C. Botte
1993, Percept. Psychophys. 54(3) 277-286; abstract seen, pages from memory)."""

LEAN_STEP = 0.04  # of the logarithm of the tempo, down; tuned with simulated learners
MOST_LEAN = 0.2
MARGIN = 0.15  # of the failures that are allowed; tuned with simulated learners


@dataclass(frozen=True, slots=True)
class Policy(ABC):
    """A rule, standing on a tempo.

    Attributes:
        tempo: that it stands on.
        floor, goal: the slowest tempo and the one that is wished, 0 < floor <= tempo <= goal.

    Raises:
        ValueError: when a number is out of its range.
    """

    name: ClassVar[str]

    tempo: float
    floor: float
    goal: float

    def __post_init__(self) -> None:
        if not 0 < self.floor <= self.goal < math.inf:
            raise ValueError(f"floor and goal must be in order, got {self.floor!r} and {self.goal!r}")
        if not self.floor <= self.tempo <= self.goal:
            raise ValueError(f"tempo must be in range {self.floor!r}..{self.goal!r}, got {self.tempo!r}")
        if not self._is_sound():
            raise ValueError(f"a number of this rule is out of its range: {self!r}")

    @abstractmethod
    def after(self, *, clean: bool) -> Self:
        """The rule after a whole pass at its tempo."""

    def next_tempo(self, curves: Mapping[int, Curve]) -> float:  # noqa: ARG002  # staircases need no curves
        """Of the next whole pass.

        Args:
            curves: of the solo's measures, by their numbers, with what the last pass taught.
        """
        return self.tempo

    def at(self, tempo: float) -> Self:
        """The rule on the tempo that was played or chosen, as near to it as floor and goal allow; where it is another
        than the rule stood on, or offered for that, rows of clean passes end."""
        tempo = self._within(tempo)
        if tempo in (self.tempo, offered(self.tempo, self.floor, self.goal)):
            return self
        return replace(self._rowless(), tempo=tempo)

    def between(self, floor: float, goal: float) -> Self:
        """The rule with other limits, 0 < floor <= goal."""
        return replace(self, floor=floor, goal=goal, tempo=max(floor, min(goal, self.tempo)))

    def to_dict(self) -> dict[str, Any]:
        """The rule and where it stands, as plain values."""
        return {"name": self.name, **asdict(self)}

    def _within(self, tempo: float) -> float:
        return max(self.floor, min(self.goal, tempo))

    def _is_sound(self) -> bool:
        return True

    def _rowless(self) -> Self:
        return self


@dataclass(frozen=True, slots=True)
class Transformed(Policy):
    """The transformed up-down rule.

    Attributes:
        clean_needed: clean passes in a row to go up, > 0.
        step: the ratio of two neighbouring tempos, > 1.
        climbing: no pass has been other than clean yet.
        in_a_row: clean passes since the last move.
    """

    name: ClassVar[str] = "three clean"

    clean_needed: int = 3
    step: float = 1.04
    climbing: bool = True
    in_a_row: int = 0

    def _rowless(self) -> Self:
        return replace(self, in_a_row=0)

    def _is_sound(self) -> bool:
        return self.clean_needed > 0 and self.step > 1

    def after(self, *, clean: bool) -> Self:
        """Up after enough clean passes, down after any other."""
        if not clean:
            return replace(self, tempo=self._within(self.tempo / self.step), in_a_row=0, climbing=False)
        if self.climbing:
            return replace(self, tempo=self._within(self.tempo * MOST_UP))
        if self.in_a_row + 1 < self.clean_needed:
            return replace(self, in_a_row=self.in_a_row + 1)
        return replace(self, tempo=self._within(self.tempo * self.step), in_a_row=0)


@dataclass(frozen=True, slots=True)
class Weighted(Policy):
    """The weighted up-down rule.

    Attributes:
        share: of clean passes that it leads to, 0..1, the ends left out.
        down: the ratio of a step down, > 1; the step up follows from the share.
    """

    name: ClassVar[str] = "every pass"

    share: float = LEARNS_BEST
    down: float = 1.08

    def _is_sound(self) -> bool:
        return 0 < self.share < 1 and self.down > 1

    def after(self, *, clean: bool) -> Self:
        """A step up or down."""
        up = math.exp(math.log(self.down) * (1 - self.share) / self.share)
        return replace(self, tempo=self._within(self.tempo * up if clean else self.tempo / self.down))


@dataclass(frozen=True, slots=True)
class FixedSteps(Policy):
    """A teacher's steps.

    Attributes:
        up, down: in quarters a minute, > 0.
        clean_needed, failed_needed: passes in a row for a step up, and for one down, > 0.
        clean_in_a_row, failed_in_a_row: since the last move.
    """

    name: ClassVar[str] = "steps"

    up: float = 4.0
    down: float = 4.0
    clean_needed: int = 2
    failed_needed: int = 2
    clean_in_a_row: int = 0
    failed_in_a_row: int = 0

    def _rowless(self) -> Self:
        return replace(self, clean_in_a_row=0, failed_in_a_row=0)

    def _is_sound(self) -> bool:
        return min(self.up, self.down, self.clean_needed, self.failed_needed) > 0

    def after(self, *, clean: bool) -> Self:
        """A step once enough passes in a row say so."""
        row = (self.clean_in_a_row if clean else self.failed_in_a_row) + 1
        if row < (self.clean_needed if clean else self.failed_needed):
            return replace(self, clean_in_a_row=row if clean else 0, failed_in_a_row=0 if clean else row)
        tempo = self._within(self.tempo + self.up if clean else self.tempo - self.down)
        return replace(self, tempo=tempo, clean_in_a_row=0, failed_in_a_row=0)


@dataclass(frozen=True, slots=True)
class ByCurve(Policy):
    """The rule that knows curves.

    The curves may think better or worse of a player than is true for a while. So each pass moves what is put upon their
    tempo by a step of the weighted rule: where more passes fail than was asked for the tempo sinks under what the
    curves say, where fewer do it rises above. Before the first pass the tempo is the one that the rule was put on.

    Attributes:
        share: of clean passes that is asked for, 0..1, the ends left out.
        lean: the logarithm of what is put upon the tempo of the curves, -:data:`MOST_LEAN`..:data:`MOST_LEAN`.
        was_clean: the last pass; None before the first.
    """

    name: ClassVar[str] = "coach"

    share: float = LEARNS_BEST
    lean: float = 0.0
    was_clean: bool | None = None

    def _is_sound(self) -> bool:
        return 0 < self.share < 1 and abs(self.lean) <= MOST_LEAN

    def after(self, *, clean: bool) -> Self:
        """What there is to be remembered of the pass."""
        share = self._asked()
        step = LEAN_STEP * (1 - share) / share if clean else -LEAN_STEP
        return replace(self, lean=max(-MOST_LEAN, min(MOST_LEAN, self.lean + step)), was_clean=clean)

    def next_tempo(self, curves: Mapping[int, Curve]) -> float:
        """The fastest tempo with the share, and what is put upon it, as far as :func:`stepped` goes."""
        if self.was_clean is None:
            return self.tempo
        wished = tempo_of_share(curves, self._asked()) * math.exp(self.lean)
        here = float(np.median(shares(list(curves.values()), np.array([self.tempo]))))
        down = FAR_DOWN if here < EVEN else MOST_DOWN
        return stepped(self.tempo, wished, clean=self.was_clean, floor=self.floor, goal=self.goal, down=down)

    def _asked(self) -> float:
        """The share that the curves are asked for: a little more, so that what comes of it is not less."""
        return self.share + MARGIN * (1 - self.share)


POLICIES: Mapping[str, type[Policy]] = {each.name: each for each in (ByCurve, Transformed, Weighted, FixedSteps)}
"""The rules by their names, the default first."""

_KINDS: Mapping[str, tuple[type, ...]] = {
    "float": (float, int),
    "int": (int,),
    "bool": (bool,),
    "bool | None": (bool, NoneType),
}


def from_dict(data: Mapping[str, Any]) -> Policy:
    """The rule that :meth:`Policy.to_dict` gave.

    Raises:
        ValueError: when it is none.
    """
    rule = POLICIES.get(str(data.get("name")))
    if rule is None:
        raise ValueError(f"the rules of the tempo are {', '.join(POLICIES)}; got {data.get('name')!r}")
    values: dict[str, Any] = {}
    for field in fields(rule):
        value = data.get(field.name, MISSING)
        kinds = _KINDS[str(field.type)]
        if not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds):
            raise ValueError(f"{field.name} of the rule {rule.name!r} is not as it was kept: {value!r}")
        values[field.name] = value
    return rule(**values)


def stepped(tempo: float, wished: float, *, clean: bool, floor: float, goal: float, down: float = MOST_DOWN) -> float:
    """The tempo that follows upon one, as near to a wished one as steps go: after a clean pass never below the last and
    a little above it at most, after another one never above the last and a little below it at most; the last again
    where the step would not be heard, unless it is one to the goal or to the floor.

    Args:
        tempo: of the last pass, in quarters a minute.
        wished: in quarters a minute.
        clean: how the last pass came out.
        floor, goal: the slowest and the fastest tempo.
        down: the part of the last tempo that is left after a step down, at least.
    """
    least, most = (1.0, MOST_UP) if clean else (down, 1.0)
    moved = max(floor, min(goal, max(tempo * least, min(tempo * most, wished))))
    return moved if moved in (floor, goal) or not 1 / HEARD < moved / tempo < HEARD else tempo


def offered(tempo: float, floor: float, most: float) -> float:
    """A tempo as it is offered: in whole quarters a minute from floor to the most, but for these two themselves."""
    if not floor < tempo < most:
        return max(floor, min(most, tempo))
    return max(floor, min(most, float(round(tempo))))


def tempo_of_share(curves: Mapping[int, Curve], wanted: float) -> float:
    """The fastest tempo, in quarters a minute, at which a share of passes through some measures is to be clean.

    Args:
        curves: of the measures, by their numbers; at least one.
        wanted: the share, 0..1.
    """
    return float(fastest(clean_shares(shares(list(curves.values()))), wanted))
