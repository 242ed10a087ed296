"""Ticks and seconds of a take.

A take has 24000 ticks a quarter, and its own tempo events say how long a quarter is: whole microseconds, as the file
format has them. So the seconds of a tick are an exact fraction, and a stamp that is put on its tick before it is judged
is judged the same when the file is read again.
"""

from __future__ import annotations

from bisect import bisect_right

__all__ = ["DIVISION", "TickGrid", "click_tempo", "microseconds_a_quarter"]

DIVISION = 24000
"""Ticks a quarter of the takes that are written here."""

_MICROSECONDS_A_MINUTE = 60_000_000
_MOST = (1 << 24) - 1
USUAL = 500_000
"""Microseconds a quarter where a file says nothing (Standard MIDI Files 1.0: 120 quarters a minute; from memory)."""


def microseconds_a_quarter(tempo: float) -> int:
    """What a tempo event holds for a tempo in quarters a minute.

    Raises:
        ValueError: when the tempo is out of the range of 24 bits (3.6 quarters a minute and up).
    """
    quarter = round(_MICROSECONDS_A_MINUTE / tempo) if tempo > 0 else 0
    if not 1 <= quarter <= _MOST:
        raise ValueError(f"tempo must be in range 3.6..6e7 quarters a minute, got {tempo!r}")
    return quarter


def click_tempo(tempo: float) -> float:
    """The nearest tempo, in quarters a minute, that a take can hold; a pass is played and judged at this."""
    return _MICROSECONDS_A_MINUTE / microseconds_a_quarter(tempo)


class TickGrid:
    """Converts between ticks and seconds of one take, whose tempo changes are added as they come.

    Args:
        division: ticks a quarter.
        quarter: microseconds a quarter at the start.
    """

    __slots__ = ("_quarters", "_ticks", "_units", "division")

    def __init__(self, division: int = DIVISION, quarter: int = USUAL) -> None:
        self.division = division
        # Tempo changes: tick, time of the tick in 1/division of a microsecond, microseconds a quarter from there on.
        self._ticks = [0]
        self._units = [0]
        self._quarters = [quarter]

    def change(self, tick: int, quarter: int) -> None:
        """Let quarters last ``quarter`` microseconds from ``tick`` on.

        Raises:
            ValueError: when a later change has been added before.
        """
        if tick < self._ticks[-1]:
            raise ValueError(f"tempo changes must come in order, got tick {tick} after {self._ticks[-1]}")
        if tick == self._ticks[-1]:
            self._quarters[-1] = quarter
            return
        self._units.append(self._units[-1] + (tick - self._ticks[-1]) * self._quarters[-1])
        self._ticks.append(tick)
        self._quarters.append(quarter)

    def take_back(self, tick: int) -> None:
        """Forget the last change, made at ``tick``: the pass that it belongs to does not begin after all.

        Raises:
            ValueError: when the last change is not at that tick, or is the start.
        """
        if tick != self._ticks[-1] or len(self._ticks) == 1:
            raise ValueError(f"the last tempo change is not at tick {tick}")
        for changes in (self._ticks, self._units, self._quarters):
            changes.pop()

    def seconds(self, tick: int) -> float:
        """The seconds of a tick: the float nearest to the exact time."""
        i = max(0, bisect_right(self._ticks, tick) - 1)
        units = self._units[i] + (tick - self._ticks[i]) * self._quarters[i]
        return units / (self.division * 1_000_000)

    def tempo(self, tick: int) -> float:
        """The tempo in quarters a minute at a tick."""
        return _MICROSECONDS_A_MINUTE / self._quarters[max(0, bisect_right(self._ticks, tick) - 1)]

    def tick(self, seconds: float) -> int:
        """The tick nearest to a stamp; never before the start."""
        return max(0, self._tick(seconds, self.division * 1_000_000, half=True))

    def snap(self, seconds: float) -> float:
        """A stamp put on its tick."""
        return self.seconds(self.tick(seconds))

    def snap_down(self, seconds: float) -> float:
        """A watermark put on the tick at or before it: no stamp that is yet to come is snapped to before that."""
        return self.seconds(max(0, self._tick(seconds, self.division * 1_000_000, half=False)))

    def _tick(self, seconds: float, units_a_second: int, *, half: bool) -> int:
        units = round(seconds * units_a_second)
        i = max(0, bisect_right(self._units, units) - 1)
        rest, quarter = units - self._units[i], self._quarters[i]
        return self._ticks[i] + (rest + (quarter // 2 if half else 0)) // quarter
