"""Writing a solo down: what was chosen becomes an :class:`Arrangement`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from statistics import mode
from types import MappingProxyType
from typing import cast

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, MelodyNote, Pluck, Role, Technique, Tier
from coach.arranging.grid import Grid
from coach.arranging.lefthand import fingered
from coach.arranging.search import Chosen
from coach.arranging.setting import Setting
from coach.arranging.solo import Solo
from coach.arranging.struck import NO_NOTE, NOBODY, Struck, sounds
from coach.instrument.fretboard import pitch_at
from coach.instrument.hands import FINGERS
from coach.instrument.tuning import Tuning
from coach.tunes.played import PlayedMeasure
from coach.tunes.tune import Tune

__all__ = ["Frame", "build", "build_measure", "find_frame", "struck_in"]


@dataclass(frozen=True, slots=True)
class Frame:
    """What all solos of a tune share, and a solo is written into.

    Attributes:
        tune: as read.
        tuning: of the open strings.
        setting: key, position, capo.
        played: its measures, written out.
        grid: the same on the grid.
        parts: for each played measure its cells, by their index.
        slot: the usual one, in quarters as the solo is notated.
    """

    tune: Tune
    tuning: Tuning
    setting: Setting
    played: tuple[PlayedMeasure, ...]
    grid: Grid
    parts: tuple[tuple[int, ...], ...]
    slot: Fraction


def find_frame(tune: Tune, tuning: Tuning, setting: Setting, played: tuple[PlayedMeasure, ...], grid: Grid) -> Frame:
    """The frame of a tune."""
    parts: list[list[int]] = [[] for _ in played]
    for place, cell in enumerate(grid.cells):
        parts[cell.measure].append(place)
    return Frame(tune, tuning, setting, played, grid, tuple(map(tuple, parts)), mode(grid.slots))


def build(
    frame: Frame,
    solo: Solo,
    tiers: Sequence[Tier],
    remarks: Iterable[str],
    fixed: Mapping[int, Sequence[Struck]] = MappingProxyType({}),
) -> Arrangement:
    """Write a solo down, with the fingers of the left hand.

    Args:
        frame: of the tune.
        solo: what was chosen.
        tiers: of each played measure.
        remarks: to go with it.
        fixed: what is struck in the measures (by index) that were not chosen.
    """
    setting, grid = frame.setting, frame.grid
    measures = []
    for index, tier in enumerate(tiers):
        if index in fixed:
            struck = fixed[index]
        else:
            struck = struck_in(grid, frame.parts[index], [solo.chosen[place] for place in frame.parts[index]])
        same_as = _repeated(frame.parts, index, solo, grid)
        measures.append(build_measure(frame, index, struck, tier, same_as))
    arrangement = Arrangement(
        frame.tune.id,
        frame.tune.title,
        frame.tune.rights,
        tiers[0] if len(set(tiers)) == 1 else "mixed",
        str(setting.key),
        str(setting.sounding_key) if setting.capo else None,
        setting.capo,
        grid.meters[0],
        frame.slot,
        grid.scale,
        50,
        frame.tuning,
        tuple(remarks),
        tuple(measures),
    )
    return fingered(arrangement)


def build_measure(
    frame: Frame, index: int, struck: Sequence[Struck], tier: Tier, same_as: int | None = None
) -> ArrangedMeasure:
    """Write a measure down.

    Args:
        frame: of the tune.
        index: of the played measure.
        struck: what is struck in it, in order.
        tier: its own.
        same_as: the index of the measure that it repeats, or None.
    """
    played, grid = frame.played[index], frame.grid
    plucks = tuple(_plucks(struck, frame, index))
    return ArrangedMeasure(
        played.number,
        played.source_measure,
        grid.meters[index],
        played.measure.length * grid.scale,
        tier,
        tuple(ChordAt(at, chord) for at, chord in grid.chords[index]),
        _melody(struck, plucks, grid, index, frame.setting),
        plucks,
        frame.played[same_as].number if same_as is not None else None,
        grid.slots[index] if grid.slots[index] != frame.slot else None,
    )


def _repeated(parts: Sequence[Sequence[int]], index: int, solo: Solo, grid: Grid) -> int | None:
    """The measure that a measure repeats with all its parts."""
    sources = tuple(solo.same_as[place] for place in parts[index])
    first = sources[0]
    if first is None:
        return None
    measure = grid.cells[first].measure
    return measure if sources == parts[measure] else None


def struck_in(grid: Grid, parts: Sequence[int], chosen: Iterable[Chosen]) -> tuple[Struck, ...]:
    """What is struck in a measure, in order of position, then from string 5 to string 1.

    Args:
        grid: of the tune.
        parts: the cells of the measure, by index.
        chosen: for each of them.
    """
    found = [
        struck
        for place, each in zip(parts, chosen, strict=True)
        for layer, option in zip(each.way.layers, each.options, strict=True)
        for struck in sounds(grid.cells[place].first, layer, option, grid.measures[place].notes)
    ]
    return tuple(sorted(found, key=lambda struck: (struck.at, -struck.string)))


def _plucks(struck: Sequence[Struck], frame: Frame, index: int) -> Iterator[Pluck]:
    grid, number, capo = frame.grid, frame.played[index].number, frame.setting.capo
    halves = _halves(grid.slots[index])
    places = frame.parts[index]
    size = 2 * sum(grid.cells[place].size for place in places)
    later = sorted({each.at for each in struck})
    ends = dict(pairwise([*later, size]))
    rings = {note.note: 2 * note.rings for place in places for note in grid.measures[place].notes}
    for count, each in enumerate(struck, start=1):
        length = ends[each.at] - each.at
        if each.carries != NO_NOTE and each.technique == "pick":
            length = min(length, max(rings[each.carries], 2))
        yield Pluck(
            f"m{number}e{count}",
            halves(each.at),
            halves(length),
            each.string,
            each.fret,
            pitch_at(frame.tuning, each.string, each.fret, capo),
            None if each.finger == NOBODY else FINGERS[each.finger],
            cast("Role", each.role),
            cast("Technique", each.technique),
            each.from_fret if each.from_fret >= 0 else None,
        )


@lru_cache(maxsize=64)
def _halves(slot: Fraction) -> Callable[[int], Fraction]:
    """How long so many half slots last; each number is worked out once."""
    half = slot / 2
    return lru_cache(maxsize=256)(lambda count: count * half)


def _melody(
    struck: Sequence[Struck], plucks: Sequence[Pluck], grid: Grid, index: int, setting: Setting
) -> tuple[MelodyNote, ...]:
    carriers = {each.carries: k for k, each in enumerate(struck) if each.carries != NO_NOTE}
    scale, shift = grid.scale, setting.shift + setting.capo
    found = []
    for k, note in enumerate(grid.played[index].notes):
        at, length = (note.at, note.length) if scale == 1 else (note.at * scale, note.length * scale)
        pluck, moved = None, None
        if k in carriers:
            pluck = plucks[carriers[k]].id
            place = _place(plucks, carriers[k], at)
            moved = None if place == at else place
        found.append(
            MelodyNote(at, length, note.pitch + shift, note.lyric, note.phrase_start, k in carriers, pluck, moved)
        )
    return tuple(found)


def _place(plucks: Sequence[Pluck], index: int, at: Fraction) -> Fraction:
    """Where a melody note is played: of a slurred one its own position if that is right, else that of its pick."""
    pluck = plucks[index]
    if pluck.finger is not None or pluck.at == at:
        return pluck.at
    return next(each.at for each in reversed(plucks[:index]) if each.string == pluck.string)
