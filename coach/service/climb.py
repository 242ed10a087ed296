"""The ladder as a session uses it: what came of a pass in, the next rung out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from coach.service.protocol import Rung

__all__ = ["Climb", "Outcome"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a pass, as the ladder sees it.

    Attributes:
        tune: its id.
        tier, tempo, first, last: what was played.
        goal, floor: the limits of the tempo.
        clean: whether it was clean.
        whole: whether it was played to its end; one that was stopped moves nothing.
        self_marked: whether the player marked it.
        calibrated: whether the instrument's lean was known before the pass.
    """

    tune: str
    tier: str
    tempo: float
    first: int
    last: int
    goal: float
    floor: float
    clean: bool
    whole: bool
    self_marked: bool
    calibrated: bool


class Climb(Protocol):
    """Decides what to play next."""

    def after(self, outcome: Outcome) -> Rung:
        """The rung that is offered after a pass."""
        ...

    def record(self) -> Mapping[str, Any]:
        """Where the ladder stands, as plain values for the session's file."""
        ...
