"""The ladder as a session uses it: what came of a pass in, the next rung out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from msgspec import structs

from coach.arranging.arrangement import TIERS, Tier
from coach.ladder import ladder
from coach.service.jobs import Solo
from coach.service.protocol import Rung

__all__ = ["Climb", "Outcome", "loads_of", "same_again", "within"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a pass, as the ladder needs it.

    Attributes:
        tune: its id.
        tier, tempo, first, last: what was played.
        floor, goal: the limits of the tempo.
        all_measures: whether it went through the whole solo.
        clean, whole: as the report has it, or by the player's own mark.
        self_marked: whether nobody but the player judged it.
        calibrated: whether the latency of the instrument is known.
    """

    tune: str
    tier: Tier
    tempo: float
    first: int
    last: int
    floor: float
    goal: float
    all_measures: bool
    clean: bool
    whole: bool
    self_marked: bool
    calibrated: bool


def loads_of(solos: Mapping[Tier, Solo]) -> tuple[tuple[str, float], ...]:
    """The plucks a quarter of each tier, the easiest first; a tier without plucks is left out."""
    loads = []
    for tier in TIERS:
        if tier in solos:
            measures = solos[tier].arrangement.measures
            plucks = sum(len(measure.plucks) for measure in measures)
            if plucks:
                loads.append((str(tier), plucks / float(sum(measure.length for measure in measures))))
    return tuple(loads)


def same_again(outcome: Outcome, why: str) -> Rung:
    """The rung that was played, offered again for a reason."""
    return within(Rung(outcome.tier, outcome.tempo, outcome.first, outcome.last, why), outcome.floor, outcome.goal)


def within(rung: Rung, floor: float, goal: float) -> Rung:
    """A rung that was offered, now that the tempo has these limits."""
    if rung.tempo > goal:
        return structs.replace(rung, tempo=goal, why=f"The goal is {goal:.0f} now.")
    if rung.tempo < floor:
        return structs.replace(rung, tempo=floor, why=f"The slowest tempo is {floor:.0f} now.")
    return rung


class Climb:
    """Where the player of a session stands with the tune at hand."""

    def __init__(self) -> None:
        self._tune = ""
        self._state: ladder.LadderState | None = None

    def after(self, outcome: Outcome, loads: tuple[tuple[str, float], ...]) -> Rung:
        """The rung that is offered after a pass."""
        state = self._at(outcome, loads)
        move = ladder.next_rung(
            state,
            ladder.Outcome(
                clean=outcome.clean,
                whole=outcome.whole,
                all_measures=outcome.all_measures,
                calibrated=outcome.calibrated,
                self_marked=outcome.self_marked,
            ),
        )
        self._tune, self._state = outcome.tune, move.state
        offer = move.state.offer
        why = move.why
        if offer is None and move.state.tempo == state.tempo != outcome.tempo:
            # The limits have changed since the pass began: the ladder knows its own tempo alone.
            side = "above the goal" if outcome.tempo > outcome.goal else "below the slowest tempo"
            why = f"{outcome.tempo:.0f} was played, which is {side} now: {state.tempo:.0f} next."
        return Rung(
            tier=move.state.tier if offer is None else offer.tier,
            tempo=move.state.tempo if offer is None else offer.tempo,
            first=outcome.first,
            last=outcome.last,
            why=why,
            offer_tier=None if offer is None else offer.tier,
        )

    def record(self) -> Mapping[str, Any] | None:
        """Where the ladder stands, as plain values for the session's file; None before the first pass."""
        return None if self._state is None else self._state.to_dict()

    def _at(self, outcome: Outcome, loads: tuple[tuple[str, float], ...]) -> ladder.LadderState:
        """The ladder at the rung that was played, which the player may have chosen against the offer."""
        state = self._state
        tempo = max(outcome.floor, min(outcome.goal, outcome.tempo))
        if state is None or self._tune != outcome.tune:
            return ladder.LadderState(outcome.tier, tempo, outcome.floor, outcome.goal, loads)
        if state.tier != outcome.tier:
            offered = state.offer is not None and state.offer.tier == outcome.tier
            fresh = ladder.LadderState(outcome.tier, tempo, outcome.floor, outcome.goal, loads, heard=state.heard)
            state = ladder.take_offer(state) if offered else fresh
        if state.goal != outcome.goal:
            state = state.towards(outcome.goal)
        if state.floor != outcome.floor:
            state = replace(state, floor=outcome.floor, tempo=max(outcome.floor, state.tempo))
        return state if state.tempo == tempo else state.at_tempo(tempo)
