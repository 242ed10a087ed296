"""Where a player stands with a tune: what is remembered of it from pass to pass, and from day to day.

Beside it stands what is known of the player's hands (:mod:`~coach.ladder.known`); nothing of that is in here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, get_type_hints

import msgspec

from coach.ladder import policies
from coach.ladder.policies import ByCurve, FixedSteps, Policy, Transformed, Weighted
from coach.ladder.rungs import Course, Judged, Kind, PassSeen

__all__ = [
    "EARNED",
    "MOST_PAST",
    "Past",
    "PolicyName",
    "Standing",
    "Wishes",
    "begun",
    "fitted",
    "from_dict",
    "to_dict",
    "wished",
]

FORMAT = "standing/1"

EARNED = 3
"""Clean passes through the whole solo at the goal tempo that earn what follows."""

MOST_PAST = 8
"""So many of the last passes are remembered: what is said of them is said of the player as they are now."""

PolicyName = Literal["coach", "three clean", "every pass", "steps"]
"""How the tempo moves: as the coach thinks, up after three clean passes and down after one that is not, a little after
every pass, or by fixed steps."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the player wants of the ladder.

    Attributes:
        floor, goal: the slowest and the wished tempo, 0 < floor <= goal.
        policy: how the tempo moves.
        step, clean_needed: of the fixed steps, in quarters a minute, and after how many clean passes in a row they go
            up. Down they go after two in a row that are not clean.
        cap: the tempo that nothing is to go above for now, as a teacher says, >= 1, be it below the floor; None where
            there is none. The goal stays the goal: who reaches the cap has not reached it.

    Raises:
        ValueError: when a number is out of its range.
    """

    floor: float
    goal: float
    policy: PolicyName = "coach"
    step: float = 4.0
    clean_needed: int = 2
    cap: float | None = None

    def __post_init__(self) -> None:
        if not 0 < self.floor <= self.goal < float("inf"):
            raise ValueError(f"floor and goal must be in order, got {self.floor!r} and {self.goal!r}")
        if not 0 < self.step < float("inf") or self.clean_needed < 1:
            raise ValueError(f"steps must be above 0, got {self.step!r} after {self.clean_needed!r}")
        if self.cap is not None and not 1 <= self.cap < float("inf"):
            raise ValueError(f"a cap must be 1 or more, got {self.cap!r}")


@dataclass(frozen=True, slots=True)
class Past:
    """A pass that was played.

    Attributes:
        kind, tier, mix, tempo, first, last, is_clean, whole, judged, day: as of :class:`~coach.ladder.rungs.PassSeen`.
        counts: whether it could move the ladder.
        clean: the measures that came clean.
        faults: the measures that did not, each with what was wrong with it most; empty where that is not known.
    """

    kind: Kind
    tier: str
    tempo: float
    day: float
    is_clean: bool
    mix: tuple[int, ...] = ()
    first: int | None = None
    last: int | None = None
    whole: bool = True
    judged: Judged = "heard"
    counts: bool = True
    clean: tuple[int, ...] = ()
    faults: tuple[tuple[int, str], ...] = ()

    @staticmethod
    def of(seen: PassSeen, *, counts: bool) -> Past:
        """What is remembered of a pass."""
        return Past(
            kind=seen.kind,
            tier=seen.tier,
            tempo=seen.tempo,
            day=seen.day,
            is_clean=seen.is_clean,
            mix=seen.mix,
            first=seen.first,
            last=seen.last,
            whole=seen.whole,
            judged=seen.judged,
            counts=counts,
            clean=tuple(sorted(number for number, clean in seen.clean.items() if clean)),
            faults=tuple(sorted((number, seen.faults.get(number, "")) for number, ok in seen.clean.items() if not ok)),
        )


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a player stands with a tune.

    Attributes:
        tune: its id.
        tier: of the solo; of a mixed one the tier it comes from.
        wishes: of the player.
        policy: how the tempo moves, standing on that of the last whole pass or of the last part that the player chose.
        mix: the measures that are of the next tier.
        new: those of them that came in last.
        first, last: the measures that the player chose, None for the solo's own.
        won: clean passes through the whole solo that count towards what follows: at the goal or, of a mixed solo, at
            any tempo.
        tries: passes through the solo, or parts of it that the player chose, since the tier or the mix is new.
        heard: a whole pass was heard on this instrument before.
        jammed: the jam run that was earned was played or passed over.
        keeps: for how many days from ``day`` on the solo is ready at the goal.
        day: of the last pass; None before the first.
        passes: the last ones, at most :data:`MOST_PAST`.

    Raises:
        ValueError: when the policy does not stand between floor and goal.
    """

    tune: str
    tier: str
    wishes: Wishes
    policy: Policy
    mix: tuple[int, ...] = ()
    new: tuple[int, ...] = ()
    first: int | None = None
    last: int | None = None
    won: int = 0
    tries: int = 0
    heard: bool = False
    jammed: bool = False
    keeps: float = 0.0
    day: float | None = None
    passes: tuple[Past, ...] = ()

    def __post_init__(self) -> None:
        if (self.policy.floor, self.policy.goal) != (self.wishes.floor, self.wishes.goal):
            raise ValueError("the tempo must have the floor and the goal that are wished")

    @property
    def tempo(self) -> float:
        """That the policy stands on."""
        return self.policy.tempo

    @property
    def is_part(self) -> bool:
        """Whether the player has chosen measures."""
        return self.first is not None or self.last is not None


