"""The ways of a measure for the beginner: bare melody, pinches on long notes, a roll only where the melody waits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from heapq import merge
from itertools import combinations, pairwise, product
from typing import NamedTuple

from coach.arranging.costs import cost
from coach.arranging.grid import GridMeasure, GridNote
from coach.arranging.neck import ANYWHERE, OFF_BEAT, Neck, Reach, reach_of
from coach.arranging.picks import Layer
from coach.arranging.sketches import WIDEST_SLUR
from coach.arranging.ways import Way
from coach.instrument.hands import FINGERS

__all__ = ["PlainWays", "sung"]

_MOST_PINCHES = 2
_MOST_CHOICES = 3
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


class PlainWays:
    """The ways of a measure for the beginner, in order of their price, worked out as they are asked for."""

    def __init__(self, measure: GridMeasure, neck: Neck, hands: Sequence[int], *, ties: int = 0, need: int = 0) -> None:
        """Take a measure.

        Args:
            measure: on the grid.
            neck: to play on.
            hands: positions of the left hand to try.
            ties: how many notes at most are slurred from the one a slot before because nothing else was found.
            need: how many notes are left out because nothing else was found.
        """
        self._measure = measure
        self._neck = neck
        self._hands = hands
        self._ties = ties
        self._need = need

    def __iter__(self) -> Iterator[Way]:
        measure = self._measure
        ways = [
            self._with(price + cost("slurred run") * len(tied), indices, tied)
            for price, indices in _kept(measure, self._need)
            for count in range(min(self._ties, measure.slurs) + 1)
            for tied in combinations(_runs(measure, indices), count)
        ]
        yield from merge(*ways, key=lambda way: way.price)

    def _with(self, price: int, indices: Sequence[int], tied: Sequence[int]) -> Iterator[Way]:
        """The ways that keep these melody notes, and slur from the tied ones to the next."""
        measure, neck = self._measure, self._neck
        kept = [measure.notes[k] for k in indices]
        waits = list(_waits(measure, kept))
        choices = sorted(_choices(measure, waits), key=lambda choice: choice[0])
        melodies = [
            (
                hand,
                _melody(measure, neck, kept, indices, reach_of(hand), tied),
                set(_far(measure, neck, kept, reach_of(hand))),
            )
            for hand in self._hands
        ]
        for more, fillings in choices:
            rolled_up_to = {wait.stop for wait, filling in zip(waits, fillings, strict=True) if filling.fingers}
            for hand, melody, far in melodies:
                if melody is None or not far.isdisjoint(rolled_up_to):
                    continue
                layers = [*melody]
                for wait, filling in zip(waits, fillings, strict=True):
                    layers += [_pinch(measure, neck, slot) for slot in filling.pinches]
                    layers += _roll(measure, neck, kept, wait, filling, reach_of(hand))
                if all(each.mask for each in layers):
                    layers.sort(key=lambda each: each.slot)
                    yield Way(price + more, tuple(layers), measure.size, hand, rolled=False, fine=measure.fine)


def _runs(measure: GridMeasure, indices: Sequence[int]) -> list[int]:
    """The notes from which the next one, a slot later, could be slurred."""
    notes = measure.notes
    return [
        a
        for a, b in pairwise(indices)
        if notes[b].slot == notes[a].slot + 1 and 0 < abs(notes[b].pitch - notes[a].pitch) <= WIDEST_SLUR
    ]


def _kept(measure: GridMeasure, need: int) -> Iterator[tuple[int, list[int]]]:
    """The melody notes that are played, and what it costs to leave out the rest.

    Up to a need of three every choice of so many is tried, beyond that the weakest go, as many as must.
    """
    notes = measure.notes
    indices = sung(measure)
    weak = [k for k in indices if not notes[k].starts]
    weak.sort(key=lambda k: (notes[k].strong, -notes[k].fades, notes[k].rings, k))
    price = cost("left out in need")
    if need <= _MOST_CHOICES:
        for chosen in combinations(range(len(weak)), need):
            gone = {weak[rank] for rank in chosen}
            yield price * need + sum(chosen), [k for k in indices if k not in gone]
        return
    for count in range(len(weak) + 1):
        gone = set(weak[:count])
        yield price * count, [k for k in indices if k not in gone]


def _choices(measure: GridMeasure, waits: Sequence[_Wait]) -> Iterator[tuple[int, tuple[_Filling, ...]]]:
    """A filling for each wait, and what they cost together."""
    for fillings in product(*(list(_fillings(measure, wait)) for wait in waits)):
        pinches = sum(len(filling.pinches) for filling in fillings)
        if pinches <= _MOST_PINCHES // measure.parts:
            yield sum(filling.price for filling in fillings) + cost("pinch") * max(0, pinches - 1), fillings


def _melody(
    measure: GridMeasure,
    neck: Neck,
    kept: Sequence[GridNote],
    indices: Sequence[int],
    reach: Reach,
    tied: Sequence[int],
) -> list[Layer] | None:
    """The layers of the melody notes; None where one is out of reach, or slurs follow each other."""
    layers = []
    for i, note in enumerate(kept):
        if i and indices[i - 1] in tied:
            if indices[i] in tied:
                return None
            continue
        if indices[i] in tied:
            each = neck.tied_layer(note.slot, (note.pitch, kept[i + 1].pitch), (reach, reach), indices[i])
            if not each.mask:
                return None
            layers.append(each)
            continue
        before = kept[i - 1] if i and kept[i - 1].slot == note.slot - 1 else None
        after = kept[i + 1] if i + 1 < len(kept) and kept[i + 1].slot == note.slot + 1 else None
        # No run on one string leads to a slur or on from one.
        if i > 1 and indices[i - 2] in tied:
            before = None
        if i + 1 < len(kept) and indices[i + 1] in tied:
            after = None
        together = before is not None and neck.run_together(before.pitch, note.pitch, (reach, reach))
        run = together or (after is not None and neck.run_together(note.pitch, after.pitch, (reach, reach)))
        where = ANYWHERE if _stands_alone(measure, kept, i) and not neck.in_reach(note.pitch, reach) else reach
        each = neck.melody_layer(note.slot, note.pitch, where, indices[i], run=run, together=together)
        if not each.mask:
            return None
        layers.append(each)
    return layers


def _far(measure: GridMeasure, neck: Neck, kept: Sequence[GridNote], reach: Reach) -> Iterator[int]:
    """The slots of the notes for which the hand leaves its place; no roll may run up to them."""
    return (
        note.slot
        for k, note in enumerate(kept)
        if _stands_alone(measure, kept, k) and not neck.in_reach(note.pitch, reach)
    )


def _stands_alone(measure: GridMeasure, kept: Sequence[GridNote], k: int) -> bool:
    """Whether no melody note and no barline is in the slot before or behind a note."""
    slot = kept[k].slot
    before = k > 0 and kept[k - 1].slot == slot - 1
    after = k + 1 < len(kept) and kept[k + 1].slot == slot + 1
    return not before and not after and 0 < slot < measure.size - measure.fine


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
        beat = min(slot % measure.pulse, OFF_BEAT)
        number = FINGERS.index(finger)
        every = neck.fill_layer(slot, measure.tones[slot], reach, beat=beat, rings=before, near=near)
        yield every.only(number)


def _pinch(measure: GridMeasure, neck: Neck, slot: int) -> Layer:
    """Two strings struck at once: the thumb on the drone, or on a long string where the drone is no chord tone."""
    return neck.pinch_layer(slot, measure.tones[slot], _FIRST_REACH)
