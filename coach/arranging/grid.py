"""The tune written out on the solo's grid: what each slot of each measure holds before any pluck is chosen."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from typing import NamedTuple

from coach.arranging.grain import Grain, scaled
from coach.arranging.placing import (
    Placed,
    Spare,
    anticipates,
    fades,
    is_strong,
    phrase_marks,
    place,
    pulse,
    spare,
    strong_ones,
)
from coach.arranging.setting import Setting
from coach.tunes.chords import Chord
from coach.tunes.keys import Key
from coach.tunes.tune import Measure, Meter

__all__ = ["MOST_SLURS", "Cell", "Grid", "GridMeasure", "GridNote", "find_grid"]

MOST_SLURS = 3  # embellishments of a measure; of one that is longer than its metre says as many more
_LONGEST = 10  # slots; a longer measure is searched in parts
_USUAL = 8
_FINEST = Fraction(1, 64)


class GridNote(NamedTuple):
    """A melody note that has a slot.

    Attributes:
        slot: from the start of its cell.
        rings: slots until the next melody note or the note's own end, whichever is first; at least 1.
        pitch: MIDI note number at capo 0.
        note: its index among the notes of the played measure.
        exact: whether the slot is where the tune has it, and need not stay there as an anticipation must.
        strong: whether it falls on a strong beat.
        starts: whether a phrase begins here.
        ends: whether it is the last of its phrase.
        top: whether it is the highest of its phrase.
        fades: 2 for a repeat of a neighbour, 1 for a passing note, else 0.
        spare: whether the roll tiers may leave it out.
        grace: the pitch of the grace note before it, at capo 0, or None; it has no slot of its own.
    """

    slot: int
    rings: int
    pitch: int
    note: int
    exact: bool
    strong: bool
    starts: bool
    ends: bool
    top: bool
    fades: int
    spare: bool
    grace: int | None = None


class GridMeasure(NamedTuple):
    """A measure on the grid, or a part of a long one; equal ones get equal plucks.

    Attributes:
        size: its slots.
        beat: slots in a beat as the hands count: two, or three of the units of a compound metre.
        pulse: slots from one strong beat to the next.
        fine: how many of its slots a slot of the tune lasts; 1 but where the measure needs a finer grid.
        parts: into how many parts the measure of the tune is cut; 1 where it is whole.
        slurs: how many of the slurs that the measure of the tune may have are its own.
        opens: whether it begins that measure.
        compound: whether beats divide into three.
        notes: the melody notes that have a slot, in order.
        lost: slots on which a melody note would begin that found no room.
        spare: how many of the spare notes the roll tiers may leave out.
        wooden: whether it turns wooden in a roll when none of them is left out.
        tones: the pitch classes of the sounding chord, by slot.
        roots: the pitch class of its root, by slot.
        held: the melody pitch that still rings from before, or None.
        held_for: slots for which it rings, 0 where ``held`` is None.
        since: slots from the latest melody note to the start; 0 before the first one.
        then: slots from its end to the next melody note; its size at most.
        then_pitch: the pitch of that note, None where there is none.
        home: whether the chord at the last melody note is the home chord.
        last: whether the tune ends here.
    """

    size: int
    beat: int
    pulse: int
    fine: int
    parts: int
    slurs: int
    opens: bool
    compound: bool
    notes: tuple[GridNote, ...]
    lost: tuple[int, ...]
    spare: int
    wooden: bool
    tones: tuple[frozenset[int], ...]
    roots: tuple[int, ...]
    held: int | None
    held_for: int
    since: int
    then: int
    then_pitch: int | None
    home: bool
    last: bool


class Cell(NamedTuple):
    """Which slots of which played measure (by index) a grid measure holds."""

    measure: int
    first: int
    size: int


@dataclass(frozen=True, slots=True)
class Grid:
    """A tune on its grid.

    Attributes:
        played: the measures as read and written out.
        cells: the measures, and parts of long ones, that are searched, in order.
        measures: the same on the grid.
        slots: the slot of each played measure, in quarters as the solo is notated.
        meters: the metre of each played measure as the solo is notated.
        chords: what the player thinks in, by played measure: position in quarters as notated, chord.
        scale: the solo's notation over the tune's.
        thinned: melody notes that found no slot.
        moved: for each melody note that lies between two slots and found one, the index of its played measure.
    """

    played: tuple[Measure, ...]
    cells: tuple[Cell, ...]
    measures: tuple[GridMeasure, ...]
    slots: tuple[Fraction, ...]
    meters: tuple[Meter, ...]
    chords: tuple[tuple[tuple[Fraction, Chord], ...], ...]
    scale: Fraction
    thinned: int
    moved: tuple[int, ...]


def find_grid(played: Sequence[Measure], grains: Sequence[Grain], setting: Setting) -> Grid:
    """Put a tune, written out, on its grid, each measure with its own grain."""
    slots = [_slot(measure, grain.slot) for measure, grain in zip(played, grains, strict=True)]
    dense = [grain.dense for grain in grains]
    sizes = [int(measure.length / slot) for measure, slot in zip(played, slots, strict=True)]
    placed = [each for i, measure in enumerate(played) for each in place(i, measure, slots[i], sizes[i])]
    placed = strong_ones(placed, played, slots, dense)
    starts = [0, *accumulate(sizes)]
    onsets = [starts[each.measure] + each.slot for each in placed]
    notes = _notes(placed, onsets, played, slots, starts[-1], setting.shift, dense)
    weak = [
        0
        if note.strong or note.starts or note.ends or note.top or anticipates(each.note, played[each.measure])
        else note.fades
        for note, each in zip(notes, placed, strict=True)
    ]
    chords = [
        tuple((change.at, change.chord.transposed(setting.chord_shift, setting.key.fifths)) for change in each.chords)
        for each in played
    ]
    cutting = _Cutting(played, slots, sizes, starts, onsets, notes, spare(placed, weak, played, sizes, dense=dense))
    sounding = _sounding(chords, sizes, slots, setting.key)
    cells = [Cell(i, first, size) for i, whole in enumerate(sizes) for first, size in _parts(whole)]
    home = frozenset({setting.key.tonic_pc, (setting.key.tonic_pc + 7) % 12})
    scale = grains[0].scale
    return Grid(
        tuple(played),
        tuple(cells),
        tuple(cutting.cut(cell, sounding[cell.measure], home) for cell in cells),
        tuple(slot * scale for slot in slots),
        tuple(scaled(measure.meter, scale) for measure in played),
        tuple(tuple((at * scale, chord) for at, chord in each) for each in chords),
        scale,
        sum(len(measure.notes) for measure in played) - len(placed),
        tuple(each.measure for each in placed if not each.exact),
    )


def _slot(measure: Measure, slot: Fraction) -> Fraction:
    """The slot of a measure: the tune's, or half of it and so on where that does not fill the measure."""
    while (measure.length / slot).denominator > 1:
        slot = slot / 2 if slot > _FINEST else measure.length
    return slot


