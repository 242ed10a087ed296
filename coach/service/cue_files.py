"""What sounds, as files that pages fetch to play it between passes: a solo, or a take beside its solo.

``GET /arrangements/DIGEST.cues.json?tempo=84&first=1&last=4&bounce=50`` (each may be left out) answers with a solo::

    {"format": "cues/1", "digest": "9be0…", "tempo": 84.0, "bounce": 50, "first": 1, "last": 4, "lead": 2.857,
     "length": 11.429, "positions": [[1, 0.0], [2, 2.857]], "free": false,
     "cues": [[-2.857, "accent", 76, 0.05, 1.0], [0.0, "banjo", 55, 0.357, 1.0]]}

and ``GET /takes/SESSION/NUMBER.cues.json`` with a take: ``cues`` are the notes heard, ``written`` those of the
solo, ``click`` is the click with its count-in, ``end`` says until when the take goes on, and ``free`` that it had no
click. All times are seconds from position 0 of the pass, where the click was heard; cues are those of the wire, with
levels within their part.

What was heard stands where it was played: the latency of the instrument is taken off, and notes that were no note of
the player's are left out. The loudest note has level 1, the others go with the square of their velocities (common
practice, no source). A bent string sounds anew each time that it comes to another semitone. In free time the solo is
put where the player was: each place on the player's own line.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Struct

from coach.arranging.arrangement import Arrangement
from coach.errors import InputError, TakeError
from coach.listening.alignment import align
from coach.listening.free_time import doubted, less_latency, onsets_of
from coach.listening.heard import Bend, HeardNote, Sound
from coach.listening.own_time import own_time
from coach.listening.places import places_of
from coach.listening.plan import PassPlan
from coach.service.accompany import (
    FILL,
    RING,
    Played,
    clicks,
    cues_of,
    lead_of,
    length_of,
    played_along,
    positions_of,
)
from coach.takes.sessions import SessionFolder, read_session
from coach.takes.take import heard_in

__all__ = ["FORMAT", "CuesAsked", "cues_of_solo", "cues_of_take", "read_question", "take_file"]

FORMAT = "cues/1"

_BENT = 60  # cents: so far from the semitone that sounds, a string has come to another; a tremble between two is none
_SLIDING = 0.8  # of the level, each time that a bent string comes to another semitone
_SAME = 1e-4  # seconds: a note of the report and one of the take are the same


class CuesAsked(Struct, frozen=True):
    """How a solo is to sound; what is None is as it is written, the tempo that of a moderate pass."""

    tempo: Annotated[float, Meta(ge=20, le=400)] = 84.0
    first: Annotated[int, Meta(ge=0, le=100_000)] | None = None
    last: Annotated[int, Meta(ge=0, le=100_000)] | None = None
    bounce: Annotated[int, Meta(ge=50, le=67)] | None = None


def read_question(query: Mapping[str, str]) -> CuesAsked:
    """What the query of an address asks for.

    Raises:
        InputError: when it cannot be meant.
    """
    try:
        return msgspec.convert(dict(query), CuesAsked, strict=False)
    except msgspec.ValidationError as error:
        raise InputError(
            f"the solo cannot sound like this: {error}",
            cure="choose a tempo from 20 to 400, a bounce from 50 to 67, and measures by their numbers",
        ) from error


def cues_of_solo(arrangement: Arrangement, digest: str, asked: CuesAsked) -> bytes:
    """A solo with all that sounds along, as JSON.

    Args:
        arrangement: the solo.
        digest: its digest.
        asked: which of its measures, and how.

    Raises:
        InputError: when it has no such measures.
    """
    bounce = arrangement.bounce if asked.bounce is None else asked.bounce
    plan = PassPlan(arrangement, asked.tempo, first=asked.first, last=asked.last, bounce=bounce)
    return _file(plan, digest, cues=cues_of(played_along(plan)))


def take_file(folder: Path, number: int) -> bytes:
    """A pass of a session's folder, as :func:`cues_of_take` has it; it takes its time, so have a worker do it.

    Raises:
        TakeError: when the folder cannot be read.
    """
    return cues_of_take(read_session(folder), number)


def cues_of_take(folder: SessionFolder, number: int) -> bytes:
    """What was heard in a pass, with its solo and its click, as JSON.

    Args:
        folder: of the session.
        number: of the pass in it, from 1.

    Raises:
        TakeError: when there is no such pass.
    """
    passes = list(zip(folder.session.passes, folder.take.passes, strict=False))
    if not 1 <= number <= len(passes):
        raise TakeError(f"the session has no pass {number}", cure="load the page anew")
    each, mark = passes[number - 1]
    following = passes[number][1].seconds if number < len(passes) else folder.take.end
    plan = PassPlan(folder.arrangements[each.digest], mark.tempo, first=mark.first, last=mark.last, bounce=each.bounce)
    lead = 0.0 if each.free else lead_of(plan)
    sounds = _sounds(folder, mark.seconds - lead, following, mark.seconds)
    if each.free:
        return _free_file(plan, each.digest, sounds, following - mark.seconds)
    solo = [part for part in played_along(plan) if part.voice == "banjo"]
    end = length_of(plan) if mark.stopped_seconds is None else mark.stopped_seconds - mark.seconds
    return _file(
        plan,
        each.digest,
        cues=cues_of(_strings(sounds)),
        written=cues_of(solo),
        click=cues_of(clicks(plan)),
        end=end,
    )


def _file(plan: PassPlan, digest: str, **more: Any) -> bytes:
    measures = plan.measures
    return msgspec.json.encode(
        {
            "format": FORMAT,
            "digest": digest,
            "tempo": plan.tempo,
            "bounce": plan.bounce,
            "first": measures[0].number,
            "last": measures[-1].number,
            "lead": lead_of(plan),
            "length": length_of(plan),
            "positions": positions_of(plan),
            "free": False,
        }
        | more
    )


def _free_file(plan: PassPlan, digest: str, sounds: Sequence[Sound], end: float) -> bytes:
    """A pass in free time: measures begin, and the solo sounds, where the player's own line has them."""
    places = places_of(replace(plan, tempo=60.0, origin=0.0))
    onsets = onsets_of(places)
    notes = doubted([sound for sound in sounds if isinstance(sound, HeardNote)])
    measures = [place.plucks[0].measure for place in places.places]
    line = own_time(onsets, measures, notes, align(onsets, notes, 60.0 / plan.tempo)).line
    positions: dict[int, float] = {}
    written: list[_Note] = []
    for index, seconds in sorted(line.items(), key=lambda each: each[1]):
        positions.setdefault(measures[index], seconds)
        written += (
            _Note(seconds, pluck.pitch, 1.0 if pluck.melody else FILL, pluck.string)
            for pluck in places.places[index].plucks
        )
    return _file(
        plan,
        digest,
        lead=0.0,
        length=end,
        positions=[*positions.items()],
        free=True,
        cues=cues_of(_strings(sounds)),
        written=cues_of(_ringing(written)),
        click=[],
        end=end,
    )


