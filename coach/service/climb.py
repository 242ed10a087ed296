"""The ladder as a session uses it: what came of a pass in, the next rung out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from msgspec import structs

from coach.arranging.arrangement import TIERS, Tier
from coach.ladder import ladder
from coach.ladder.rungs import Course, PassSeen, Wanted
from coach.ladder.sitting import Sitting
from coach.ladder.standing import Wishes
from coach.service.jobs import Solo
from coach.service.protocol import Rung

if TYPE_CHECKING:
    from coach.ladder.known import Known

__all__ = ["Climb", "Outcome", "Recalled", "loads_of", "same_again", "within"]


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


@dataclass(frozen=True, slots=True)
class Recalled:
    """What the records have of a tune.

    Attributes:
        standing: where the ladder stood, as :meth:`Climb.record` gave it; None where the tune is new.
        known: the curves of its measures; None where none were kept.
    """

    standing: Mapping[str, Any] | None = None
    known: Known | None = None


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

    # ---- what the session uses from now on; `after` above and `Outcome` go when the session has been moved over

    def arrived(self, course: Course, recalled: Recalled | None = None, *, aside: bool = False) -> None:
        """The solos of a tune have come.

        Args:
            course: of the tune. Told again (a solo was written anew) it replaces the one before.
            recalled: what the records have of it; looked at only when the tune comes for the first time.
            aside: the tune was chosen by a rung (a study to warm up on, something known), so the tune at hand, which
                the sitting is about, stays what it was.
        """
        raise NotImplementedError

    def over(self, tune: str, seen: PassSeen, wishes: Wishes) -> Rung:
        """A pass is over: take it in; returns the rung that is offered now, for the tune at hand.

        Args:
            tune: its id; one that has arrived.
            seen: the pass. ``kind`` is the use of the rung that was played; ``part`` where the player chose measures
                and no rung.
            wishes: of the player for the tune at hand.
        """
        raise NotImplementedError

    def offer(self, wanted: Wanted, wishes: Wishes, day: float) -> Rung | None:
        """The rung to be offered now for the tune at hand, without a pass: when a sitting begins or ends, when a tune
        comes back, when wishes change. None where no tune is at hand.

        Args:
            wanted: what the player has chosen; a tune that was never played begins there.
            wishes: of the player for the tune at hand.
            day: now, in days as in :class:`PassSeen`.
        """
        raise NotImplementedError

    def sit(self, minutes: float, day: float, *, last_minutes: float | None, last_tempo: float | None) -> None:
        """A sitting begins: the rungs go from a warm-up to something known.

        Args:
            minutes: that there are, > 0.
            day: now, in days as in :class:`PassSeen`.
            last_minutes, last_tempo: how long the last sitting was, and the highest tempo played in it; None where
                there was none.
        """
        raise NotImplementedError

    def rise(self) -> None:
        """The sitting that was planned ends; what is played from now on is an open one."""
        raise NotImplementedError

    @property
    def sitting(self) -> Sitting:
        """The sitting that is on; where none was planned an open one (``minutes`` None). Its ``elapsed`` minutes,
        ``top_tempo`` and ``began`` (a day; None before its first pass) are what the records keep of it."""
        raise NotImplementedError

    def rest(self) -> str:
        """The reminder of a rest where one is due, once; call behind a pass only. Empty where none is."""
        raise NotImplementedError

    def remember(self, standings: Iterable[Mapping[str, Any]]) -> None:
        """Where the player stands with other tunes, as :meth:`standing_of` gave it: what comes back before it fades
        is found there. One that cannot be read is passed over."""
        raise NotImplementedError

    def thinks(self, wanted: Wanted, wishes: Wishes, day: float) -> str:
        """What the coach thinks of what the player has chosen, in a sentence; empty where it agrees."""
        raise NotImplementedError

    def standing_of(self, tune: str) -> Mapping[str, Any] | None:
        """Where the player stands with a tune, as plain values for the records; None where it was never played."""
        raise NotImplementedError

    def known_of(self, tune: str) -> Known | None:
        """The curves of a tune for the records; None where it was never played."""
        raise NotImplementedError

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
