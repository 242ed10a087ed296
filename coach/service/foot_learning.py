"""Setting a foot switch by pressing it: which of the messages that come is the switch.

The rule, for :data:`PATIENCE` seconds:

- A program change is a switch at once.
- A control change is one when it says that it is down (64 or more), if it cannot be anything else: not a bank or
  parameter number, data entry or a channel mode message (those come along with others, or are no controllers), and not
  one that was seen on its way (a value from 1 to 63): that is a pedal or wheel that moves by degrees. Of the last kind
  one that goes down in a single step all the same is a switch.
- A note from the foot switch's own input is one at once. Anywhere else a note is playing, until it is struck
  twice and nothing else is: the same note, :data:`TWICE` times in all, no other note from any input since learning
  began, and then silence for :data:`QUIET` seconds. Whoever plays strikes other notes.
"""

from __future__ import annotations

from coach.service.foot import FOOT_SEAT, HALF_WAY, Switch

__all__ = ["PATIENCE", "QUIET", "TWICE", "FootLearner"]

PATIENCE = 20.0
"""Seconds for which a press is waited for."""

QUIET = 1.0
"""Seconds of silence that make sure of a note."""

TWICE = 2
"""How often a note must be struck."""

# Bank select, data entry, increments and parameter numbers come in groups; 120 to 127 are channel mode messages (MIDI
# 1.0, table of control changes).
_NO_SWITCHES = frozenset({0, 6, 32, 38, *range(96, 102), *range(120, 128)})


class FootLearner:
    """Waits for the press of one switch.

    Args:
        does: what the switch is to do: start, again or next.
        now: when learning begins, in seconds on the service's clock.

    Attributes:
        switch: what was pressed; None until it is known.
    """

    def __init__(self, does: str, now: float) -> None:
        self.does = does
        self.switch: Switch | None = None
        self._until = now + PATIENCE
        self._seen_on_the_way: set[int] = set()
        self._notes: list[int] = []
        self._last = now

    def is_late(self, now: float) -> bool:
        """Whether nothing was pressed in time."""
        return self.switch is None and now >= self._until

    @property
    def words(self) -> str:
        """What the player is to do now."""
        if len(set(self._notes)) > 1:
            return "Notes of playing came: press the switch; if it sends notes itself, begin anew and press it alone."
        if self._notes:
            return f"Note {self._notes[0]} came: if it is the switch, press it once more, and nothing else."
        return "Press the switch now."

    def hear(self, seat: str, data: bytes, now: float) -> None:
        """Look at a message of an input; all messages are the learner's while it waits."""
        if self.switch is not None or len(data) < 2 or data[1] > 127:
            return
        kind, number = data[0] & 0xF0, data[1]
        if kind == 0xC0:
            self.switch = Switch("PC", number)
        elif len(data) < 3:
            return
        elif kind == 0xB0 and number not in _NO_SWITCHES:
            if 0 < data[2] < HALF_WAY:
                self._seen_on_the_way.add(number)
            elif data[2] >= HALF_WAY and number not in self._seen_on_the_way:
                self.switch = Switch("CC", number)
        elif kind == 0x90 and data[2] > 0:
            self._notes.append(number)
            self._last = now
            if seat == FOOT_SEAT:
                self.switch = Switch("note", number)

    def tick(self, now: float) -> None:
        """Time goes on: a note that was struck twice and nothing else is the switch when it is quiet."""
        if len(self._notes) >= TWICE and len(set(self._notes)) == 1 and now - self._last >= QUIET:
            self.switch = self.switch or Switch("note", self._notes[0])
