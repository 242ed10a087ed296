"""The ways of a measure for the beginner: bare melody, pinches on long notes, a roll only where the melody waits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure, GridNote
from coach.arranging.neck import ANYWHERE, Neck, Reach, reach_of
from coach.arranging.search import PINCHES, Layer, Option, Way, layer
from coach.instrument.hands import FINGERS

__all__ = ["plain_ways", "sung"]

_MOST_PINCHES = 2
_FIRST_REACH = reach_of(1)
# The rolls of a beginner's fill: forward and alternating, from each finger.
_FILL_ROWS = ("TIMTIMTI", "IMTIMTIM", "MTIMTIMT", "TITMTITM", "ITMTITMT", "MTITMTIT")
_LONGEST_FILL = 8


class _Wait(NamedTuple):
    """A stretch without melody: its slots in the measure, and slots from the melody note before to the next."""

    start: int
    stop: int
    onset: int
    whole: int


class _Filling(NamedTuple):
    """What is done in a wait: slots of pinches, and the fingers of a roll from a slot on."""

    price: int
    pinches: tuple[int, ...] = ()
    roll: int = 0
    fingers: str = ""


def sung(measure: GridMeasure) -> list[int]:
    """The melody notes the beginner plays: all but those repeated in the very next slot."""
    kept: list[int] = []
    for k, note in enumerate(measure.notes):
        before = measure.notes[kept[-1]] if kept else None
        if before is None or note.pitch != before.pitch or note.slot > before.slot + 1 or note.starts:
            kept.append(k)
    return kept


def plain_ways(measure: GridMeasure, neck: Neck, hands: Sequence[int], *, need: int = 0) -> list[Way]:
    """The ways of a measure.

    Args:
        measure: on the grid.
        neck: to play on.
        hands: positions of the left hand to try.
        need: how many of the weakest notes are left out because nothing else was found.
    """
    kept = [measure.notes[k] for k in sung(measure)]
    indices = sung(measure)
    if need:
        weak = sorted(range(len(kept)), key=lambda i: (kept[i].starts, kept[i].strong, -kept[i].fades, kept[i].rings))
        gone = set(weak[:need])
        indices = [k for i, k in enumerate(indices) if i not in gone]
        kept = [note for i, note in enumerate(kept) if i not in gone]
    waits = list(_waits(measure, kept))
    ways = []
    for hand in hands:
        reach = reach_of(hand)
        melody = _melody(measure, neck, kept, indices, reach)
        if melody is None:
            continue
        for chosen in product(*(list(_fillings(measure, wait)) for wait in waits)):
            pinches = [slot for filling in chosen for slot in filling.pinches]
            if len(pinches) > _MOST_PINCHES // measure.parts:
                continue
            price = sum(filling.price for filling in chosen) + cost("pinch") * max(0, len(pinches) - 1)
            layers = list(melody)
            layers += [_pinch(measure, neck, slot) for slot in pinches]
            for wait, filling in zip(waits, chosen, strict=True):
                layers += _roll(measure, neck, kept, wait, filling, reach)
            if all(each.mask for each in layers):
                layers.sort(key=lambda each: each.slot)
                ways.append(
                    Way(
                        price + cost("left out in need") * need,
                        tuple(layers),
                        measure.size,
                        hand,
                        rolled=False,
                        fine=measure.fine,
                    )
                )
    return sorted(ways, key=lambda way: way.price)


def _melody(
    measure: GridMeasure, neck: Neck, kept: Sequence[GridNote], indices: Sequence[int], reach: Reach
) -> list[Layer] | None:
    layers = []
    for i, note in enumerate(kept):
        before = kept[i - 1] if i and kept[i - 1].slot == note.slot - 1 else None
        after = kept[i + 1] if i + 1 < len(kept) and kept[i + 1].slot == note.slot + 1 else None
        together = before is not None and neck.run_together(before.pitch, note.pitch, (reach, reach))
        run = together or (after is not None and neck.run_together(note.pitch, after.pitch, (reach, reach)))
        alone = before is None and after is None and 0 < note.slot < measure.size - 1
        where = ANYWHERE if alone and not neck.in_reach(note.pitch, reach) else reach
        each = neck.melody_layer(note.slot, note.pitch, where, indices[i], run=run, together=together)
        if not each.mask:
            return None
        layers.append(each)
    return layers


def _waits(measure: GridMeasure, kept: Sequence[GridNote]) -> Iterator[_Wait]:
    """The stretches of two beats and more from one melody note of the tune to the next."""
    onsets = sorted([*(note.slot for note in measure.notes), *measure.lost])
    first = onsets[0] if onsets else measure.size + measure.then
    if measure.since and first and first + measure.since >= 2 * measure.beat:
        yield _Wait(0, min(first, measure.size), -measure.since, first + measure.since)
    for slot, after in pairwise([*onsets, measure.size + measure.then]):
        if after - slot >= 2 * measure.beat and any(note.slot == slot for note in kept):
            yield _Wait(slot + 1, min(after, measure.size), slot, after - slot)


def _fillings(measure: GridMeasure, wait: _Wait) -> Iterator[_Filling]:
    """What may be done in a wait. Each beat that nothing begins on costs a little, so does a roll in a short wait."""
    beat = measure.beat
    first = max(wait.onset + beat, 0)
    beats = [slot for slot in range(first, wait.stop) if (slot - first) % beat == 0 and slot >= wait.start]
    open_end = wait.whole + wait.onset  # the slot of the next melody note
    pinchable = [slot for slot in beats if slot + 1 < open_end]
    empty = cost("gap left empty")
    yield _Filling(empty * len(beats))
    for count in (1, 2):
        if len(pinchable) >= count:
            yield _Filling(empty * (len(beats) - count) - (count > 1), tuple(pinchable[:count]))
    if measure.last:
        return
    short = cost("beginner's roll") if wait.whole < 4 * beat else 0
    for pinches in (0, 1):
        starts = beats[pinches : pinches + 2]
        for start in starts:
            length = wait.stop - start
            if length < beat or length > _LONGEST_FILL or (pinches and not pinchable):
                continue
            skipped = sum(slot < start for slot in beats) - pinches
            for row in _FILL_ROWS:
                yield _Filling(empty * skipped + short + 1 - pinches, tuple(pinchable[:pinches]), start, row[:length])


def _roll(
    measure: GridMeasure, neck: Neck, kept: Sequence[GridNote], wait: _Wait, filling: _Filling, reach: Reach
) -> Iterator[Layer]:
    before = next((note.pitch for note in reversed(kept) if note.slot < wait.start), measure.held)
    after = next((note.pitch for note in kept if note.slot >= wait.stop), measure.then_pitch)
    for k, finger in enumerate(filling.fingers):
        slot = filling.roll + k
        near = after if slot + 1 == wait.whole + wait.onset else None
        strong = slot % measure.pulse == 0
        number = FINGERS.index(finger)
        options = neck.fills(measure.tones[slot], reach, strong=strong, rings=before, near=near)
        yield layer(slot, [option for option in options if option.state // 6 == number], "fill")


def _pinch(measure: GridMeasure, neck: Neck, slot: int) -> Layer:
    """Two strings struck at once: the thumb on the drone, or on a long string where the drone is no chord tone."""
    options = neck.fills(measure.tones[slot], _FIRST_REACH, strong=False, rings=None, near=None)
    thumbs = [option for option in options if option.state // 6 == 0]
    middles = [option for option in options if option.state // 6 == len(FINGERS) - 1 and option.state % 6 == 1]
    pairs = [
        Option(PINCHES[low.state, high.state], low.price + high.price, low.fret, pinched=(high.fret,))
        for low in thumbs
        for high in middles
    ]
    return layer(slot, pairs, "pinch")
