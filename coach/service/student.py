"""The virtual player of the demo at the place of an instrument: its notes enter where captured notes do."""

from __future__ import annotations

from collections import deque

from coach.listening.plan import PassPlan
from coach.service.clock import Now
from coach.service.passes import CapturedNote
from coach.takes.player import VirtualPlayer

__all__ = ["STUDENT_NAME", "STUDENT_SEAT", "Student", "demo_player"]

STUDENT_SEAT = "student"
STUDENT_NAME = "virtual student"
"""The name under which pages see it among the MIDI inputs."""


ABILITY = 71.0
LEARNS = 0.03
LEAD = 0.055


def demo_player(ability: float | None = None, seed: int = 1) -> VirtualPlayer:
    """The player of the demo: a beginner, who errs at the tempo that is chosen at first.

    The numbers are such that the first pass of each demo tune has a handful of marks and is not clean. Running
    ahead of the click, as beginners do, costs early notes only until the coach has heard it for one pass.

    Args:
        ability: the tempo, in quarters a minute, at which strain is half-way; a beginner's where it is left out.
        seed: the same seed plays the same passes.
    """
    return VirtualPlayer(ability=ABILITY if ability is None else ability, seed=seed, learns=LEARNS, lead=LEAD)


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
