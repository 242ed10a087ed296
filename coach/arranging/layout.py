"""A tune laid out for the banjo before any pluck is chosen: its setting, its measures as played, its grid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from coach.arranging.grain import Grain, find_grains
from coach.arranging.grid import Grid, find_grid
from coach.arranging.setting import Setting, find_setting, read_key
from coach.errors import ArrangeError
from coach.instrument.tuning import OPEN_G, Tuning
from coach.tunes.played import PlayedMeasure, written_out
from coach.tunes.tune import Tune

__all__ = ["Layout", "lay_out"]

_SCALES = {
    Fraction(2): "Written out at twice the length: the tune's eighths are quarters here.",
    Fraction(1, 2): "Written out at half the length: the tune's half notes are quarters here.",
    Fraction(1, 4): "Written out at a quarter of the length: the tune's whole notes are quarters here.",
}


@dataclass(frozen=True, slots=True)
class Layout:
    """A tune laid out.

    Attributes:
        tuning: of the open strings.
        setting: key, position, octave and capo.
        played: the measures with repeats written out.
        grid: the same in slots.
        remarks: what the reader and the layout decided, one sentence each.
    """

    tuning: Tuning
    setting: Setting
    played: tuple[PlayedMeasure, ...]
    grid: Grid
    remarks: tuple[str, ...]


def lay_out(tune: Tune, *, key: str | None = None, capo: int | None = None, tuning: Tuning | None = None) -> Layout:
    """Lay a tune out.

    Args:
        tune: as read.
        key: what shall sound, ``A`` or ``F#m``; None keeps the tune's own where it lies well.
        capo: its fret, 0..11; None chooses it.
        tuning: of the banjo; None is open G.

    Raises:
        ArrangeError: when there is no melody, or it cannot be set as asked.
    """
    strings = tuning or OPEN_G
    pitches = [note.pitch for measure in tune.measures for note in measure.notes]
    if not pitches:
        raise ArrangeError("there is no melody", where=tune.title, cure="give a tune with notes")
    wanted = read_key(key, tune.key.mode) if key is not None else None
    played = written_out(tune)
    measures = [each.measure for each in played]
    sung = [note.pitch for measure in measures for note in measure.notes]
    setting = find_setting(tune.key, sung, strings, key=wanted, capo=capo)
    by_number = {
        measure.number: grain for measure, grain in zip(tune.measures, find_grains(tune.measures), strict=True)
    }
    grains = [by_number[each.source_measure] for each in played]
    grid = find_grid(measures, grains, setting)
    remarks = (*tune.remarks, *setting.remarks, *_on_the_grid(played, grains, grid))
    return Layout(strings, setting, played, grid, remarks)


def _on_the_grid(played: Sequence[PlayedMeasure], grains: Sequence[Grain], grid: Grid) -> Iterator[str]:
    if grid.scale in _SCALES:
        yield _SCALES[grid.scale]
    slots = [grain.slot for grain in grains]
    usual = max(set(slots), key=slots.count)
    other = [each.number for each, slot in zip(played, slots, strict=True) if slot != usual]
    if other:
        yield f"The melody moves in other notes in {_measures(other)}: so do the rolls there."
    dense = [each.number for each, grain in zip(played, grains, strict=True) if grain.dense]
    if len(dense) == len(played):
        yield "The melody is too dense for rolls: the solo keeps its strong notes."
    elif dense:
        yield f"The melody is too dense for rolls in {_measures(dense)}: the solo keeps its strong notes there."
    elif grid.thinned:
        count = grid.thinned
        verb = "note found no room on the grid and is" if count == 1 else "notes found no room on the grid and are"
        yield f"{'One' if count == 1 else count} melody {verb} left out."
    if grid.moved:
        count, first = len(grid.moved), played[grid.moved[0]].number
        what = "One melody note lies" if count == 1 else f"{count} melody notes lie"
        there = f"the slot nearest by ear, in measure {first}" if count == 1 else "the slots nearest by ear"
        yield f"{what} between the slots and go{'es' * (count == 1)} to {there}{_first(count, first)}."


def _first(count: int, first: int) -> str:
    return "" if count == 1 else f", the first in measure {first}"


def _measures(numbers: Sequence[int]) -> str:
    """Numbers of measures as they are spoken: measure 5, measures 5 to 8, measures 5 to 8 and 13 to 16."""
    runs = [list(run) for _, run in groupby(enumerate(numbers), key=lambda each: each[1] - each[0])]
    named = [str(run[0][1]) if len(run) == 1 else f"{run[0][1]} to {run[-1][1]}" for run in runs]
    text = named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"
    return f"measure{'s' * (len(numbers) > 1)} {text}"
