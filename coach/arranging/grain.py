"""How fine a solo is written: the slots of a tune, or of each of its sections, and the scale of its notation.

Common practice, no source: a roll needs room, so the melody's usual note fills two slots; a 2/4 song in eighths is
written doubled, as cut time, and an old song in half notes is written halved.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from statistics import median_low

from coach.tunes.tune import Measure, Meter

__all__ = ["Grain", "find_grain", "find_grains", "scaled"]

# A note shorter than two slots may come now and then; a melody denser than this has no room for a roll.
_SHORT_SHARE = Fraction(2, 5)
_OFF_GRID_SHARE = Fraction(1, 12)
_ROOM = Fraction(5, 8)
# Measures of one metre that stand alone are no section, nor is a part of a tune that is shorter than a strain.
_LEAST_RUN = 4
_LEAST_SECTION = 8
# In a section whose usual note clearly differs from that of the tune this share of the notes at most is shorter.
_CLEARLY_SHORT_SHARE = Fraction(1, 4)
_EIGHTH, _SIXTEENTH = Fraction(1, 2), Fraction(1, 4)


@dataclass(frozen=True, slots=True)
class Grain:
    """How fine a solo, or a section of it, is written.

    Attributes:
        slot: the grid in quarters of the tune's own notation.
        scale: the solo's notation over the tune's: 2 where it is doubled, 1/2 or 1/4 where it is shortened, else 1.
        dense: whether the melody leaves no room for rolls even so.
    """

    slot: Fraction
    scale: Fraction
    dense: bool


def find_grains(measures: Sequence[Measure]) -> tuple[Grain, ...]:
    """The grain of each measure of a tune on paper, of which one at least has notes; the scale is the same for all.

    A tune has one slot, but where the metre changes for four measures or more, and where a part of eight measures or
    more between double bars or repeats clearly moves in other notes than the rest.
    """
    found: dict[int, Grain] = {}
    largest, scale = Fraction(0), Fraction(1)
    for indices in _by_metre(measures):
        parts = _sections(measures, indices)
        grain = _grain_of(measures, indices)
        others = [part for part in parts if grain and _clearly_differs(measures, part, grain)]
        rest = [index for index in indices if not any(index in part for part in others)]
        if others and rest:
            grain = _grain_of(measures, rest) or grain
        for part in (rest, *others):
            its = _grain_of(measures, part) if part is not rest else grain
            if its is None:
                continue
            found |= dict.fromkeys(part, its)
            length = sum((measures[index].length for index in part), Fraction(0))
            if length > largest:
                largest, scale = length, its.scale
    usual = next(iter(found.values()))
    return tuple(replace(found.get(index, usual), scale=scale) for index in range(len(measures)))


def find_grain(measures: Sequence[Measure]) -> Grain:
    """One grain for measures with notes: the coarsest slot of which their usual note fills two."""
    lengths = [note.length for measure in measures for note in measure.notes]
    usual = median_low(lengths)
    main = max((measure.meter for measure in measures), key=lambda meter: sum(m.meter == meter for m in measures))
    choices = _slots(main)
    for slot in choices:
        off_grid = sum((note.at / slot).denominator > 1 for measure in measures for note in measure.notes)
        short = sum(length < 2 * slot for length in lengths)
        room = _ROOM * sum(measure.length / slot for measure in measures)
        fits = len(lengths) <= room if main.compound else usual >= 2 * slot and short <= _SHORT_SHARE * len(lengths)
        if (fits and off_grid <= _OFF_GRID_SHARE * len(lengths)) or slot == choices[-1]:
            dense = len(lengths) - off_grid > room or off_grid > len(lengths) / 4
            return Grain(slot, _scale(main, slot), dense)
    raise AssertionError("a metre has at least one slot")


def scaled(meter: Meter, scale: Fraction) -> Meter:
    """The metre in which a tune is notated at a scale: doubled 2/4 becomes 2/2, 3/8 becomes 3/4; halved 4/2 is 4/4."""
    unit = meter.unit / scale
    return Meter(meter.count, int(unit)) if unit >= 1 else Meter(int(meter.count / unit), 1)


def _scale(meter: Meter, slot: Fraction) -> Fraction:
    """The notation in which slots are eighths where beats pair, and never longer than that."""
    if slot > _EIGHTH:
        return _EIGHTH / slot
    counts_eighths = meter.unit >= 8 and not meter.compound
    return Fraction(2) if slot <= _SIXTEENTH and (counts_eighths or meter == Meter(2, 4)) else Fraction(1)


def _slots(meter: Meter) -> tuple[Fraction, ...]:
    """The slots to choose from, coarse first: two or four in a beat, three or six in a compound beat."""
    beat = meter.beat
    if meter.compound:
        return (beat / 3, beat / 6)
    if beat == 2 and meter.count == 2:
        return (Fraction(1, 2),)  # cut time is written like 4/4
    return (beat / 2, beat / 4)


def _grain_of(measures: Sequence[Measure], indices: Sequence[int]) -> Grain | None:
    """The grain of some of the measures, or None where they have no notes."""
    chosen = [measures[index] for index in indices]
    return find_grain(chosen) if any(measure.notes for measure in chosen) else None


def _by_metre(measures: Sequence[Measure]) -> Iterator[list[int]]:
    """The measures, by index, of each metre that holds for a while; a shorter run goes with what is before it."""
    regions: list[tuple[Meter, list[int]]] = []
    early: list[int] = []
    for meter, run in groupby(range(len(measures)), key=lambda index: measures[index].meter):
        indices = list(run)
        if len(indices) >= _LEAST_RUN:
            regions.append((meter, early + indices))
            early = []
        elif regions:
            regions[-1][1].extend(indices)
        else:
            early += indices
    if early:
        yield early
    for metre in dict.fromkeys(meter for meter, _ in regions):
        yield [index for meter, indices in regions if meter == metre for index in indices]


def _sections(measures: Sequence[Measure], indices: Sequence[int]) -> list[list[int]]:
    """The parts of some of the measures, between double bars and the signs of repeats, that are long enough."""
    parts: list[list[int]] = [[]]
    for index in indices:
        before = measures[index - 1] if index else None
        ended = before is not None and (before.double_bar or before.repeat_end > 1)
        if parts[-1] and (ended or measures[index].repeat_start or parts[-1][-1] != index - 1):
            parts.append([])
        parts[-1].append(index)
    return [part for part in parts if len(part) >= _LEAST_SECTION]


def _clearly_differs(measures: Sequence[Measure], part: Sequence[int], grain: Grain) -> bool:
    """Whether a part of a tune has a slot or room of its own, and hardly a note in it is too short for that."""
    own = _grain_of(measures, part)
    if own is None or own.dense or own == grain:
        return False
    lengths = [note.length for index in part for note in measures[index].notes]
    return sum(length < 2 * own.slot for length in lengths) <= _CLEARLY_SHORT_SHARE * len(lengths)
