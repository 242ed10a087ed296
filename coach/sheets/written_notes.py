"""What goes on the staves of a score: the tune tied over barlines, the reach of beams, and the plucks in voices.

A written note knows its beams and its place in a tuplet, so that it can be put down alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Generic, TypeVar

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, MelodyNote, Pluck
from coach.sheets.notation import Piece, Tuplet, beams, pieces

__all__ = [
    "Struck",
    "Sung",
    "Written",
    "missing",
    "struck_voices",
    "sung_events",
    "sung_groups",
    "sung_measures",
    "tab_window",
]

T = TypeVar("T")

# A beam, by whether the note before and the note behind have it too; one that has neither neighbour is a hook.
_BEAMS = {(True, True): "continue", (True, False): "end", (False, True): "begin"}


@dataclass(frozen=True, slots=True)
class Written(Generic[T]):
    """One written note, chord or rest.

    Attributes:
        piece: its value and what it sounds.
        beams: for each beam it stands under, from the outer one in: ``begin``, ``continue``, ``end`` or a hook.
        ratio: of a tuplet, so many in the time of so many; None outside.
        opens, closes: whether it is the first or the last of its tuplet.
    """

    piece: Piece[T]
    beams: tuple[str, ...] = ()
    ratio: tuple[int, int] | None = None
    opens: bool = False
    closes: bool = False


@dataclass(frozen=True, slots=True)
class Sung:
    """What one measure has of a note of the tune.

    Attributes:
        note: the note.
        name: its id, ``m<number>n<k>`` by the measure in which it starts.
        tied_in, tied_out: whether it goes on from the measure before, or into the next one.
    """

    note: MelodyNote
    name: str
    tied_in: bool
    tied_out: bool


@dataclass(frozen=True, slots=True)
class Struck:
    """The plucks of one position that end together, from string 5 to string 1."""

    plucks: tuple[Pluck, ...]


def sung_events(arrangement: Arrangement) -> Iterator[list[tuple[Fraction, Fraction, Sung]]]:
    """The notes of the tune that sound in each measure: where, how long, and what; one over a barline is in both."""
    carried: tuple[Fraction, Sung] | None = None  # what is left of a note behind a barline
    for measure in arrangement.measures:
        sounding: list[tuple[Fraction, Fraction, MelodyNote, str, bool]] = []
        if carried is not None:
            sounding.append((Fraction(0), carried[0], carried[1].note, carried[1].name, True))
        for number, note in enumerate(measure.melody, 1):
            sounding.append((note.at, note.length, note, f"m{measure.number}n{number}", False))
        carried = None
        events: list[tuple[Fraction, Fraction, Sung]] = []
        for index, (at, length, note, name, tied) in enumerate(sounding):
            border = sounding[index + 1][0] if index + 1 < len(sounding) else measure.length
            over = at + length - measure.length if index + 1 == len(sounding) else Fraction(0)
            sung = Sung(note, name, tied, over > 0)
            if over > 0:
                carried = (over, sung)
            if border > at:
                events.append((at, min(length, border - at), sung))
        yield events


def sung_measures(arrangement: Arrangement) -> Iterator[list[Written[Sung]]]:
    """The tune of each measure; a note that reaches over the barline is tied.

    Raises:
        InputError: when a length cannot be written.
    """
    for measure, events in zip(arrangement.measures, sung_events(arrangement), strict=True):
        yield _written(sung_groups(measure, events))


def sung_groups(
    measure: ArrangedMeasure, events: Sequence[tuple[Fraction, Fraction, T]]
) -> list[list[Piece[T]] | Tuplet[T]]:
    """What is sung in a measure as written values, those under one beam together.

    Raises:
        InputError: when a length cannot be written.
    """
    window = measure.meter.beat if measure.meter.compound else max(measure.meter.beat, Fraction(1))
    written = pieces(events, measure.meter, measure.length, pickup=measure.number == 0)
    return beams(written, window, missing(measure))


def struck_voices(measure: ArrangedMeasure, slot: Fraction) -> list[list[Written[Struck]]]:
    """The plucks of a measure in voices, of which nothing overlaps in one; the first voice is always there.

    Args:
        measure: its plucks may end apart though they are struck together.
        slot: the grid of the measure, for the beams.

    Raises:
        InputError: when a length cannot be written.
    """
    together: dict[tuple[Fraction, Fraction], list[Pluck]] = {}
    for pluck in sorted(measure.plucks, key=lambda pluck: (pluck.at, -pluck.length, -pluck.string)):
        together.setdefault((pluck.at, pluck.length), []).append(pluck)
    voices: list[list[tuple[Fraction, Fraction, Struck]]] = [[]]
    ends = [Fraction(0)]
    for (at, length), plucks in together.items():
        voice = next((index for index, end in enumerate(ends) if end <= at), len(ends))
        if voice == len(ends):
            voices.append([])
            ends.append(Fraction(0))
        voices[voice].append((at, length, Struck(tuple(plucks))))
        ends[voice] = at + length
    window = tab_window(measure, slot)
    return [
        _written(
            beams(
                pieces(events, measure.meter, measure.length, pickup=measure.number == 0, across=True),
                window,
                missing(measure),
            )
        )
        for events in voices
    ]


def missing(measure: ArrangedMeasure) -> Fraction:
    """What a pickup lacks at its start, in quarters."""
    return measure.meter.length - measure.length if measure.number == 0 else Fraction(0)


def tab_window(measure: ArrangedMeasure, slot: Fraction) -> Fraction:
    """How far a beam of a tablature reaches: four slots, a beat of a compound metre, or all six slots of a 3/4.

    Args:
        measure: the measure.
        slot: its grid.
    """
    if measure.meter.compound:
        return measure.meter.beat
    if measure.length == 6 * slot and len({pluck.at for pluck in measure.plucks if pluck.technique == "pick"}) == 6:
        return measure.length
    return 4 * slot if measure.meter.length % (4 * slot) == 0 else 2 * slot


def _written(groups: Sequence[list[Piece[T]] | Tuplet[T]]) -> list[Written[T]]:
    written: list[Written[T]] = []
    for group in groups:
        if isinstance(group, Tuplet):
            last = len(group.pieces) - 1
            beamed = all(piece.what is not None and piece.dur >= 8 for piece in group.pieces)
            signs = _beams(group.pieces) if beamed else [()] * len(group.pieces)
            written += [
                Written(piece, sign, (group.num, group.numbase), index == 0, index == last)
                for index, (piece, sign) in enumerate(zip(group.pieces, signs, strict=True))
            ]
        else:
            written += [Written(piece, sign) for piece, sign in zip(group, _beams(group), strict=True)]
    return written


def _beams(group: Sequence[Piece[T]]) -> list[tuple[str, ...]]:
    """For each note of a group its beams: an eighth has one, a sixteenth two, and so on."""
    if len(group) < 2:
        return [()] * len(group)
    counts = [max(0, piece.dur.bit_length() - 3) for piece in group]
    signs = []
    for index, count in enumerate(counts):
        before = counts[index - 1] if index > 0 else 0
        after = counts[index + 1] if index + 1 < len(counts) else 0
        hook = "forward hook" if index == 0 else "backward hook"
        signs.append(tuple(_BEAMS.get((before >= level, after >= level), hook) for level in range(1, count + 1)))
    return signs
