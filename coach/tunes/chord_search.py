"""Finding chords for a melody that has none.

The melody is cut into beats. For each beat each chord of the key has a price: what the notes that sound there cost
over it, by their length and by the metre, and what its function costs at this place (a downbeat, the end of a phrase,
of a part, of the tune). Going from one chord to another has a price, too, by the two chords and by the place in the
measure. The row of chords with the lowest sum is found exactly by dynamic programming, beat by beat (Viterbi 1967,
IEEE Transactions on Information Theory 13, 260-269, from memory); of equal ones the row that keeps its chord, then the
chord that stands first in its key's table. The prices are those of :mod:`coach.tunes.chord_costs`.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, pairwise
from math import lcm

from coach.tunes import chord_costs as costs
from coach.tunes.chords import Chord
from coach.tunes.keys import Key, spell_near
from coach.tunes.tune import ChordChange, Measure, Meter

__all__ = ["Beat", "beats_of", "find_chords", "price_of", "roles_of"]


@dataclass(frozen=True, slots=True)
class Beat:
    """A beat of the melody, as the search sees it.

    Attributes:
        measure: the index of its measure.
        at: where it stands, in quarters from the start of its measure.
        key: the key in force.
        place: ``downbeat``, ``half`` or ``beat``; ``off`` where a measure was split within a beat.
        change: what a change of chord costs here, before the step itself.
        prices: for each chord of the key, in the order of :func:`roles_of`, what it costs to sound here.
    """

    measure: int
    at: Fraction
    key: Key
    place: str
    change: int
    prices: tuple[int, ...]


def find_chords(measures: Sequence[Measure], key: Key) -> tuple[Measure, ...]:
    """The same measures with chords that carry their melody, in place of any that they have.

    Chords change on beats only, mostly on downbeats. Phrases should be marked: their ends weigh. A pickup takes no
    chord; the first full measure begins with one.

    Args:
        measures: numbered, on paper.
        key: at the start.
    """
    found: dict[int, list[ChordChange]] = {}
    before: Chord | None = None
    beats = beats_of(measures, key)
    for beat, role in zip(beats, _cheapest(beats), strict=True):
        chord = roles_of(beat.key)[role][1]
        if chord != before:
            found.setdefault(beat.measure, []).append(ChordChange(beat.at, chord))
        before = chord
    return tuple(replace(measure, chords=tuple(found.get(index, ()))) for index, measure in enumerate(measures))


@lru_cache(maxsize=64)
def roles_of(key: Key) -> tuple[tuple[str, Chord], ...]:
    """The chords that a key offers, each with its name in the table of prices, the likeliest first."""
    return tuple(
        (name, Chord(spell_near(key.tonic_pc + step, key.fifths) if step else key.tonic, quality))
        for name, (step, quality) in costs.ROLES[key.mode].items()
    )


def price_of(beats: Sequence[Beat], roles: Sequence[int]) -> int:
    """What a row of chords costs, one for each beat, each as an index into :func:`roles_of` of the beat's key."""
    steps = sum(
        _step(before.key, one, beat.key, other) + beat.change
        for (before, one), (beat, other) in pairwise(zip(beats, roles, strict=True))
        if not _same(before.key, one, beat.key, other)
    )
    return steps + sum(beat.prices[role] for beat, role in zip(beats, roles, strict=True))


def beats_of(measures: Sequence[Measure], key: Key) -> tuple[Beat, ...]:
    """The beats from the first full measure on, with the price of each chord at each."""
    grid = _grid(measures)
    sounding, phrase_ends = _sounding(measures, grid)
    sounds = {spot.measure for spot, weights in zip(grid.spots, sounding, strict=True) if weights}
    left = _measures_left(measures)
    beats: list[Beat] = []
    for spot, heard in zip(grid.spots, sounding, strict=True):
        measure = measures[spot.measure]
        if spot.at == 0 and measure.key is not None:
            key = measure.key
        final = len(beats) == len(grid.spots) - 1
        closes = final or grid.spots[len(beats) + 1].measure != spot.measure
        tables = [] if beats else ["opening"]
        if spot.place == "downbeat":
            tables.append("downbeat")
        if left[spot.measure] == 0:
            tables.append("part end" if closes else "approach")
        if len(beats) in phrase_ends:
            tables.append("phrase end")
        if final:
            tables.append("final")
        second = spot.place == "downbeat" and left[spot.measure] % 2 == 0
        silent = spot.measure not in sounds
        change = 100 * (costs.CHANGE[spot.place] + costs.SECOND_OF_A_PAIR * second + costs.SILENT * silent)
        at = Fraction(spot.at, grid.ticks)
        beats.append(Beat(spot.measure, at, key, spot.place, change, _prices(key, heard, tuple(tables))))
    return tuple(beats)


