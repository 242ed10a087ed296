"""Where the player is now: the standing beside what is known of them, the day and the sitting."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

from coach.ladder.curve import Curve, ready, share
from coach.ladder.known import Known, curves
from coach.ladder.policies import ByCurve, offered, tempo_of_share
from coach.ladder.rungs import Course, Kind, Rung
from coach.ladder.sitting import Sitting, most_tempo
from coach.ladder.standing import Past, Standing

__all__ = ["Here"]

LOW_SHARE = 0.5
AWAY = 7.0
"""Days without a pass after which the curves alone, which have forgotten, say where to begin again (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Here:
    """What the next rung depends on.

    Attributes:
        standing, course, known: of the tune at hand.
        day: now.
        sitting: that is on.
    """

    standing: Standing
    course: Course
    known: Known
    day: float
    sitting: Sitting

    @property
    def goal(self) -> float:
        """The tempo that is wished."""
        return self.standing.wishes.goal

    @property
    def recent(self) -> list[Past]:
        """The passes of this sitting, as far as they are remembered."""
        began = self.sitting.began
        return [] if began is None else [past for past in self.standing.passes if past.day >= began]

    @property
    def last(self) -> Past | None:
        """The last pass of this sitting; None before it."""
        recent = self.recent
        return recent[-1] if recent else None

    def span(self, past: Past) -> tuple[int, int]:
        """The numbers of the first and the last measure that a pass went through."""
        plans = self.course.tiers[0].measures
        first = plans[0].number if past.first is None else past.first
        return first, plans[-1].number if past.last is None else past.last

    @property
    def is_again(self) -> bool:
        """Whether the last pass, through the whole or the measures that the player chose, moved nothing."""
        last = self.last
        return last is not None and last.kind in ("whole", "part") and not last.counts

    @property
    def is_lost(self) -> bool:
        """Whether more than half of the measures of the last pass, through the whole or the measures that the player
        chose, were not clean: then it is all of it that is too fast."""
        last = self.last
        if last is None or last.kind not in ("whole", "part") or last.is_clean:
            return False
        return len(last.faults) > len(last.clean)

    @property
    def away(self) -> int:
        """For how many days the player was away from the tune, where that was long; else 0."""
        day = self.standing.day
        return 0 if day is None or self.day - day < AWAY else round(self.day - day)

    def own(self) -> dict[int, Curve]:
        """The curves of the solo that the player stands with, or of the measures of it that they chose."""
        return self._curves(self.standing.first, self.standing.last)

    def free_tempo(self) -> float:
        """Of the next pass through these, whatever the limit of the sitting."""
        standing = self.standing
        if self.is_again:
            return standing.tempo
        tempo = standing.policy.next_tempo(self.own())
        if isinstance(standing.policy, ByCurve):
            if standing.mix:
                tempo = min(standing.tempo, self.by_curves(standing.mix))
            elif self.away:
                tempo = min(tempo, tempo_of_share(self.own(), standing.policy.share))
        return max(standing.wishes.floor, min(self.goal, tempo))

    def tempo(self) -> float:
        """Of the next pass through these."""
        return self.within(self.free_tempo())

    def within(self, tempo: float) -> float:
        """The tempo as it is offered: whole, within floor and goal, within the limit of the sitting where the floor
        allows, and never above the cap."""
        limit, floor = most_tempo(self.sitting), self.standing.wishes.floor
        most = self.goal if limit is None else max(floor, min(self.goal, limit))
        return min(self.cap, offered(tempo, floor, most))

    @property
    def cap(self) -> float:
        """That a teacher has set, in whole quarters a minute; infinite where there is none."""
        cap = self.standing.wishes.cap
        return math.inf if cap is None else float(math.floor(cap))

    def is_held(self, tempo: float) -> bool:
        """Whether it is the cap that keeps a tempo from being offered: no limit of the sitting would hold it as low."""
        limit, floor = most_tempo(self.sitting), self.standing.wishes.floor
        return offered(tempo, floor, math.inf) > self.cap and (limit is None or self.cap <= max(floor, limit))

    def by_curves(self, new: Collection[int]) -> float:
        """The tempo for a solo with new measures: neither the whole is to fail often, nor they alone.

        A pass may be clean in spite of a measure or two that were not; so the whole alone does not tell.
        """
        own = self.own()
        tempos = [ready(curve).tempo for number, curve in own.items() if number in new]
        return min([self.standing.policy.next_tempo(own), *tempos])

    def rung(self, kind: Kind, tempo: float, why: str, *, first: int | None = None, last: int | None = None) -> Rung:
        """A rung of the solo that the player stands with; a melody sounds along where it is new, and where a measure
        comes clean too seldom."""
        standing = self.standing
        seldom = any(share(curve, tempo) < LOW_SHARE for curve in self._curves(first, last).values())
        return Rung(
            kind=kind,
            tune=standing.tune,
            tier=standing.tier,
            tempo=tempo,
            why=why,
            mix=standing.mix,
            first=first,
            last=last,
            solo=self.course.by_ear and (seldom or standing.tries == 0),
        )

    def _curves(self, first: int | None, last: int | None) -> dict[int, Curve]:
        standing = self.standing
        return {
            number: curve
            for number, curve in curves(self.known, self.course, standing.tier, standing.mix, self.day).items()
            if (first is None or number >= first) and (last is None or number <= last)
        }
