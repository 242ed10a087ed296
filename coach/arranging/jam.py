"""A run as in a jam: kick-off, break, back-up while others take their turns, the break again, ending; one arrangement.

Conventions
    Measures are counted on. The tune goes on in time: a last measure that is short because of a pickup is filled up,
    with a rest behind the first break, where the next one plays the pickup, and with the own pickup where the break
    comes again. The back-up has no pickups: they belong to those whose turn it is. The second break names the measures
    of the first that it repeats.
    Nothing new breaks a rule of the hands: where break and back-up cannot follow each other, the back-up leaves out
    what lies nearest to the seam. Kick-off and ending are those of :mod:`coach.arranging.breaks`.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from fractions import Fraction

from coach.arranging.accompaniment import chord_spells
from coach.arranging.arrangement import TIERS, ArrangedMeasure, Arrangement, ChordAt, Pluck
from coach.arranging.backup import BackUpStyle, back_up
from coach.arranging.breaks import KickOff, broken_in, whole_break
from coach.arranging.part import carried
from coach.errors import InputError

__all__ = ["MOST_TURNS", "jam_run"]

MOST_TURNS = 8

_NEAR = 2  # measures on each side of a seam that its rules look at
_ENDING = 2  # measures

_Measures = Sequence[ArrangedMeasure]


def jam_run(
    solo: Arrangement, turns: int = 1, *, kick_off: KickOff = "notes", style: BackUpStyle = "vamp"
) -> Arrangement:
    """A solo as it goes in a jam.

    Args:
        solo: for the tune, in any tier or mixed; it has chords.
        turns: how many others take their turns between the two breaks, 1..8.
        kick_off: how the first break is begun.
        style: of the back-up.

    Returns:
        An arrangement of its own, which breaks no rule of the hands that the solo's measures do not break. In 9/8 and
        12/8 a beginner's is ``mixed``: the back-up pinches oftener than that tier may.

    Raises:
        InputError: when that many turns are not to be had.
        ArrangeError: when the solo has no chords.
    """
    if not 1 <= turns <= MOST_TURNS:
        raise InputError(f"{turns} turns of others make no jam", where=solo.title, cure=f"choose 1 to {MOST_TURNS}")
    first = [*solo.measures[:-1], _full(solo.measures[-1])]
    pickup = first[0] if first[0].number == 0 else None
    body = first[1:] if pickup is not None else first
    others = _after(first, _backed(solo, body, turns, style))
    again = [
        replace(measure, same_as=original.number if original.same_as is None else original.same_as)
        for measure, original in zip(_after(others, body), body, strict=True)
    ]
    others = _joined(solo, first, others, again, pickup)
    measures = (*first, *others, *again)
    tiers = {measure.tier for measure in measures}
    composed = replace(solo, tier=solo.tier if len(tiers) == 1 else "mixed", measures=measures)
    played = whole_break(composed, kick_off=kick_off, ending=True)
    remarks = (*played.remarks, _said(played, solo.tier, len(body), len(others), style))
    return replace(played, title=f"{solo.title} (jam)", remarks=remarks)


def _full(measure: ArrangedMeasure) -> ArrangedMeasure:
    """A measure that is filled up where it is short."""
    return replace(measure, length=max(measure.length, measure.meter.length))


def _backed(solo: Arrangement, body: _Measures, turns: int, style: BackUpStyle) -> _Measures:
    """The back-up for some times through the tune, as of the tier in which the break ends where its rules allow it."""
    head = body[0]
    if not head.chords or head.chords[0].at > 0:
        start = solo.starts()[head.number]
        ringing = [each.chord for each in chord_spells(solo) if each.start <= start < each.end]
        head = replace(head, chords=(*(ChordAt(Fraction(0), chord) for chord in ringing), *head.chords))
    once = [head, *body[1:]]
    measures = [
        replace(
            measure,
            number=measure.number + turn * len(once),
            same_as=measure.same_as if not turn or measure.same_as is not None else measure.number,
        )
        for turn in range(turns)
        for measure in once
    ]
    backed = back_up(replace(solo, measures=tuple(measures)), style).measures
    own = [replace(measure, tier=body[-1].tier) for measure in backed]
    return backed if broken_in(solo, own) else own


def _after(earlier: _Measures, measures: _Measures) -> list[ArrangedMeasure]:
    """Measures counted on behind earlier ones; ids and references among them follow."""
    offset = earlier[-1].number + 1 - measures[0].number
    ids = {
        pluck.id: f"m{measure.number + offset}e{count}"
        for measure in measures
        for count, pluck in enumerate(measure.plucks, start=1)
    }
    return [
        replace(
            measure,
            number=measure.number + offset,
            melody=tuple(carried(note, ids) for note in measure.melody),
            plucks=tuple(replace(pluck, id=ids[pluck.id]) for pluck in measure.plucks),
            same_as=None if measure.same_as is None else measure.same_as + offset,
        )
        for measure in measures
    ]


def _joined(
    solo: Arrangement,
    first: _Measures,
    others: _Measures,
    again: _Measures,
    pickup: ArrangedMeasure | None,
) -> list[ArrangedMeasure]:
    """The back-up between two breaks, with the pickup of the second one, thinned so that all can be played."""
    before, after = list(first[-_NEAR:]), list(again[:_NEAR])
    own = broken_in(solo, before) + broken_in(solo, others[:_NEAR])

    def begins(thinned: _Measures) -> bool:
        return not broken_in(solo, [*before, *thinned[:_NEAR]]) - own

    begun = _thinned(others, _moments(others[:_NEAR]), begins)
    before = [*first, *begun][-_NEAR:]
    own = broken_in(solo, before) + broken_in(solo, [_led(replace(begun[-1], plucks=()), pickup), *after])

    def ends(thinned: _Measures) -> bool:
        led = [*first, *thinned[:-1], _led(thinned[-1], pickup)]
        return not broken_in(solo, [*led[-_NEAR:], *after]) - own

    ended = _thinned(begun, _moments(begun[-_NEAR:])[::-1], ends)
    return [*ended[:-1], _led(ended[-1], pickup)]


def _led(measure: ArrangedMeasure, pickup: ArrangedMeasure | None) -> ArrangedMeasure:
    """A full measure of the back-up that ends with a pickup, where there is one."""
    measure = _full(measure)
    if pickup is None:
        return measure
    lead = measure.length - pickup.length
    kept = [replace(each, length=min(each.length, lead - each.at)) for each in measure.plucks if each.at < lead]
    moved = [replace(each, at=lead + each.at) for each in pickup.plucks]
    ids = {pluck.id: _id(measure, count) for count, pluck in enumerate(moved, start=len(kept) + 1)}
    return replace(
        measure,
        tier=max(measure.tier, pickup.tier, key=TIERS.index),
        chords=(
            *(change for change in measure.chords if change.at < lead),
            *(replace(change, at=lead + change.at) for change in pickup.chords),
        ),
        melody=tuple(
            replace(carried(note, ids), at=lead + note.at, moved=None if note.moved is None else lead + note.moved)
            for note in pickup.melody
        ),
        plucks=_counted(measure, [*kept, *moved]),
        same_as=None,
        slot=measure.slot if pickup.slot is None else pickup.slot,
    )


def _thinned(
    measures: _Measures, moments: Sequence[tuple[int, Fraction]], fits: Callable[[_Measures], bool]
) -> list[ArrangedMeasure]:
    """Measures without as few moments as have to go, the first ones of those that may, so that they fit."""
    for count in range(len(moments) + 1):
        gone = set(moments[:count])
        thinned = [_without(measure, gone) for measure in measures]
        if fits(thinned):
            return thinned
    raise AssertionError("beside a rest everything can be played")


def _moments(measures: _Measures) -> list[tuple[int, Fraction]]:
    """Where something is struck, in order: the number of the measure, and the position in it."""
    return sorted({(measure.number, pluck.at) for measure in measures for pluck in measure.plucks})


def _without(measure: ArrangedMeasure, gone: Collection[tuple[int, Fraction]]) -> ArrangedMeasure:
    kept = [pluck for pluck in measure.plucks if (measure.number, pluck.at) not in gone]
    if len(kept) == len(measure.plucks):
        return measure
    return replace(measure, plucks=_counted(measure, kept), same_as=None)


def _counted(measure: ArrangedMeasure, plucks: Sequence[Pluck]) -> tuple[Pluck, ...]:
    return tuple(replace(pluck, id=_id(measure, count)) for count, pluck in enumerate(plucks, start=1))


def _id(measure: ArrangedMeasure, count: int) -> str:
    return f"m{measure.number}e{count}"


def _said(played: Arrangement, tier: str, body: int, others: int, style: BackUpStyle) -> str:
    """Which measures are what, in a sentence."""
    numbers = [measure.number for measure in played.measures]
    again = len(numbers) - _ENDING - body
    backed, broken = again - others, again - others - body
    what = "an off-beat vamp" if style == "vamp" else "soft rolls"
    return (
        f"The {tier} solo is in {_span(numbers[broken:backed])} and {_span(numbers[again:-_ENDING])},"
        f" back-up ({what}) in {_span(numbers[backed:again])}, the ending in {_span(numbers[-_ENDING:])}."
    )


def _span(numbers: Sequence[int]) -> str:
    return f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]}-{numbers[-1]}"
