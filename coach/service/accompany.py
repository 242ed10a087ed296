"""What sounds along with a pass: count-in, click, bass, chop and, when asked, the solo; as cues and as timed MIDI.

Cues are in heard seconds from position 0 of the pass; the count-in lies before 0. MIDI uses the channels of the solo's
MIDI file: the solo on those of its strings (1 to 5), bass on 6, chop on 7, the click on the percussion channel 10;
programs and keys are those of General MIDI level 1.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from coach.arranging.accompaniment import accompaniment
from coach.arranging.click import Weight, click, count_in, count_in_length
from coach.listening.plan import PassPlan
from coach.service.midi_out import TimedMidi
from coach.service.protocol import Cue

__all__ = ["Levels", "Played", "cues_of", "lead_of", "length_of", "midi_of", "played_along", "positions_of"]

_CLICK_SECONDS = 0.05
_WEIGHTS: dict[Weight, float] = {"accent": 1.0, "beat": 0.8, "light": 0.45}
_CHOP = 0.6  # three notes at once are louder than one
_MELODY, _FILL = 1.0, 0.65

# Channels, counted from 0, and their programs.
_PROGRAMS = ((range(5), 105), ((5,), 32), ((6,), 25))
_PROGRAMS_AHEAD = 0.01
_BASS, _CHORD, _PERCUSSION = 5, 6, 9
_WOOD_BLOCKS = {"accent": 76, "click": 77}
_RING = Fraction(2)


@dataclass(frozen=True, slots=True)
class Played:
    """A sound that is made along with a pass.

    Attributes:
        at, length: in heard seconds, from position 0 of the pass.
        voice: as in a cue.
        pitch: MIDI note number.
        level: 0 to 1.
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


def played_along(plan: PassPlan, levels: Levels) -> list[Played]:
    """All that sounds along with a pass, in order of time; silent parts are left out."""
    parts = [*_clicks(plan, levels.click), *_backing(plan, levels.backing), *_solo(plan, levels.solo)]
    return sorted((part for part in parts if part.level > 0), key=lambda part: (part.at, part.voice, part.pitch))


def cues_of(parts: Sequence[Played]) -> list[Cue]:
    """What sounds, as cues for a page."""
    return [Cue(part.at, part.voice, part.pitch, part.length, part.level) for part in parts]


def midi_of(parts: Sequence[Played], origin: float) -> list[TimedMidi]:
    """What sounds, as MIDI whose position 0 leaves at ``origin`` on the service's clock."""
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


def _clicks(plan: PassPlan, level: float) -> Iterator[Played]:
    heard = plan.tempo_map_from(0.0)
    solo, first, last, tempo = plan.arrangement, plan.first, plan.last, plan.tempo
    for each in (*count_in(solo, first=first, tempo=tempo), *click(solo, first=first, last=last, tempo=tempo)):
        voice: Literal["accent", "click"] = "accent" if each.weight == "accent" else "click"
        loud = level * _WEIGHTS[each.weight]
        yield Played(heard.seconds(each.at), voice, _WOOD_BLOCKS[voice], _CLICK_SECONDS, loud, _PERCUSSION)


def _backing(plan: PassPlan, level: float) -> Iterator[Played]:
    heard = plan.tempo_map_from(0.0)
    for each in accompaniment(plan.arrangement, first=plan.first, last=plan.last, tempo=plan.tempo):
        at = heard.seconds(each.at)
        length = heard.seconds(each.at + each.length) - at
        channel, share = (_CHORD, _CHOP) if each.part == "chop" else (_BASS, 1.0)
        for pitch in each.pitches:
            yield Played(at, each.part, pitch, length, level * share, channel)


def _solo(plan: PassPlan, level: float) -> Iterator[Played]:
    heard = plan.tempo_map_from(0.0)
    notes = [(start + pluck.at, pluck) for measure, start in plan.starts for pluck in measure.plucks]
    for index, (at, pluck) in enumerate(notes):
        # A string rings until it is sounded again.
        again = next((later for later, other in notes[index + 1 :] if other.string == pluck.string), at + _RING)
        seconds = heard.seconds(at)
        length = heard.seconds(min(at + _RING, again)) - seconds
        share = _MELODY if pluck.role == "melody" else _FILL
        yield Played(seconds, "banjo", pluck.pitch, length, level * share, pluck.string - 1)
