"""Hard rule of the left hand's fingers. The check yields (measure, pluck id or None, what is wrong).

Where ``left`` is not told one finger a fret in first position is meant; a note above fret 4 without it has no known
finger and is not judged.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coach.arranging.handrules import ROLL_SLOTS
from coach.arranging.timeline import Sounding, Timeline

__all__ = ["fingers_fit_frets"]

Fault = tuple[int, str | None, str]

_FIRST_POSITION = range(1, 5)


def fingers_fit_frets(timeline: Timeline) -> Iterator[Fault]:
    """In a roll the fingers lie in the order of the frets, no finger on two of them, and the hand moves at most once.

    A hand lies still as long as its index stays at one fret and each other finger at most as many frets further as it
    is fingers away (one more for the advanced). What is struck together is struck by a hand that lies still. Slurred
    notes have two fingers, the lower fret the lower one; a slide has one, and where it lands the hand may be anywhere.
    """
    last: dict[int, Sounding] = {}
    landed: set[str] = set()
    for each in timeline.soundings:
        before = last.get(each.pluck.string)
        last[each.pluck.string] = each
        if each.picked or before is None:
            continue
        if each.pluck.technique == "slide":
            landed.add(each.pluck.id)
        if _slur_is_wrong(before, each):
            yield (
                each.measure.number,
                each.pluck.id,
                f"the fingers do not suit the {each.pluck.technique} on {each.counted}",
            )
    told: set[str] = set()
    for roll in _rolls(timeline.soundings):
        notes = [each for each in roll if _finger(each) and each.pluck.id not in landed]
        if notes and not _at_most_one_move(notes) and notes[-1].pluck.id not in told:
            told.add(notes[-1].pluck.id)
            row = ", ".join(f"{_finger(each)} at fret {each.pluck.fret}" for each in notes)
            what = f"the left hand cannot put {row}, from {notes[0].counted} on"
            yield notes[-1].measure.number, notes[-1].pluck.id, what


def _finger(sounding: Sounding) -> int:
    """The finger of a stopped note, 0 where it is open or not known."""
    pluck = sounding.pluck
    return pluck.left or (pluck.fret if pluck.fret in _FIRST_POSITION else 0)


def _slur_is_wrong(before: Sounding, each: Sounding) -> bool:
    one, other = _finger(before), _finger(each)
    if not one or not other:
        return False
    if each.pluck.technique == "slide":
        return one != other and not before.pluck.left is each.pluck.left is None
    steps = each.pluck.fret - before.pluck.fret
    return steps != 0 and (other - one) * steps <= 0


def _rolls(soundings: Sequence[Sounding]) -> Iterator[list[Sounding]]:
    """From each sound on what follows in running slots of its measure, for the slots of one roll."""
    for index, first in enumerate(soundings):
        roll = [first]
        for each in soundings[index + 1 :]:
            held = each.on_slot - roll[-1].on_slot > max(first.slot, each.slot)
            late = each.on_slot - first.on_slot >= ROLL_SLOTS * first.slot
            if held or late or each.measure is not first.measure:
                break
            roll.append(each)
        yield roll


def _at_most_one_move(notes: Sequence[Sounding]) -> bool:
    """Whether notes can be cut in two, or left whole, so that the hand lies still for each part."""
    cuts = [k for k in range(1, len(notes)) if notes[k].when > notes[k - 1].when]
    return any(_lies_still(notes[:cut]) and _lies_still(notes[cut:]) for cut in [*cuts, len(notes)])


def _lies_still(notes: Sequence[Sounding]) -> bool:
    held = [(each.pluck.fret, _finger(each)) for each in notes]
    ordered = all(a[1] < b[1] for a in held for b in held if a[0] < b[0])
    more = int(any(each.measure.tier == "advanced" for each in notes))
    lowest = max((fret if finger == 1 else fret - finger + 1 - more for fret, finger in held), default=1)
    highest = min((fret for fret, _ in held), default=1)
    return ordered and lowest <= highest and all(fret == highest for fret, finger in held if finger == 1)
