"""The arranger: a tune becomes a solo in a tier, by one least-cost search."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypedDict, Unpack

from coach.arranging.applying import (
    check_edits,
    fixed_cells,
    fixed_measures,
    remarks_on_edits,
    wishes_that_break_rules,
)
from coach.arranging.arrangement import TIERS, Arrangement, Tier
from coach.arranging.build import build, find_frame
from coach.arranging.edits import Edits
from coach.arranging.fixed import Fixed
from coach.arranging.grid import Grid
from coach.arranging.layout import lay_out
from coach.arranging.lick_table import Row
from coach.arranging.neck import Neck, find_neck
from coach.arranging.search import NoWayError
from coach.arranging.solo import Solo, choose, repeats
from coach.arranging.struck import Struck
from coach.arranging.tiers import CONCESSIONS, TierWays
from coach.arranging.variety import vary
from coach.errors import ArrangeError
from coach.instrument.tuning import Tuning
from coach.tunes.tune import Tune

__all__ = ["Made", "Options", "Work", "arrange", "arrange_all"]

# The open fifth string has 10 to 30 % of the notes of a solo in rolls (common practice, no source).
_LEAST_DRONE, _FAIR_DRONE, _MOST_DRONE = 0.1, 0.2, 0.3
_LEANS = (1, 2, 3, 5, 7)


class Options(TypedDict, total=False):
    """What may be wished of a solo besides its tier.

    Attributes:
        key: what shall sound, ``A`` or ``F#m``; None keeps the tune's own where it lies well.
        capo: its fret, 0..11; None chooses it.
        tuning: of the banjo; None is open G.
        edits: a teacher's, applied to the solos of the tiers that they are for.
        variation: which of the good solos, 0 and up; 0 is the plain best one, the same number gives the same solo.
        licks: a teacher's own, as :func:`coach.arranging.own_licks.check_licks` lets them pass; the search prefers them
            to those of the table a little. The same licks in the same order give the same solo.
    """

    key: str | None
    capo: int | None
    tuning: Tuning | None
    edits: Edits | None
    variation: int
    licks: tuple[Row, ...]


def arrange(tune: Tune, tier: Tier, **options: Unpack[Options]) -> Arrangement:
    """A solo for a tune.

    Args:
        tune: as read.
        tier: which of the three.
        options: see :class:`Options`.

    Raises:
        ArrangeError: when no solo can be made as asked.
    """
    return Work(tune, **options).solo(tier)


def arrange_all(tune: Tune, **options: Unpack[Options]) -> dict[Tier, Arrangement]:
    """The solos of all three tiers, the beginner's first; the arguments are those of :func:`arrange`."""
    work = Work(tune, **options)
    return {tier: work.solo(tier) for tier in TIERS}


@dataclass(frozen=True, slots=True)
class Made:
    """A solo of one tier as it was searched.

    Attributes:
        solo: what was chosen.
        ways: what every measure offers.
        neck: on which it is played.
        fixed: what is struck in the measures that stand as they are, by the index of the played measure.
        cells: the same by cell, as the search sees it.
    """

    solo: Solo
    ways: TierWays
    neck: Neck
    fixed: Mapping[int, tuple[Struck, ...]] = field(default_factory=dict)
    cells: Mapping[int, Fixed] = field(default_factory=dict)


