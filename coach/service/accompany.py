"""What sounds along with a pass: count-in, click, bass, chop and, when asked, the solo; as cues and as timed MIDI.

Cues are in heard seconds from position 0 of the pass; the count-in lies before 0. Their levels are within their part
(click, backing or solo); how loud each part is comes apart from them, since a page changes that while it sounds. MIDI
has both in its velocities. It uses the channels of the solo's MIDI file: the solo on those of its strings (1 to 5),
bass on 6, chop on 7, the click on the percussion channel 10; programs and keys are those of General MIDI level 1.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from coach.arranging.accompaniment import Backing, accompaniment
from coach.arranging.arrangement import Arrangement
from coach.arranging.click import Weight, click, count_in, count_in_length
from coach.arranging.pulse import Style, style_for
from coach.arranging.same import Same
from coach.listening.plan import PassPlan
from coach.service.midi_out import TimedMidi
from coach.service.protocol import Cue

__all__ = [
    "FILL",
    "RING",
    "Levels",
    "Played",
    "at_levels",
    "clicks",
    "cues_of",
    "lead_of",
    "length_of",
    "midi_of",
    "played_along",
    "positions_of",
]

RING = 2.0
"""Seconds after which a string of the banjo has died away (common practice, no source)."""

_CLICK_SECONDS = 0.05
_WEIGHTS: dict[Weight, float] = {"accent": 1.0, "beat": 0.8, "light": 0.45}
_CHOP = 0.6  # three notes at once are louder than one
_MELODY = 1.0
FILL = 0.65
"""How loud a note is beside one of the melody."""
_SLURRED = 0.7  # of a picked note's level

# Channels, counted from 0, and their programs.
_PROGRAMS = ((range(5), 105), ((5,), 32), ((6,), 25))
_PROGRAMS_AHEAD = 0.01
_BASS, _CHORD, _PERCUSSION = 5, 6, 9
_WOOD_BLOCKS = {"accent": 76, "click": 77}


@dataclass(frozen=True, slots=True)
class Played:
    """A sound that is made along with a pass.

    Attributes:
        at, length: in heard seconds, from position 0 of the pass.
        voice: as in a cue.
        pitch: MIDI note number.
        level: 0 to 1, within its part.
        channel: for MIDI, counted from 0.
    """

    at: float
    voice: Literal["click", "accent", "bass", "chop", "banjo"]
    pitch: int
    length: float
    level: float
    channel: int


@dataclass(frozen=True, slots=True)
class Levels:
    """How loud each part is, 0 (silent) to 1."""

    click: float
    backing: float
    solo: float

    def as_told(self) -> dict[str, float]:
        """The same as pages are told it: by the name of the part."""
        return {"click": self.click, "backing": self.backing, "solo": self.solo}

    def of(self, voice: str) -> float:
        """How loud the part of a voice is."""
        return self.as_told()[_PARTS[voice]]


_PARTS = {"click": "click", "accent": "click", "bass": "backing", "chop": "backing", "banjo": "solo"}


def lead_of(plan: PassPlan) -> float:
    """Seconds of count-in before position 0."""
    return float(count_in_length(plan.arrangement, first=plan.first)) * 60 / plan.tempo


def length_of(plan: PassPlan) -> float:
    """Seconds from position 0 to the end of the last measure."""
    return plan.tempo_map_from(0.0).seconds(plan.length)


def positions_of(plan: PassPlan) -> list[tuple[int, float]]:
    """Measure numbers, each with the seconds from position 0 at which it starts."""
    heard = plan.tempo_map_from(0.0)
    return [(measure.number, heard.seconds(start)) for measure, start in plan.starts]


def clicks(plan: PassPlan) -> list[Played]:
    """Count-in and click of a pass, in order of time."""
    return sorted(_clicks(plan), key=_in_time)


def played_along(plan: PassPlan) -> Sequence[Played]:
    """All that sounds along with a pass, in order of time; it is kept for those who play the same again."""
    return _played_along(Same(plan.arrangement), plan.tempo, plan.first, plan.last, plan.bounce)


@lru_cache(maxsize=64)
def _played_along(
    solo: Same[Arrangement], tempo: float, first: int | None, last: int | None, bounce: int
) -> tuple[Played, ...]:
    plan = PassPlan(solo.value, tempo, first=first, last=last, bounce=bounce)
    return tuple(sorted([*_clicks(plan), *_backing(plan), *_solo(plan)], key=_in_time))


def at_levels(parts: Sequence[Played], levels: Levels) -> list[Played]:
    """What sounds, as loud as its part is; what is silent is left out."""
    loud = (replace(part, level=part.level * levels.of(part.voice)) for part in parts)
    return [part for part in loud if part.level > 0]


def cues_of(parts: Sequence[Played]) -> list[Cue]:
    """What sounds, as cues for a page."""
    return [Cue(part.at, part.voice, part.pitch, part.length, part.level) for part in parts]


def midi_of(parts: Sequence[Played], origin: float) -> list[TimedMidi]:
    """What sounds, at the levels of its parts, as MIDI whose position 0 leaves at ``origin`` on the service's clock."""
    first = min((part.at for part in parts), default=0.0)
    out = [
        TimedMidi(origin + first - _PROGRAMS_AHEAD, bytes((0xC0 | channel, program)))
        for channels, program in _PROGRAMS
        for channel in channels
    ]
    for part in parts:
        on = bytes((0x90 | part.channel, part.pitch, max(1, round(part.level * 127))))
        out.append(TimedMidi(origin + part.at, on))
        out.append(TimedMidi(origin + part.at + part.length, bytes((0x80 | part.channel, part.pitch, 0))))
    return out


