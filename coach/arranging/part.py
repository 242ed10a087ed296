"""A part of a solo as a solo of its own, as a break over some of a tune needs it.

Conventions
    Measures are numbered anew. A part begins with the pickup of its first phrase, which lies in the second half of the
    measure before, and leaves out the pickup of a phrase that it does not reach. The chord that rings into it is named
    at its start; what was slurred from before it is picked; no note of the tune reaches over its end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from coach.arranging.accompaniment import chord_spells
from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, MelodyNote, Pluck
from coach.arranging.passage import passage
from coach.errors import InputError
from coach.instrument.hands import FINGERS, may_pick

__all__ = ["carried", "numbered", "part_of"]


def part_of(solo: Arrangement, first: int | None, last: int | None) -> Arrangement:
    """Some measures of a solo as a solo of its own; the solo itself where they are all of it.

    Args:
        solo: in any tier or mixed.
        first, last: numbers of the first and last measure; None for the solo's own.

    Raises:
        InputError: when there are no such measures, or nothing is played in them.
    """
    try:
        chosen = [placed.measure for placed in passage(solo, first=first, last=last)]
    except ValueError:
        numbers = [measure.number for measure in solo.measures]
        raise InputError(
            f"measures {first if first is not None else numbers[0]} to {last if last is not None else numbers[-1]}"
            " are no part of the solo",
            where=solo.title,
            cure=f"choose from {numbers[0]} to {numbers[-1]}, as played",
        ) from None
    if len(chosen) == len(solo.measures):
        return solo
    if not any(measure.plucks for measure in chosen):
        raise InputError("nothing is played in these measures", where=solo.title, cure="choose others")
    index = solo.measures.index(chosen[0])
    said = f"Measure{'s' if len(chosen) > 1 else ''} {_span(chosen)} of the solo."
    following = solo.measures[index + len(chosen) : index + len(chosen) + 1]
    chosen[-1] = _closed(solo, chosen[-1], following)
    chosen[0] = _opened(solo, chosen[0], Fraction(0))
    if index:
        pickup = _pickup_in(solo, solo.measures[index - 1], chosen[0])
        if pickup is not None:
            chosen.insert(0, pickup)
            said = f"{said[:-1]}, with the pickup of the phrase."
    return numbered(replace(solo, remarks=(*solo.remarks, said)), chosen)


def _span(measures: Sequence[ArrangedMeasure]) -> str:
    first, last = measures[0].number, measures[-1].number
    return f"{first}" if first == last else f"{first} to {last}"


def _pickup_in(solo: Arrangement, before: ArrangedMeasure, head: ArrangedMeasure) -> ArrangedMeasure | None:
    """The pickup, as measure 0, that the measure before has for the phrase of a measure; None where it has none."""
    if before.number == 0:
        return before
    start = _pickup_start(before, head, before.slot or solo.slot)
    return None if start is None else replace(_opened(solo, before, start), number=0, same_as=None)


def _pickup_start(measure: ArrangedMeasure, following: ArrangedMeasure, slot: Fraction) -> Fraction | None:
    """Where the next phrase begins in the second half of a measure; None where it begins with the next measure."""
    starts = [note for note in measure.melody if note.phrase_start]
    if not starts or any(note.phrase_start and note.at == 0 for note in following.melody):
        return None
    note = starts[-1]
    start = min(note.at, note.at if note.moved is None else note.moved) // slot * slot
    return start if start >= measure.length / 2 else None


def _opened(solo: Arrangement, measure: ArrangedMeasure, start: Fraction) -> ArrangedMeasure:
    """What a measure has from a position on, so that a part can begin there."""
    here = solo.starts()[measure.number] + start
    ringing = next((each.chord for each in chord_spells(solo) if each.start <= here < each.end), None)
    later = [replace(change, at=change.at - start) for change in measure.chords if change.at > start]
    return replace(
        measure,
        length=measure.length - start,
        chords=(*(() if ringing is None else (ChordAt(Fraction(0), ringing),)), *later),
        melody=tuple(
            replace(
                note, at=note.at - start, moved=None if note.moved is None else max(note.moved - start, Fraction(0))
            )
            for note in measure.melody
            if note.at >= start
        ),
        plucks=tuple(_picked([replace(pluck, at=pluck.at - start) for pluck in measure.plucks if pluck.at >= start])),
    )


def _closed(solo: Arrangement, measure: ArrangedMeasure, following: Sequence[ArrangedMeasure]) -> ArrangedMeasure:
    """A last measure: nothing reaches over its barline, and a pickup for a phrase that does not come is left out."""
    end = measure.length
    if following:
        end = _pickup_start(measure, following[0], measure.slot or solo.slot) or end
    plucks = [pluck for pluck in measure.plucks if pluck.at < end]
    last = max((pluck.at for pluck in plucks), default=None)
    cut = end < measure.length
    return replace(
        measure,
        melody=tuple(
            replace(note, length=min(note.length, measure.length - note.at)) for note in measure.melody if note.at < end
        ),
        plucks=tuple(
            replace(pluck, length=measure.length - pluck.at) if cut and pluck.at == last else pluck for pluck in plucks
        ),
        same_as=None if cut else measure.same_as,
    )


def _picked(plucks: Sequence[Pluck]) -> Iterator[Pluck]:
    """The plucks of a first measure: what was slurred from the measure before is picked now."""
    seen: set[int] = set()
    for pluck in plucks:
        if pluck.technique != "pick" and pluck.string not in seen:
            finger = next(finger for finger in FINGERS if may_pick(finger, pluck.string))
            yield replace(pluck, technique="pick", from_fret=None, finger=finger)
        else:
            yield pluck
        seen.add(pluck.string)


def numbered(solo: Arrangement, measures: Sequence[ArrangedMeasure]) -> Arrangement:
    """A solo with other measures, counted on from 0 for a pickup, else from 1; ids and references follow.

    Args:
        solo: whose heading is kept.
        measures: in order, each with a number of its own; the first is a pickup when its number is 0.
    """
    begin = 0 if measures[0].number == 0 else 1
    numbers = {measure.number: number for number, measure in enumerate(measures, start=begin)}
    ids = {
        pluck.id: f"m{numbers[measure.number]}e{count}"
        for measure in measures
        for count, pluck in enumerate(measure.plucks, start=1)
    }
    stands_for: dict[int, int] = {}
    counted = []
    for measure in measures:
        same_as = stands_for.get(measure.number if measure.same_as is None else measure.same_as)
        stands_for.setdefault(measure.number if measure.same_as is None else measure.same_as, numbers[measure.number])
        counted.append(
            replace(
                measure,
                number=numbers[measure.number],
                same_as=same_as,
                melody=tuple(carried(note, ids) for note in measure.melody),
                plucks=tuple(replace(pluck, id=ids[pluck.id]) for pluck in measure.plucks),
            )
        )
    return replace(solo, measures=tuple(counted))


def carried(note: MelodyNote, ids: dict[str, str]) -> MelodyNote:
    """A note of the tune with the new id of its pluck; one whose pluck is not played is not kept."""
    if note.pluck is None:
        return note
    pluck = ids.get(note.pluck)
    return replace(note, pluck=pluck) if pluck else replace(note, pluck=None, kept=False, moved=None)
