"""When what becomes final in a pass: its places, slots and measures, and at last the pass."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from coach.listening.conditioning import LOOK_AHEAD
from coach.listening.places import Places

__all__ = ["MEASURE", "PASS", "PLACE", "SLOT", "agenda_of"]

PLACE, SLOT, MEASURE, PASS = range(4)


def agenda_of(places: Places, bounds: Sequence[int]) -> list[tuple[int, int, int]]:
    """When each place, slot, measure and at last the pass is settled: (microseconds, kind, index), in order."""
    agenda = [(place.closes + LOOK_AHEAD, PLACE, place.index) for place in places.places]
    due = 0
    for index, span in enumerate(places.spans):
        due = max(due, span.end + LOOK_AHEAD)
        inside = bisect_left(places.times, span.end)
        if inside:
            due = max(due, places.places[inside - 1].closes + LOOK_AHEAD)
        if inside < len(places.times):
            following = places.places[inside]
            if following.opens < span.end - following.half_slot:
                due = max(due, following.closes + LOOK_AHEAD)
        agenda.append((due, MEASURE, index))
    # By now that is when the last note has come; the last slot reaches on to it.
    agenda += [(min(bound, due), SLOT, slot) for slot, bound in enumerate((*bounds[:-1], due))]
    agenda.append((due, PASS, 0))
    return sorted(agenda)
