"""A pass as it was played: its places where the player was, and all of it judged there.

Along a path of :mod:`~coach.listening.shifts` each place lies where its slot was played. What was left out has none,
what was played twice has two. In a stretch with the roll in another order the plucks of the roll go to the slots in
which they were heard; those that carry the tune stay. The windows of hearing follow from the places as ever, and so do
the rules of conditioning and of judging.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from coach.listening.conditioning import Placed
from coach.listening.passages import Run
from coach.listening.places import MICROSECONDS, Expected, Place, Places, Slur, windows_at
from coach.listening.shifts import OTHER_ORDER
from coach.listening.slots import Slots
from coach.listening.sounds import Sounds
from coach.listening.verdicts import NoteVerdict

__all__ = ["Reading", "better", "moved_places", "read"]

Moved = tuple[int, Place, tuple[Expected, ...]]  # when it was played, what is written, and the plucks it has now


def moved_places(places: Places, slots: Slots, runs: Sequence[Run], heard: Mapping[int, Sequence[int]]) -> Places:
    """The places of a pass where the player was.

    Args:
        places, slots: of the pass.
        runs: of the path; the first and the last reach on outwards.
        heard: the pitches that were heard in each slot.
    """
    moved: list[Moved] = []
    for number, run in enumerate(runs):
        since = run.first if number else -math.inf
        until = run.last if number < len(runs) - 1 else math.inf
        stretch = list(_stretch(places, slots, run.shift * slots.step, since, until))
        given = _reordered(stretch, heard) if run.state.manner == OTHER_ORDER else {}
        delay = -run.shift * slots.step * slots.grid
        moves = bool(delay)
        for _, place in stretch:
            plucks = given.get(place.index, place.plucks)
            if plucks:
                time = _microseconds(places, slots.onsets[place.index] + delay) if moves else place.time
                moved.append((time, place, plucks))
    times = tuple(time for time, _, _ in moved)
    made: list[Place] = []
    latest: dict[int, int] = {}  # the last moved place of each place
    known: dict[tuple[int, int], Expected] = {}  # a pluck is held at many places

    def at(pluck: Expected, place: int) -> Expected:
        """A pluck at a place where it is now."""
        if pluck.place == place:
            return pluck
        there = known.get((pluck.index, place))
        if there is None:
            there = known[pluck.index, place] = _put(pluck, place)
        return there

    for index, (time, place, plucks) in enumerate(moved):
        latest[place.index] = index
        made.append(_made(place, index, time, windows_at(times, index), plucks, latest, at))
    return replace(places, places=tuple(made), times=times)


def _microseconds(places: Places, at: Fraction) -> int:
    return round(places.tempo_map.seconds(at) * MICROSECONDS)


def _stretch(places: Places, slots: Slots, shift: int, since: float, until: float) -> Iterator[tuple[int, Place]]:
    """The places that were played in a stretch of slots, each with the slot in which it was."""
    for place, written in zip(places.places, slots.of_place, strict=True):
        if since <= written - shift <= until:
            yield written - shift, place


def _made(
    place: Place,
    index: int,
    time: int,
    windows: tuple[int, int],
    plucks: tuple[Expected, ...],
    latest: Mapping[int, int],
    at: Callable[[Expected, int], Expected],
) -> Place:
    """A place where the player was; ``latest`` tells where those before it are now, ``at`` puts a pluck there."""
    if (index, time, windows) == (place.index, place.time, (place.early, place.late)) and plucks is place.plucks:
        return place
    by = time - place.time

    def slur(each: Slur) -> Slur:
        source = latest.get(each.source_place, index)
        return replace(each, source_place=source, opens=each.opens + by, closes=each.closes + by)

    return Place(
        index=index,
        time=time,
        early=windows[0],
        late=windows[1],
        tolerance=place.tolerance,
        half_slot=place.half_slot,
        plucks=tuple([at(pluck, index) for pluck in plucks]),
        slurs=tuple([slur(each) for each in place.slurs]) if place.slurs else (),
        slides=tuple([slur(each) for each in place.slides]) if place.slides else (),
        held=tuple([at(held, latest[held.place]) for held in place.held if held.place in latest]),
    )


def _put(pluck: Expected, place: int) -> Expected:
    """A pluck at another place, written out: ``replace`` takes thrice as long, and a path has thousands of them."""
    return Expected(
        pluck.index,
        pluck.id,
        pluck.measure,
        place,
        pluck.time,
        pluck.pitch,
        pluck.string,
        pluck.fretted,
        pluck.open_pitch,
        pluck.picked,
        pluck.melody,
        pluck.source,
        pluck.pick,
        pluck.group,
    )


def _reordered(
    stretch: Sequence[tuple[int, Place]], heard: Mapping[int, Sequence[int]]
) -> dict[int, tuple[Expected, ...]]:
    """Which plucks are at each place of a stretch when those of the roll go, measure by measure, where they were heard.

    A pluck stays where its pitch was heard in its own slot. The others go, the nearest first, to slots in which their
    pitch was heard and nothing of the tune is written; what was heard nowhere stays.
    """
    at_slot: dict[int, Place] = {}
    for slot, place in stretch:
        at_slot.setdefault(slot, place)
    stays: dict[int, list[Expected]] = {place.index: [] for _, place in stretch}
    free: list[tuple[int, Place, Expected]] = []
    open_notes: dict[int, list[int]] = {slot: list(heard.get(slot, ())) for slot in at_slot}
    for slot, place in stretch:
        for pluck in place.plucks:
            if pluck.pitch in open_notes[slot]:
                open_notes[slot].remove(pluck.pitch)
                stays[place.index].append(pluck)
            elif pluck.melody or not pluck.picked:
                stays[place.index].append(pluck)
            else:
                free.append((slot, place, pluck))
    for slot in sorted(open_notes):
        if any(pluck.melody for pluck in at_slot[slot].plucks):
            continue
        for pitch in open_notes[slot]:
            fitting = [each for each in free if each[2].pitch == pitch and _same_measure(each[2], at_slot[slot])]
            if fitting:
                nearest = min(fitting, key=lambda each: (abs(each[0] - slot), each[0]))
                free.remove(nearest)
                stays[at_slot[slot].index].append(nearest[2])
    for _, place, pluck in free:
        stays[place.index].append(pluck)
    return {index: tuple(sorted(plucks, key=lambda pluck: pluck.index)) for index, plucks in stays.items()}


def _same_measure(pluck: Expected, place: Place) -> bool:
    return pluck.measure == place.plucks[0].measure


@dataclass(slots=True)
class Reading:
    """All of a pass judged at once: verdicts by the index of the pluck, extras and drops."""

    verdicts: dict[int, NoteVerdict] = field(default_factory=dict)
    extras: list[Placed] = field(default_factory=list)
    dropped: list[tuple[Placed, str]] = field(default_factory=list)
    shows_slur: bool = False


def read(sounds: Sounds, expected: Sequence[Expected], *, lean: int, slurs_shown: bool) -> Reading:
    """Judge all places of a pass.

    Args:
        sounds: what was heard, at the places where the player was.
        expected: the plucks of the pass as they are written.
        lean: the player's, in microseconds.
        slurs_shown: whether the instrument has shown a slur.

    What has no place is missed. Where a pluck has two (it was played twice), the better of its verdicts counts: one
    that counts as played, else the first.
    """
    reading = Reading()

    def played(index: int) -> bool:
        return index in reading.verdicts and reading.verdicts[index].played

    for place in sounds.places.places:
        kept, dropped = sounds.conditioned(place)
        judged = sounds.judge(place, kept, lean=lean, slurs_shown=slurs_shown, played=played)
        reading.dropped += dropped
        reading.extras += judged.extras
        reading.shows_slur = reading.shows_slur or judged.shows_slur
        for note in judged.verdicts:
            index = note.pluck.index
            here = replace(note, pluck=expected[index])
            reading.verdicts[index] = better(reading.verdicts.get(index), here)
    for pluck in expected:
        reading.verdicts.setdefault(pluck.index, NoteVerdict(pluck, "missed"))
    for placed in sounds.notes:
        if placed.place is None:
            reason = sounds.reason(placed)
            if reason is None:
                reading.extras.append(placed)
            else:
                reading.dropped.append((placed, reason))
    return reading


def better(first: NoteVerdict | None, second: NoteVerdict) -> NoteVerdict:
    """The better of two verdicts on a pluck, the first where they are alike."""
    if first is None or (second.played and not first.played):
        return second
    return second if first.verdict == "missed" and second.verdict != "missed" else first