def _parts(size: int) -> Iterator[tuple[int, int]]:
    """First slot and size of the parts of a measure."""
    least = -(-size // _LONGEST)
    count = next((n for n in range(least, 2 * least + 1) if size % n == 0), 0)
    length = size // count if count else _USUAL
    last = (size // length - 1) * length
    for first in range(0, last + 1, length):
        yield first, length if first < last else size - last


def _slurs(measure: Measure, part: int, parts: int) -> int:
    """How many slurs a part of a measure may have: an even share, and where there are more parts the first ones one."""
    most = MOST_SLURS * max(1, -int(-measure.length // measure.meter.length))
    return max(most // parts, int(part < most))


def _notes(
    placed: Sequence[Placed],
    onsets: Sequence[int],
    played: Sequence[Measure],
    slots: Sequence[Fraction],
    end: int,
    shift: int,
    dense: Sequence[bool],
) -> list[GridNote]:
    """The melody notes, their slots still counted from the start of their measure.

    Where a melody is too dense a note stands for those that were left out behind it, and rings so long.
    """
    ends, tops = phrase_marks(placed)
    notes = []
    for k, (index, slot, number, note, exact) in enumerate(placed):
        stop = onsets[k + 1] if k + 1 < len(placed) else end
        notes.append(
            GridNote(
                slot,
                max(1, stop - onsets[k] if dense[index] else min(int(note.length / slots[index]), stop - onsets[k])),
                note.pitch + shift,
                number,
                exact and not anticipates(note, played[index]),
                is_strong(slot * slots[index], played[index]),
                note.phrase_start or k == 0,
                k in ends,
                k in tops,
                fades(placed, k),
                spare=False,
                grace=None if note.grace is None else note.grace + shift,
            )
        )
    return notes


class _Cutting:
    """Cuts the line of melody notes into cells."""

    def __init__(
        self,
        played: Sequence[Measure],
        slots: Sequence[Fraction],
        sizes: Sequence[int],
        starts: Sequence[int],
        onsets: Sequence[int],
        notes: Sequence[GridNote],
        spare_notes: Sequence[Spare],
    ) -> None:
        self._played, self._slots, self._sizes, self._starts = played, slots, sizes, starts
        self._onsets, self._notes, self._spare = onsets, notes, spare_notes
        self._slot = max(slots)

    def cut(self, cell: Cell, chords: Sequence[Chord], home: frozenset[int]) -> GridMeasure:
        """The grid measure of a cell."""
        measure, slot = self._played[cell.measure], self._slots[cell.measure]
        start = self._starts[cell.measure] + cell.first
        low = bisect_left(self._onsets, start)
        high = bisect_left(self._onsets, start + cell.size, low)
        allowed = self._spare[cell.measure]
        # Of a measure in parts each part gets its own share of the notes that may go.
        chosen = allowed.notes if cell.size == self._sizes[cell.measure] else allowed.notes[: allowed.most]
        here = [k for k in chosen if low <= k < high]
        notes = tuple(self._notes[k]._replace(slot=self._onsets[k] - start, spare=k in here) for k in range(low, high))
        held, held_for, since = None, 0, 0
        if low:
            before = self._notes[low - 1]
            since = start - self._onsets[low - 1]
            held_for = max(0, min(before.rings - since, cell.size))
            held = before.pitch if held_for else None
        more = high < len(self._onsets)
        sounding = chords[cell.first : cell.first + cell.size]
        compound = measure.meter.compound
        parts = list(_parts(self._sizes[cell.measure]))
        return GridMeasure(
            cell.size,
            max(2, int(measure.meter.beat / slot)) if compound else 2,
            max(1, int(pulse(measure.meter) / slot)),
            int(self._slot / slot),
            len(parts),
            _slurs(measure, parts.index((cell.first, cell.size)), len(parts)),
            cell.first == 0,
            compound,
            notes,
            self._lost(cell, notes),
            min(allowed.most, len(here)),
            allowed.even and (bool(here) if allowed.notes else cell.first == 0),
            tuple(chord.pitch_classes for chord in sounding),
            tuple(chord.root_pc for chord in sounding),
            held,
            held_for,
            since,
            min(self._onsets[high] - start - cell.size, cell.size) if more else cell.size,
            self._notes[high].pitch if more else None,
            home <= sounding[notes[-1].slot if notes else 0].pitch_classes,
            start + cell.size == self._starts[-1],
        )

    def _lost(self, cell: Cell, notes: Sequence[GridNote]) -> tuple[int, ...]:
        """The slots of the cell in which a melody note begins that has no slot."""
        slot = self._slots[cell.measure]
        kept = {note.note for note in notes}
        places = [
            int(note.at / slot) - cell.first for k, note in enumerate(self._played[cell.measure].notes) if k not in kept
        ]
        return tuple(place for place in places if 0 <= place < cell.size)


def _sounding(
    chords: Sequence[Sequence[tuple[Fraction, Chord]]], sizes: Sequence[int], slots: Sequence[Fraction], key: Key
) -> list[list[Chord]]:
    """The chord of each slot of each measure; the home chord or the first where none is written yet."""
    current = next((each[0][1] for each in chords if each), Chord(key.tonic, "m" if key.minor else ""))
    found = []
    for changes, size, slot in zip(chords, sizes, slots, strict=True):
        by_slot: list[Chord] = []
        for at, chord in changes:
            until = min(size, -int(-at // slot))
            by_slot += [current] * (until - len(by_slot))
            current = chord
        by_slot += [current] * (size - len(by_slot))
        found.append(by_slot)
    return found
