"""Which solo of a tune is meant: a tier's own, a mixed one, or one of these as it goes in a jam, edited or not."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from coach.arranging.arrangement import TIERS, ArrangedMeasure, Arrangement, Tier
from coach.arranging.edits import Edits, of_tiers
from coach.arranging.lick_table import Row
from coach.errors import ArrangeError

__all__ = ["Piece", "measure_at", "next_tier", "repeats_of", "with_repeats"]


@dataclass(frozen=True, slots=True)
class Piece:
    """A solo by what it is.

    Attributes:
        tune: its id in the book.
        tier: of the solo; of a mixed one the tier it comes from.
        mix: the numbers, rising, of the measures that are of the next tier; empty where the solo is not mixed.
        jam: whether it is played as in a jam: kick-off, break, back-up, break, ending.
        edits: a teacher's, of its tiers; None where there are none.
        licks: a teacher's own that it is made with; the book knows them, those who ask for a solo name none.
    """

    tune: str = ""
    tier: Tier = "beginner"
    mix: tuple[int, ...] = ()
    jam: bool = False
    edits: Edits | None = field(default=None, hash=False)  # many, and costly to hash
    licks: tuple[Row, ...] = field(default=(), hash=False)

    @property
    def is_plain(self) -> bool:
        """Whether it is a tier's own solo, which comes with those of the other tiers."""
        return not self.mix and not self.jam

    @property
    def without_jam(self) -> Piece:
        """The solo that is played in the jam."""
        return replace(self, jam=False)

    @property
    def tiers(self) -> tuple[Tier, ...]:
        """The tiers of its measures."""
        following = next_tier(self.tier)
        return (self.tier, following) if self.mix and following is not None else (self.tier,)

    def edited(self, edits: Edits | None) -> Piece:
        """The same of the tune with these edits: with those of them that are about it."""
        own = None if edits is None else of_tiers(edits, self.tiers)
        return replace(self, edits=own if own is not None and own.edits else None)


def next_tier(tier: Tier) -> Tier | None:
    """The tier that comes behind one; None behind the last."""
    place = TIERS.index(tier) + 1
    return TIERS[place] if place < len(TIERS) else None


def repeats_of(solo: Arrangement) -> dict[int, int]:
    """The number of each measure that comes from the same place on paper as an earlier one, with that one's number."""
    first: dict[int, int] = {}
    found: dict[int, int] = {}
    for measure in solo.measures:
        home = first.setdefault(measure.source_measure, measure.number)
        if home != measure.number:
            found[measure.number] = home
    return found


def measure_at(solo: Arrangement, number: int) -> ArrangedMeasure:
    """A measure of a solo by its number as played.

    Raises:
        ArrangeError: when there is none.
    """
    found = next((measure for measure in solo.measures if measure.number == number), None)
    if found is None:
        raise ArrangeError(
            f"there is no measure {number} as played",
            where=solo.title,
            cure=f"choose from {solo.measures[0].number} to {solo.measures[-1].number}",
        )
    return found


def with_repeats(mix: tuple[int, ...], solo: Arrangement) -> tuple[int, ...]:
    """Measures together with all that come from the same places on paper, rising: they have one tier.

    Args:
        mix: numbers of measures as played.
        solo: of the tune, in any tier.

    Raises:
        ArrangeError: when there is no such measure.
    """
    for number in mix:
        measure_at(solo, number)
    repeats = repeats_of(solo)
    homes = {repeats.get(number, number) for number in mix}
    numbers = [measure.number for measure in solo.measures]
    return tuple(number for number in numbers if repeats.get(number, number) in homes)
