"""Edits applied: from what a teacher asks for to what is struck in the measures that stand as they are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from coach.arranging.arrangement import Arrangement, Tier
from coach.arranging.build import Frame, struck_in
from coach.arranging.edits import Addition, Edit, Edits, LeaveOut, Lock, Replacement, WrittenPluck, check
from coach.arranging.fixed import Fixed
from coach.arranging.rules import broken_rules
from coach.arranging.search import Chosen
from coach.arranging.struck import NOBODY, UNSAID, Struck, carried
from coach.errors import ArrangeError
from coach.instrument.fretboard import is_fret
from coach.instrument.hands import FINGERS

__all__ = ["check_edits", "fixed_cells", "fixed_measures", "remarks_on_edits", "told_wishes", "wishes_that_break_rules"]

_AS_ASKED = " breaks a rule, as asked: "


def check_edits(edits: Edits, frame: Frame) -> None:
    """See that edits belong to a tune, whatever its state, and to its setting, and do not contradict each other.

    Raises:
        ArrangeError: when they do not.
    """
    tune = frame.tune
    if _title(edits.tune) != _title(tune.id):
        raise ArrangeError(
            f"they are for the tune {edits.tune}, and this is {tune.id}",
            where=edits.where,
            cure="give the tune that they were made for",
        )
    if edits.edits and edits.tuning != frame.tuning.name:
        raise ArrangeError(
            f"they were made in the tuning {edits.tuning}, and this solo is in {frame.tuning.name}",
            where=edits.where,
            cure=f"ask for --tuning '{edits.tuning}', or leave them out",
        )
    position = str(frame.setting.key)
    if edits.edits and edits.position not in {None, position}:
        raise ArrangeError(
            f"they were made for a solo fretted as in {edits.position}, and this one is fretted as in {position}",
            where=edits.where,
            cure="ask for the key and capo that they were made with, or leave them out",
        )
    check(edits, edits.where)
    sources = {played.source_measure for played in frame.played}
    for edit in edits.edits:
        if edit.source_measure not in sources:
            raise ArrangeError(
                f"the tune has no measure {edit.source_measure} on paper",
                where=edits.where,
                cure=f"choose from {min(sources)} to {max(sources)}",
            )


def remarks_on_edits(edits: Edits, frame: Frame) -> tuple[str, ...]:
    """What is to be said of edits that can be applied: that the tune has been changed since they were made."""
    if not edits.edits or edits.tune == frame.tune.id:
        return ()
    return (f"The edits were made for another state of this tune ({edits.tune}); see whether they still fit.",)


def _title(tune: str) -> str:
    """The part of a tune's id that its title gives."""
    return tune.rpartition("-")[0]


def fixed_measures(edits: Edits, tier: Tier, frame: Frame, chosen: Sequence[Chosen]) -> dict[int, tuple[Struck, ...]]:
    """What is struck in the measures that a teacher has edited, by the index of the played measure.

    Args:
        edits: of the tune.
        tier: whose edits are wanted.
        frame: of the tune.
        chosen: the solo without edits, from which measures that are not locked take what is not edited.

    Raises:
        ArrangeError: when a position or place does not exist.
    """
    found = {}
    for index, played in enumerate(frame.played):
        own = [each for each in edits.edits if each.tier == tier and each.source_measure == played.source_measure]
        if own:
            base = _base(frame, index, chosen)
            found[index] = _Measure(frame, index, tier, edits.where).edited(own, base)
    return found


def fixed_cells(fixed: Mapping[int, tuple[Struck, ...]], frame: Frame, chosen: Sequence[Chosen]) -> dict[int, Fixed]:
    """The fixed measures as the search sees them, by cell.

    Args:
        fixed: what is struck in them, by the index of the played measure.
        frame: of the tune.
        chosen: the solo without edits.
    """
    found = {}
    for index, struck in fixed.items():
        as_it_was = struck == _base(frame, index, chosen)
        for place in frame.parts[index]:
            cell = frame.grid.cells[place]
            first, stop = 2 * cell.first, 2 * (cell.first + cell.size)
            here = tuple(each._replace(at=each.at - first) for each in struck if first <= each.at < stop)
            own = chosen[place] if as_it_was else None
            found[place] = Fixed(here, cell.size, frame.grid.measures[place].fine, own)
    return found


def wishes_that_break_rules(arrangement: Arrangement) -> list[str]:
    """A remark for each measure and hard rule that is broken in a solo with edits."""
    told: dict[tuple[int, str], str] = {}
    for each in broken_rules(arrangement):
        what = each.sentence.removeprefix(f"Measure {each.measure}: ")
        told.setdefault((each.measure, each.rule), f"Measure {each.measure}{_AS_ASKED}{what}")
    return [told[key] for key in sorted(told)]


def told_wishes(arrangement: Arrangement) -> list[str]:
    """Those of the remarks of a solo that say which rules its edits break."""
    return [remark for remark in arrangement.remarks if _AS_ASKED in remark]


