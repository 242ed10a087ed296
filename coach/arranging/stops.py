"""What the left hand stops: the fretted notes of a finished solo, passage by passage, as the fingering needs them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import NamedTuple

from coach.arranging.grips import shape_fingers
from coach.arranging.timeline import Sounding, Timeline
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


def find_stops(timeline: Timeline) -> Stops:
    """Find what the left hand stops in a solo."""
    origins = _origins(timeline.soundings)
    landings = _landings(timeline.soundings, origins)
    blocks = list(_blocks(timeline, origins))
    passages, owners, near = [], [], []
    last: Sounding | None = None
    for block in blocks:
        stopped = [each for each in block if each.pluck.fret and each.pluck.id not in landings]
        passages.append(_passage(timeline, block, stopped, origins, set(landings.values())))
        owners.append(tuple(each.pluck.id for each in stopped))
        near.append(bool(last and stopped) and _is_next(last, stopped[0]))
        last = stopped[-1] if stopped else last
    numbers = tuple(tuple(dict.fromkeys(each.measure.number for each in block)) for block in blocks)
    return Stops(tuple(passages), numbers, tuple(owners), tuple(near), landings)


def _is_next(last: Sounding | None, each: Sounding) -> bool:
    return last is not None and each.on_slot - last.on_slot <= max(last.slot, each.slot)


def _origins(soundings: Sequence[Sounding]) -> dict[str, Sounding]:
    """For each slurred pluck (by id) what its string sounded before."""
    last: dict[int, Sounding] = {}
    found = {}
    for each in soundings:
        if not each.picked and each.pluck.string in last:
            found[each.pluck.id] = last[each.pluck.string]
        last[each.pluck.string] = each
    return found


def _landings(soundings: Sequence[Sounding], origins: dict[str, Sounding]) -> dict[str, str]:
    found: dict[str, str] = {}
    for each in soundings:
        start = origins.get(each.pluck.id)
        if each.pluck.technique == "slide" and start is not None and each.pluck.fret and start.pluck.fret:
            found[each.pluck.id] = found.get(start.pluck.id, start.pluck.id)
    return found


def _blocks(timeline: Timeline, origins: dict[str, Sounding]) -> Iterator[list[Sounding]]:
    """What sounds, measure by measure; measures with a slur between them together."""
    joined = {
        each.measure.number
        for each in timeline.soundings
        if each.pluck.id in origins and origins[each.pluck.id].measure is not each.measure
    }
    block: list[Sounding] = []
    for number, group in groupby(timeline.soundings, key=lambda each: each.measure.number):
        if block and number not in joined:
            yield block
            block = []
        block += group
    if block:
        yield block


def _passage(
    timeline: Timeline,
    block: Sequence[Sounding],
    stopped: Sequence[Sounding],
    origins: dict[str, Sounding],
    sliding: set[str],
) -> Passage:
    start = timeline.starts[block[0].measure.number]
    runs = {block[0].pluck.id: 0}
    moments = {block[0].pluck.id: 0}
    for last, each in pairwise(block):
        runs[each.pluck.id] = runs[last.pluck.id] + (not _is_next(last, each))
        moments[each.pluck.id] = moments[last.pluck.id] + (last.when < each.when)
    index = {each.pluck.id: k for k, each in enumerate(stopped)}
    stops = []
    for each in stopped:
        place = Place(each.pluck.string, each.pluck.fret)
        chord = timeline.chord_at(each.when)
        origin = origins.get(each.pluck.id)
        stops.append(
            Stop(
                moments[each.pluck.id],
                int((each.when - start) // each.slot),
                runs[each.pluck.id],
                place,
                shape_fingers(chord, timeline.arrangement.tuning).get(place, 0) if chord else 0,
                index.get(origin.pluck.id, -1) if origin else -1,
                each.pluck.id in sliding,
            )
        )
    opens = tuple((moments[each.pluck.id], each.pluck.string) for each in block if not each.pluck.fret)
    return Passage(tuple(stops), opens, any(each.measure.tier == "advanced" for each in block))
