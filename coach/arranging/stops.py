"""What the left hand stops: the fretted notes of a finished solo, passage by passage, as the fingering needs them."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise
from math import lcm
from typing import NamedTuple

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.arranging.grips import shape_fingers
from coach.instrument.fretboard import Place

__all__ = ["Passage", "Stop", "Stops", "find_stops"]


class Stop(NamedTuple):
    """A stopped note that asks for a finger of its own; where a slide lands is none.

    Attributes:
        moment: counts the positions of its passage at which anything sounds.
        slot: in which it sounds, from the start of its passage.
        run: counts on where a slot is held or silent, so that the notes of one roll have one number.
        place: string and fret.
        liked: the finger that the sounding chord's shape has there, 0 for none.
        origin: the note of its passage (by index) from which it is slurred, -1 for none.
        slides: whether a slide starts from it.
    """

    moment: int
    slot: int
    run: int
    place: Place
    liked: int = 0
    origin: int = -1
    slides: bool = False


class Passage(NamedTuple):
    """Measures that are fingered as one: a measure, or several where a slur leads over the barline.

    Attributes:
        stops: in order of position, then from string 5 to string 1.
        opens: what sounds open: moment and string.
        stretch: whether a finger may reach a fret further.
    """

    stops: tuple[Stop, ...]
    opens: tuple[tuple[int, int], ...] = ()
    stretch: bool = False


@dataclass(frozen=True, slots=True)
class Stops:
    """The passages of a solo.

    Attributes:
        passages: in order.
        measures: for each passage the numbers of its measures.
        owners: for each passage the plucks (by id) that its stops belong to.
        near: for each passage whether its first stop comes in the slot behind the last stop before it.
        landings: where a slide lands (by id), and the pluck from which it started.
    """

    passages: tuple[Passage, ...]
    measures: tuple[tuple[int, ...], ...]
    owners: tuple[tuple[str, ...], ...]
    near: tuple[bool, ...]
    landings: dict[str, str]


class _Sound(NamedTuple):
    """A pluck with its place in the solo, all in ticks: its position, that of its slot, and the length of a slot."""

    when: int
    on_slot: int
    slot: int
    start: int
    pluck: Pluck
    measure: ArrangedMeasure


def find_stops(arrangement: Arrangement) -> Stops:
    """Find what the left hand stops in a solo."""
    line = _Line(arrangement)
    origins = _origins(line.sounds)
    landings = _landings(line.sounds, origins)
    sliding = set(landings.values())
    blocks = list(_blocks(line.sounds, origins))
    passages, owners, near = [], [], []
    last: _Sound | None = None
    for block in blocks:
        stopped = [each for each in block if each.pluck.fret and each.pluck.id not in landings]
        passages.append(_passage(line, block, stopped, origins, sliding))
        owners.append(tuple([each.pluck.id for each in stopped]))
        near.append(last is not None and bool(stopped) and _is_next(last, stopped[0]))
        last = stopped[-1] if stopped else last
    numbers = tuple(tuple(dict.fromkeys(each.measure.number for each in block)) for block in blocks)
    return Stops(tuple(passages), numbers, tuple(owners), tuple(near), landings)


class _Line:
    """All plucks of a solo in order, and the fingers of the chords beneath them.

    Positions are whole ticks of the longest duration that divides them all, since fractions are slow to add.
    """

    def __init__(self, arrangement: Arrangement) -> None:
        measures = arrangement.measures
        grids = [measure.slot or arrangement.slot for measure in measures]
        places = [place for measure in measures for place in (measure.length, *(p.at for p in measure.plucks))]
        places += [change.at for measure in measures for change in measure.chords]
        self._unit = lcm(*{place.denominator for place in (*places, *grids)})
        self._tuning = arrangement.tuning
        self._changes: list[int] = []
        self._fingers: list[dict[Place, int]] = []
        self.sounds: list[_Sound] = []
        start = 0
        for measure, grid in zip(measures, grids, strict=True):
            slot = self._ticks(grid)
            for pluck in measure.plucks:
                at = self._ticks(pluck.at)
                self.sounds.append(_Sound(start + at, start + at - at % slot, slot, start, pluck, measure))
            for change in measure.chords:
                self._changes.append(start + self._ticks(change.at))
                self._fingers.append(shape_fingers(change.chord, self._tuning))
            start += self._ticks(measure.length)

    def _ticks(self, quarters: Fraction) -> int:
        return quarters.numerator * (self._unit // quarters.denominator)

    def liked(self, when: int, place: Place) -> int:
        """The finger that the shape of the chord at a position has at a place, 0 for none."""
        index = bisect_right(self._changes, when)
        return self._fingers[index - 1].get(place, 0) if index else 0


def _is_next(last: _Sound, each: _Sound) -> bool:
    return each.on_slot - last.on_slot <= max(last.slot, each.slot)


def _origins(sounds: Sequence[_Sound]) -> dict[str, _Sound]:
    """For each slurred pluck (by id) what its string sounded before."""
    last: dict[int, _Sound] = {}
    found = {}
    for each in sounds:
        if each.pluck.technique != "pick" and each.pluck.string in last:
            found[each.pluck.id] = last[each.pluck.string]
        last[each.pluck.string] = each
    return found


def _landings(sounds: Sequence[_Sound], origins: dict[str, _Sound]) -> dict[str, str]:
    found: dict[str, str] = {}
    for each in sounds:
        start = origins.get(each.pluck.id)
        if each.pluck.technique == "slide" and start is not None and each.pluck.fret and start.pluck.fret:
            found[each.pluck.id] = found.get(start.pluck.id, start.pluck.id)
    return found


def _blocks(sounds: Sequence[_Sound], origins: dict[str, _Sound]) -> Iterator[list[_Sound]]:
    """What sounds, measure by measure; measures with a slur between them together."""
    joined = {
        each.measure.number
        for each in sounds
        if each.pluck.id in origins and origins[each.pluck.id].measure is not each.measure
    }
    block: list[_Sound] = []
    for number, group in groupby(sounds, key=lambda each: each.measure.number):
        if block and number not in joined:
            yield block
            block = []
        block += group
    if block:
        yield block


def _passage(
    line: _Line, block: Sequence[_Sound], stopped: Sequence[_Sound], origins: dict[str, _Sound], sliding: set[str]
) -> Passage:
    start = block[0].start
    run = moment = 0
    runs = {block[0].pluck.id: run}
    moments = {block[0].pluck.id: moment}
    for last, each in pairwise(block):
        run += not _is_next(last, each)
        moment += last.when < each.when
        runs[each.pluck.id], moments[each.pluck.id] = run, moment
    index = {each.pluck.id: k for k, each in enumerate(stopped)}
    stops = []
    for each in stopped:
        pluck = each.pluck
        place = Place(pluck.string, pluck.fret)
        origin = origins.get(pluck.id)
        stops.append(
            Stop(
                moments[pluck.id],
                (each.when - start) // each.slot,
                runs[pluck.id],
                place,
                line.liked(each.when, place),
                index.get(origin.pluck.id, -1) if origin else -1,
                pluck.id in sliding,
            )
        )
    opens = tuple([(moments[each.pluck.id], each.pluck.string) for each in block if not each.pluck.fret])
    return Passage(tuple(stops), opens, any(each.measure.tier == "advanced" for each in block))
