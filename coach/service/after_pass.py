"""What happens when a pass is over: it is kept, marked and climbed from, and then there is a rest or the next pass.

A report is told when the pass that it is about is on the disk, in its session folder and in the records.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Literal

from coach.errors import InputError
from coach.ladder.known import Known
from coach.listening.free_time import FreePass
from coach.listening.scores import lean_of
from coach.listening.told import Told
from coach.service.absences import absence_of
from coach.service.clock import Now
from coach.service.coaching import Coaching
from coach.service.diary import Diary
from coach.service.keeping import Keeper
from coach.service.memory import KeptPass
from coach.service.orders import Ended
from coach.service.protocol import PracticeReport
from coach.service.reporting import practice_report
from coach.service.seen import seconds_of
from coach.service.settings import Chosen

__all__ = ["AfterPass"]

_WITHOUT_CLICK = "Without a click the ladder stays where it is."


class AfterPass:
    """What came of the passes of a session, and whether the next begins by itself.

    Args:
        keeper: keeps what is played.
        now: the service's clock.
        coaching: knows what is next.
        diary: what the session remembers.
        tell: tells pages a report.

    Attributes:
        resting: how the session stands while nothing is played.
        last: the last pass with a result; None before the first.
        report: on the last pass; None until it is told, and while the next one is played.
        lean_ms: how far the player leans against the click, as the last pass showed.
    """

    def __init__(
        self, keeper: Keeper, now: Now, coaching: Coaching, diary: Diary, tell: Callable[[PracticeReport], None]
    ) -> None:
        self.resting: Literal["ready", "between passes", "paused"] = "ready"
        self.last: Ended | None = None
        self.report: PracticeReport | None = None
        self.lean_ms = 0.0
        self._keeper = keeper
        self._now = now
        self._coaching = coaching
        self._diary = diary
        self._tell = tell
        self._unmarked: Ended | None = None
        self._over_at = diary.today
        self._next_at: float | None = None

    @property
    def is_going_on(self) -> bool:
        """Whether the next pass begins by itself, now or soon."""
        return self._next_at is not None

    @property
    def is_next_due(self) -> bool:
        """Whether it is time for the next pass to begin by itself."""
        is_written = not (self._keeper.is_writing or self._diary.is_writing)
        return self._next_at is not None and self._now() >= self._next_at and is_written

    def folder_of(self, number: int) -> Path | None:
        """The folder in which a pass is kept; None where there is none."""
        return self._keeper.folder_of(number)

    def place_of(self, number: int) -> tuple[Path, int] | None:
        """The folder in which a pass is kept and its number there; None where there is none."""
        return self._keeper.place_of(number)

    def begins(self) -> None:
        """The next pass begins."""
        self._next_at = None
        self._unmarked = None
        self.report = None
        self._coaching.begins()

    def wait(self) -> None:
        """No pass begins by itself any more."""
        self._next_at = None

    def pause(self) -> bool:
        """The player stops between passes; tells whether that changes anything."""
        changes = self.resting == "between passes"
        if changes:
            self.resting = "paused"
        return changes

    def over(self, ended: Ended, chosen: Chosen) -> None:
        """A pass is over. Its report is told when it is on the disk; there is none where it ended before its first
        measure. One that the player is to mark is not clean until they do.

        Args:
            ended: the pass.
            chosen: the settings of now.
        """
        free = ended.order.free  # no rung and no lean against a click come of it
        goes_on = not (ended.stopped or free or chosen.free_time)  # nothing begins in free time by itself
        self.resting = "between passes" if goes_on else "paused"
        if ended.played is None or ended.result is None:
            if self.last is None:
                self.resting = "ready"
            return
        self.last = ended
        self._over_at = self._diary.today
        marked = ended.order.self_marked
        moves = False
        if marked:
            self._unmarked = None if ended.stopped else ended
        elif not free and any(note.played for note in ended.result.notes):
            moves = self._move(ended)
        if free:
            self._coaching.say_of_rung(_WITHOUT_CLICK)
        self._keeper.remember(ended.order.number)
        keep = self._keeping(ended, moves=moves)
        self._keeper.end(
            ended.played,
            end=ended.end,
            stopped=ended.stopped_at,
            ladder=self._coaching.record(ended.order.piece.tune),
            done=keep,
        )
        if goes_on and not marked:
            self._rest(ended, chosen)

    def mark(self, chosen: Chosen, *, clean: bool) -> None:
        """The player marks the last pass; it is written down anew, and its report told when that is on the disk.

        Raises:
            InputError: when there is none to mark.
        """
        ended = self._unmarked
        if ended is None or ended.result is None:
            raise InputError("there is no pass to mark", cure="play one to its end first")
        self._unmarked = None
        self._coaching.over(ended, clean=clean)
        self._keeper.mark(clean=clean, ladder=self._coaching.record(ended.order.piece.tune))
        self._keeping(ended, moves=True, marked=clean)(None)
        self._rest(ended, chosen)

    def settings_changed(self, before: Chosen, chosen: Chosen) -> None:
        """The player has chosen otherwise: what it makes untrue is forgotten."""
        if chosen.free_time:
            self.wait()
            self.pause()
        if (chosen.latency_ms, chosen.latency_by_string) != (before.latency_ms, before.latency_by_string):
            self.lean_ms = 0.0

    def _move(self, ended: Ended) -> bool:
        """Move the ladder by a pass that was heard; tells whether it did."""
        assert ended.result is not None
        if away := absence_of(ended):
            self._coaching.repeat(ended, f"{away}: the same again.")
            return False
        self._coaching.over(ended, clean=ended.result.clean)
        self.lean_ms = lean_of([ended.result])
        return True

    def _rest(self, ended: Ended, chosen: Chosen) -> None:
        """A short rest before the next pass, one measure; where a longer one is due the player says when it is over."""
        if chosen.keep_going and not self._coaching.rest:
            measure = ended.order.plan.measures[-1].meter
            self._next_at = self._now() + float(measure.length) * 60 / ended.order.plan.tempo
        elif chosen.keep_going:
            self.pause()

    def _say(self, report: PracticeReport) -> None:
        self.report = report
        self._tell(report)

    def _keeping(self, ended: Ended, *, moves: bool, marked: bool | None = None) -> Callable[[Told | None], None]:
        """What writes a pass down as all stands now, once it is known what is told of it, and then tells its report."""
        order, result = ended.order, ended.result
        folder = self._keeper.folder_of(order.number)
        assert result is not None
        assert folder is not None
        tune, player, coaching = order.piece.tune, self._diary.player, self._coaching
        known: Known | None = coaching.known(tune) if moves else None
        free = ended.played if isinstance(ended.played, FreePass) else None
        rung, rest = coaching.told_rung(), coaching.rest
        kept = KeptPass(
            player=player,
            tune=tune,
            title=coaching.title_of(tune) or order.solo.arrangement.title,
            digest=order.solo.digest,
            tier=order.piece.tier,
            mix=order.piece.mix,
            kind=order.use,
            tempo=order.tempo if free is None or free.tempo is None else free.tempo,
            goal=coaching.wishes.goal,
            result=result,
            seconds=seconds_of(ended),
            over=self._over_at,
            whole=False,
            clean=False,
            is_marked=order.self_marked,
            is_free=order.free,
            folder=folder.name,
            standing=coaching.record(tune) if moves else None,
            sitting=coaching.sitting_kept(),
        )

        def keep(told: Told | None) -> None:
            report = practice_report(player, ended, rung, told, marked=marked, rest=rest)
            found = () if told is None else told.found
            self._diary.keep(
                replace(kept, whole=report.whole, clean=report.clean, found=found), known, lambda: self._say(report)
            )

        return keep
