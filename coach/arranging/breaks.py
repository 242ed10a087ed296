"""Whole breaks: a kick-off, a part of the tune, and a two-measure ending, as one arrangement.

Conventions
    Measures are numbered anew. A kick-off by notes is the pickup measure 0, or joins the pickup that is there; a
    kick-off by beats is a full measure 1, and ends with the pickup where there is one. The ending comes behind a full
    measure: a last one that is short because of a pickup is filled up with a rest.
    The measures that a kick-off or an ending adds have chords and no melody. Their ``source_measure`` is none of the
    tune's: 0 before it (which is also the pickup's that is joined), and the numbers behind the last measure of the
    tune's paper, as far as the solo tells it.
    Nothing new breaks a rule of the hands: of all kick-offs and endings the first is taken of which that is true, and
    where there is none a note that no melody needs is left out at the seam.

Common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Literal

from coach.arranging.accompaniment import chord_spells
from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt
from coach.arranging.endings import endings
from coach.arranging.kickoffs import beats, lead_ins, step_of
from coach.arranging.lefthand import fingered
from coach.arranging.part import carried, numbered, part_of
from coach.arranging.rules import broken_rules
from coach.arranging.scale import key_named
from coach.arranging.touches import Touch, repeats, written
from coach.tunes.chords import Chord

__all__ = ["KickOff", "broken_in", "whole_break"]

KickOff = Literal["notes", "beats"]

_MOST_NOTES = 3
_NEAR = 2  # measures on each side of a seam that its rules look at


def whole_break(
    solo: Arrangement,
    *,
    kick_off: KickOff | None = None,
    first: int | None = None,
    last: int | None = None,
    ending: bool = False,
) -> Arrangement:
    """A break to be played in a jam.

    Args:
        solo: for the tune, in any tier or mixed.
        kick_off: by ``notes`` or ``beats``; None begins with the tune.
        first, last: numbers of the solo's first and last measure that are played; None for its own.
        ending: whether the two-measure ending follows.

    Returns:
        An arrangement of its own, which breaks no rule of the hands that the solo's measures do not break.

    Raises:
        InputError: when there is no such part of the solo.
    """
    part = part_of(solo, first, last)
    remarks = list(part.remarks)
    if kick_off == "notes":
        part, said = _with_notes(part)
        remarks.append(said)
    elif kick_off == "beats":
        part, said = _with_beats(part)
        remarks.append(said)
    if ending:
        part = _with_ending(part, _last_source(solo))
        remarks.append("With an ending of two measures.")
    return replace(part, remarks=tuple(remarks), measures=tuple(_told_right(part.measures)))


def _told_right(measures: Sequence[ArrangedMeasure]) -> Iterator[ArrangedMeasure]:
    """Measures of which none is said to repeat another that was changed at a seam."""
    earlier = {measure.number: measure for measure in measures}
    for measure in measures:
        same = measure.same_as is not None and repeats(measure.plucks, earlier[measure.same_as].plucks)
        yield measure if same else replace(measure, same_as=None)


def _with_notes(solo: Arrangement) -> tuple[Arrangement, str]:
    """A solo with lead-in notes, and what is said of them."""
    head, rest = solo.measures[0], solo.measures[1:]
    pickup = head.length if head.number == 0 else Fraction(0)
    step = step_of(head.meter)
    target = _first_pitch(solo) - solo.capo
    chord = _chord_of(solo)
    for count in range(_MOST_NOTES, 0, -1):
        if count * step + pickup >= head.meter.length:
            continue
        for touches in lead_ins(target, count, key_named(solo.key), chord, solo.tuning, step):
            measures = (
                (_led(solo, head, touches, count * step, chord), *rest)
                if pickup
                else (_led(solo, _empty(head, 0), touches, count * step, chord), *solo.measures)
            )
            if not _breaks_at(solo, measures, range(_NEAR + 1)):
                said = "One lead-in note." if count == 1 else f"{count} lead-in notes."
                return replace(solo, measures=_fingered(solo, measures, {0})), f"Kicked off by {said.lower()}"
    return solo, "The tune begins with notes enough of its own: nothing leads into it."


def _empty(measure: ArrangedMeasure, number: int) -> ArrangedMeasure:
    """A measure of which nothing is there yet, in the manner of another."""
    return replace(
        measure, number=number, source_measure=0, length=Fraction(0), chords=(), melody=(), plucks=(), same_as=None
    )


def _led(
    solo: Arrangement, measure: ArrangedMeasure, touches: Sequence[Touch], lead: Fraction, chord: Chord
) -> ArrangedMeasure:
    """A measure with touches in front of what it has, which comes later by ``lead``."""
    length = lead + measure.length
    later = [
        Touch(
            lead + pluck.at,
            pluck.string,
            pluck.fret,
            pluck.finger,
            pluck.role,
            pluck.technique,
            pluck.from_fret,
            pluck.length,
        )
        for pluck in measure.plucks
    ]
    plucks = written(measure.number, [*touches, *later], length, solo.tuning, solo.capo)
    ids = {pluck.id: f"m{measure.number}e{count}" for count, pluck in enumerate(measure.plucks, start=1 + len(touches))}
    chords = tuple(replace(change, at=lead + change.at) for change in measure.chords)
    if not chords or chords[0].chord != chord:
        chords = (ChordAt(Fraction(0), chord), *chords)
    else:
        chords = (replace(chords[0], at=Fraction(0)), *chords[1:])
    return replace(
        measure,
        length=length,
        chords=chords,
        melody=tuple(
            replace(
                carried(note, ids),
                at=lead + note.at,
                moved=None if note.moved is None else lead + note.moved,
            )
            for note in measure.melody
        ),
        plucks=plucks,
        same_as=None,
    )


def _with_beats(solo: Arrangement) -> tuple[Arrangement, str]:
    """A solo with a measure of beats in front, its other measures counted on behind, and what is said of it."""
    head = solo.measures[0]
    if head.number == 0:
        old, rest = head, solo.measures[1:]
    else:
        old, rest = _empty(head, 0), solo.measures
    lead = head.meter.length - old.length
    chord = _chord_of(solo)
    slot = head.slot or solo.slot
    struck = Counter(pluck.at for pluck in old.plucks if pluck.technique == "pick")
    pinched = sum(count > 1 for count in struck.values())
    touches = beats(head.meter, lead, chord, solo.tuning, slot, pinched=pinched)
    if not touches:
        return solo, "The pickup leaves no room for beats before it."
    measures = (_led(solo, old, touches, lead, chord), *rest)
    measures = _fingered(solo, measures, {0})
    # Counted from 1: the measure of beats is a full one.
    shifted = [replace(measures[0], number=-1), *measures[1:]]
    return numbered(solo, shifted), "Kicked off by a measure of beats."


def _with_ending(solo: Arrangement, last_source: int) -> Arrangement:
    """A solo with two measures on the home chord behind it."""
    tail = solo.measures[-1]
    if tail.number > 0 and tail.length < tail.meter.length:
        tail = replace(tail, length=tail.meter.length)
    key = key_named(solo.key)
    home = Chord(key.tonic, "m" if key.minor else "")
    meter = tail.meter
    for body, rested in ((tail, False), (_thinned(tail, tail.slot or solo.slot), False), (tail, True)):
        for pair in endings(meter, solo.tuning, home, tail.tier):
            added = tuple(
                ArrangedMeasure(
                    tail.number + number,
                    last_source + number,
                    meter,
                    meter.length,
                    tail.tier,
                    (ChordAt(Fraction(0), home),),
                    (),
                    written(tail.number + number, touches, meter.length, solo.tuning, solo.capo),
                    slot=tail.slot,
                )
                for number, touches in enumerate((_behind_a_rest(pair[0]) if rested else pair[0], pair[1]), start=1)
            )
            measures = (*solo.measures[:-1], body, *added)
            if not _breaks_at(solo, measures, range(len(measures) - len(added) - _NEAR, len(measures))):
                return replace(solo, measures=_fingered(solo, measures, {measure.number for measure in added}))
    raise AssertionError("behind a rest the root and a pinch can always be played")


def _behind_a_rest(touches: Sequence[Touch]) -> tuple[Touch, ...]:
    """A measure without what stands on its first beat."""
    return tuple(touch for touch in touches if touch.at > 0)


def _thinned(measure: ArrangedMeasure, slot: Fraction) -> ArrangedMeasure:
    """A measure without what fills its last slot; the notes before it last on."""
    carriers = {note.pluck for note in measure.melody}
    free = measure.length - slot
    kept = [pluck for pluck in measure.plucks if pluck.at < free or pluck.role == "melody" or pluck.id in carriers]
    if len(kept) == len(measure.plucks) or not kept:
        return measure
    end = max(pluck.at for pluck in kept)
    plucks = tuple(
        replace(pluck, length=measure.length - pluck.at) if pluck.at == end < free else pluck for pluck in kept
    )
    return replace(measure, plucks=plucks, same_as=None)


def _breaks_at(solo: Arrangement, measures: Sequence[ArrangedMeasure], near: range) -> bool:
    """Whether measures (by index) break more rules than the solo does in as many of them as it has."""
    chosen = [measures[index] for index in near if 0 <= index < len(measures)]
    own = {measure.number: measure for measure in solo.measures}
    before = [own[measure.number] for measure in chosen if measure.number in own]
    return bool(broken_in(solo, chosen) - broken_in(solo, before))


def broken_in(solo: Arrangement, measures: Sequence[ArrangedMeasure]) -> Counter[tuple[str, int]]:
    """How often some measures break each rule, by its name and the number of the measure."""
    if not measures:
        return Counter()
    alone = tuple(replace(measure, same_as=None) for measure in measures)
    return Counter((broken.rule, broken.measure) for broken in broken_rules(replace(solo, measures=alone)))


def _fingered(solo: Arrangement, measures: Sequence[ArrangedMeasure], new: set[int]) -> tuple[ArrangedMeasure, ...]:
    """Measures of which the new ones (by number) get fingers of the left hand; those of the others stay."""
    told = {measure.number: measure for measure in fingered(replace(solo, measures=tuple(measures))).measures}
    return tuple(told[measure.number] if measure.number in new else measure for measure in measures)


def _first_pitch(solo: Arrangement) -> int:
    """The pitch of the first note of the melody that is played, of the first note where there is no melody."""
    carriers = {note.pluck for measure in solo.measures for note in measure.melody if note.pluck}
    plucks = [pluck for _, pluck in solo.plucks()]
    return next((pluck.pitch for pluck in plucks if pluck.id in carriers or pluck.role == "melody"), plucks[0].pitch)


def _chord_of(solo: Arrangement) -> Chord:
    """The first chord, the home chord where there is none."""
    key = key_named(solo.key)
    spells = chord_spells(solo)
    return spells[0].chord if spells else Chord(key.tonic, "m" if key.minor else "")


def _last_source(solo: Arrangement) -> int:
    """The highest number of a measure of the tune that a solo names."""
    return max(measure.source_measure for measure in solo.measures)