def _base(frame: Frame, index: int, chosen: Sequence[Chosen]) -> tuple[Struck, ...]:
    """What the search struck in a played measure."""
    parts = frame.parts[index]
    return struck_in(frame.grid, parts, [chosen[place] for place in parts])


class _Spot(NamedTuple):
    at: int
    string: int


class _Measure:
    """A played measure under a teacher's hand."""

    def __init__(self, frame: Frame, index: int, tier: Tier, where: str) -> None:
        self._frame = frame
        self._index = index
        self._half = frame.grid.slots[index] / 2
        self._size = sum(frame.grid.cells[place].size for place in frame.parts[index])
        played = frame.played[index]
        self._whole = max(each.measure.length for each in frame.played if each.source_measure == played.source_measure)
        self._where = f"{where}, measure {played.source_measure} on paper of the {tier} solo"

    def edited(self, edits: Iterable[Edit], base: Sequence[Struck]) -> tuple[Struck, ...]:
        """What is struck after the edits, a lock first."""
        struck = {_Spot(each.at, each.string): each for each in base}
        for edit in sorted(edits, key=lambda each: not isinstance(each, Lock)):
            if isinstance(edit, Lock):
                struck = {}
                for pluck in edit.plucks:
                    self._put(struck, pluck)
            elif isinstance(edit, Addition):
                self._put(struck, edit.pluck)
            elif isinstance(edit, LeaveOut):
                self._take(struck, _Spot(self._position(edit.at), edit.string))
            else:
                self._replace(struck, edit)
        order = sorted(struck.values(), key=lambda each: (each.at, -each.string))
        grid = self._frame.grid
        notes = [
            (grid.cells[place].first + note.slot, note)
            for place in self._frame.parts[self._index]
            for note in grid.measures[place].notes
        ]
        return tuple(carried(order, notes, self._frame.tuning))

    def _replace(self, struck: dict[_Spot, Struck], edit: Replacement) -> None:
        at = self._position(edit.pluck.at)
        gone = [_Spot(at, edit.string)]
        if gone[0] not in struck:
            gone = [spot for spot in struck if spot.at == at]
        for spot in gone:
            if spot.string == edit.pluck.string:
                self._follow(struck, spot, edit.pluck.fret)
            else:
                self._take(struck, spot)
        self._put(struck, edit.pluck)

    def _take(self, struck: dict[_Spot, Struck], spot: _Spot) -> None:
        """Take a pluck away, and what is slurred from it."""
        struck.pop(spot, None)
        slurred = self._slurred_from(struck, spot)
        if slurred is not None:
            self._take(struck, slurred)

    def _follow(self, struck: dict[_Spot, Struck], spot: _Spot, fret: int) -> None:
        """Let what is slurred from a pluck come from another fret; it goes where it would not move any more."""
        slurred = self._slurred_from(struck, spot)
        if slurred is None:
            return
        note = struck[slurred]
        if note.fret == fret:
            self._take(struck, slurred)
        else:
            technique = note.technique if note.technique == "slide" else "hammer-on" if note.fret > fret else "pull-off"
            struck[slurred] = note._replace(from_fret=fret, technique=technique)

    def _slurred_from(self, struck: Mapping[_Spot, Struck], spot: _Spot) -> _Spot | None:
        later = sorted(each for each in struck if each.string == spot.string and each.at > spot.at)
        return later[0] if later and struck[later[0]].finger == NOBODY else None

    def _put(self, struck: dict[_Spot, Struck], pluck: WrittenPluck) -> None:
        """Put a pluck in its place; of a measure that is cut short here what lies behind its end is left out."""
        at = self._position(pluck.at)
        for fret in (pluck.fret, pluck.from_fret or 0):
            if not is_fret(pluck.string, fret, capo=self._frame.setting.capo):
                raise ArrangeError(
                    f"string {pluck.string} has no fret {fret} with the capo at {self._frame.setting.capo}",
                    where=self._where,
                    cure="choose another place for the pluck",
                )
        if at < 2 * self._size:
            struck[_Spot(at, pluck.string)] = Struck(
                at,
                pluck.string,
                pluck.fret,
                NOBODY if pluck.finger is None else FINGERS.index(pluck.finger),
                pluck.role or UNSAID,
                pluck.technique,
                -1 if pluck.from_fret is None else pluck.from_fret,
            )

    def _position(self, at: Fraction) -> int:
        """A position in half slots of the solo's grid."""
        if at >= self._whole:
            raise ArrangeError(
                f"position {at} lies behind the measure's end",
                where=self._where,
                cure=f"stay below {self._whole} quarters of the tune",
            )
        halves = at * self._frame.grid.scale / self._half
        if halves.denominator > 1:
            raise ArrangeError(
                f"position {at} is no half of a slot, which lasts {self._half * 2 / self._frame.grid.scale} here",
                where=self._where,
                cure="choose a position on the grid",
            )
        return int(halves)
