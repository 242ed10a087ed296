"""The tune written out on the solo's grid: what each slot of each measure holds before any note is chosen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from coach.arranging.setting import Grain, Setting, doubled
from coach.tunes.chords import Chord
from coach.tunes.keys import Key
from coach.tunes.tune import Measure, Meter, Note

__all__ = ["EVEN", "Grid", "GridMeasure", "GridNote", "find_grid", "is_even"]

EVEN = 4  # a measure with so many even melody notes, all struck, turns wooden in a roll


class GridNote(NamedTuple):
    """A melody note that has a slot.

    Attributes:
        slot: of its measure, from 0.
        rings: slots until the next melody note or the note's own end, whichever is first; at least 1.
        pitch: MIDI note number at capo 0.
        note: its index among the notes of the played measure.
        exact: whether the slot is where the tune has it.
        strong: whether it falls on a strong beat.
        starts: whether a phrase begins here.
        ends: whether it is the last of its phrase.
        top: whether it is the highest of its phrase.
        fades: 2 for a repeat of the note before, 1 for a passing or neighbouring note, else 0.
        spare: whether the roll tiers may leave it out.
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


class GridMeasure(NamedTuple):
    """A measure on the grid; equal measures get equal plucks.

    Attributes:
        size: slots in the measure.
        beat: slots in a beat as the hands count: two, or three of the units of a compound metre.
        pulse: slots from one strong beat to the next.
        compound: whether beats divide into three.
        full: whether it is as long as its metre says.
        notes: the melody notes that have a slot, in order.
        spare: how many of the spare notes the roll tiers may leave out.
        tones: the pitch classes of the sounding chord, by slot.
        roots: the pitch class of its root, by slot.
        held: the melody pitch that still rings from before, or None.
        held_for: slots for which it rings, 0 where ``held`` is None.
        since: slots from the latest melody note to the barline before the measure; 0 before the first one.
        then: slots from the end of the measure to the next melody note; the size of the measure at most.
        then_pitch: the pitch of that note, None where there is none.
        home: whether the chord at the last melody note is the home chord.
        last: whether the tune ends here.
    """

    size: int
    beat: int
    pulse: int
    compound: bool
    full: bool
    notes: tuple[GridNote, ...]
    spare: int
    tones: tuple[frozenset[int], ...]
    roots: tuple[int, ...]
    held: int | None
    held_for: int
    since: int
    then: int
    then_pitch: int | None
    home: bool
    last: bool


@dataclass(frozen=True, slots=True)
class Grid:
    """A tune on its grid.

    Attributes:
        played: the measures as read and written out.
        measures: the same on the grid.
        slots: the slot of each measure, in quarters as the solo is notated.
        meters: the metre of each measure as the solo is notated.
        chords: what the player thinks in, by measure: position in quarters as notated, chord.
        scale: the solo's notation over the tune's.
        thinned: melody notes that found no slot.
    """

    played: tuple[Measure, ...]
    measures: tuple[GridMeasure, ...]
    slots: tuple[Fraction, ...]
    meters: tuple[Meter, ...]
    chords: tuple[tuple[tuple[Fraction, Chord], ...], ...]
    scale: int
    thinned: int


class _Placed(NamedTuple):
    """A melody note on its way to the grid: its measure, slot and place among the measure's notes."""

    measure: int
    slot: int
    place: int
    note: Note
    exact: bool


