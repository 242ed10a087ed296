"""How a simulated instrument hears a player: latency, artefacts at stated rates, slurs, and MIDI in all its forms.

There is no published recording of a banjo's pickup (references D); what such instruments do is told in the trade's
terms (trade: MIDI from a banjo), and the rates are ours (common practice, no source). Each artefact is a model by
itself with random numbers of its own.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, Protocol

from player_noise import NEIGHBOURS, Neck, Stroke

from coach.listening.heard import StringChannels

__all__ = [
    "ARTEFACTS",
    "Artefact",
    "Bleed",
    "Delay",
    "Glitch",
    "LiftedFinger",
    "OctaveGhost",
    "Pickup",
    "Retrigger",
    "Sent",
    "SoftDouble",
    "SoundMade",
    "Sympathetic",
    "messages",
]

RING = 1.5  # seconds until a string has died away
LEAST_LENGTH = 0.004  # seconds
BEND_STEPS = 8192


@dataclass(frozen=True, slots=True)
class SoundMade:
    """A sound that the instrument hears, or thinks it hears.

    Attributes:
        seconds: when the string sounds it, before any latency.
        pitch, string, velocity: what is heard.
        cause: ``played`` for what a stroke sounds, else the artefact.
        stroke: the id of the pluck of that stroke.
        lasts: seconds until its note-off; None for until the string sounds something else or has died away.
        bent: by how many semitones the string is bent by now: of a bend, and of a note that is heard re-triggered on a
            bent string; None where it is not bent.
    """

    seconds: float
    pitch: int
    string: int
    velocity: int
    cause: str
    stroke: str | None = None
    lasts: float | None = None
    bent: float | None = None


class Artefact(Protocol):
    """Something that the instrument adds."""

    def sounds(self, strokes: Sequence[Stroke], rng: random.Random, neck: Neck) -> Iterator[SoundMade]:
        """What it adds to what was played."""
        ...


def _soft(velocity: int, rng: random.Random, least: float, most: float) -> int:
    return max(1, min(velocity - 1, round(velocity * rng.uniform(least, most))))


@dataclass(frozen=True, slots=True)
class OctaveGhost:
    """To so many of the notes the octave is heard too, softer, 3 to 35 ms later (trade: within about 40 ms)."""

    share: float = 0.02

    def sounds(self, strokes: Sequence[Stroke], rng: random.Random, neck: Neck) -> Iterator[SoundMade]:
        for stroke in strokes:
            late, soft = rng.uniform(0.003, 0.035), _soft(stroke.velocity, rng, 0.3, 0.8)
            if rng.random() < self.share:
                yield SoundMade(stroke.seconds + late, stroke.pitch + 12, stroke.string, soft, "octave ghost")


@dataclass(frozen=True, slots=True)
class SoftDouble:
    """So many of the notes are heard twice, the second softer, 5 to 35 ms later (trade: within about 40 ms)."""

    share: float = 0.02

    def sounds(self, strokes: Sequence[Stroke], rng: random.Random, neck: Neck) -> Iterator[SoundMade]:
        for stroke in strokes:
            late, soft = rng.uniform(0.005, 0.035), _soft(stroke.velocity, rng, 0.3, 0.9)
            if rng.random() < self.share:
                yield SoundMade(stroke.seconds + late, stroke.pitch, stroke.string, soft, "soft double")


@dataclass(frozen=True, slots=True)
class Bleed:
    """So many of the notes are heard on a string beside theirs too, at most half as loud, within 10 ms."""

    share: float = 0.02

    def sounds(self, strokes: Sequence[Stroke], rng: random.Random, neck: Neck) -> Iterator[SoundMade]:
        for stroke in strokes:
            late, soft = rng.uniform(-0.010, 0.010), _soft(stroke.velocity, rng, 0.2, 0.5)
            string = rng.choice(NEIGHBOURS[stroke.string])
            if rng.random() < self.share:
                yield SoundMade(stroke.seconds + late, stroke.pitch, string, soft, "bleed")


@dataclass(frozen=True, slots=True)
class Glitch:
    """Near so many of the notes something is heard for 3 to 12 ms that is no pluck: any pitch, any string."""

    share: float = 0.01

    def sounds(self, strokes: Sequence[Stroke], rng: random.Random, neck: Neck) -> Iterator[SoundMade]:
        for stroke in strokes:
            string, steps = rng.randint(1, 5), rng.randint(0, 12)
            late, lasts, loud = rng.uniform(-0.05, 0.15), rng.uniform(0.003, 0.012), rng.randint(15, 45)
            if rng.random() < self.share:
                yield SoundMade(stroke.seconds + late, neck.pitch(string) + steps, string, loud, "glitch", lasts=lasts)


@dataclass(frozen=True, slots=True)
class Sympathetic:
    """With so many of the notes another open string is heard to ring along, very softly."""

    share: float = 0.02

    def sounds(self, strokes: Sequence[Stroke], rng: random.Random, neck: Neck) -> Iterator[SoundMade]:
        for stroke in strokes:
            string = rng.choice([each for each in range(1, 6) if each != stroke.string])
            late, loud = rng.uniform(0.0, 0.06), rng.randint(6, 18)
            if rng.random() < self.share:
                yield SoundMade(stroke.seconds + late, neck.pitch(string), string, loud, "sympathetic")


@dataclass(frozen=True, slots=True)
class LiftedFinger:
    """After so many of the fretted notes the open string is heard as the finger lifts, at most half as loud."""

    share: float = 0.05

    def sounds(self, strokes: Sequence[Stroke], rng: random.Random, neck: Neck) -> Iterator[SoundMade]:
        for number, stroke in enumerate(strokes):
            held, soft = rng.uniform(0.5, 0.9), _soft(stroke.velocity, rng, 0.2, 0.5)
            open_pitch = neck.pitch(stroke.string)
            after = next((each for each in strokes[number + 1 :] if each.string == stroke.string), None)
            if rng.random() < self.share and stroke.pitch != open_pitch and after is not None:
                at = stroke.seconds + held * min(RING, max(0.0, after.seconds - stroke.seconds))
                yield SoundMade(at, open_pitch, stroke.string, soft, "lifted finger")


@dataclass(frozen=True, slots=True)
class Retrigger:
    """So many of the slurs that are heard as bends are heard once more as a new note, 5 to 30 ms later.

    The new note is the slur's target, or (half of them) the note it set out from, which sounds the target while the
    string is bent.
    """

    share: float = 0.25


@dataclass(frozen=True, slots=True)
class Delay:
    """How late the instrument hears a note: milliseconds for all, by string, and so many periods of the pitch.

    About two periods beside a constant (trade); f = 440 * 2 ** ((n - 69) / 12) Hz (references A3).
    """

    ms: float = 0.0
    by_string: tuple[tuple[int, float], ...] = ()
    periods: float = 0.0

    def seconds(self, string: int, pitch: int) -> float:
        """The latency of a note."""
        ms = dict(self.by_string).get(string, 0.0) if self.by_string else self.ms
        return ms / 1000 + self.periods / (440 * 2 ** ((pitch - 69) / 12))


ARTEFACTS: tuple[Artefact, ...] = (
    OctaveGhost(),
    SoftDouble(),
    Bleed(),
    Glitch(),
    Sympathetic(),
    LiftedFinger(),
)
"""All artefacts at their stated rates."""


@dataclass(frozen=True, slots=True)
class Pickup:
    """An instrument.

    Attributes:
        channels: of strings 1 to 5; None puts all on channel 1.
        artefacts: what it adds.
        delay: how late it hears.
        slurs: how it shows slurs: a note, a bend, either from one to the next, or not at all.
        passing: the share of slides shown as notes that sound pitches on their way.
        retrigger: what it makes of bends.
        bend_range: semitones; told by Registered Parameter Number 0 where it is not two (MIDI 1.0).
        note_off: when: as the note ends, at once, or never.
    """

    channels: StringChannels | None = (1, 2, 3, 4, 5)
    artefacts: tuple[Artefact, ...] = ()
    delay: Delay = field(default=Delay())
    slurs: Literal["note", "bend", "mixed", "none"] = "note"
    passing: float = 0.0
    retrigger: Retrigger = field(default=Retrigger(0.0))
    bend_range: int = 2
    note_off: Literal["held", "at once", "never"] = "held"

    def hear(self, strokes: Sequence[Stroke], seed: str, neck: Neck) -> list[SoundMade]:
        """All sounds of strokes that were really played, in order of time."""
        ordered = sorted(strokes, key=lambda stroke: stroke.seconds)
        rng = random.Random(f"{seed} slurs")
        sounds: list[SoundMade] = []
        last: dict[int, Stroke] = {}
        for stroke in ordered:
            sounds += self._played(stroke, last.get(stroke.string), rng)
            last[stroke.string] = stroke
        for artefact in self.artefacts:
            sounds += artefact.sounds(ordered, random.Random(f"{seed} {artefact}"), neck)
        return sorted(sounds, key=lambda sound: sound.seconds)

    def _played(self, stroke: Stroke, before: Stroke | None, rng: random.Random) -> Iterator[SoundMade]:
        way, again, source = rng.random(), rng.random(), rng.random() < 0.5
        passes = rng.random() < self.passing
        made = SoundMade(stroke.seconds, stroke.pitch, stroke.string, stroke.velocity, "played", stroke.id)
        if not stroke.by_left:
            yield made
            return
        if self.slurs == "none":
            return
        rises = 0 if before is None else stroke.pitch - before.pitch
        bends = self.slurs == "bend" or (self.slurs == "mixed" and way < 0.5)
        if before is not None and bends and 0 < abs(rises) <= self.bend_range:
            for share in (0.4, 0.8, 1.0):
                at = stroke.seconds - 0.02 * (1 - share)
                yield replace(made, seconds=max(at, before.seconds + 0.001), pitch=before.pitch, bent=rises * share)
            if again < self.retrigger.share:
                late, soft = 0.005 + 0.025 * way, max(1, round(0.8 * stroke.velocity))
                pitch = before.pitch if source else stroke.pitch
                bent = float(rises) if source else None
                at = stroke.seconds + late
                yield replace(made, seconds=at, pitch=pitch, velocity=soft, cause="re-trigger", bent=bent)
            return
        if passes and before is not None and stroke.pluck is not None and stroke.pluck.technique == "slide":
            step = 1 if rises > 0 else -1
            for share in range(1, abs(rises)):
                at = stroke.seconds - 0.03 * (1 - share / abs(rises))
                at = max(at, before.seconds + 0.001)
                soft = max(1, round(0.8 * stroke.velocity))
                yield SoundMade(at, before.pitch + step * share, stroke.string, soft, "passing")
        yield made


@dataclass(frozen=True, slots=True)
class Sent:
    """A message as the instrument sends it.

    Attributes:
        seconds: of its sending: the sound and the latency.
        data: a whole message.
        sound: what it tells of; None for note-offs, controls and the like.
    """

    seconds: float
    data: bytes
    sound: SoundMade | None = None


def messages(pickup: Pickup, sounds: Sequence[SoundMade]) -> list[Sent]:
    """The MIDI messages of an instrument, in order of time.

    Half of the note-offs are note-ons of velocity 0 (MIDI 1.0 has both). A note on a bent channel is sent after
    the bend is taken back, but for one that is heard because of the bend.
    """
    channels = pickup.channels or (1, 1, 1, 1, 1)
    sent: list[tuple[float, int, Sent]] = []
    used = sorted(set(channels))
    first = min((sound.seconds for sound in sounds), default=0.0) - 0.5

    def put(seconds: float, order: int, data: bytes, sound: SoundMade | None = None) -> None:
        sent.append((seconds, order, Sent(seconds, data, sound)))

    if pickup.bend_range != 2:
        for channel in used:
            for control, value in ((101, 0), (100, 0), (6, pickup.bend_range), (38, 0)):
                put(first, 0, bytes([0xB0 | channel - 1, control, value]))
    ringing: dict[int, tuple[int, float]] = {}  # by string: the key that sounds, and until when at most
    bent: set[int] = set()
    offs = 0

    def off(string: int, seconds: float) -> None:
        nonlocal offs
        key, until = ringing.pop(string)
        status = 0x80 if offs % 2 else 0x90
        offs += 1
        put(min(seconds, until), 1, bytes([status | channels[string - 1] - 1, key, 64 if offs % 2 == 0 else 0]))

    late = {id(sound): sound.seconds + pickup.delay.seconds(sound.string, sound.pitch) for sound in sounds}
    for sound in sorted(sounds, key=lambda sound: late[id(sound)]):
        now, channel = late[id(sound)], channels[sound.string - 1]
        if sound.bent is not None and sound.cause == "played":
            value = round(BEND_STEPS + sound.bent * BEND_STEPS / pickup.bend_range)
            value = max(0, min(2 * BEND_STEPS - 1, value))
            put(now, 3, bytes([0xE0 | channel - 1, value & 127, value >> 7]), sound)
            bent.add(channel)
            continue
        if channel in bent and sound.bent is None:
            put(now, 2, bytes([0xE0 | channel - 1, 0, 64]))
            bent.discard(channel)
        if sound.string in ringing and pickup.note_off == "held":
            off(sound.string, now)
        put(now, 3, bytes([0x90 | channel - 1, sound.pitch, sound.velocity]), sound)
        if pickup.note_off == "never":
            continue
        ringing[sound.string] = (sound.pitch, now + (RING if sound.lasts is None else max(LEAST_LENGTH, sound.lasts)))
        if pickup.note_off == "at once":
            off(sound.string, now + 0.005)
    for string in sorted(ringing):
        off(string, math.inf)
    return [message for _, _, message in sorted(sent, key=lambda each: each[:2])]
