"""The arranger: a tune becomes a solo in a tier, by one least-cost search."""

from __future__ import annotations

from collections.abc import Sequence

from coach.arranging.arrangement import TIERS, Arrangement, Tier
from coach.arranging.build import build
from coach.arranging.grid import Grid, find_grid
from coach.arranging.neck import find_neck
from coach.arranging.search import NoWayError
from coach.arranging.setting import Setting, find_grain, find_setting, read_key
from coach.arranging.solo import Solo, choose, repeats
from coach.arranging.tiers import CONCESSIONS, TierWays
from coach.errors import ArrangeError
from coach.instrument.tuning import OPEN_G, Tuning
from coach.tunes.played import PlayedMeasure, written_out
from coach.tunes.tune import Tune

__all__ = ["arrange", "arrange_all"]

# The open fifth string has 10 to 30 % of the notes of a solo in rolls (common practice, no source).
_LEAST_DRONE, _FAIR_DRONE, _MOST_DRONE = 0.1, 0.2, 0.3
_LEANS = (1, 2, 3, 5, 7)


def arrange(
    tune: Tune, tier: Tier, *, key: str | None = None, capo: int | None = None, tuning: Tuning | None = None
) -> Arrangement:
    """A solo for a tune.

    Args:
        tune: as read.
        tier: which of the three.
        key: what shall sound, ``A`` or ``F#m``; None keeps the tune's own where it lies well.
        capo: its fret, 0..11; None chooses it.
        tuning: of the banjo; None is open G.

    Raises:
        ArrangeError: when no solo can be made as asked.
    """
    return _Work(tune, key, capo, tuning or OPEN_G).solo(tier)


def arrange_all(
    tune: Tune, *, key: str | None = None, capo: int | None = None, tuning: Tuning | None = None
) -> dict[Tier, Arrangement]:
    """The solos of all three tiers, the beginner's first; the arguments are those of :func:`arrange`."""
    work = _Work(tune, key, capo, tuning or OPEN_G)
    return {tier: work.solo(tier) for tier in TIERS}


class _Work:
    """What the three tiers share."""

    def __init__(self, tune: Tune, key: str | None, capo: int | None, tuning: Tuning) -> None:
        self.tune = tune
        self.tuning = tuning
        self.played: tuple[PlayedMeasure, ...] = written_out(tune)
        measures = [each.measure for each in self.played]
        pitches = [note.pitch for measure in measures for note in measure.notes]
        if not pitches:
            raise ArrangeError("there is no melody", where=tune.title, cure="give a tune with notes")
        wanted = read_key(key, tune.key.mode) if key is not None else None
        self.setting: Setting = find_setting(tune.key, pitches, tuning, key=wanted, capo=capo)
        self.grain = find_grain(measures)
        self.grid: Grid = find_grid(measures, self.grain, self.setting)
        numbers = {each.number: index for index, each in enumerate(self.played)}
        sources = [numbers[each.same_as] if each.same_as is not None else None for each in self.played]
        self.same_as = repeats(self.grid.measures, _part_sources(self.grid, sources))

    def solo(self, tier: Tier) -> Arrangement:
        """The solo of one tier."""
        solo = self._search(tier, 0)
        share = solo.drone_share()
        if tier == "intermediate" and not _LEAST_DRONE <= share <= _MOST_DRONE:
            # The chords of a key may call the drone too often or too seldom: it is made dearer or cheaper.
            for lean in _LEANS:
                other = self._search(tier, lean if share > _MOST_DRONE else -lean)
                if abs(other.drone_share() - _FAIR_DRONE) < abs(solo.drone_share() - _FAIR_DRONE):
                    solo = other
                if _LEAST_DRONE <= solo.drone_share() <= _MOST_DRONE:
                    break
        return build(self.tune, tier, self.tuning, self.setting, self.played, self.grid, solo, self._remarks())

    def _search(self, tier: Tier, lean: int) -> Solo:
        neck = find_neck(self.tuning, self.setting.capo, lean)
        try:
            return choose(self.same_as, TierWays(tier, self.grid.measures, neck).of, CONCESSIONS)
        except NoWayError as error:
            number = self.played[self.grid.cells[error.measure].measure].number
            raise ArrangeError(
                f"no hand can play what the {tier} solo would need here",
                where=f"measure {number} as played",
                cure="thin out the notes there or move them by an octave",
            ) from None

    def _remarks(self) -> list[str]:
        remarks = [*self.tune.remarks, *self.setting.remarks]
        if self.grain.scale > 1:
            remarks.append("Written out at twice the length: the tune's eighths are quarters here.")
        if self.grain.dense:
            remarks.append("The melody is too dense for rolls: the solo keeps its strong notes.")
        elif self.grid.thinned:
            count = self.grid.thinned
            remarks.append(
                "One melody note found no room on the grid and is left out."
                if count == 1
                else f"{count} melody notes found no room on the grid and are left out."
            )
        return remarks


def _part_sources(grid: Grid, sources: Sequence[int | None]) -> list[int | None]:
    """For each cell the earlier cell from the same place on paper, or None."""
    places = {(cell.measure, cell.first): index for index, cell in enumerate(grid.cells)}
    found: list[int | None] = []
    for cell in grid.cells:
        source = sources[cell.measure]
        found.append(None if source is None else places.get((source, cell.first)))
    return found
