"""A virtual player: plays a solo and errs as students do, the more the tempo is above what they can do.

The model is a teacher's, in numbers of our own (common practice, no source): the fifth string comes early; chord
changes and slides are late and caught up with over a few notes; easy rolls on open strings run away; hammer-ons are
crushed; the note after a slur is swallowed; the middle finger is weak; a neighbouring string is caught instead; a long
fill is cut short and the melody comes back early; under strain melody and fill sound alike. The jitter of 15 ms is what
two players of running notes showed.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from coach.arranging.arrangement import Arrangement, Pluck
from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, StringChannels
from coach.listening.plan import PassPlan

__all__ = ["Played", "VirtualPlayer"]

JITTER = 0.015  # seconds, standard deviation
STEEPNESS = 0.12  # how sharply strain sets in around the ability, in the logarithm of the tempo
RING = 2.0  # seconds until an unplayed string has died away
BEND_RANGE = 2  # semitones, as instruments have it unless told otherwise

# At full strain: shares of the plucks concerned, and seconds.
MISSED = 0.05
MISSED_BY_MIDDLE = 0.2
WRONG_STRING = 0.08
SWALLOWED = 0.5
CRUSHED = 0.7
CUT_SHORT = 0.3
DRONE_EARLY = 0.05
CHANGE_LATE = 0.09
RUSH = 0.006

VELOCITY = {"melody": 98, "lick": 84, "pinch": 76, "fill": 70, "drone": 66}


@dataclass(frozen=True, slots=True)
class Played:
    """A MIDI message and when it sounds, in seconds from the downbeat of the pass; may be a little before it."""

    seconds: float
    data: bytes


@dataclass(frozen=True, slots=True)
class _Stroke:
    """A pluck on its way to being played."""

    pluck: Pluck
    seconds: float
    velocity: int
    string: int
    measure: int


@dataclass(frozen=True, slots=True)
class VirtualPlayer:
    """A student.

    Attributes:
        ability: the tempo, in quarters a minute with running eighths, at which strain is half-way.
        seed: the same seed plays the same passes.
        learns: by how much the ability grows from pass to pass.
        lead: how far ahead of the click they play all the time, in seconds.
        channels: the MIDI channels of strings 1 to 5; None puts all on channel 1.
    """

    ability: float = 90.0
    seed: int = 1
    learns: float = 0.01
    lead: float = 0.008
    channels: StringChannels | None = STRINGS_ON_OWN_CHANNELS

    def ability_at(self, pass_number: int) -> float:
        """The ability in a pass, counted from 1."""
        return self.ability * (1 + self.learns) ** (pass_number - 1)

    def strain(self, tempo: float, pass_number: int = 1) -> float:
        """How hard a tempo is: 0 with ease, 0.5 at the ability, 1 far above it."""
        return 1 / (1 + math.exp(-math.log(tempo / self.ability_at(pass_number)) / STEEPNESS))

    def play(self, plan: PassPlan) -> tuple[Played, ...]:
        """Play a pass; its number tells how much has been learned. Messages are in order of time."""
        arrangement = plan.arrangement
        rng = random.Random(
            f"{self.seed} {plan.number} {plan.tempo:.3f} {plan.span} {arrangement.tune} {arrangement.tier}"
        )
        strain = self.strain(plan.tempo, plan.number)
        strokes = list(self._strokes(plan, strain, rng))
        strokes = _cut_fills(strokes, strain, rng)
        strokes = [stroke for stroke in strokes if not _is_missed(stroke, strain, rng)]
        strokes = _swallow(strokes, strain, rng)
        strokes = [_on_a_neighbour(stroke, strain, rng) for stroke in strokes]
        return tuple(self._messages(arrangement, strokes))

    def _strokes(self, plan: PassPlan, strain: float, rng: random.Random) -> Iterator[_Stroke]:
        """All plucks with their times and loudness, nothing left out yet."""
        tempo_map = plan.tempo_map_from(0.0)
        slot = tempo_map.quarter * float(plan.arrangement.slot)
        behind = ahead = 0.0
        last_at: dict[int, float] = {}
        for measure, start in plan.starts:
            easy = all(pluck.fret == 0 and pluck.technique == "pick" for pluck in measure.plucks)
            changes = {change.at for change in measure.chords}
            ahead = 0.0
            before: Fraction | None = None
            for pluck in measure.plucks:
                if pluck.at != before:
                    behind *= 0.5
                    if (pluck.at in changes and start) or pluck.technique == "slide":
                        behind += CHANGE_LATE * strain
                    ahead += RUSH * strain if easy else 0.0
                    before = pluck.at
                seconds = tempo_map.seconds(start + pluck.at) - self.lead + behind - ahead
                seconds += rng.gauss(0.0, JITTER * (0.7 + 0.6 * strain))
                if pluck.string == 5 and pluck.technique == "pick":
                    seconds -= min(DRONE_EARLY * strain, slot / 3)
                if pluck.technique in ("hammer-on", "pull-off") and rng.random() < CRUSHED * strain:
                    picked = last_at.get(pluck.string, seconds)
                    seconds = picked + 0.45 * max(0.0, seconds - picked)
                seconds = max(seconds, last_at.get(pluck.string, -math.inf) + 0.03)
                last_at[pluck.string] = seconds
                yield _Stroke(pluck, seconds, _loudness(pluck, strain, rng), pluck.string, measure.number)

    def _messages(self, arrangement: Arrangement, strokes: list[_Stroke]) -> list[Played]:
        """What an instrument with a pickup for each string would send."""
        messages: list[tuple[float, int, bytes]] = []
        ringing: dict[int, tuple[float, int]] = {}  # by string: since when, and the key
        bent: set[int] = set()
        for stroke in sorted(strokes, key=lambda stroke: stroke.seconds):
            pluck, string, now = stroke.pluck, stroke.string, stroke.seconds
            channel = (self.channels[string - 1] if self.channels else 1) - 1
            steps = pluck.fret - 5 if string == 5 and pluck.fret > 5 else pluck.fret
            key = (
                pluck.pitch
                if string == pluck.string
                else (arrangement.tuning.open_pitch(string) + arrangement.capo + steps)
            )
            since, sounding = ringing.get(string, (0.0, -1))
            rises = key - sounding
            if pluck.technique == "slide" and now - since < RING and 0 < abs(rises) <= BEND_RANGE:
                bent.add(string)
                for share in (0.5, 1.0):
                    value = 8192 + round(8191 * rises * share / BEND_RANGE)
                    bend = bytes([0xE0 | channel, value & 127, value >> 7])
                    messages.append((now - 0.03 * (1 - share), 1, bend))
                continue
            if sounding >= 0:
                messages.append((min(now, since + RING), 0, bytes([0x80 | channel, sounding, 64])))
            if string in bent:
                bent.discard(string)
                messages.append((now, 1, bytes([0xE0 | channel, 0, 64])))
            messages.append((now, 2, bytes([0x90 | channel, key, stroke.velocity])))
            ringing[string] = (now, key)
        for string, (since, key) in ringing.items():
            channel = (self.channels[string - 1] if self.channels else 1) - 1
            messages.append((since + RING, 0, bytes([0x80 | channel, key, 64])))
        return [Played(seconds, data) for seconds, _, data in sorted(messages)]


def _loudness(pluck: Pluck, strain: float, rng: random.Random) -> int:
    fill = VELOCITY["fill"]
    velocity = fill + (VELOCITY[pluck.role] - fill) * (1 - 0.7 * strain)
    if pluck.technique != "pick":
        velocity *= 0.8
    elif pluck.finger == "M":
        velocity *= 1 - 0.3 * strain
    return max(1, min(127, round(velocity + rng.gauss(0.0, 4.0))))


def _is_missed(stroke: _Stroke, strain: float, rng: random.Random) -> bool:
    share = MISSED_BY_MIDDLE if stroke.pluck.finger == "M" else MISSED
    return rng.random() < share * strain


def _swallow(strokes: list[_Stroke], strain: float, rng: random.Random) -> list[_Stroke]:
    """Leave out some of the notes that follow a slur."""
    return [
        stroke
        for i, stroke in enumerate(strokes)
        if not (
            i
            and strokes[i - 1].pluck.technique != "pick"
            and stroke.pluck.technique == "pick"
            and rng.random() < SWALLOWED * strain
        )
    ]


def _on_a_neighbour(stroke: _Stroke, strain: float, rng: random.Random) -> _Stroke:
    """Catch a neighbouring string instead, now and then."""
    if stroke.pluck.technique != "pick" or rng.random() >= WRONG_STRING * strain:
        return stroke
    neighbours = {1: (2,), 2: (1, 3), 3: (2, 4), 4: (3,), 5: (4,)}
    return replace(stroke, string=rng.choice(neighbours[stroke.string]))


def _cut_fills(strokes: list[_Stroke], strain: float, rng: random.Random) -> list[_Stroke]:
    """Cut some long fills short: their second half is left out and the melody note after them comes early."""
    kept: list[_Stroke] = []
    fill: list[_Stroke] = []
    for stroke in strokes:
        if stroke.pluck.role in ("fill", "lick", "drone"):
            fill.append(stroke)
            continue
        if len(fill) >= 4 and rng.random() < CUT_SHORT * strain:
            half = len(fill) // 2
            stroke = replace(stroke, seconds=fill[half].seconds)
            fill = fill[:half]
        kept += [*fill, stroke]
        fill = []
    return kept + fill
