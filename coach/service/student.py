"""The virtual player of the demo at the place of an instrument: its notes enter where captured notes do."""

from __future__ import annotations

from collections import deque

from coach.listening.plan import PassPlan
from coach.service.clock import Now
from coach.service.passes import CapturedNote
from coach.takes.player import VirtualPlayer

__all__ = ["STUDENT_SEAT", "Student"]

STUDENT_SEAT = "student"


class Student:
    """Plays each pass when its click begins.

    Args:
        player: how they play.
        now: the service's clock; the notes are stamped on it.
    """

    def __init__(self, player: VirtualPlayer, now: Now) -> None:
        self._player = player
        self._now = now
        self._seq = 0
        self._ahead: deque[CapturedNote] = deque()

    def pass_begins(self, plan: PassPlan, origin: float) -> None:
        """A pass is played whose position 0 is heard at ``origin`` on the service's clock."""
        self._ahead.clear()
        for played in self._player.play(plan):
            self._seq += 1
            self._ahead.append(CapturedNote(self._seq, origin + played.seconds, played.data))

    def pass_ends(self) -> None:
        """The pass is over; the rest is not played."""
        self._ahead.clear()

    def due(self) -> list[CapturedNote]:
        """What has sounded by now, each note stamped with its own time."""
        now = self._now()
        due = []
        while self._ahead and self._ahead[0].stamp <= now:
            due.append(self._ahead.popleft())
        return due
