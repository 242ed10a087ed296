"""All timed MIDI that leaves the service: one thread, alive only while an output is open.

The thread sleeps to just before each deadline and spins the rest, so that a click is late by a few hundredths of a
millisecond and not by the event loop's millisecond.
"""

from __future__ import annotations

import contextlib
import heapq
import os
import threading
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from coach.service.clock import Now, monotonic

__all__ = ["ALL_NOTES_OFF", "TimedMidi", "TimedOut"]

SPIN = 0.001
"""Seconds before a deadline at which sleeping ends and spinning begins; sleeps overshoot by half of it at most."""

PRIORITY = 20
"""Of the thread, where the system lets it have one: above ordinary work, below audio servers."""

KEPT = 4096
"""Latenesses kept for the bench and for the log."""

ALL_NOTES_OFF = tuple(bytes((0xB0 | channel, controller, 0)) for channel in range(16) for controller in (123, 120))
"""Controllers 123 (all notes off) and 120 (all sound off) on every channel: MIDI 1.0, Channel Mode Messages."""


@dataclass(frozen=True, slots=True, order=True)
class TimedMidi:
    """A message and when it is to leave, in seconds on the service's clock."""

    seconds: float
    data: bytes


class TimedOut:
    """Sends messages at their times from a thread of its own.

    Args:
        send: hands bytes to the port; called from the thread only. What it raises is counted, never passed on.
        now: the clock that deadlines are on.
    """

    def __init__(self, send: Callable[[bytes], None], now: Now = monotonic) -> None:
        self._send = send
        self._now = now
        self._heap: list[TimedMidi] = []
        self._changed = threading.Condition()
        self._turn = 0
        self._silence = False
        self._closing = False
        self.failures = 0
        self.lateness: deque[float] = deque(maxlen=KEPT)
        self._thread = threading.Thread(target=self._run, name="midi-out", daemon=True)
        self._thread.start()

    def add(self, messages: Iterable[TimedMidi]) -> None:
        """Queue messages; those whose time is past leave at once."""
        with self._changed:
            for message in messages:
                heapq.heappush(self._heap, message)
            self._turn += 1
            self._changed.notify()

    def stop(self) -> None:
        """Forget what is queued and send all notes off."""
        with self._changed:
            self._heap.clear()
            self._silence = True
            self._turn += 1
            self._changed.notify()

    def close(self) -> None:
        """Silence the port and end the thread."""
        self.stop()
        with self._changed:
            self._closing = True
            self._changed.notify()
        self._thread.join()

    def _run(self) -> None:
        _come_first()
        while True:
            with self._changed:
                while not self._heap and not self._silence and not self._closing:
                    self._changed.wait()
                if self._silence:
                    self._silence = False
                    due: tuple[bytes, ...] = ALL_NOTES_OFF
                elif self._closing:
                    return
                else:
                    due = ()
                    first = self._heap[0].seconds
                    ahead = first - self._now()
                    if ahead > SPIN:
                        self._changed.wait(ahead - SPIN)
                        continue
                    turn = self._turn
            if due:
                for data in due:
                    self._hand_over(data)
                continue
            # Reading an int needs no lock; a stop or an earlier message ends the spin.
            while self._now() < first and turn == self._turn:
                pass
            self._send_due(turn)

    def _send_due(self, turn: int) -> None:
        """Send every message whose time has come, unless the queue was changed meanwhile."""
        while True:
            with self._changed:
                if turn != self._turn or not self._heap or self._heap[0].seconds > self._now():
                    return
                message = heapq.heappop(self._heap)
            self.lateness.append(self._now() - message.seconds)
            self._hand_over(message.data)

    def _hand_over(self, data: bytes) -> None:
        try:
            self._send(data)
        except Exception:  # noqa: BLE001 - a port that vanished must not end the thread that serves the next one
            self.failures += 1


def _come_first() -> None:
    """Ask the system to run this thread before ordinary ones, where it may: players of JACK mostly have that right."""
    if hasattr(os, "sched_setscheduler"):
        with contextlib.suppress(OSError):
            os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(PRIORITY))
