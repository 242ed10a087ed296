"""Conditioning: which heard notes are no notes of the player's.

Reasons, the first that fits
    ``octave ghost``: an octave above a true note, within 40 ms of it, softer than it, on the same string where
        strings are told, and no pluck of its pitch is expected at its place.
    ``soft double``: another note of the same pitch and string within 40 ms is louder (of equally loud ones the first
        is the true one). Where strings are not told, notes are left alone where two plucks of their pitch are
        expected, at one place or at two.
    ``bleed``: where channels tell strings, a note of the same pitch on a neighbouring string within 40 ms is at least
        twice as loud (:mod:`~coach.listening.bleed`), and no pluck of its pitch is expected at its place; or one, on
        another string, and the louder note is at that place too.
    ``passing``: at a place from the start of a slide to its end, after the note it starts from was heard there,
        strictly between the two pitches, on the slide's string where strings are told, and not expected there.
    ``soft open string``: the open string below a finger that the solo has on it by now, or had until the pluck of the
        note's own place, at most half as loud as the fretted note as it was heard, on that string where strings are
        told, and not expected there.

Three more go by what else is known, and only where no pluck of the note's pitch is expected at its place
    ``re-triggered slur``: the pitch that a bend has just slurred to, sounded anew by a note-on
        (:mod:`~coach.listening.arrivals`).
    ``too short``: its note-off comes within 20 ms, on an instrument that holds its notes.
    ``below the gate``: softer than this player plays (:mod:`~coach.listening.traits` for both).

Every rule looks at notes no later than 40 ms after the note itself, so a place is settled 40 ms after its window.
A dropped note may be the louder one that drops another: of any cluster the loudest is kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from coach.listening.bleed import is_bleed_of
from coach.listening.heard import Bend, HeardNote
from coach.listening.places import Expected, Place, Places, Slur

__all__ = ["ADDED", "LOOK_AHEAD", "Placed", "PlacedBend", "Reason", "drop_reason", "wanted_at"]

Reason = str

LOOK_AHEAD = 40_000
"""How long after a note, in microseconds, another may still settle what it is."""

ADDED = frozenset({"octave ghost", "soft double", "bleed"})
"""Reasons by which a note is one that the instrument added to a true one beside it."""

OCTAVE = 12


@dataclass(frozen=True, slots=True)
class Placed:
    """A heard note on the clock of the pass: microseconds from its start less the latency, and the index of its place.

    ``rank`` orders the notes: by time, then by ``seq``.
    """

    rank: tuple[int, int]
    note: HeardNote
    place: int | None

    @property
    def time(self) -> int:
        """Microseconds from the start of the pass."""
        return self.rank[0]


@dataclass(frozen=True, slots=True)
class PlacedBend:
    """A bend on the clock of the pass, ordered like the notes."""

    rank: tuple[int, int]
    bend: Bend

    @property
    def time(self) -> int:
        """Microseconds from the start of the pass."""
        return self.rank[0]


def drop_reason(
    placed: Placed, near: Sequence[Placed], places: Places, heard_at: Mapping[int, Sequence[Placed]]
) -> Reason | None:
    """Why a note is dropped by the notes around it and what is written there, or None when it counts.

    Args:
        placed: the note.
        near: the notes within 40 ms before and after it; it may be among them.
        places: of the pass.
        heard_at: the heard notes by the index of their place, in order, up to and including its own place.
    """
    note = placed.note
    place = None if placed.place is None else places.places[placed.place]
    wanted = wanted_at(placed, places)
    same = []
    for other in near:
        if other.note.pitch == note.pitch and other is not placed:
            same.append(other)
        elif not wanted and _is_ghost_of(note, other.note):
            return "octave ghost"
    if same and any(_is_double_of(placed, other, places) for other in same):
        return "soft double"
    if same and note.string is not None and any(_is_bleed(placed, other, place, wanted) for other in same):
        return "bleed"
    if wanted:
        return None
    if place is not None and place.slides and any(_passes(placed, slide, heard_at) for slide in place.slides):
        return "passing"
    if any(_is_lift(placed, held, heard_at) for held in _held_until(placed, places)):
        return "soft open string"
    return None


def wanted_at(placed: Placed, places: Places) -> int:
    """How many plucks of its pitch are expected at the place of a note."""
    if placed.place is None:
        return 0
    pitch, count = placed.note.pitch, 0
    for pluck in places.places[placed.place].plucks:
        if pluck.pitch == pitch:
            count += 1
    return count


def _is_ghost_of(note: HeardNote, true: HeardNote) -> bool:
    return note.pitch == true.pitch + OCTAVE and note.velocity < true.velocity and _same_string(note, true.string)


def _is_double_of(placed: Placed, other: Placed, places: Places) -> bool:
    note, true = placed.note, other.note
    if note.pitch != true.pitch or not _same_string(note, true.string) or placed.rank == other.rank:
        return False
    if note.string is None:
        # On one channel the same pitch may well come from two strings; it does where two plucks of it are expected.
        wanted = wanted_at(placed, places)
        if wanted > 1 or (wanted and placed.place != other.place and wanted_at(other, places)):
            return False
    return true.velocity > note.velocity or (true.velocity == note.velocity and other.rank < placed.rank)


def _is_bleed(placed: Placed, other: Placed, place: Place | None, wanted: int) -> bool:
    note = placed.note
    if not is_bleed_of(note, other.note):
        return False
    if not wanted or place is None:
        return True
    # One pluck of its pitch is expected here, on another string: the louder note can be heard in its stead.
    expected = [pluck.string for pluck in place.plucks if pluck.pitch == note.pitch]
    return wanted == 1 and note.string not in expected and other.place == placed.place


def _same_string(note: HeardNote, string: int | None) -> bool:
    return note.string is None or string is None or note.string == string


def _passes(placed: Placed, slide: Slur, heard_at: Mapping[int, Sequence[Placed]]) -> bool:
    note, target = placed.note, slide.pluck
    low, high = sorted((slide.source_pitch, target.pitch))
    return (
        low < note.pitch < high
        and _same_string(note, target.string)
        and any(
            start.rank < placed.rank
            and start.note.pitch == slide.source_pitch
            and _same_string(start.note, target.string)
            for start in heard_at.get(slide.source_place, ())
        )
    )


def _held_until(placed: Placed, places: Places) -> tuple[Expected, ...]:
    """The fretted plucks that may have held a string until a note."""
    if placed.place is None:
        before = places.before(placed.time)
        return () if before is None else before.held
    held = places.places[placed.place].held
    # The finger may leave a string a little before or after that is plucked anew.
    return held + places.places[placed.place - 1].held if placed.place else held


def _is_lift(placed: Placed, held: Expected, heard_at: Mapping[int, Sequence[Placed]]) -> bool:
    note = placed.note
    if note.pitch != held.open_pitch or not _same_string(note, held.string):
        return False
    return any(
        fretted.rank < placed.rank
        and fretted.note.pitch == held.pitch
        and _same_string(fretted.note, held.string)
        and 2 * note.velocity <= fretted.note.velocity
        for fretted in heard_at.get(held.place, ())
    )
