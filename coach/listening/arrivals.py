"""Arrivals: slurred plucks that are sounded by a bend, and note-ons that only sound them once more.

Bends and notes of a channel are taken in the order in which the instrument sent them, by stamp and number: its latency
may hang on the pitch, which a bend has not.

A bend moves the last note of its channel; one that the instrument has added (a ghost and the like, a blip, what is
below the gate) is none, nor is a finger lifted from another string, for all that one channel tells.

An instrument that bends to a pitch may then send a note-on of it, or of the pitch it came from while that is still
bent: within 100 ms of the bend's arrival (common practice, no source) this is the same slur and no other note.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence

from coach.listening.conditioning import Placed, PlacedBend
from coach.listening.places import MICROSECONDS, Slur

__all__ = ["SETTLES", "is_sounded_again", "note_stamp", "slur_arrival"]

CLOSE_CENTS = 50.0

SETTLES = 100_000
"""How long after a bend's arrival, in microseconds, a note-on may still be the same slur."""


def note_stamp(placed: Placed) -> tuple[float, int]:
    """By what the notes of a channel are ordered: as they were sent."""
    return placed.note.seconds, placed.note.seq


def slur_arrival(
    slur: Slur,
    bends: Iterable[PlacedBend],
    by_channel: Mapping[int, Sequence[Placed]],
    is_added: Callable[[Placed, PlacedBend], bool],
) -> PlacedBend | None:
    """The first bend that comes within 50 cents of a slurred pluck; None when none does.

    Args:
        slur: the slur.
        bends: the bends between its opening and its closing, in order.
        by_channel: the notes of each channel, as they were sent.
        is_added: whether a note is one that the instrument has added, as far as that was known when a bend came.
    """
    target = slur.pluck
    for bent in bends:
        if bent.bend.string is not None and bent.bend.string != target.string:
            continue
        notes = by_channel.get(bent.bend.channel, ())
        last = bisect_left(notes, (bent.bend.seconds, bent.bend.seq), key=note_stamp) - 1
        while last >= 0 and is_added(notes[last], bent):
            last -= 1
        if last >= 0 and _is_close(notes[last].note.pitch, bent.bend.cents, target.pitch):
            return bent
    return None


def is_sounded_again(placed: Placed, slur: Slur, arrival: PlacedBend, bends: Iterable[PlacedBend]) -> bool:
    """Whether a note-on only sounds once more what a bend has arrived at.

    Args:
        placed: the note.
        slur, arrival: the slur, and the bend that arrived.
        bends: those from the arrival on, in order; the last one before the note tells how its channel is bent.
    """
    note, target = placed.note, slur.pluck.pitch
    if note.channel != arrival.bend.channel or note_stamp(placed) < (arrival.bend.seconds, arrival.bend.seq):
        return False
    if round((note.seconds - arrival.bend.seconds) * MICROSECONDS) > SETTLES:
        return False
    cents = arrival.bend.cents
    for bent in bends:
        if bent.bend.channel == note.channel and (bent.bend.seconds, bent.bend.seq) < note_stamp(placed):
            cents = bent.bend.cents
    return note.pitch == target or _is_close(note.pitch, cents, target)


def _is_close(pitch: int, cents: float, target: int) -> bool:
    return abs(100 * (pitch - target) + cents) <= CLOSE_CENTS
