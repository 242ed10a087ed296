"""The three tiers: each is a choice of ways, costs and concessions for the one search."""

from __future__ import annotations

from collections.abc import Sequence

from coach.arranging.arrangement import Tier
from coach.arranging.grid import GridMeasure
from coach.arranging.neck import Neck
from coach.arranging.plain import plain_ways
from coach.arranging.rolled import HandPlan, RolledWays, ends, hand_plans, hands
from coach.arranging.search import STATES, Offer
from coach.arranging.sketches import Terms
from coach.instrument.tuning import OPEN_G

__all__ = ["CONCESSIONS", "TierWays"]

CONCESSIONS = 5
_ANY_FINGERS = 2  # from so many concessions on the fingers need not follow a named roll


class TierWays:
    """The ways of every measure of a tune in one tier.

    Attributes:
        remarks: what the tier has to say about the whole solo.
    """

    def __init__(self, tier: Tier, measures: Sequence[GridMeasure], neck: Neck) -> None:
        self.remarks: tuple[str, ...] = ()
        self._tier = tier
        self._measures = measures
        self._neck = neck
        self._hands = [hands(measure, neck) for measure in measures]
        self._known: dict[tuple[object, ...], Offer] = {}

    def of(self, index: int, concessions: int) -> Offer:
        """What a measure offers, the more the more concessions are made (0..5)."""
        measure = self._measures[index]
        plans = self._plans(index)
        key = (measure, tuple(plans), concessions)
        known = self._known.get(key)
        if known is None:
            make = self._plain if self._tier == "beginner" else self._rolled
            known = self._known[key] = make(measure, plans, concessions)
        return known

    def _plans(self, index: int) -> list[HandPlan]:
        before = self._hands[index - 1] if index else ()
        after = self._hands[index + 1] if index + 1 < len(self._hands) else ()
        return hand_plans(before, self._hands[index], after)

    def _plain(self, measure: GridMeasure, plans: Sequence[HandPlan], concessions: int) -> Offer:
        ways = plain_ways(measure, self._neck, sorted({plan.stays for plan in plans}), need=concessions)
        return Offer(ways, frozenset(range(len(STATES))))

    def _rolled(self, measure: GridMeasure, plans: Sequence[HandPlan], concessions: int) -> Offer:
        """Named rolls; then two shifts; then any fingers; then notes left out and slots left empty."""
        rolled = concessions < _ANY_FINGERS
        shifts, need = (1 + concessions, 0) if rolled else (1, concessions - _ANY_FINGERS)
        licks = self._neck.tuning.strings == OPEN_G.strings
        terms = Terms(shifts, need, self._tier == "advanced", licks)
        return Offer(RolledWays(measure, self._neck, plans, terms, rolled=rolled), ends(measure, self._neck))
