"""Hard rules of the hands. Each check yields (measure, pluck id or None, what is wrong)."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from coach.arranging.timeline import Moment, Sounding, Timeline
from coach.instrument.hands import RUN_FINGERS, SPAN, STRETCH, may_pick, only_on, pinch_is_legal, span

__all__ = [
    "ROLL_SLOTS",
    "finger_plays_its_string",
    "finger_rests",
    "hand_reaches",
    "pinch_is_playable",
    "slur_is_possible",
    "string_rings",
]

Fault = tuple[int, str | None, str]

# One roll, for the reach of the left hand: as many running slots as the longest cycle of three fingers has.
ROLL_SLOTS = 4


def finger_plays_its_string(timeline: Timeline) -> Iterator[Fault]:
    """Picked notes have a finger that plays their string; in a melody run on one string any of the pair may."""
    running = _in_runs(timeline)
    for sounding in timeline.soundings:
        pluck = sounding.pluck
        if (pluck.finger is None) == sounding.picked:
            how = "picked without a finger" if sounding.picked else "slurred by a finger"
            yield sounding.measure.number, pluck.id, f"string {pluck.string} is {how} on {sounding.counted}"
        elif pluck.finger is not None and not may_pick(pluck.finger, pluck.string) and pluck.id not in running:
            what = f"{pluck.finger} does not play string {pluck.string}, as on {sounding.counted}"
            yield sounding.measure.number, pluck.id, what


def pinch_is_playable(timeline: Timeline) -> Iterator[Fault]:
    """Strings picked at once: two or three, different fingers, the thumb below."""
    for moment in timeline.moments():
        fingers = {each.pluck.string: each.pluck.finger for each in moment.soundings if each.pluck.finger}
        if len(moment.soundings) > 1 and not pinch_is_legal(fingers):
            first = moment.soundings[0]
            row = " ".join(f"{finger}{string}" for string, finger in fingers.items())
            yield first.measure.number, first.pluck.id, f"{row} cannot be struck together, on {first.counted}"


def finger_rests(timeline: Timeline) -> Iterator[Fault]:
    """No finger picks in two neighbouring slots."""
    for before, after in _running_pairs(timeline):
        used = {each.pluck.finger for each in before.soundings}
        for each in after.soundings:
            if each.pluck.finger in used:
                what = f"{each.pluck.finger} plays twice in a row, on {each.counted}"
                yield each.measure.number, each.pluck.id, what


def string_rings(timeline: Timeline) -> Iterator[Fault]:
    """No string is picked in two neighbouring slots, save two melody notes with no other place on frets 0 to 5."""
    for before, after in _running_pairs(timeline):
        for one, other in _on_one_string(before, after):
            if not _is_run(timeline, one, other):
                what = f"string {other.pluck.string} is picked twice in a row, on {other.counted}"
                yield other.measure.number, other.pluck.id, what


def hand_reaches(timeline: Timeline) -> Iterator[Fault]:
    """Fretted notes within four frets, among those struck together and those of one roll.

    One roll is any :data:`ROLL_SLOTS` slots in which something sounds in each, coarse ones and fine ones alike; a held
    slot ends it, since the hand has time to move. What sounds half a slot later counts with its slot. A stretch of
    one fret more is for the advanced.
    """
    told: set[str] = set()
    ranks = _slot_ranks(timeline)
    for index, first in enumerate(timeline.soundings):
        roll = [first]
        for rank, each in zip(ranks[index + 1 :], timeline.soundings[index + 1 :], strict=True):
            held = each.on_slot - roll[-1].on_slot > max(roll[-1].slot, each.slot)
            if held or rank - ranks[index] >= ROLL_SLOTS:
                break
            roll.append(each)
        limit = STRETCH if any(each.measure.tier == "advanced" for each in roll) else SPAN
        reach = span(each.pluck.fret for each in roll)
        worst = roll[-1].pluck.id
        if reach > limit and worst not in told:
            told.add(worst)
            what = f"the left hand would have to span {reach + 1} frets, on {roll[-1].counted}"
            yield roll[-1].measure.number, worst, what


def slur_is_possible(timeline: Timeline) -> Iterator[Fault]:
    """A slurred note follows a note on its string by half a slot or a slot, from where that note was.

    A hammer-on goes up, a pull-off down, a slide from one fretted place to another.
    """
    last: dict[int, Sounding] = {}
    for sounding in timeline.soundings:
        pluck = sounding.pluck
        before = last.get(pluck.string)
        last[pluck.string] = sounding
        if sounding.picked:
            if pluck.from_fret is not None:
                what = f"string {pluck.string} is picked on {sounding.counted} and yet comes from a fret"
                yield sounding.measure.number, pluck.id, what
            continue
        what = _slur_fault(before, sounding)
        if what:
            yield sounding.measure.number, pluck.id, f"{what}, on {sounding.counted}"


def _slur_fault(before: Sounding | None, sounding: Sounding) -> str:
    pluck = sounding.pluck
    if before is None or sounding.when - before.when not in {sounding.slot / 2, sounding.slot}:
        return f"the {pluck.technique} follows no note on string {pluck.string}"
    if pluck.from_fret != before.pluck.fret:
        return f"the {pluck.technique} comes from fret {pluck.from_fret}, but fret {before.pluck.fret} was played"
    right = {
        "hammer-on": pluck.fret > pluck.from_fret,
        "pull-off": pluck.fret < pluck.from_fret,
        "slide": pluck.fret != pluck.from_fret and 0 not in {pluck.fret, pluck.from_fret},
    }
    return "" if right[pluck.technique] else f"no {pluck.technique} leads from fret {pluck.from_fret} to {pluck.fret}"


def _slot_ranks(timeline: Timeline) -> list[int]:
    """For each sound which slot of the whole solo it is in; where grids meet a finer slot counts like any other."""
    first, count = {}, 0
    for measure in timeline.arrangement.measures:
        first[measure.number] = count
        count += -int(-measure.length // (measure.slot or timeline.arrangement.slot))
    return [first[each.measure.number] + int(each.pluck.at // each.slot) for each in timeline.soundings]


def _running_pairs(timeline: Timeline) -> Iterator[tuple[Moment, Moment]]:
    return ((before, after) for before, after in pairwise(timeline.moments()) if before.runs_into(after))


def _on_one_string(before: Moment, after: Moment) -> Iterator[tuple[Sounding, Sounding]]:
    for one in before.soundings:
        for other in after.soundings:
            if one.pluck.string == other.pluck.string:
                yield one, other


def _is_run(timeline: Timeline, one: Sounding, other: Sounding) -> bool:
    """Whether two picks of one string are the melody running where it has no other place."""
    arrangement = timeline.arrangement
    return (
        one.melodic
        and other.melodic
        and one.pluck.finger is not None
        and other.pluck.finger is not None
        and (one.pluck.finger, other.pluck.finger) in RUN_FINGERS
        and only_on(arrangement.tuning, one.pluck.string, (one.pluck.pitch, other.pluck.pitch), capo=arrangement.capo)
    )


def _in_runs(timeline: Timeline) -> set[str]:
    """Ids of the plucks that are part of a melody run on one string."""
    return {
        sounding.pluck.id
        for before, after in _running_pairs(timeline)
        for pair in _on_one_string(before, after)
        if _is_run(timeline, *pair)
        for sounding in pair
    }