def find_grid(played: Sequence[Measure], grain: Grain, setting: Setting) -> Grid:
    """Put a tune, written out, on its grid."""
    scale = grain.scale
    sizes, slots = [], []
    for measure in played:
        slot = grain.slot
        while (measure.length / slot).denominator > 1:
            slot /= 2
            if slot < Fraction(1, 64):
                slot = measure.length
        sizes.append(int(measure.length / slot))
        slots.append(slot)
    placed = [each for i, measure in enumerate(played) for each in _place(i, measure, slots[i], sizes[i])]
    if grain.dense:
        placed = _strong_ones(placed, played, slots)
    starts = [0]
    for size in sizes:
        starts.append(starts[-1] + size)
    onsets = [starts[each.measure] + each.slot for each in placed]
    chords = _chords(played, setting)
    notes: list[list[GridNote]] = [[] for _ in played]
    ends, tops = _phrases(placed)
    held: list[tuple[int | None, int]] = [(None, 0)] * len(played)
    for k, each in enumerate(placed):
        meter, slot = played[each.measure].meter, slots[each.measure]
        stop = onsets[k + 1] if k + 1 < len(placed) else starts[-1]
        rings = max(1, min(int(each.note.length / slot), stop - onsets[k]))
        pitch = each.note.pitch + setting.shift
        over = onsets[k] + rings - starts[each.measure + 1]
        later = each.measure + 1
        while over > 0 and later < len(played):
            held[later] = (pitch, min(over, sizes[later]))
            over -= sizes[later]
            later += 1
        notes[each.measure].append(
            GridNote(
                each.slot,
                rings,
                pitch,
                each.place,
                each.exact,
                _strong(each.slot * slot, meter, played[each.measure].length),
                each.note.phrase_start or k == 0,
                k in ends,
                k in tops,
                _fades(placed, k),
                spare=False,
            )
        )
    spare = _spare(notes, sizes, [len(measure.notes) for measure in played])
    since = _since(onsets, starts)
    home = frozenset({setting.key.tonic_pc, (setting.key.tonic_pc + 7) % 12})
    firsts = _next_onsets(placed, onsets, starts)
    measures = []
    for i, measure in enumerate(played):
        sounding = _sounding(chords, i, sizes[i], slots[i], setting.key)
        tones = tuple(chord.pitch_classes for chord in sounding)
        last = notes[i][-1].slot if notes[i] else 0
        gap, next_pitch = firsts[i]
        measures.append(
            GridMeasure(
                sizes[i],
                max(2, int(measure.meter.beat / slots[i])) if measure.meter.compound else 2,
                max(1, int(_pulse(measure.meter) / slots[i])),
                measure.meter.compound,
                measure.length == measure.meter.length,
                tuple(notes[i]),
                spare[i],
                tones,
                tuple(chord.root_pc for chord in sounding),
                *held[i],
                since[i],
                min(gap, sizes[i]),
                next_pitch + setting.shift if next_pitch is not None else None,
                home <= tones[last],
                i == len(played) - 1,
            )
        )
    return Grid(
        tuple(played),
        tuple(measures),
        tuple(slot * scale for slot in slots),
        tuple(doubled(measure.meter) if scale > 1 else measure.meter for measure in played),
        tuple(tuple((at * scale, chord) for at, chord in each) for each in chords),
        scale,
        sum(len(measure.notes) for measure in played) - len(placed),
    )


def _place(index: int, measure: Measure, slot: Fraction, size: int) -> list[_Placed]:
    """The notes of a measure at their slots; one between two slots takes the earlier that is free, else none."""
    taken: dict[int, _Placed] = {}
    between = []
    for k, note in enumerate(measure.notes):
        where = note.at / slot
        if where.denominator == 1:
            taken[int(where)] = _Placed(index, int(where), k, note, exact=True)
        else:
            between.append((k, note, where))
    for k, note, where in between:
        low = int(where)
        order = sorted((low, low + 1), key=lambda s: (abs(where - s), s))
        free = next((s for s in order if s < size and s not in taken), None)
        if free is not None and _in_order(taken, free, k):
            taken[free] = _Placed(index, free, k, note, exact=False)
    return [taken[s] for s in sorted(taken)]


def _in_order(taken: dict[int, _Placed], slot: int, index: int) -> bool:
    return all((s < slot) == (each.place < index) for s, each in taken.items())


def _strong_ones(placed: list[_Placed], played: Sequence[Measure], slots: Sequence[Fraction]) -> list[_Placed]:
    """Of a melody that is too dense: the notes on even slots of their beat, those that ring, and phrase starts."""
    kept = []
    for each in placed:
        beat = max(1, int(played[each.measure].meter.beat / slots[each.measure]))
        place = each.slot % beat
        on_beat = place == 0 if beat % 2 else place % 2 == 0
        if on_beat or each.note.phrase_start or each.note.length >= 2 * slots[each.measure]:
            kept.append(each)
    return kept