@dataclass(frozen=True, slots=True)
class _Spot:
    """A beat of the grid: its measure, where it stands in it and in the tune (in ticks), its name."""

    measure: int
    at: int
    start: int
    place: str


@dataclass(frozen=True, slots=True)
class _Grid:
    """The beats, in ticks: whole numbers are quicker than fractions.

    Attributes:
        ticks: to a quarter, so many that every note and beat falls on one.
        starts: of the measures.
        shifts: of the measures: where in the metre they begin, which is 0 but for one that goes on with a short one.
        spots: the beats.
    """

    ticks: int
    starts: tuple[int, ...]
    shifts: tuple[int, ...]
    spots: tuple[_Spot, ...]


def _grid(measures: Sequence[Measure]) -> _Grid:
    ticks = lcm(
        *(measure.length.denominator for measure in measures),
        *(2 * measure.meter.unit for measure in measures),
        *(value.denominator for measure in measures for note in measure.notes for value in (note.at, note.length)),
    )
    lengths = [int(measure.length * ticks) for measure in measures]
    shifts = [0] * len(measures)
    for index, (before, measure) in enumerate(pairwise(measures), start=1):
        together = before.length + measure.length
        if before.meter == measure.meter and together == measure.meter.length and before.length > 0:
            shifts[index] = lengths[index - 1]
    starts = tuple(accumulate(lengths, initial=0))[:-1]
    spots = tuple(
        _Spot(index, at, start + at, _place(measure.meter, ticks, shift + at))
        for index, (measure, start, shift) in enumerate(zip(measures, starts, shifts, strict=True))
        if measure.number > 0
        for at in range(0, lengths[index], int(measure.meter.beat * ticks))
    )
    return _Grid(ticks, starts, tuple(shifts), spots)


@lru_cache(maxsize=4096)
def _place(meter: Meter, ticks: int, at: int) -> str:
    """The name of a place in a measure, ``at`` in ticks."""
    if at == 0:
        return "downbeat"
    if 2 * at == meter.length * ticks and meter.count % 2 == 0:
        return "half"
    return "beat" if at % (meter.beat * ticks) == 0 else "off"


def _measures_left(measures: Sequence[Measure]) -> list[int]:
    """For each measure how many follow it in its part, which ends at a double bar or the end of a repeat."""
    left: list[int] = []
    for measure in reversed(measures):
        left.append(0 if not left or measure.double_bar or measure.repeat_end > 1 else left[-1] + 1)
    return left[::-1]


def _prices(key: Key, heard: dict[int, int], tables: tuple[str, ...]) -> tuple[int, ...]:
    """What each chord of the key costs where these pitch classes sound, by weight, and these tables hold."""
    sounds = tuple(heard.items())
    return tuple(
        price + sum([tones[pc] * weight for pc, weight in sounds])
        for price, tones in zip(_function_prices(key, tables), _tone_prices(key), strict=True)
    )


@lru_cache(maxsize=64)
def _tone_prices(key: Key) -> tuple[tuple[int, ...], ...]:
    """For each chord of the key the price of each pitch class."""
    return tuple(
        tuple(costs.TONES[chord.quality][(pc - chord.root_pc) % 12] for pc in range(12)) for _, chord in roles_of(key)
    )


