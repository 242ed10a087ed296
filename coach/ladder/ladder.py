"""The ladder: what a pass has shown, as plain numbers, gives the next rung.

Rule
    The tempo goes up 8 % after each clean pass until the first that is not clean; from then on up 4 % after three clean
    ones in a row, and down 4 % after one that is not. It stays between floor and goal. Of a player with steady ability
    the second rule finds the tempo at which 79.4 % of the passes are clean: three in a row are as likely as not at
    p ** 3 = 0.5 (H. Levitt 1971, "Transformed up-down methods in psychoacoustics", J. Acoust. Soc. Am. 49, 467-477).
What moves nothing
    A pass that was stopped, and the first whole pass on an instrument that is not calibrated: nobody knows yet how much
    of the player's lag is the instrument's.
The next tier
    After three clean passes through the whole solo at the goal tempo the next tier is offered, at the tempo at which it
    asks for as many plucks a second as this one did.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

__all__ = ["LadderState", "Move", "Offer", "Outcome", "next_rung", "take_offer"]

FIRST_STEP = 1.08
STEP_UP = 1.04
STEP_DOWN = 0.96
CLEAN_IN_A_ROW = 3
CLEAN_AT_GOAL = 3


@dataclass(frozen=True, slots=True)
class Offer:
    """The next tier and the tempo, in quarters a minute, at which to begin it."""

    tier: str
    tempo: float


@dataclass(frozen=True, slots=True)
class LadderState:
    """Where a player stands with a tune.

    Attributes:
        tier: of the solo being practised.
        tempo: of the next pass, in quarters a minute, between ``floor`` and ``goal``.
        floor, goal: the slowest and the wished tempo, 0 < floor <= goal.
        loads: the tiers in order, each with its plucks a quarter; used to find a tempo for the next tier.
        climbing: no pass has been other than clean yet.
        in_a_row: clean passes in a row since the last move.
        at_goal: clean passes through the whole solo at the goal tempo.
        heard: a whole pass was heard on this instrument before.

    Raises:
        ValueError: when a number is out of its range.
    """

    tier: str
    tempo: float
    floor: float
    goal: float
    loads: tuple[tuple[str, float], ...] = ()
    climbing: bool = True
    in_a_row: int = 0
    at_goal: int = 0
    heard: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.floor <= self.goal < float("inf"):
            raise ValueError(f"floor and goal must be in order, got {self.floor!r} and {self.goal!r}")
        if not self.floor <= self.tempo <= self.goal:
            raise ValueError(f"tempo must be in range {self.floor!r}..{self.goal!r}, got {self.tempo!r}")
        if any(load <= 0 for _, load in self.loads):
            raise ValueError("loads must be positive")

    @property
    def offer(self) -> Offer | None:
        """The next tier, once it is earned and where there is one."""
        names = [name for name, _ in self.loads]
        if self.at_goal < CLEAN_AT_GOAL or self.tier not in names[:-1]:
            return None
        here = names.index(self.tier)
        (_, load), (following, heavier) = self.loads[here : here + 2]
        return Offer(following, self._within(self.goal * load / heavier))

    def at_tempo(self, tempo: float) -> LadderState:
        """The same rung at a tempo that the player has chosen, within floor and goal; the row of clean ones ends."""
        return replace(self, tempo=self._within(tempo), in_a_row=0)

    def towards(self, goal: float) -> LadderState:
        """The same ladder with another goal; what was earned at the old one is gone."""
        floor = min(self.floor, goal)
        return replace(self, floor=floor, goal=goal, tempo=max(floor, min(goal, self.tempo)), at_goal=0)

    def to_dict(self) -> dict[str, Any]:
        """The state as plain values."""
        return {**asdict(self), "loads": [list(load) for load in self.loads]}

    @staticmethod
    def from_dict(data: Mapping[str, Any]) -> LadderState:
        """The state that :meth:`to_dict` gave.

        Raises:
            ValueError: when it is none.
        """
        try:
            return LadderState(
                tier=str(data["tier"]),
                tempo=float(data["tempo"]),
                floor=float(data["floor"]),
                goal=float(data["goal"]),
                loads=tuple((str(name), float(load)) for name, load in data["loads"]),
                climbing=bool(data["climbing"]),
                in_a_row=int(data["in_a_row"]),
                at_goal=int(data["at_goal"]),
                heard=bool(data["heard"]),
            )
        except (KeyError, TypeError) as error:
            raise ValueError(f"this is no state of a ladder: {error!r}") from error

    def _within(self, tempo: float) -> float:
        return max(self.floor, min(self.goal, tempo))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a pass has shown.

    Attributes:
        clean: as the report has it, or by the player's own mark.
        whole: it was played to its end.
        all_measures: it went through the whole solo, not some measures of it.
        calibrated: the instrument's latency is known.
        self_marked: nobody but the player has judged it.
    """

    clean: bool
    whole: bool = True
    all_measures: bool = True
    calibrated: bool = True
    self_marked: bool = False