def _sounds(folder: SessionFolder, since: float, until: float, origin: float) -> list[Sound]:
    """What the player sounded from ``since`` to ``until`` of the take, in seconds from ``origin``, in order."""
    instrument = folder.session.instrument
    dropped = _dropped(folder)
    sounds = (
        less_latency(sound, instrument.latency)
        for sound in heard_in(folder.take, instrument.string_channels)
        if since <= sound.seconds <= until and not _is_one_of(dropped, sound)
    )
    moved = (replace(sound, seconds=sound.seconds - origin) for sound in sounds)
    return sorted(moved, key=lambda sound: (sound.seconds, sound.seq))


def _dropped(folder: SessionFolder) -> dict[int, list[float]]:
    """The notes that were none of the player's, as the report has them: their stamps by their pitches."""
    dropped: dict[int, list[float]] = {}
    data: Any = [] if folder.report is None else msgspec.json.decode(folder.report)
    for report in data if isinstance(data, list) else [data]:
        for note in report["dropped"]:
            dropped.setdefault(note["pitch"], []).append(note["seconds"])
    return dropped


def _is_one_of(dropped: Mapping[int, list[float]], sound: Sound) -> bool:
    return isinstance(sound, HeardNote) and any(
        abs(seconds - sound.seconds) < _SAME for seconds in dropped.get(sound.pitch, ())
    )


@dataclass(frozen=True, slots=True)
class _Note:
    """A note that is to sound: seconds, pitch, level, and what it ends the sound of by sounding."""

    seconds: float
    pitch: int
    level: float
    string: Hashable


@dataclass(slots=True)
class _Channel:
    """What sounds on a channel.

    Attributes:
        bend: in cents, as it was told last.
        pitch: of the note that was struck, without the bend; None before the first.
        note: as it sounds now.
    """

    bend: float = 0.0
    pitch: int = 0
    note: _Note | None = None


def _strings(sounds: Sequence[Sound]) -> list[Played]:
    """The banjo as it was played."""
    loudest = max((sound.velocity for sound in sounds if isinstance(sound, HeardNote)), default=1)
    notes: list[_Note] = []
    channels: defaultdict[int, _Channel] = defaultdict(_Channel)
    for sound in sounds:
        if not isinstance(sound, HeardNote | Bend):
            continue
        channel = channels[sound.channel]
        if isinstance(sound, HeardNote):
            channel.pitch = sound.pitch
            # Where strings are not known, a note ends the one before it of its pitch.
            string = sound.string or -sound.pitch
            pitch = sound.pitch + round(channel.bend / 100)
            channel.note = _Note(sound.seconds, pitch, (sound.velocity / loudest) ** 2, string)
        else:
            channel.bend = sound.cents
            now = channel.note
            if now is None or abs(channel.pitch * 100 + sound.cents - now.pitch * 100) < _BENT:
                continue
            pitch = channel.pitch + round(sound.cents / 100)
            channel.note = replace(now, seconds=sound.seconds, pitch=pitch, level=now.level * _SLIDING)
        notes.append(channel.note)
    return _ringing(notes)


def _ringing(notes: Sequence[_Note]) -> list[Played]:
    """Notes in order of time, each ringing until its string sounds anew."""
    again: dict[Hashable, float] = {}
    played = []
    for note in reversed(notes):
        until = min(note.seconds + RING, again.get(note.string, math.inf))
        again[note.string] = note.seconds
        played.append(Played(note.seconds, "banjo", note.pitch, until - note.seconds, note.level, 0))
    return played[::-1]
