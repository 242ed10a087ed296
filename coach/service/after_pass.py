"""What happens when a pass is over: it is kept, marked and climbed from, and then there is a rest or the next pass."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from msgspec import structs

from coach.errors import InputError
from coach.listening.scores import PassResult, lean_of
from coach.service.absences import absence_of
from coach.service.choice import Choice
from coach.service.climb import Climb, Outcome, loads_of, same_again, within
from coach.service.clock import Now
from coach.service.keeping import Keeper
from coach.service.orders import Ended
from coach.service.protocol import PracticeReport, Rung
from coach.service.reporting import practice_report
from coach.service.settings import Chosen, measures_of

__all__ = ["AfterPass"]

_WITHOUT_CLICK = "Without a click the ladder stays where it is."


class AfterPass:
    """What came of the passes of a session, and what is next.

    Args:
        name: of the session.
        keeper: keeps what is played.
        now: the service's clock.
        climb: the ladder.

    Attributes:
        resting: how the session stands while nothing is played.
        last: the last pass with a result; None before the first.
        report: on the last pass; None while the next one is played.
        rung: what is offered next; None before the first.
        lean_ms: how far the player leans against the click, as the last pass showed.
    """

    def __init__(self, name: str, keeper: Keeper, now: Now, climb: Climb) -> None:
        self.resting: Literal["ready", "between passes", "paused"] = "ready"
        self.last: Ended | None = None
        self.report: PracticeReport | None = None
        self.rung: Rung | None = None
        self.lean_ms = 0.0
        self._name = name
        self._keeper = keeper
        self._now = now
        self._climb = climb
        self._unmarked: Ended | None = None
        self._next_at: float | None = None

    @property
    def is_next_due(self) -> bool:
        """Whether it is time for the next pass to begin by itself."""
        return self._next_at is not None and self._now() >= self._next_at

    def folder_of(self, number: int) -> Path | None:
        """The folder in which a pass is kept; None where there is none."""
        return self._keeper.folder_of(number)

    def begins(self) -> None:
        """The next pass begins."""
        self._next_at = None
        self._unmarked = None
        self.report = None

    def wait(self) -> None:
        """No pass begins by itself any more."""
        self._next_at = None

    def pause(self) -> bool:
        """The player stops between passes; tells whether that changes anything."""
        changes = self.resting == "between passes"
        if changes:
            self.resting = "paused"
        return changes

    def over(self, ended: Ended, choice: Choice) -> PracticeReport | None:
        """A pass is over.

        Args:
            ended: the pass.
            choice: of the session.

        Returns:
            the report on it; None where it ended before its first measure.
        """
        free = ended.order.free  # no rung and no lean against a click come of it
        goes_on = not (ended.stopped or free or choice.chosen.free_time)  # nothing begins in free time by itself
        self.resting = "between passes" if goes_on else "paused"
        if ended.played is None or ended.result is None:
            if self.last is None:
                self.resting = "ready"
            return None
        self.last = ended
        if ended.order.self_marked:
            self._unmarked = None if ended.stopped else ended
        elif not free and any(note.played for note in ended.result.notes):
            self.rung = self._climb_after(ended, ended.result, choice, clean=ended.result.clean)
            if not absence_of(ended):
                self.lean_ms = lean_of([ended.result])
        if free and self.rung is not None:
            self.rung = structs.replace(self.rung, why=_WITHOUT_CLICK)  # what was said of it was said of another pass
        self._keeper.end(ended.played, end=ended.end, stopped=ended.stopped_at, ladder=self._climb.record())
        self._keeper.remember(ended.order.number)
        told = None if ended.order.self_marked else self._keeper.told()
        self.report = practice_report(self._name, ended, self.rung, told)
        if choice.chosen.keep_going and goes_on and not ended.order.self_marked:
            self._rest(ended)
        return self.report

    def mark(self, choice: Choice, *, clean: bool) -> PracticeReport:
        """The player marks the last pass; returns the report on it.

        Raises:
            InputError: when there is none to mark.
        """
        ended = self._unmarked
        if ended is None or ended.result is None:
            raise InputError("there is no pass to mark", cure="play one to its end first")
        self._unmarked = None
        self.rung = self._climb_after(ended, ended.result, choice, clean=clean)
        self._keeper.mark(clean=clean, ladder=self._climb.record())
        self.report = practice_report(self._name, ended, self.rung, marked=clean)
        if choice.chosen.keep_going:
            self._rest(ended)
        return self.report

    def settings_changed(self, before: Chosen, chosen: Chosen) -> None:
        """The player has chosen otherwise: what it makes untrue is forgotten."""
        if chosen.free_time:
            self.wait()
            self.pause()
        if (chosen.latency_ms, chosen.latency_by_string) != (before.latency_ms, before.latency_by_string):
            self.lean_ms = 0.0
        if chosen.tune != before.tune:
            self.rung = None
        if self.rung is not None:
            self.rung = within(self.rung, chosen.floor, chosen.goal)

    def _rest(self, ended: Ended) -> None:
        """A short rest before the next pass: one measure."""
        measure = ended.order.plan.measures[-1].meter
        self._next_at = self._now() + float(measure.length) * 60 / ended.order.plan.tempo

    def _climb_after(self, ended: Ended, result: PassResult, choice: Choice, *, clean: bool) -> Rung:
        order, plan = ended.order, ended.order.plan
        low, high = measures_of(plan.arrangement)
        first, last = plan.measures[0].number, plan.measures[-1].number
        tier = plan.arrangement.tier
        outcome = Outcome(
            tune=plan.arrangement.tune,
            tier="advanced" if tier == "mixed" else tier,
            tempo=order.tempo,
            first=first,
            last=last,
            floor=choice.chosen.floor,
            goal=choice.chosen.goal,
            all_measures=(first, last) == (low, high),
            clean=clean,
            whole=not ended.stopped if order.self_marked else result.whole,
            self_marked=order.self_marked,
            calibrated=order.instrument.calibrated,
        )
        if away := absence_of(ended):
            return same_again(outcome, f"{away}: the same again.")
        return self._climb.after(outcome, loads_of(choice.solos))
