"""Marks: what a note seems to be at once, before anything is final."""

from __future__ import annotations

from typing import Literal

from coach.listening.conditioning import Placed
from coach.listening.events import Heard
from coach.listening.heard import HeardNote, StrayNote
from coach.listening.places import Place
from coach.listening.sounds import Sounds
from coach.listening.verdicts import heard_as, judge

__all__ = ["mark_alone", "mark_at"]

_CROWD = 8  # more notes at one place than this are noise, and are not looked at closely


def mark_alone(note: HeardNote | StrayNote, mark: Literal["extra", "dropped", "outside"]) -> Heard:
    """The mark of a note that seems to be no pluck."""
    return Heard(note.seq, None, mark, None, note.pitch, note.string)


def mark_at(place: Place, placed: Placed, sounds: Sounds, lean: int) -> Heard:
    """The mark of a note, judged with what has been heard at its place so far.

    Args:
        place: its place.
        placed: the note.
        sounds: what has been heard, the note among it.
        lean: the player's, in microseconds.
    """
    note, count = placed.note, len(sounds.at_place[place.index])
    if count > _CROWD:
        return mark_alone(note, "extra")
    if sounds.reason(placed) is not None:
        return mark_alone(note, "dropped")
    if count == len(place.plucks) == 1:
        pluck = place.plucks[0]
        verdict, offset, _ = heard_as(place, pluck, placed, lean)
        return Heard(note.seq, pluck.id, verdict, offset / 1000, note.pitch, note.string)
    judged = judge(place, sounds.conditioned(place)[0], lean=lean)
    given = next((given for given in judged.verdicts if given.seq == note.seq), None)
    if given is None:
        return mark_alone(note, "extra")
    return Heard(note.seq, given.pluck.id, given.verdict, given.offset_ms, note.pitch, note.string)
