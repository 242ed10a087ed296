"""What is struck in a measure, before it has names and lengths: positions in half slots, strings, frets, fingers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from coach.arranging.grid import GridNote
from coach.arranging.picks import STATES, Layer, Option
from coach.instrument.fretboard import pitch_at
from coach.instrument.tuning import Tuning

__all__ = ["NOBODY", "NO_NOTE", "UNSAID", "Struck", "carried", "picked_with", "sounds"]

NOBODY = -1  # the finger of a slurred note
NO_NOTE = -1  # what carries no melody note
UNSAID = ""  # the role of what a teacher put there without a word
_DRONE = 5
_SLOT = 2  # half slots


class Struck(NamedTuple):
    """A pluck before it has a name.

    Attributes:
        at: in half slots from the start of its measure.
        string, fret: where.
        finger: 0 T, 1 I, 2 M; NOBODY for a slurred note.
        role: as in an arrangement, or UNSAID.
        technique: as in an arrangement.
        from_fret: where a slurred note comes from; -1 for a picked one.
        carries: the melody note that it carries, by its index in the played measure, or NO_NOTE.
    """

    at: int
    string: int
    fret: int
    finger: int
    role: str
    technique: str = "pick"
    from_fret: int = -1
    carries: int = NO_NOTE


def sounds(first: int, layer: Layer, option: Option, notes: Sequence[GridNote]) -> Iterator[Struck]:
    """What a chosen option sounds: its picks, and the note slurred from the first of them.

    Args:
        first: the slot of the measure in which the layer's slots begin to count.
        layer, option: what is plucked.
        notes: those that the layer's note is an index into.
    """
    note = notes[layer.note].note if layer.note >= 0 else NO_NOTE
    then = notes[layer.note + 1].note if layer.tied else note
    carries = note if layer.tied or not option.technique else NO_NOTE
    at = _SLOT * (first + layer.slot)
    parts = STATES[option.state]
    for (finger, string), fret in zip(parts, (option.fret, *option.pinched), strict=True):
        role = "drone" if layer.role == "fill" and string == _DRONE else layer.role
        yield Struck(at, string, fret, finger, role, carries=carries)
    if option.technique:
        later = at + 1 + option.slow
        string = parts[0][1]
        yield Struck(later, string, option.to_fret, NOBODY, layer.role, option.technique, option.fret, then)


def picked_with(struck: Sequence[Struck]) -> dict[Struck, int]:
    """For each of what is struck where its pick lies: its own place, or that of what it is slurred from."""
    last: dict[int, int] = {}
    found: dict[Struck, int] = {}
    for each in struck:
        found[each] = last.get(each.string, each.at) if each.finger == NOBODY else each.at
        last[each.string] = found[each]
    return found


def carried(struck: Sequence[Struck], notes: Sequence[tuple[int, GridNote]], tuning: Tuning) -> list[Struck]:
    """Let what is struck in a measure carry the melody notes whose pitch it has, at their place or a slot beside it.

    Only what is melody by its role, or has none said, carries notes. What was melody and carries none is a fill.

    Args:
        struck: in order.
        notes: the melody notes on the grid, each with its slot in the measure.
        tuning: of the open strings; the pitches of the notes count from the capo too.
    """
    picks = picked_with(struck)
    tests: tuple[Callable[[Struck, int], bool], ...] = (
        lambda each, at: each.role == "melody" and at in (each.at, picks[each]),
        lambda each, at: each.role == UNSAID and at in (each.at, picks[each]),
        lambda each, at: each.role == "melody" and abs(picks[each] - at) <= _SLOT,
    )
    carriers: dict[int, int] = {}
    for fits in tests:
        for slot, note in notes:
            if note.note in carriers.values():
                continue
            for index, each in enumerate(struck):
                right = pitch_at(tuning, each.string, each.fret) == note.pitch
                if right and index not in carriers and fits(each, _SLOT * slot):
                    carriers[index] = note.note
                    break
    together = Counter(each.at for each in struck if each.finger != NOBODY)
    # What a melody note is slurred from belongs to the melody.
    leading = {(picks[struck[index]], struck[index].string) for index in carriers}
    return [
        _in_its_role(
            each,
            carriers.get(index, NO_NOTE),
            melodic=(each.at, each.string) in leading,
            pinched=together[each.at] > 1,
        )
        for index, each in enumerate(struck)
    ]


def _in_its_role(each: Struck, note: int, *, melodic: bool, pinched: bool) -> Struck:
    role = each.role
    if note != NO_NOTE or (melodic and role == UNSAID):
        role = "melody"
    elif role in ("melody", UNSAID) and not melodic:
        role = "pinch" if pinched else "drone" if each.string == _DRONE else "fill"
    return each._replace(role=role, carries=note)