@dataclass(frozen=True, slots=True)
class Move:
    """The next rung.

    Attributes:
        state: where the player stands now.
        why: one sentence.
        self_marked: the move rests on the player's own mark.
    """

    state: LadderState
    why: str
    self_marked: bool = False


def next_rung(state: LadderState, outcome: Outcome) -> Move:
    """The next rung after a pass at ``state.tempo``; see the module's text for the rule."""
    if not outcome.whole:
        return _move(state, outcome, f"The pass was not played to its end: {_at(state.tempo)} again")
    if not (state.heard or outcome.calibrated or outcome.self_marked):
        heard = replace(state, heard=True)
        return _move(heard, outcome, f"The first pass lets the coach hear this instrument: {_at(state.tempo)} again")
    if not outcome.self_marked:
        state = replace(state, heard=True)
    return _after_clean(state, outcome) if outcome.clean else _after_other(state, outcome)


def take_offer(state: LadderState) -> LadderState:
    """Begin the tier that is offered.

    Raises:
        ValueError: when none is.
    """
    offer = state.offer
    if offer is None:
        raise ValueError("no tier is offered")
    return replace(state, tier=offer.tier, tempo=offer.tempo, climbing=True, in_a_row=0, at_goal=0)


def _after_clean(state: LadderState, outcome: Outcome) -> Move:
    if state.tempo >= state.goal:
        if outcome.all_measures:
            state = replace(state, at_goal=state.at_goal + 1)
        return _move(replace(state, in_a_row=0), outcome, _at_the_goal(state, outcome))
    if state.climbing:
        moved = state.at_tempo(state.tempo * FIRST_STEP)
        return _move(moved, outcome, f"Clean: up to {_at(moved.tempo)}{_goal(moved)}")
    if state.in_a_row + 1 < CLEAN_IN_A_ROW:
        counted = replace(state, in_a_row=state.in_a_row + 1)
        more = CLEAN_IN_A_ROW - counted.in_a_row
        return _move(counted, outcome, f"Clean: {_at(state.tempo)} again, {_number(more)} more in a row to go up")
    moved = state.at_tempo(state.tempo * STEP_UP)
    return _move(moved, outcome, f"Three clean in a row: up to {_at(moved.tempo)}{_goal(moved)}")


def _at_the_goal(state: LadderState, outcome: Outcome) -> str:
    if not outcome.all_measures:
        return f"Clean at the goal tempo: take the whole solo at {_at(state.tempo)} now"
    if state.offer is not None:
        offer = state.offer
        return f"Clean at the goal tempo {state.at_goal} times: the {offer.tier} solo is ready, at {_at(offer.tempo)}"
    if state.at_goal >= CLEAN_AT_GOAL:
        return f"Clean at the goal tempo {state.at_goal} times: this solo is yours"
    more = _number(CLEAN_AT_GOAL - state.at_goal)
    return f"Clean at the goal tempo: {_at(state.tempo)} again, {more} more to go"


def _after_other(state: LadderState, outcome: Outcome) -> Move:
    moved = replace(state.at_tempo(state.tempo * STEP_DOWN), climbing=False)
    if moved.tempo < state.tempo:
        return _move(moved, outcome, f"Not clean: down to {_at(moved.tempo)}")
    return _move(moved, outcome, f"Not clean: {_at(moved.tempo)} again, which is the slowest")


def _move(state: LadderState, outcome: Outcome, why: str) -> Move:
    label = " (by your own mark)" if outcome.self_marked else ""
    return Move(state, f"{why}{label}.", outcome.self_marked)


def _at(tempo: float) -> str:
    return f"{tempo:.0f}"


def _goal(state: LadderState) -> str:
    return ", the goal" if state.tempo >= state.goal else ""


def _number(count: int) -> str:
    return {1: "one", 2: "two", 3: "three"}.get(count, str(count))