def _strong(at: Fraction, meter: Meter, length: Fraction) -> bool:
    """Whether a position lies on a strong beat."""
    at += meter.length - length if length < meter.length and at < length else 0
    return at % _pulse(meter) == 0


def _pulse(meter: Meter) -> Fraction:
    """Quarters from one strong beat to the next: half a measure where beats pair, else a measure."""
    return meter.length / 2 if (meter.length / meter.beat) % 2 == 0 else meter.length


def _phrases(placed: Sequence[_Placed]) -> tuple[set[int], set[int]]:
    """Indices of the last and of the highest notes of the phrases."""
    starts = [k for k, each in enumerate(placed) if k == 0 or each.note.phrase_start]
    ends, tops = set(), set()
    for a, b in pairwise([*starts, len(placed)]):
        ends.add(b - 1)
        tops.add(max(range(a, b), key=lambda k: (placed[k].note.pitch, -k)))
    return ends, tops


def _fades(placed: Sequence[_Placed], k: int) -> int:
    if not 0 < k < len(placed) - 1:
        return 0
    before, here, after = (placed[j].note.pitch for j in (k - 1, k, k + 1))
    if here in (before, after):
        return 2
    return int(abs(here - before) <= 2 and abs(after - here) <= 2)


def _spare(notes: list[list[GridNote]], sizes: Sequence[int], written: Sequence[int]) -> list[int]:
    """Mark what the roll tiers may leave out; return how many of the marked ones, by measure.

    One in four of a measure at most and one in five of the tune, the measures with four even notes first.
    """
    left = sum(written) // 5 - (sum(written) - sum(map(len, notes)))
    allowed = [0] * len(notes)
    found = []
    for i, measure in enumerate(notes):
        weak = [k for k, n in enumerate(measure) if n.fades and not (n.strong or n.starts or n.ends or n.top)]
        if weak:
            found.append((not is_even(measure, sizes[i]), -max(measure[k].fades for k in weak), i, weak))
    for _, _, i, weak in sorted(found):
        count = min(written[i] // EVEN - (written[i] - len(notes[i])), len(weak), left)
        if count > 0:
            allowed[i] = count
            left -= count
            for k in weak:
                notes[i][k] = notes[i][k]._replace(spare=True)
    return allowed


def is_even(notes: Sequence[GridNote], size: int) -> bool:
    """Whether a measure of that many slots has four melody notes, evenly spread."""
    return len(notes) == EVEN and all(note.slot * EVEN == k * size for k, note in enumerate(notes))


def _since(onsets: Sequence[int], starts: Sequence[int]) -> list[int]:
    """For each measure the slots from the latest melody note before it to its barline, 0 where there is none."""
    latest = {start: [onset for onset in onsets if onset < start][-1:] for start in starts[:-1]}
    return [start - latest[start][0] if latest[start] else 0 for start in starts[:-1]]


def _next_onsets(
    placed: Sequence[_Placed], onsets: Sequence[int], starts: Sequence[int]
) -> list[tuple[int, int | None]]:
    """For each measure the slots from its end to the next melody note, and that note's pitch."""
    found: list[tuple[int, int | None]] = []
    k = 0
    for end in starts[1:]:
        while k < len(onsets) and onsets[k] < end:
            k += 1
        found.append((onsets[k] - end, placed[k].note.pitch) if k < len(onsets) else (starts[-1], None))
    return found


def _chords(played: Sequence[Measure], setting: Setting) -> list[tuple[tuple[Fraction, Chord], ...]]:
    fifths = setting.key.fifths
    return [
        tuple((change.at, change.chord.transposed(setting.chord_shift, fifths)) for change in measure.chords)
        for measure in played
    ]


def _sounding(
    chords: Sequence[Sequence[tuple[Fraction, Chord]]], index: int, size: int, slot: Fraction, key: Key
) -> list[Chord]:
    """The chord of each slot of a measure."""
    before = next((each[-1][1] for each in reversed(chords[:index]) if each), None)
    if before is None:
        before = next((each[0][1] for each in chords if each), Chord(key.tonic, "m" if key.minor else ""))
    by_slot = []
    changes = list(chords[index])
    current = before
    for s in range(size):
        while changes and changes[0][0] <= s * slot:
            current = changes.pop(0)[1]
        by_slot.append(current)
    return by_slot