@lru_cache(maxsize=512)
def _function_prices(key: Key, tables: tuple[str, ...]) -> tuple[int, ...]:
    """For each chord of the key what its function costs where these tables hold."""
    functions = [costs.FUNCTIONS.get(name, costs.OTHER) for name, _ in roles_of(key)]
    chosen = [costs.PLACES[table] for table in tables]
    return tuple(100 * sum(table.get(one, table[costs.OTHER]) for table in chosen) for one in functions)


def _sounding(measures: Sequence[Measure], grid: _Grid) -> tuple[list[dict[int, int]], set[int]]:
    """The pitch classes that sound in each beat, with their weight in percent; and the last beats of phrases."""
    starts = [spot.start for spot in grid.spots]
    heard: list[dict[int, int]] = [{} for _ in starts]
    ends = {len(starts) - 1}
    for measure, begin, shift in zip(measures, grid.starts, grid.shifts, strict=True):
        beat = int(measure.meter.beat * grid.ticks)
        for note in measure.notes:
            at = int(note.at * grid.ticks)
            start = begin + at
            end = start + int(note.length * grid.ticks)
            place = bisect_right(starts, start) - 1
            if note.phrase_start:
                ends.add(place - 1)
            metre = costs.METRE[_place(measure.meter, grid.ticks, shift + at)]
            struck = costs.STRUCK
            for here in range(max(place, 0), len(starts)):
                stop = starts[here + 1] if here + 1 < len(starts) else end
                within = min(end, stop) - max(start, starts[here])
                if within > 0:
                    weight = (costs.LENGTH * within // beat + struck) * metre // 100
                    pc = note.pitch % 12
                    heard[here][pc] = heard[here].get(pc, 0) + weight
                if stop >= end:
                    break
                struck = 0
    return heard, ends


def _same(key: Key, role: int, other_key: Key, other: int) -> bool:
    return role == other if key == other_key else roles_of(key)[role][1] == roles_of(other_key)[other][1]


def _step(key: Key, role: int, other_key: Key, other: int) -> int:
    """What it costs to go from a chord to another one."""
    if key != other_key:
        return 100 * costs.OTHER_STEP
    return 100 * costs.STEPS.get((roles_of(key)[role][0], roles_of(other_key)[other][0]), costs.OTHER_STEP)


@lru_cache(maxsize=64)
def _usual(key: Key) -> tuple[tuple[tuple[int, int], ...], ...]:
    """For each chord of a key those from which the step to it has a price of its own, with the price."""
    names = [name for name, _ in roles_of(key)]
    return tuple(
        tuple(
            (place, 100 * costs.STEPS[before, name])
            for place, before in enumerate(names)
            if (before, name) in costs.STEPS
        )
        for name in names
    )


def _cheapest(beats: Sequence[Beat]) -> list[int]:
    """The row of chords with the lowest price."""
    if not beats:
        return []
    sums = list(beats[0].prices)
    came: list[list[int]] = []
    for before, beat in pairwise(beats):
        best = min(range(len(sums)), key=sums.__getitem__)
        other = sums[best] + 100 * costs.OTHER_STEP + beat.change
        following: list[int] = []
        origins: list[int] = []
        usual = _usual(beat.key)
        for role, price in enumerate(beat.prices):
            if before.key == beat.key:
                stay, origin = sums[role], role
                steps = usual[role]
            else:
                stay, origin = _kept(before.key, sums, beat.key, role)
                steps = ()
            if other < stay:
                stay, origin = other, best
            for place, step in steps:
                if sums[place] + step + beat.change < stay:
                    stay, origin = sums[place] + step + beat.change, place
            following.append(stay + price)
            origins.append(origin)
        sums = following
        came.append(origins)
    row = [min(range(len(sums)), key=sums.__getitem__)]
    for origins in reversed(came):
        row.append(origins[row[-1]])
    return row[::-1]


_NEVER = 10**15


def _kept(key: Key, sums: Sequence[int], other_key: Key, other: int) -> tuple[int, int]:
    """What it costs to keep a chord where the key changes; more than anything where the old key does not have it."""
    for role in range(len(sums)):
        if _same(key, role, other_key, other):
            return sums[role], role
    return _NEVER, 0
