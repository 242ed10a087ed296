"""Bleed: a string that sounds in the pickup of its neighbour.

Only where channels tell strings. A pickup hears the string beside its own much softer than that string's own pickup
does, and at the same time. Neighbours are strings that lie beside each other, 4 and 5 too.
"""

from __future__ import annotations

from coach.listening.heard import HeardNote

__all__ = ["is_bleed_of"]

LOUDER = 2  # times


def is_bleed_of(note: HeardNote, true: HeardNote) -> bool:
    """Whether a note is what another string's pickup hears of a true note beside it; both are within 40 ms."""
    return (
        note.pitch == true.pitch
        and note.string is not None
        and true.string is not None
        and abs(note.string - true.string) == 1
        and true.velocity >= LOUDER * note.velocity
    )
