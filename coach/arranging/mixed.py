"""Mixed solos: measures of different tiers, joined so that no hard rule breaks at a seam.

Every measure is taken unchanged from its own tier's solo. Where two of them cannot follow each other (a finger or a
string twice in a row, a reach that is too wide, a lick cut in two) the fewest measures beside the seam are searched
again, each in its own tier; of several choices of as few measures the cheapest is taken. That is exact.

Conventions
    Tiers are given by measure *as played*, since that is what a player counts; a measure brings all others from the
    same place on paper along, so that repeats stay alike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from coach.arranging.arrange import Work
from coach.arranging.arrangement import TIERS, ArrangedMeasure, Arrangement, Tier
from coach.arranging.fewest import fewest_runs
from coach.arranging.fixed import Fixed
from coach.arranging.handrules import ROLL_SLOTS, finger_rests, hand_reaches, slur_is_possible, string_rings
from coach.arranging.search import Chosen, NoWayError
from coach.arranging.solo import End, Solo, solve_between
from coach.arranging.tiers import CONCESSIONS
from coach.arranging.timeline import Timeline
from coach.arranging.ways import LINKED
from coach.errors import ArrangeError

__all__ = ["Mixed", "Seam", "mix"]

_SEAM_RULES = (finger_rests, string_rings, hand_reaches, slur_is_possible)


@dataclass(frozen=True, slots=True)
class Seam:
    """A barline between measures of different tiers.

    Attributes:
        before, after: the numbers of the measures on its two sides.
        joins: whether they follow each other as they are.
        changed: the numbers of the measures beside it that are searched again.
    """

    before: int
    after: int
    joins: bool
    changed: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Mixed:
    """A mixed solo and its seams, in order."""

    arrangement: Arrangement
    seams: tuple[Seam, ...]


def mix(work: Work, tier: Tier, others: Mapping[int, Tier]) -> Mixed:
    """A solo of measures from different tiers.

    Args:
        work: on the tune, with a teacher's edits where there are any.
        tier: of the measures that are not named.
        others: the tiers of others, by their number as played.

    Returns:
        The solo and its seams; the tier's own solo where all measures are of one tier.

    Raises:
        ArrangeError: when a measure is not there or gets two tiers, or no hand can join what is asked for.
    """
    tiers = _tiers(work, tier, others)
    if len(set(tiers)) == 1:
        return Mixed(work.solo(tiers[0]), ())
    return _Mixture(work, tiers).mixed()


def _tiers(work: Work, tier: Tier, others: Mapping[int, Tier]) -> list[Tier]:
    """The tier of every played measure."""
    played = work.frame.played
    homes = {each.number: each.number if each.same_as is None else each.same_as for each in played}
    wanted: dict[int, tuple[int, Tier]] = {}
    for number, other in sorted(others.items()):
        if number not in homes:
            raise ArrangeError(
                f"there is no measure {number} as played",
                where=work.frame.tune.title,
                cure=f"choose from {played[0].number} to {played[-1].number}",
            )
        earlier, known = wanted.setdefault(homes[number], (number, other))
        if known != other:
            raise ArrangeError(
                f"measure {number} repeats what measure {earlier} plays, and is {other} where that is {known}",
                where=work.frame.tune.title,
                cure="give both one tier",
            )
    return [wanted[homes[each.number]][1] if homes[each.number] in wanted else tier for each in played]


class _Mixture:
    """The measures of different tiers, and what is searched again between them."""

    def __init__(self, work: Work, tiers: Sequence[Tier]) -> None:
        self._work = work
        self._tiers = tiers
        self._parts = work.frame.parts
        self._made = {tier: work.made(tier) for tier in TIERS if tier in tiers}
        self._solos = {tier: work.solo(tier) for tier in self._made}
        self._of_cell = [tiers[cell.measure] for cell in work.frame.grid.cells]
        self._chosen = [self._made[tier].solo.chosen[place] for place, tier in enumerate(self._of_cell)]
        self._conceded = [self._made[tier].solo.conceded[place] for place, tier in enumerate(self._of_cell)]
        self._cells = {
            place: self._made[tier].cells[place]
            for place, tier in enumerate(self._of_cell)
            if place in self._made[tier].cells
        }
        self._fixed = {
            index: self._made[tier].fixed[index] for index, tier in enumerate(tiers) if index in self._made[tier].fixed
        }
        # What a teacher has asked for is no fault of a seam.
        self._own = {
            fault
            for tier, solo in self._solos.items()
            for fault in (_faults(solo, solo.measures) if self._made[tier].fixed else ())
        }
        self._found: dict[tuple[int, int], tuple[list[Chosen], list[int]]] = {}

    def mixed(self) -> Mixed:
        places = [index for index in range(len(self._tiers) - 1) if self._tiers[index] != self._tiers[index + 1]]
        broken = [index for index in places if not self._follows(index)]
        runs = self._runs(broken)
        for start, stop in runs:
            chosen, conceded = self._found[start, stop]
            cells = self._cells_of(start, stop)
            self._chosen[cells.start : cells.stop] = chosen
            self._conceded[cells.start : cells.stop] = conceded
        changed = {index for start, stop in runs for index in range(start, stop)}
        solo = Solo(tuple(self._chosen), self._same_as(), tuple(self._conceded))
        return Mixed(
            self._work.written(solo, self._tiers, self._fixed, self._remarks(changed)),
            tuple(self._seam(index, index not in broken, runs) for index in places),
        )

    def _runs(self, broken: Sequence[int]) -> list[tuple[int, int]]:
        """The stretches of measures that are searched again."""
        runs = fewest_runs(len(self._tiers), broken, self._price)
        if runs is None:
            # Beside what a teacher has written there may be no way by the rules: then they end at that seam.
            broken = [index for index in broken if not {index, index + 1} & set(self._fixed)]
            runs = fewest_runs(len(self._tiers), broken, self._price)
        if runs is None:
            number = self._work.frame.played[broken[0]].number
            raise ArrangeError(
                "no hand can join the tiers that are asked for here",
                where=f"measures {number} and {number + 1} as played",
                cure="let the seam be at another barline",
            )
        return runs

    def _price(self, start: int, stop: int) -> int | None:
        """What measures cost that are searched again between their neighbours; None where there is no way."""
        if any(index in self._fixed for index in range(start, stop)):
            return None
        cells = self._cells_of(start, stop)
        conceded = list(self._conceded)
        try:
            price, chosen = solve_between(
                cells,
                lambda place, concessions: self._made[self._of_cell[place]].ways.of(place, concessions),
                conceded,
                CONCESSIONS,
                self._before(cells.start),
                self._after(cells.stop),
            )
        except NoWayError:
            return None
        self._found[start, stop] = chosen, conceded[cells.start : cells.stop]
        return price

    def _cells_of(self, start: int, stop: int) -> range:
        return range(self._parts[start][0], self._parts[stop - 1][-1] + 1)

    def _before(self, place: int) -> End:
        if not place:
            return None
        return self._cells.get(place - 1) or self._chosen[place - 1].leaves

    def _after(self, place: int) -> End:
        if place == len(self._chosen):
            return None
        return self._cells.get(place) or self._chosen[place].enters

    def _follows(self, index: int) -> bool:
        """Whether a measure and the next one follow each other as they are, without breaking a hard rule."""
        if {index, index + 1} <= set(self._fixed):
            return True  # both are as the teacher wants them
        leaves, enters = self._before(self._parts[index + 1][0]), self._after(self._parts[index + 1][0])
        lanes = [each.lane for each in (leaves, enters) if each is not None and not isinstance(each, Fixed)]
        if max(lanes, default=0) >= LINKED and (len(lanes) == 1 or lanes[0] != lanes[1]):
            return False
        # A roll that is broken at the seam may have begun in the measure before a short one.
        first = index - (index > 0 and self._short(index))
        last = index + 1 + (index + 2 < len(self._tiers) and self._short(index + 1))
        window = [self._solos[self._tiers[each]].measures[each] for each in range(first, last + 1)]
        return not _faults(self._solos[self._tiers[index]], window) - self._own

    def _short(self, index: int) -> bool:
        return sum(self._work.frame.grid.cells[place].size for place in self._parts[index]) < ROLL_SLOTS

    def _same_as(self) -> tuple[int | None, ...]:
        """For each cell the first of those with the same place in the tune and the same plucks that comes before it."""
        first: dict[tuple[object, ...], int] = {}
        found: list[int | None] = []
        for place, root in enumerate(self._work.same_as):
            measure = self._work.frame.grid.cells[place].measure
            sounding = self._fixed.get(measure, self._chosen[place])
            known = first.setdefault((place if root is None else root, self._of_cell[place], sounding), place)
            found.append(None if known == place else known)
        return tuple(found)

    def _seam(self, index: int, joins: bool, runs: Sequence[tuple[int, int]]) -> Seam:  # noqa: FBT001
        numbers = [played.number for played in self._work.frame.played]
        beside = [run for run in runs if run[0] <= index + 1 and run[1] > index]
        changed = tuple(numbers[each] for start, stop in beside for each in range(start, stop))
        return Seam(numbers[index], numbers[index + 1], joins, changed)

    def _remarks(self, changed: set[int]) -> list[str]:
        numbers = [played.number for played in self._work.frame.played]
        remarks = [
            f"From the {tier} solo: {_spans([n for n, own in zip(numbers, self._tiers, strict=True) if own == tier])}."
            for tier in self._made
        ]
        if changed:
            spans = _spans(sorted(numbers[index] for index in changed))
            remarks.append(f"Arranged anew so that the hands come from one tier to the other: {spans}.")
        return remarks


def _faults(solo: Arrangement, measures: Sequence[ArrangedMeasure]) -> set[tuple[int, str | None]]:
    """The measures and plucks at which measures of a solo break a rule of the hands that reaches over barlines."""
    timeline = Timeline(replace(solo, measures=tuple(replace(each, same_as=None) for each in measures)))
    return {(number, pluck) for check in _SEAM_RULES for number, pluck, _ in check(timeline)}


def _spans(numbers: Sequence[int]) -> str:
    """Measures in words: ``measure 7`` or ``measures 1-3, 7``."""
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][-1] + 1:
            spans[-1].append(number)
        else:
            spans.append([number])
    told = ", ".join(str(each[0]) if len(each) == 1 else f"{each[0]}-{each[-1]}" for each in spans)
    return f"measure{'s' if len(numbers) > 1 else ''} {told}"
