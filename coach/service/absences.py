"""When the instruments of a session were not there, so that nobody is blamed for what could not be heard."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable

from coach.listening.free_time import FreePass
from coach.listening.saying import named_measures
from coach.service.accompany import length_of, positions_of
from coach.service.orders import Ended

__all__ = ["LOOK", "Absences", "absence_of", "measures_away"]

LOOK = 0.25
"""Seconds between two looks at the port list: a plug that is out for less is not seen to be out."""


class Absences:
    """From when to when inputs were away, in seconds of the service's clock."""

    def __init__(self) -> None:
        self._since: dict[str, float] = {}
        self._over: list[tuple[str, float, float]] = []

    def begins(self) -> None:
        """A pass begins: what was over before is nothing to it."""
        self._over.clear()

    def lost(self, seat: str, now: float) -> None:
        """An input is seen to have vanished; it may have gone just after the look before."""
        self._since.setdefault(seat, now - LOOK)

    def there(self, seats: Iterable[str], now: float) -> None:
        """These inputs are there now."""
        for seat in seats:
            if seat in self._since:
                self._over.append((seat, self._since.pop(seat), now))

    def of(self, seats: Collection[str]) -> tuple[tuple[float, float], ...]:
        """From when to when one of these inputs was away; to infinity for one that still is."""
        spans = [*self._over, *((seat, since, math.inf) for seat, since in self._since.items())]
        return tuple(sorted((since, until) for seat, since, until in spans if seat in seats))


def measures_away(ended: Ended) -> tuple[int, ...]:
    """The measures in which something is missing and the instrument was away; none in free time, which has no times."""
    if ended.result is None or isinstance(ended.played, FreePass):
        return ()
    starts = positions_of(ended.order.plan)
    ends = [*(seconds for _, seconds in starts[1:]), length_of(ended.order.plan)]
    lacking = {score.number for score in ended.result.measures if not score.clean}
    return tuple(
        number
        for (number, start), end in zip(starts, ends, strict=True)
        if number in lacking and any(since < end and until > start for since, until in ended.away)
    )


def absence_of(ended: Ended) -> str:
    """Where the instrument was away, in words: ``The instrument was not connected in measures 3 to 5``; empty where it
    was there, or nothing is missing for it."""
    numbers = measures_away(ended)
    where = ""
    if numbers:
        where = f"in {named_measures(numbers) or f'{len(numbers)} measures'}"
    elif isinstance(ended.played, FreePass) and ended.away and not ended.played.result.clean:
        where = "for a part of this pass"
    return f"The instrument was not connected {where}" if where else ""