class Work:
    """What all solos of a tune share, and the solos.

    Attributes:
        frame: the tune on its grid.
        same_as: for each cell the earlier one that it repeats, or None.
        licks: a teacher's own.
    """

    def __init__(self, tune: Tune, **options: Unpack[Options]) -> None:
        """Take a tune; the arguments are those of :func:`arrange`."""
        self._edits = options.get("edits")
        self._variation = options.get("variation", 0)
        self.licks = options.get("licks", ())
        laid = lay_out(tune, key=options.get("key"), capo=options.get("capo"), tuning=options.get("tuning"))
        played = laid.played
        self._remarks = laid.remarks
        self.frame = find_frame(tune, laid.tuning, laid.setting, played, laid.grid)
        if self._edits is not None:
            check_edits(self._edits, self.frame)
            self._remarks = (*self._remarks, *remarks_on_edits(self._edits, self.frame))
        numbers = {each.number: index for index, each in enumerate(played)}
        self._sources = _part_sources(
            self.frame.grid, [numbers[each.same_as] if each.same_as is not None else None for each in played]
        )
        self.same_as = repeats(self.frame.grid.measures, self._sources)
        self._made: dict[Tier, Made] = {}
        self._written: dict[Tier, Arrangement] = {}

    def solo(self, tier: Tier) -> Arrangement:
        """The solo of one tier."""
        known = self._written.get(tier)
        if known is None:
            made = self.made(tier)
            known = self._written[tier] = self.written(made.solo, [tier] * len(self.frame.played), made.fixed)
        return known

    def written(
        self,
        solo: Solo,
        tiers: Sequence[Tier],
        fixed: Mapping[int, tuple[Struck, ...]],
        remarks: Sequence[str] = (),
    ) -> Arrangement:
        """A solo written down, with the rules that its fixed measures break among its remarks."""
        arrangement = build(self.frame, solo, tiers, [*self._remarks, *remarks], fixed)
        if not fixed:
            return arrangement
        return replace(arrangement, remarks=(*arrangement.remarks, *wishes_that_break_rules(arrangement)))

    def made(self, tier: Tier) -> Made:
        """The solo of one tier as it was searched, the teacher's edits applied."""
        known = self._made.get(tier)
        if known is None:
            known = self._unedited(tier)
            edited = fixed_measures(self._edits, tier, self.frame, known.solo.chosen) if self._edits else {}
            if edited:
                known = self._around(known, tier, edited)
            self._made[tier] = known
        return known

    def _unedited(self, tier: Tier) -> Made:
        made = self._search(tier, 0)
        share = made.solo.drone_share()
        if tier != "beginner" and not _LEAST_DRONE <= share <= _MOST_DRONE:
            # The chords of a key may call the drone too often or too seldom: it is made dearer or cheaper.
            for lean in _LEANS:
                other = self._search(tier, lean if share > _MOST_DRONE else -lean)
                if abs(other.solo.drone_share() - _FAIR_DRONE) < abs(made.solo.drone_share() - _FAIR_DRONE):
                    made = other
                if _LEAST_DRONE <= made.solo.drone_share() <= _MOST_DRONE:
                    break
        return made

    def _around(self, made: Made, tier: Tier, edited: Mapping[int, tuple[Struck, ...]]) -> Made:
        """The solo searched again around what stands as it is; all else is as it was for the unedited one."""
        cells = fixed_cells(edited, self.frame, made.solo.chosen)
        marks = {place: cell for place, cell in cells.items() if cell.chosen is None}
        marked = [(measure, marks.get(place)) for place, measure in enumerate(self.frame.grid.measures)]
        solo = vary(self._chosen(tier, made.ways, repeats(marked, self._sources), cells), made.ways.of, cells)
        return replace(made, solo=solo, fixed=edited, cells=cells)

    def _search(self, tier: Tier, lean: int) -> Made:
        neck = find_neck(self.frame.tuning, self.frame.setting.capo, lean)
        ways = TierWays(tier, self.frame.grid.measures, neck, self._variation, self.licks)
        return Made(vary(self._chosen(tier, ways, self.same_as, {}), ways.of), ways, neck)

    def _chosen(self, tier: Tier, ways: TierWays, same_as: Sequence[int | None], cells: Mapping[int, Fixed]) -> Solo:
        try:
            return choose(same_as, ways.of, CONCESSIONS, cells)
        except NoWayError as error:
            number = self.frame.played[self.frame.grid.cells[error.measure].measure].number
            raise ArrangeError(
                f"no hand can play what the {tier} solo would need here",
                where=f"measure {number} as played",
                cure="thin out the notes there or move them by an octave",
            ) from None


def _part_sources(grid: Grid, sources: Sequence[int | None]) -> list[int | None]:
    """For each cell the earlier cell from the same place on paper, or None."""
    places = {(cell.measure, cell.first): index for index, cell in enumerate(grid.cells)}
    found: list[int | None] = []
    for cell in grid.cells:
        source = sources[cell.measure]
        found.append(None if source is None else places.get((source, cell.first)))
    return found
