"""Hard rules of paper: measures, positions, ids, places. Each check yields (measure, pluck id or None, what)."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure
from coach.arranging.counting import counted
from coach.arranging.timeline import Timeline
from coach.instrument.fretboard import is_fret, pitch_at

__all__ = ["ids_count_on", "lengths_fit", "on_the_grid", "one_pluck_a_string", "place_sounds_pitch", "repeats_agree"]

Fault = tuple[int, str | None, str]


def ids_count_on(timeline: Timeline) -> Iterator[Fault]:
    """Ids are ``m<number>e<k>``, k counting by position, then from string 5 to string 1; measures count on."""
    expected = timeline.arrangement.measures[0].number
    for number, measure in enumerate(timeline.arrangement.measures, start=expected):
        if measure.number != number:
            yield measure.number, None, f"it should be measure {number}"
        order = sorted(measure.plucks, key=lambda pluck: (pluck.at, -pluck.string))
        for count, pluck in enumerate(order, start=1):
            if pluck.id != f"m{measure.number}e{count}" or measure.plucks[count - 1] is not pluck:
                yield measure.number, pluck.id, f"{pluck.id} should be pluck {count}"


def on_the_grid(timeline: Timeline) -> Iterator[Fault]:
    """Picked notes lie on slots counted from the start of their measure, slurred ones on slots or halfway between."""
    for sounding in timeline.soundings:
        pluck, measure = sounding.pluck, sounding.measure
        grid = sounding.slot if sounding.picked else sounding.slot / 2
        if not 0 <= pluck.at < measure.length:
            yield measure.number, pluck.id, f"string {pluck.string} is sounded outside the measure"
        elif (pluck.at / grid).denominator != 1:
            what = f"string {pluck.string} on {sounding.counted} is off the grid of {grid} quarters"
            yield measure.number, pluck.id, what


def lengths_fit(timeline: Timeline) -> Iterator[Fault]:
    """A pluck lasts to the next pluck, to a rest, or to the barline at the latest; a rest starts on the grid."""
    for measure in timeline.arrangement.measures:
        slot = measure.slot or timeline.arrangement.slot
        if measure.length <= 0:
            yield measure.number, None, f"its length is {measure.length}"
        positions = [*sorted({pluck.at for pluck in measure.plucks}), measure.length]
        for pluck in measure.plucks:
            limit = min((at for at in positions if at > pluck.at), default=measure.length)
            end = pluck.at + pluck.length
            if pluck.length <= 0 or end > limit:
                what = f"lasts {pluck.length} quarters, where {limit - pluck.at} are free"
            elif end < limit and (2 * end / slot).denominator != 1:
                what = f"is followed by a rest off the grid, on {counted(measure, end)}"
            else:
                continue
            yield measure.number, pluck.id, f"string {pluck.string} on {counted(measure, pluck.at)} {what}"


def place_sounds_pitch(timeline: Timeline) -> Iterator[Fault]:
    """The string has the fret, and it sounds the pitch that is written."""
    tuning, capo = timeline.arrangement.tuning, timeline.arrangement.capo
    for sounding in timeline.soundings:
        pluck = sounding.pluck
        if not is_fret(pluck.string, pluck.fret, capo=capo):
            what = f"string {pluck.string} has no fret {pluck.fret}, as on {sounding.counted}"
            yield sounding.measure.number, pluck.id, what
        elif pitch_at(tuning, pluck.string, pluck.fret, capo) != pluck.pitch:
            what = f"string {pluck.string} fret {pluck.fret} does not sound {pluck.pitch}, on {sounding.counted}"
            yield sounding.measure.number, pluck.id, what


def one_pluck_a_string(timeline: Timeline) -> Iterator[Fault]:
    """No string is sounded twice at one position."""
    seen: set[tuple[Fraction, int]] = set()
    for sounding in timeline.soundings:
        key = (sounding.when, sounding.pluck.string)
        if key in seen:
            what = f"string {sounding.pluck.string} is sounded twice on {sounding.counted}"
            yield sounding.measure.number, sounding.pluck.id, what
        seen.add(key)


def repeats_agree(timeline: Timeline) -> Iterator[Fault]:
    """A measure that names another as the one it repeats has the same plucks."""
    by_number = {measure.number: measure for measure in timeline.arrangement.measures}
    for measure in timeline.arrangement.measures:
        if measure.same_as is None:
            continue
        first = by_number.get(measure.same_as)
        if first is None or first.number >= measure.number:
            yield measure.number, None, f"it repeats measure {measure.same_as}, which does not come before it"
        elif _content(first) != _content(measure):
            yield measure.number, None, f"its plucks differ from those of measure {first.number}, which it repeats"


def _content(measure: ArrangedMeasure) -> list[tuple[object, ...]]:
    return [
        (
            pluck.at,
            pluck.length,
            pluck.string,
            pluck.fret,
            pluck.finger,
            pluck.role,
            pluck.technique,
            pluck.from_fret,
            pluck.left,
        )
        for pluck in measure.plucks
    ]
