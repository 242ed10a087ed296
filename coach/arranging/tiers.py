"""The three tiers: each is a choice of ways, costs and concessions for the one search."""

from __future__ import annotations

from collections.abc import Sequence

from coach.arranging.arrangement import Tier
from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure
from coach.arranging.lick_places import LickPlace, across, lick_layers
from coach.arranging.lick_table import Row
from coach.arranging.neck import Neck
from coach.arranging.picks import STATES
from coach.arranging.plain import PlainWays
from coach.arranging.rolled import HandPlan, RolledWays, ends, every_hand, hand_plans, hands, is_short, still
from coach.arranging.sketches import Terms
from coach.arranging.ways import Offer

__all__ = ["CONCESSIONS", "TierWays"]

_MANY = 1000
# What the roll tiers concede, step by step, where a measure has no other way.
_TERMS = (
    Terms(shifts=1),
    Terms(shifts=2, crowded=True),
    Terms(shifts=1, crowded=True, any_fingers=True),
    Terms(shifts=1, crowded=True, ties=True, any_fingers=True),
    Terms(shifts=1, ties=True, any_fingers=True, bare=True),
    Terms(shifts=0, need=2, any_fingers=True),
    Terms(shifts=0, need=_MANY, weakest=True, any_fingers=True, bare=True),
)
CONCESSIONS = len(_TERMS) - 1
_MOST_TIES = 2  # the beginner's first concessions


class TierWays:
    """The ways of every measure of a tune in one tier."""

    def __init__(
        self,
        tier: Tier,
        measures: Sequence[GridMeasure],
        neck: Neck,
        variation: int = 0,
        licks: tuple[Row, ...] = (),
    ) -> None:
        """Take a tune on its grid.

        Args:
            tier: which of the three.
            measures: of the tune.
            neck: to play on.
            variation: which of the good solos is wanted; 0 for the plain best one.
            licks: a teacher's own.
        """
        self._tier = tier
        self._measures = measures
        self._neck = neck
        self._variation = variation
        self._own = licks
        self._hands = [hands(measure, neck) for measure in measures]
        places: dict[GridMeasure, list[int]] = {}
        for index, measure in enumerate(measures):
            places.setdefault(measure, []).append(index)
        self._twins = [places[measure] for measure in measures]
        self._known: dict[tuple[object, ...], Offer] = {}

    def of(self, index: int, concessions: int) -> Offer:
        """What a measure offers, the more the more concessions are made, at most :data:`CONCESSIONS`."""
        measure = self._measures[index]
        plans = self._plans(index, concessions)
        leaving, entering = self._across(index)[0], self._across(index - 1)[1]
        key = (measure, tuple(plans), concessions, leaving, entering)
        known = self._known.get(key)
        if known is None:
            if self._tier == "beginner":
                known = self._plain(measure, plans, concessions)
            else:
                known = self._rolled(measure, plans, concessions, leaving, entering)
            self._known[key] = known
        return known

    def _across(self, index: int) -> tuple[tuple[LickPlace, ...], tuple[LickPlace, ...]]:
        """The parts of licks before and behind the barline at the end of a measure."""
        if self._tier != "advanced" or not 0 <= index < len(self._measures) - 1:
            return (), ()
        return across(self._measures[index], self._measures[index + 1], self._neck.tuning, self._variation, self._own)

    def _plans(self, index: int, concessions: int) -> list[HandPlan]:
        bare = _TERMS[concessions].bare
        here = every_hand(self._measures[index], self._neck) if bare else self._hands[index]
        if self._tier == "beginner":
            return still(here)
        before, after = self._beside(index, -1), self._beside(index, 1)
        if bare:
            here = tuple(dict.fromkeys((*here, *before, *after)))
        if self._between(index):
            return still((*here, *before, *after))
        return hand_plans(before, here, after)

    def _between(self, index: int) -> bool:
        """Whether a measure is so short that the hand must lie in it where it lies on both sides."""
        return 0 < index < len(self._measures) - 1 and is_short(self._measures[index])

    def _beside(self, index: int, way: int) -> tuple[int, ...]:
        """Where the hand may lie before a measure (way -1) or behind it (1), if need be beyond short ones."""
        found: list[int] = []
        index += way
        while 0 <= index < len(self._hands):
            found += self._hands[index]
            # A measure that is played again lies where it did, between other neighbours.
            found += [hand for twin in self._twins[index] if twin != index for hand in self._hands_at(twin - way)]
            if not self._between(index):
                break
            index += way
        return tuple(dict.fromkeys(found))

    def _hands_at(self, index: int) -> tuple[int, ...]:
        return self._hands[index] if 0 <= index < len(self._hands) else ()

    def _plain(self, measure: GridMeasure, plans: Sequence[HandPlan], concessions: int) -> Offer:
        hands_here = sorted({plan.stays for plan in plans})
        ties = min(concessions, _MOST_TIES)
        ways = PlainWays(measure, self._neck, hands_here, ties=ties, need=max(0, concessions - _MOST_TIES))
        return Offer(ways, frozenset(range(len(STATES))), 0, frozenset(plan.stays for plan in plans), small=True)

    def _rolled(
        self,
        measure: GridMeasure,
        plans: Sequence[HandPlan],
        concessions: int,
        leaving: tuple[LickPlace, ...],
        entering: tuple[LickPlace, ...],
    ) -> Offer:
        terms = _TERMS[concessions]._replace(
            adorned=self._tier == "advanced",
            licks=self._neck.tuning,
            slurred=self._neck.slurred_pitches,
            leaving=leaving,
            entering=entering,
            variation=self._variation,
            own=self._own,
        )
        change = cost("change of roll") if measure.opens else cost("change of roll within a measure")
        ways = RolledWays(measure, self._neck, plans, terms)
        leaves = frozenset(plan.leaves for plan in plans)
        links = frozenset((place.link, _last_state(place)) for place in leaving)
        return Offer(ways, ends(measure, self._neck, plans), change, leaves, terms.bare, links)


def _last_state(place: LickPlace) -> int:
    """The state of the last pluck of the first part of a lick."""
    options = [o for each in lick_layers(place.lick, place.at, place.stop, place.leads) for o in sum(each.fingers, ())]
    return options[-1].state
