"""Writing a solo down: what was chosen becomes an :class:`Arrangement`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple, cast

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, MelodyNote, Pluck, Role, Technique, Tier
from coach.arranging.grid import Grid
from coach.arranging.picks import STATES, Option
from coach.arranging.setting import Setting
from coach.arranging.solo import Solo
from coach.instrument.hands import FINGERS
from coach.instrument.tuning import Tuning
from coach.tunes.played import PlayedMeasure
from coach.tunes.tune import Tune

__all__ = ["build"]


class _Struck(NamedTuple):
    """A pluck before it has a name: position in half slots, and what it is."""

    at: int
    string: int
    fret: int
    finger: int
    role: str
    technique: str
    from_fret: int
    carries: int


def build(
    tune: Tune,
    tier: Tier,
    tuning: Tuning,
    setting: Setting,
    played: Sequence[PlayedMeasure],
    grid: Grid,
    solo: Solo,
    remarks: Iterable[str],
) -> Arrangement:
    """Write a solo down."""
    slot = max(set(grid.slots), key=list(grid.slots).count)
    measures: list[ArrangedMeasure] = []
    parts: list[list[int]] = [[] for _ in played]
    for place, cell in enumerate(grid.cells):
        parts[cell.measure].append(place)
    for index in range(len(played)):
        number = played[index].number
        struck = _struck(parts[index], solo, grid)
        plucks = tuple(_plucks(struck, parts[index], grid, index, number, tuning, setting.capo))
        same_as = _repeated(parts, index, solo, grid)
        measures.append(
            ArrangedMeasure(
                number,
                played[index].source_measure,
                grid.meters[index],
                played[index].measure.length * grid.scale,
                tier,
                tuple(ChordAt(at, chord) for at, chord in grid.chords[index]),
                _melody(struck, plucks, grid, index, setting),
                plucks,
                played[same_as].number if same_as is not None else None,
                grid.slots[index] if grid.slots[index] != slot else None,
            )
        )
    return Arrangement(
        tune.id,
        tune.title,
        tune.rights,
        tier,
        str(setting.key),
        str(setting.sounding_key) if setting.capo else None,
        setting.capo,
        grid.meters[0],
        slot,
        grid.scale,
        50,
        tuning,
        tuple(remarks),
        tuple(measures),
    )


def _repeated(parts: Sequence[Sequence[int]], index: int, solo: Solo, grid: Grid) -> int | None:
    """The measure that a measure repeats with all its parts."""
    sources = [solo.same_as[place] for place in parts[index]]
    first = sources[0]
    if first is None:
        return None
    measure = grid.cells[first].measure
    return measure if sources == parts[measure] else None


def _struck(parts: Sequence[int], solo: Solo, grid: Grid) -> list[_Struck]:
    """The plucks of a measure in order of position, then from string 5 to string 1."""
    found: list[_Struck] = []
    for place in parts:
        chosen = solo.chosen[place]
        for layer, option in zip(chosen.way.layers, chosen.options, strict=True):
            notes = grid.measures[place].notes
            note = notes[layer.note].note if layer.note >= 0 else -1
            then = notes[layer.note + 1].note if layer.tied else note
            first = note if layer.tied or not option.technique else -1
            found += _sounds(grid.cells[place].first + layer.slot, layer.role, option, (first, then))
    found.sort(key=lambda each: (each.at, -each.string))
    return found


def _sounds(slot: int, role: str, option: Option, carried: tuple[int, int]) -> list[_Struck]:
    """The sounds of a pick, which carries the first melody note, and of a note slurred from it, which the second."""
    at = 2 * slot
    parts = STATES[option.state]
    frets = (option.fret, *option.pinched)
    found = [
        _Struck(
            at,
            string,
            fret,
            finger,
            "drone" if role == "fill" and string == len(FINGERS) + 2 else role,
            "pick",
            -1,
            carried[0],
        )
        for (finger, string), fret in zip(parts, frets, strict=True)
    ]
    if option.technique:
        string = parts[0][1]
        found.append(
            _Struck(at + 1 + option.slow, string, option.to_fret, -1, role, option.technique, option.fret, carried[1])
        )
    return found


def _plucks(
    struck: Sequence[_Struck], parts: Sequence[int], grid: Grid, index: int, number: int, tuning: Tuning, capo: int
) -> list[Pluck]:
    half = grid.slots[index] / 2
    size = 2 * sum(grid.cells[place].size for place in parts)
    later = sorted({each.at for each in struck})
    ends = dict(pairwise([*later, size]))
    rings = {note.note: 2 * note.rings for place in parts for note in grid.measures[place].notes}
    plucks = []
    for count, each in enumerate(struck, start=1):
        length = ends[each.at] - each.at
        if each.carries >= 0 and each.technique == "pick":
            length = min(length, max(rings[each.carries], 2))
        plucks.append(
            Pluck(
                f"m{number}e{count}",
                _halves(each.at, half),
                _halves(length, half),
                each.string,
                each.fret,
                tuning.open_pitch(each.string) + each.fret + capo,
                FINGERS[each.finger] if each.finger >= 0 else None,
                cast("Role", each.role),
                cast("Technique", each.technique),
                each.from_fret if each.from_fret >= 0 else None,
            )
        )
    return plucks


@lru_cache(maxsize=1024)
def _halves(count: int, half: Fraction) -> Fraction:
    return count * half


def _melody(
    struck: Sequence[_Struck], plucks: Sequence[Pluck], grid: Grid, index: int, setting: Setting
) -> tuple[MelodyNote, ...]:
    carriers = {each.carries: k for k, each in enumerate(struck) if each.carries >= 0}
    found = []
    for k, note in enumerate(grid.played[index].notes):
        sung = MelodyNote(
            note.at * grid.scale,
            note.length * grid.scale,
            note.pitch + setting.shift + setting.capo,
            note.lyric,
            note.phrase_start,
        )
        if k in carriers:
            pluck = plucks[carriers[k]]
            place = _place(plucks, carriers[k], sung.at)
            sung = replace(sung, kept=True, pluck=pluck.id, moved=None if place == sung.at else place)
        found.append(sung)
    return tuple(found)


def _place(plucks: Sequence[Pluck], index: int, at: Fraction) -> Fraction:
    """Where a melody note is played: of a slurred one its own position if that is right, else that of its pick."""
    pluck = plucks[index]
    if pluck.finger is not None or pluck.at == at:
        return pluck.at
    return next(each.at for each in reversed(plucks[:index]) if each.string == pluck.string)