def _clicks(plan: PassPlan) -> Iterator[Played]:
    heard = plan.tempo_map_from(0.0)
    solo, first, last, tempo = plan.arrangement, plan.first, plan.last, plan.tempo
    for each in (*count_in(solo, first=first, tempo=tempo), *click(solo, first=first, last=last, tempo=tempo)):
        voice: Literal["accent", "click"] = "accent" if each.weight == "accent" else "click"
        loud = _WEIGHTS[each.weight]
        yield Played(heard.seconds(each.at), voice, _WOOD_BLOCKS[voice], _CLICK_SECONDS, loud, _PERCUSSION)


def _backing(plan: PassPlan) -> Iterator[Played]:
    heard = plan.tempo_map_from(0.0)
    for each in _written_backing(Same(plan.arrangement), plan.first, plan.last, style_for(plan.tempo)):
        at = heard.seconds(each.at)
        length = heard.seconds(each.at + each.length) - at
        channel, share = (_CHORD, _CHOP) if each.part == "chop" else (_BASS, 1.0)
        for pitch in each.pitches:
            yield Played(at, each.part, pitch, length, share, channel)


@lru_cache(maxsize=64)
def _written_backing(solo: Same[Arrangement], first: int | None, last: int | None, style: Style) -> tuple[Backing, ...]:
    """Bass and chop in written time: the same at most tempos, and the dearest part of a pass that begins."""
    return accompaniment(solo.value, first=first, last=last, style=style)


def _solo(plan: PassPlan) -> Iterator[Played]:
    heard = plan.tempo_map_from(0.0)
    again: dict[int, float] = {}  # a string rings until it is sounded again
    for measure, start in reversed(plan.starts):
        for pluck in reversed(measure.plucks):
            at = heard.seconds(start + pluck.at)
            level = _MELODY if pluck.role == "melody" else FILL
            if pluck.technique != "pick":
                level *= _SLURRED
            until = min(at + RING, again.get(pluck.string, math.inf))
            again[pluck.string] = at
            yield Played(at, "banjo", pluck.pitch, until - at, level, pluck.string - 1)


def _in_time(part: Played) -> tuple[float, str, int]:
    return part.at, part.voice, part.pitch
