"""Challenges of passkeys that were given out: each holds for some minutes, for one purpose, and once."""

from __future__ import annotations

import secrets
from collections import OrderedDict

from coach.service.clock import Now

__all__ = ["HOLDS", "Challenges"]

HOLDS = 300.0
"""Seconds for which one holds."""

MOST = 10_000
"""Challenges that are given out at once: the oldest is forgotten first."""


class Challenges:
    """Those that are given out.

    Args:
        now: the clock.
    """

    def __init__(self, now: Now) -> None:
        self._now = now
        self._out: OrderedDict[bytes, tuple[float, str]] = OrderedDict()

    def new(self, purpose: str) -> bytes:
        """A new one, for a purpose."""
        challenge = secrets.token_bytes(32)
        self._out[challenge] = (self._now() + HOLDS, purpose)
        while len(self._out) > MOST:
            self._out.popitem(last=False)
        return challenge

    def take(self, challenge: bytes, purpose: str) -> bool:
        """Whether one was given out for this purpose and holds; it is of no use any more."""
        until, meant = self._out.pop(challenge, (0.0, ""))
        return until > self._now() and meant == purpose