def begun(tune: str, tier: str, tempo: float, wishes: Wishes) -> Standing:
    """Where a player stands before the first pass of a tune, at a tempo that they chose."""
    return Standing(tune, tier, wishes, _policy(wishes, tempo))


def wished(standing: Standing, wishes: Wishes) -> Standing:
    """The standing with other wishes; what was earned at another goal is gone."""
    before = standing.wishes
    if wishes == before:
        return standing
    if replace(wishes, floor=before.floor, goal=before.goal, cap=before.cap) == before:
        policy = standing.policy.between(wishes.floor, wishes.goal)
    else:
        policy = _policy(wishes, standing.tempo)
    if wishes.goal == before.goal:
        return replace(standing, wishes=wishes, policy=policy)
    return replace(standing, wishes=wishes, policy=policy, won=0, jammed=False, keeps=0.0)


def fitted(standing: Standing, course: Course) -> Standing | None:
    """The standing with the solos as they are now, which may have been written anew; None where its tier is gone."""
    numbers = {tier.name: [measure.number for measure in tier.measures] for tier in course.tiers}
    if standing.tier not in numbers:
        return None
    own, names = numbers[standing.tier], list(numbers)
    at = names.index(standing.tier)
    behind = numbers[names[at + 1]] if at + 1 < len(names) else []
    if not set(standing.mix) <= set(own) & set(behind):
        standing = replace(standing, mix=(), new=(), won=0, tries=0)
    first, last = standing.first, standing.last
    if not any((first is None or number >= first) and (last is None or number <= last) for number in own):
        standing = replace(standing, first=None, last=None)
    return standing


def to_dict(standing: Standing) -> dict[str, Any]:
    """The standing as plain values for JSON."""
    plain: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(standing))
    return {"format": FORMAT, **plain, "policy": standing.policy.to_dict(), "tempo": standing.tempo}


def from_dict(data: Mapping[str, Any]) -> Standing:
    """The standing that :func:`to_dict` gave.

    Raises:
        ValueError: when it is none.
    """
    if data.get("format") != FORMAT:
        raise ValueError(f"this is no standing of the ladder in format {FORMAT!r}, but of {data.get('format')!r}")
    told = {name: _field(data, name, kind) for name, kind in _FIELDS.items()}
    return Standing(**told | {"policy": policies.from_dict(told["policy"])})


_FIELDS: Mapping[str, Any] = get_type_hints(Standing) | {"policy": dict[str, Any]}


def _field(data: Mapping[str, Any], name: str, kind: Any) -> Any:
    try:
        return msgspec.convert(data[name], kind)
    except (KeyError, msgspec.ValidationError) as error:
        raise ValueError(f"this is no standing of the ladder: its {name} cannot be read ({error})") from error


def _policy(wishes: Wishes, tempo: float) -> Policy:
    floor, goal = wishes.floor, wishes.goal
    tempo = max(floor, min(goal, tempo))
    match wishes.policy:
        case "coach":
            return ByCurve(tempo, floor, goal)
        case "three clean":
            return Transformed(tempo, floor, goal, clean_needed=3)
        case "every pass":
            return Weighted(tempo, floor, goal)
        case "steps":
            return FixedSteps(tempo, floor, goal, up=wishes.step, down=wishes.step, clean_needed=wishes.clean_needed)
