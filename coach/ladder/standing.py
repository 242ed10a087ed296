"""Where a player stands with a tune."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["PolicyName", "Wishes"]

PolicyName = Literal["coach", "three clean", "every pass", "steps"]
"""How the tempo moves: as the coach thinks, up after three clean passes and down after one that is not, a little after
every pass, or by fixed steps."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the player wants of the ladder.

    Attributes:
        floor, goal: the slowest and the wished tempo, 0 < floor <= goal.
        policy: how the tempo moves.
        step, clean_needed: of the fixed steps, in quarters a minute, and after how many clean passes in a row.

    Raises:
        ValueError: when a number is out of its range.
    """

    floor: float
    goal: float
    policy: PolicyName = "coach"
    step: float = 4.0
    clean_needed: int = 2

    def __post_init__(self) -> None:
        if not 0 < self.floor <= self.goal < float("inf"):
            raise ValueError(f"floor and goal must be in order, got {self.floor!r} and {self.goal!r}")
        if not self.step > 0 or self.clean_needed < 1:
            raise ValueError(f"steps must be above 0, got {self.step!r} after {self.clean_needed!r}")
