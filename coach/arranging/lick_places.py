"""Where licks may stand: in the gaps of a measure, and across the barline into the next one."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure
from coach.arranging.lick_table import Row
from coach.arranging.licks import Lick, licks_for
from coach.arranging.picks import Layer, Option, layer
from coach.arranging.tastes import taste
from coach.arranging.ways import FREE, LINKED
from coach.instrument.hands import FINGERS
from coach.instrument.tuning import Tuning

__all__ = ["LickPlace", "across", "lick_layers", "within"]

_PRICES = {"fill": cost("lick"), "tag": cost("tag"), "turnaround": cost("turnaround")}
_MOST_LICKS = 6  # that are tried in a gap
_MOST_TASTE = 4
_LONGEST_CUT = 16


class LickPlace(NamedTuple):
    """A lick in a measure, or the part of it that lies there.

    Attributes:
        price: what it costs.
        lick: the lick.
        at: the slot of its beginning; negative where it begins before the barline.
        stop: the slot behind its last one, at most the size of the measure.
        leads: the melody note that it begins with, or -1.
        link: the lane by which it crosses the barline, or FREE.
    """

    price: int
    lick: Lick
    at: int
    stop: int
    leads: int = -1
    link: int = FREE

    @property
    def first(self) -> int:
        """The first slot of the measure that it takes from the melody and the fills."""
        return max(0, self.at + (self.leads >= 0))


class _Gap(NamedTuple):
    """Two beats and more from one melody onset to the next, in slots of the measure; ``note`` begins it, or -1."""

    start: int
    stop: int
    note: int


def within(measure: GridMeasure, tuning: Tuning, variation: int = 0, own: tuple[Row, ...] = ()) -> list[LickPlace]:
    """The licks that end where the melody comes back, or with the measure; of many in a gap the cheapest."""
    every: list[LickPlace] = []
    for gap in _gaps(measure):
        stop = min(gap.stop, measure.size)
        last = stop - 1
        if last <= gap.start or last < 0:
            continue
        found = []
        for lick in licks_for(measure.roots[last], measure.tones[last], tuning, own):
            at = stop - lick.slots
            leads = _leads(measure, gap, lick, at)
            starts_free = at > gap.start and at >= 0 and at % measure.beat == 0
            if (
                (starts_free or leads >= 0)
                and _one_chord(measure, at, stop)
                and _few_slurs(measure, lick, 0, stop - at)
            ):
                price = _price(measure, gap, lick, variation)
                if price is not None:
                    found.append(LickPlace(price, lick, at, stop, leads))
        found.sort(key=lambda place: place.price)
        every += found[:_MOST_LICKS]
    return every


@lru_cache(maxsize=2048)
def across(
    measure: GridMeasure,
    following: GridMeasure,
    tuning: Tuning,
    variation: int = 0,
    own: tuple[Row, ...] = (),
) -> tuple[tuple[LickPlace, ...], tuple[LickPlace, ...]]:
    """The licks that cross the barline and end where the melody comes back, or with the measure behind it.

    The price is charged on their second part.

    Returns:
        Their first parts, and their second parts.
    """
    firsts: list[LickPlace] = []
    seconds: list[LickPlace] = []
    gap = next((gap for gap in _gaps(measure) if gap.stop > measure.size), None)
    alike = (measure.beat, measure.fine) == (following.beat, following.fine)
    rest = min(_onsets(following), default=following.size)
    if gap is None or not alike or not rest:
        return (), ()
    root, tones = measure.roots[-1], measure.tones[-1]
    if following.roots[0] != root or not _one_chord(following, 0, rest) or following.tones[0] != tones:
        return (), ()
    for lick in licks_for(root, tones, tuning, own):
        at = measure.size + rest - lick.slots
        cut = measure.size - at
        leads = _leads(measure, gap, lick, at)
        starts_free = at > gap.start and at >= 0 and at % measure.beat == 0
        if not (starts_free or leads >= 0) or not 0 < cut < _LONGEST_CUT or not _one_chord(measure, at, measure.size):
            continue
        if any(step.finger is None and step.at == cut for step in lick.steps):
            continue  # the slur itself would cross the barline
        if not any(step.at < cut and step.finger for step in lick.steps if step.at >= cut - 1):
            continue  # nor is a held slot at the barline worth a link
        price = _price(measure, gap, lick, variation)
        few = _few_slurs(measure, lick, 0, cut) and _few_slurs(following, lick, cut, lick.slots)
        if price is not None and few:
            link = LINKED + _LONGEST_CUT * lick.number + cut
            firsts.append(LickPlace(0, lick, at, measure.size, leads, link))
            seconds.append(LickPlace(price + cost("lick over the barline"), lick, -cut, rest, -1, link))
    return tuple(firsts), tuple(seconds)


def _onsets(measure: GridMeasure) -> list[int]:
    """Where melody notes begin, whether they have a slot or not."""
    return [*(note.slot for note in measure.notes), *measure.lost]


def _gaps(measure: GridMeasure) -> Iterator[_Gap]:
    numbers = {note.slot: number for number, note in enumerate(measure.notes)}
    onsets = sorted({*_onsets(measure)})
    before = [-measure.since] if measure.since else []
    for start, stop in pairwise([*before, *onsets, measure.size + measure.then]):
        if stop - start >= 2 * measure.beat:
            yield _Gap(start, stop, numbers.get(start, -1))


def _leads(measure: GridMeasure, gap: _Gap, lick: Lick, at: int) -> int:
    """The melody note that a lick from a slot on would begin with, or -1."""
    if at == gap.start and gap.note >= 0 and measure.notes[gap.note].pitch == lick.entry:
        return gap.note
    return -1


def _one_chord(measure: GridMeasure, start: int, stop: int) -> bool:
    tones = measure.tones[stop - 1]
    return all(each == tones for each in measure.tones[start:stop])


def _few_slurs(measure: GridMeasure, lick: Lick, start: int, stop: int) -> bool:
    """Whether the part of a lick does not crowd the measure with slurs."""
    return lick.slurs(start, stop) <= measure.slurs


def _price(measure: GridMeasure, gap: _Gap, lick: Lick, variation: int) -> int | None:
    """What a lick costs in a gap; None where it has no place there."""
    ends_phrase = gap.note >= 0 and measure.notes[gap.note].ends and measure.home
    if lick.use == "turnaround" and (measure.last or not ends_phrase):
        return None
    price = _PRICES[lick.use if ends_phrase else "fill"] + (cost("lick of one's own") if lick.own else 0)
    return price + _taste(measure, lick, variation) * cost("taste in licks")


def _taste(measure: GridMeasure, lick: Lick, variation: int) -> int:
    """A little for or against a lick, by the melody around it, so that not all phrases end alike."""
    pitches = sum(note.pitch * (note.slot + 1) for note in measure.notes) + (measure.held or 0)
    return taste(variation + 1, (pitches, lick.number), _MOST_TASTE)


@lru_cache(maxsize=1 << 13)
def lick_layers(lick: Lick, at: int, stop: int, leads: int) -> tuple[Layer, ...]:
    """The layers of a lick, or of the part of it that lies in a measure: one option each.

    Args:
        lick: the lick.
        at: the slot of its beginning, negative where it begins before the barline.
        stop: the slot behind its last one in the measure.
        leads: the melody note that it begins with, or -1.
    """
    found = []
    for pick in lick.steps:
        slot = at + int(pick.at)
        if pick.finger is None or not 0 <= slot < stop:
            continue
        state = 6 * FINGERS.index(pick.finger) + pick.string
        option = Option(state, 0, pick.fret)
        for step in lick.steps:
            if step.finger is None and step.string == pick.string and pick.at < step.at <= pick.at + 1:
                option = Option(state, 0, pick.fret, step.technique, step.fret, step.at - pick.at == 1)
        carries = leads >= 0 and not pick.at
        found.append(layer(slot, [option], "melody" if carries else "lick", note=leads if carries else -1))
    return tuple(found)
