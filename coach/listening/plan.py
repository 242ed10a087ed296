"""What a pass is judged by: the solo, its measures, the click, and the settings of the instrument."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure, Arrangement
from coach.errors import InputError
from coach.listening.heard import Latency
from coach.listening.traits import Traits
from coach.tempo import MOST_BOUNCE, STRAIGHT, TempoMap

__all__ = ["MOST_LEAN_MS", "PassPlan", "Settings"]

MOST_LEAN_MS = 40.0


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings of a player and an instrument.

    Attributes:
        latency: what is taken off every offset.
        tolerance_ms: what is on time, in milliseconds either way, >= 0; None for a share of the gap.
    """

    latency: Latency = field(default=Latency())
    tolerance_ms: float | None = None


@dataclass(frozen=True, slots=True)
class PassPlan:
    """One pass through a solo or some measures of it.

    Attributes:
        arrangement: the solo.
        tempo: of the click, in quarters a minute of the arrangement's notation, > 0.
        origin: the seconds, on the clock of the take, at which the first measure of the pass starts.
        first, last: the numbers of its first and last measure; None for those of the solo.
        number: 1 for the first pass of the take.
        bounce: 50 straight .. 67; has no effect in a compound metre, whose beats have no off-beat in the middle.
        lean_ms: the player's steady lead (negative) or lag, known before the pass; limited to ±40 ms.
        slurs_shown: whether the instrument has shown a slur earlier in the take.
        traits: what else earlier passes of the take have shown of the player and the instrument.
        opens: the seconds before which notes belong to the pass before; None where none is near.
        closes: the seconds from which notes belong to the next pass; None where none is near.

    Raises:
        InputError: when the solo has no such measures or a number is out of its range.
    """

    arrangement: Arrangement
    tempo: float
    origin: float = 0.0
    first: int | None = None
    last: int | None = None
    number: int = 1
    bounce: int = STRAIGHT
    lean_ms: float = 0.0
    slurs_shown: bool = False
    traits: Traits = field(default=Traits())
    opens: float | None = None
    closes: float | None = None

    def __post_init__(self) -> None:
        if not 0 < self.tempo < float("inf"):
            raise InputError(f"a tempo must be above 0, got {self.tempo!r}")
        if not STRAIGHT <= self.bounce <= MOST_BOUNCE:
            raise InputError(f"bounce must be in range {STRAIGHT}..{MOST_BOUNCE}, got {self.bounce!r}")
        if not self.arrangement.measures:
            raise InputError("the solo has no measures")
        known = [measure.number for measure in self.arrangement.measures]
        first, last = self.first, self.last
        if (first is not None and first not in known) or (last is not None and last not in known) or not self.measures:
            asked = f"{known[0] if first is None else first} to {known[-1] if last is None else last}"
            raise InputError(f"the solo has no measures {asked}", cure=f"it has {known[0]} to {known[-1]}")
        # A frozen record keeps the lean that is really used, so that it can be kept with the take.
        object.__setattr__(self, "lean_ms", max(-MOST_LEAN_MS, min(MOST_LEAN_MS, round(self.lean_ms, 3))))

    @property
    def measures(self) -> tuple[ArrangedMeasure, ...]:
        """The measures of the pass, in order."""
        return tuple(
            measure
            for measure in self.arrangement.measures
            if (self.first is None or measure.number >= self.first)
            and (self.last is None or measure.number <= self.last)
        )

    @property
    def starts(self) -> tuple[tuple[ArrangedMeasure, Fraction], ...]:
        """The measures of the pass, each with the position in the pass at which it starts."""
        starts = []
        at = Fraction(0)
        for measure in self.measures:
            starts.append((measure, at))
            at += measure.length
        return tuple(starts)

    @property
    def length(self) -> Fraction:
        """The length of the pass in quarters."""
        return sum((measure.length for measure in self.measures), Fraction(0))

    @property
    def tempo_map(self) -> TempoMap:
        """Between written positions of the pass (0 is the start of its first measure) and the clock of the take."""
        return self.tempo_map_from(self.origin)

    def tempo_map_from(self, origin: float) -> TempoMap:
        """The same for a clock on which the pass starts at ``origin``."""
        measures = self.measures
        pickup = measures[0].length if measures[0].number == 0 else Fraction(0)
        bends = not any(measure.meter.compound for measure in measures)
        return TempoMap(
            tempo=self.tempo,
            origin=origin,
            bounce=self.bounce if bends else STRAIGHT,
            pair=2 * self.arrangement.slot,
            phase=pickup,
        )

    @property
    def span(self) -> str:
        """Its measures as text, ``1-16``."""
        measures = self.measures
        return f"{measures[0].number}-{measures[-1].number}"
