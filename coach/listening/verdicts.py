"""Verdicts: what became of each expected pluck of a place, and which notes are extras there.

A verdict is the first that fits of ``missed``, ``wrong note``, ``other string``, ``early``, ``late``, ``on time``;
*played* are the last four. Offsets are raw: against the click as it was heard, less the instrument's latency. The
player's lean is taken off before early and late are judged.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor
from typing import Literal

from coach.listening.conditioning import Placed, PlacedBend
from coach.listening.pairing import Candidate, Wanted, nearest, pair
from coach.listening.places import MICROSECONDS, Expected, Place, Places

__all__ = ["Extra", "Judged", "NoteVerdict", "Timing", "Verdict", "extra_of", "heard_as", "judge", "timing_of"]

Verdict = Literal["missed", "wrong note", "other string", "early", "late", "on time"]
Timing = Literal["early", "late", "on time"]

PINCH_SPREAD = 60_000  # added notes of a pinch this close (in microseconds) to its melody note go with it


@dataclass(frozen=True, slots=True)
class NoteVerdict:
    """What became of one expected pluck.

    Attributes:
        pluck: what was expected.
        verdict: see the module's text.
        offset: microseconds after its place, negative when before it; None when nothing was heard.
        timing: the verdict of time whatever the verdict; None when nothing was heard, and for slurred plucks.
        pitch, string: what was heard.
        seq: of the message that was heard.
        assumed: a slurred pluck that counts as played with its pick, on an instrument that has shown no slur.
        velocity: of the note that was heard, 1..127; None without one, and for a slur that was heard by a bend.
        bent: a bend arrived at the slurred pluck, whether or not a note-on sounded it too.
    """

    pluck: Expected
    verdict: Verdict
    offset: int | None = None
    timing: Timing | None = None
    pitch: int | None = None
    string: int | None = None
    seq: int | None = None
    assumed: bool = False
    velocity: int | None = None
    bent: bool = False

    @property
    def played(self) -> bool:
        """Whether the pluck counts as played."""
        return self.verdict not in ("missed", "wrong note")

    @property
    def offset_ms(self) -> float | None:
        """The offset in milliseconds."""
        return None if self.offset is None else self.offset / 1000


@dataclass(frozen=True, slots=True)
class Extra:
    """A note that nothing expected explains.

    Attributes:
        time: microseconds from the start of the pass.
        seq: of its message.
        measure: the number of the measure of the nearest slot.
        at: that slot, in quarters from the start of the measure.
        pitch, string: what was heard.
        fault: False for a tone of the chord or the drone on a slot where nothing was written.
    """

    time: int
    seq: int
    measure: int
    at: Fraction
    pitch: int
    string: int | None
    fault: bool


@dataclass(frozen=True, slots=True)
class Judged:
    """The outcome of one place.

    Attributes:
        verdicts: one for each expected pluck, by id.
        extras: the notes that are paired with none, by time.
        shows_slur: a slurred pluck was heard here.
    """

    verdicts: tuple[NoteVerdict, ...]
    extras: tuple[Placed, ...]
    shows_slur: bool


def timing_of(offset: int, lean: int, tolerance: int) -> Timing:
    """The verdict of time on an offset; all in microseconds, the limits themselves are on time."""
    judged = offset - lean
    return "early" if judged < -tolerance else "late" if judged > tolerance else "on time"


def judge(
    place: Place,
    notes: Sequence[Placed],
    *,
    lean: int = 0,
    arrivals: Mapping[int, PlacedBend] | None = None,
    slurs_shown: bool = True,
    played: Callable[[int], bool] = lambda _: True,
) -> Judged:
    """Judge a place.

    Args:
        place: the place.
        notes: the conditioned notes that belong to it, in order.
        lean: the player's lean in microseconds.
        arrivals: the bend that sounded a slurred pluck, by the pluck's index.
        slurs_shown: whether the instrument has shown a slur by now.
        played: whether the pick with this index was played.
    """
    arrivals = arrivals or {}
    if len(place.plucks) == 1 and not arrivals and (slurs_shown or place.plucks[0].picked):
        return _judge_alone(place, place.plucks[0], notes, lean)
    wanted = [
        Wanted(pluck.pitch, pluck.string, not pluck.picked and (pluck.index in arrivals or not slurs_shown))
        for pluck in place.plucks
    ]
    candidates = [Candidate(placed.time - place.time, placed.note.pitch, placed.note.string) for placed in notes]
    pairs = pair(wanted, candidates, place.early, place.late)
    heard = {pluck: i for i, pluck in enumerate(pairs) if pluck is not None}
    verdicts: list[NoteVerdict] = []
    shows_slur = False
    for k, pluck in enumerate(place.plucks):
        if k in heard:
            verdict = _of_note(place, pluck, notes[heard[k]], lean)
            if pluck.index in arrivals:
                verdict = replace(verdict, bent=True)
            shows_slur = shows_slur or (not pluck.picked and verdict.verdict == "on time")
        elif pluck.index in arrivals:
            arrival = arrivals[pluck.index]
            offset, bend = arrival.time - place.time, arrival.bend
            verdict = NoteVerdict(pluck, "on time", offset, None, pluck.pitch, bend.string, bend.seq, bent=True)
            shows_slur = True
        elif wanted[k].silent and (pluck.pick is None or played(pluck.pick)):
            verdict = NoteVerdict(pluck, "on time", assumed=True)
        else:
            verdict = NoteVerdict(pluck, "missed")
        verdicts.append(verdict)
    extras = tuple(placed for placed, pluck in zip(notes, pairs, strict=True) if pluck is None)
    return Judged(tuple(_as_a_pinch(place, verdicts)), extras, shows_slur)


def _judge_alone(place: Place, pluck: Expected, notes: Sequence[Placed], lean: int) -> Judged:
    """Judge a place of one pluck that must be heard."""
    if not notes:
        return Judged((NoteVerdict(pluck, "missed"),), (), shows_slur=False)
    paired = notes[0] if len(notes) == 1 else _nearest(place, pluck, notes)
    note = _of_note(place, pluck, paired, lean)
    extras = () if len(notes) == 1 else tuple([placed for placed in notes if placed is not paired])
    return Judged((note,), extras, shows_slur=not pluck.picked and note.verdict == "on time")


def _nearest(place: Place, pluck: Expected, notes: Sequence[Placed]) -> Placed:
    """The note that a pluck alone at its place is paired with: one is, since a pair never costs what neither does."""
    heard = [(placed.rank[0] - place.time, placed.note.pitch, placed.note.string) for placed in notes]
    return notes[nearest(pluck.pitch, pluck.string, heard, place.early, place.late)]


def heard_as(place: Place, pluck: Expected, placed: Placed, lean: int) -> tuple[Verdict, int, Timing | None]:
    """The verdict, the offset and the timing of a pluck that is paired with a note of its place."""
    note, offset = placed.note, placed.rank[0] - place.time
    timing = timing_of(offset, lean, place.tolerance) if pluck.picked else None
    if note.pitch != pluck.pitch:
        return "wrong note", offset, timing
    if note.string is not None and note.string != pluck.string:
        return "other string", offset, timing
    return timing or "on time", offset, timing


def _of_note(place: Place, pluck: Expected, placed: Placed, lean: int) -> NoteVerdict:
    """The verdict on a pluck that is paired with a note."""
    verdict, offset, timing = heard_as(place, pluck, placed, lean)
    note = placed.note
    return NoteVerdict(pluck, verdict, offset, timing, note.pitch, note.string, note.seq, velocity=note.velocity)


def _as_a_pinch(place: Place, verdicts: list[NoteVerdict]) -> list[NoteVerdict]:
    """Let the added notes of a pinch share the time of its melody note, or of its first where that was not played."""
    struck = [v for v in verdicts if v.pluck.picked and v.played and v.offset is not None]
    if len(struck) < 2:
        return verdicts
    by_time = sorted(struck, key=lambda v: v.offset or 0)
    leader = next((v for v in struck if v.pluck.melody), by_time[0])
    assert leader.offset is not None
    near = min(PINCH_SPREAD, place.half_slot)
    shared = []
    for v in verdicts:
        if v in struck and v.offset is not None and abs(v.offset - leader.offset) <= near:
            verdict = v.verdict if v.verdict == "other string" else leader.timing
            assert verdict is not None
            v = replace(v, verdict=verdict, timing=leader.timing)
        shared.append(v)
    return shared


def extra_of(placed: Placed, places: Places) -> Extra:
    """Where an extra note lies in the solo, and whether it is a fault."""
    index = places.span_at(placed.time)
    span = places.spans[index]
    number = floor((places.tempo_map.written(placed.time / MICROSECONDS) - span.at) / span.grid + 0.5)
    if number >= len(span.slots) and index + 1 < len(places.spans):
        span, number = places.spans[index + 1], 0
    slot = span.slots[min(max(0, number), len(span.slots) - 1)]
    arrangement, pitch = places.plan.arrangement, placed.note.pitch
    drone = arrangement.tuning.open_pitch(5) + arrangement.capo
    fits = pitch == drone or (pitch - arrangement.capo) % 12 in slot.tones
    return Extra(
        placed.time,
        placed.note.seq,
        span.measure.number,
        slot.at,
        pitch,
        placed.note.string,
        fault=slot.is_written or not fits,
    )
