"""A small tune on the ladder, and passes through it, for the tests of what is played next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from coach.ladder import sitting
from coach.ladder.decide import after_pass, is_believed, next_rung
from coach.ladder.fading import Learned
from coach.ladder.here import Here
from coach.ladder.known import Known, learned
from coach.ladder.rungs import Course, Kind, MeasurePlan, PassSeen, Rung, TierPlan
from coach.ladder.standing import Standing, Wishes, begun

TIERS = (("beginner", 1.0, 1.0), ("intermediate", 2.0, 2.0), ("advanced", 2.5, 2.5))  # name, difficulty, load
MINUTE = 1 / 1440


def course(count: int = 8, repeats: Mapping[int, int] | None = None, tiers: int = 3) -> Course:
    """A tune of some measures of 4/4 in up to three tiers; later measures are a little harder."""
    return Course(
        "t",
        tuple(
            TierPlan(name, tuple(MeasurePlan(n, hard + n / 50, 4.0) for n in range(1, count + 1)), load)
            for name, hard, load in TIERS[:tiers]
        ),
        repeats or {},
    )


@dataclass
class Player:
    """A player at a tune: plays what is offered, or what a test says.

    Attributes:
        course, wishes: of the tune.
        standing, known, sitting: as after the last pass.
        day: now.
        learned: other tunes that they can do.
    """

    course: Course = field(default_factory=course)
    wishes: Wishes = field(default_factory=lambda: Wishes(40.0, 120.0))
    tempo: float = 60.0
    day: float = 1000.0
    known: Known = field(default_factory=Known)
    learned: Sequence[Learned] = ()
    sitting: sitting.Sitting = field(default_factory=lambda: sitting.begun(None))
    standing: Standing = field(init=False)

    def __post_init__(self) -> None:
        self.standing = replace(begun("t", "beginner", self.tempo, self.wishes), heard=True)

    @property
    def here(self) -> Here:
        """Where they are."""
        return Here(self.standing, self.course, self.known, self.day, self.sitting)

    def rung(self) -> Rung:
        """What is offered."""
        return next_rung(self.here, self.learned)

    def seen(
        self, rung: Rung | None = None, faults: Mapping[int, str] | None = None, *, marked: bool = False, **more: object
    ) -> PassSeen:
        """A pass through a rung, the one that is offered where none is told; clean but for some faults."""
        rung = rung or self.rung()
        faults = faults or {}
        numbers = [measure.number for measure in self.course.tiers[0].measures]
        first, last = rung.first or numbers[0], rung.last or numbers[-1]
        played = [number for number in numbers if first <= number <= last]
        minutes = (last - first + 1) * 4 / rung.tempo
        seen = PassSeen(
            tier=rung.tier,
            tempo=rung.tempo,
            is_clean=len(faults) <= len(played) // 8,
            day=self.day + minutes * MINUTE,
            minutes=minutes,
            clean={number: number not in faults for number in played},
            faults=faults,
            mix=rung.mix,
            all_measures=len(played) == len(numbers),
            kind=rung.kind,
            kept_going=True,
            first=None if first == numbers[0] else first,
            last=None if last == numbers[-1] else last,
        )
        if marked:
            seen = replace(seen, judged="marked", clean={}, faults={}, kept_going=None)
        return replace(seen, **more)

    def play(self, rung: Rung | None = None, faults: Mapping[int, str] | None = None, **more: object) -> Rung:
        """Play a rung, the one that is offered where none is told; returns what is offered then."""
        seen = self.seen(rung, faults, **more)
        if is_believed(self.standing, seen):
            self.known = learned(self.known, self.course, seen)
        self.standing = after_pass(self.standing, self.course, self.known, seen)
        self.sitting = sitting.played(self.sitting, seen)
        self.day = seen.day
        return self.rung()

    def whole(self, tempo: float | None = None, tier: str = "beginner", kind: Kind = "whole", **more: object) -> Rung:
        """A rung that the player chooses."""
        return Rung(kind, "t", tier, tempo or self.standing.tempo, "", **more)
