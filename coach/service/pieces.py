"""Which solo of a tune is meant: a tier's own, a mixed one, or one of these as it goes in a jam."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coach.arranging.arrangement import TIERS, Arrangement, Tier
from coach.errors import InputError

__all__ = ["Piece", "next_tier", "repeats_of", "with_repeats"]


@dataclass(frozen=True, slots=True)
class Piece:
    """A solo by what it is.

    Attributes:
        tune: its id in the book.
        tier: of the solo; of a mixed one the tier it comes from.
        mix: the numbers, rising, of the measures that are of the next tier; empty where the solo is not mixed.
        jam: whether it is played as in a jam: kick-off, break, back-up, break, ending.
    """

    tune: str = ""
    tier: Tier = "beginner"
    mix: tuple[int, ...] = ()
    jam: bool = False

    @property
    def is_plain(self) -> bool:
        """Whether it is a tier's own solo, which comes with those of the other tiers."""
        return not self.mix and not self.jam

    @property
    def without_jam(self) -> Piece:
        """The solo that is played in the jam."""
        return replace(self, jam=False)


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


def with_repeats(mix: tuple[int, ...], solo: Arrangement) -> tuple[int, ...]:
    """Measures together with all that come from the same places on paper, rising: they have one tier.

    Args:
        mix: numbers of measures as played.
        solo: of the tune, in any tier.

    Raises:
        InputError: when there is no such measure.
    """
    numbers = [measure.number for measure in solo.measures]
    for number in mix:
        if number not in numbers:
            raise InputError(
                f"there is no measure {number} as played",
                where=solo.title,
                cure=f"choose from {numbers[0]} to {numbers[-1]}",
            )
    repeats = repeats_of(solo)
    homes = {repeats.get(number, number) for number in mix}
    return tuple(number for number in numbers if repeats.get(number, number) in homes)
