"""A solo as samples: plucked strings at the times of a tempo, alone or with bass and chop.

Conventions
    Samples are float64 in -1..1, one channel, with a peak of 0.9. A string rings until it is sounded again, then it is
    damped within 5 ms. A pitch that no banjo has (a file may name any tuning) sounds octaves off. Loudness goes with
    the square of the MIDI velocity (common practice, no source). The same arguments give the same samples.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from coach.arranging.accompaniment import accompaniment
from coach.arranging.arrangement import Arrangement
from coach.arranging.ringing import ringing, tempo_map, velocity
from coach.errors import InputError
from coach.sound.samples import BANJO_HIGHEST, BANJO_LOWEST, Samples, banjo, bass, chop

__all__ = ["MOST_SECONDS", "SAMPLE_RATE", "render"]

SAMPLE_RATE = 44100
MOST_SECONDS = 1200  # of a solo: so long it takes some 400 MB of memory

_PEAK = 0.9
_DAMPED = 0.005  # seconds
_TAIL = 1.2  # seconds behind the last measure, in which the last notes die away
_SLURRED_DULLNESS = 5  # no pick strikes a slurred note: its noise is smoothed so often
# How loud the accompaniment is beside a melody note of 1.
_BASS, _ACCENTED_BASS, _CHOP = 0.55, 0.65, 0.16


def render(
    arrangement: Arrangement, *, tempo: float, with_accompaniment: bool = False, sample_rate: int = SAMPLE_RATE
) -> Samples:
    """Play a solo.

    Args:
        arrangement: the solo.
        tempo: quarters a minute, > 0.
        with_accompaniment: whether bass and chop play along.
        sample_rate: frames a second.

    Returns:
        The samples, from the start of the first measure until the last notes have died away.

    Raises:
        InputError: when the solo lasts longer than 20 minutes.
    """
    seconds = tempo_map(arrangement, tempo).seconds
    length = seconds(sum((measure.length for measure in arrangement.measures), start=arrangement.slot * 0))
    if length > MOST_SECONDS:
        raise InputError(
            f"at {tempo:g} quarters a minute the solo lasts {length / 60:.0f} minutes, and sound is made for "
            f"{MOST_SECONDS // 60}",
            cure="choose a faster tempo or fewer measures",
        )
    mixed = np.zeros(round((length + _TAIL) * sample_rate))
    damping = np.linspace(1.0, 0.0, round(_DAMPED * sample_rate))

    def add(sound: Samples, loud: float, start: float, until: float | None) -> None:
        first = round(start * sample_rate)
        left = len(mixed) - first
        if until is not None:
            left = min(left, round(until * sample_rate) - first + len(damping))
        part = sound[: max(0, left)] * loud
        if until is not None and len(part) < len(sound):
            tail = min(len(damping), len(part))
            part[len(part) - tail :] *= damping[len(damping) - tail :]
        mixed[first : first + len(part)] += part

    for each in ringing(arrangement):
        picked = each.pluck.technique == "pick"
        loud = (velocity(each.pluck) / 127) ** 2
        add(_string(each.pluck.pitch, sample_rate, picked=picked), loud, seconds(each.start), seconds(each.until))
    if with_accompaniment:
        for sound in accompaniment(arrangement, tempo=tempo):
            loud = _CHOP if sound.part == "chop" else _ACCENTED_BASS if sound.accent else _BASS
            for pitch in sound.pitches:
                until = seconds(sound.at + sound.length) if sound.part == "bass" else None
                add(_SOUNDS[sound.part](pitch, sample_rate), loud, seconds(sound.at), until)
    peak = max(mixed.max(initial=0.0), -mixed.min(initial=0.0))
    if peak:
        mixed *= _PEAK / peak
    return mixed


@lru_cache(maxsize=128)
def _string(pitch: int, sample_rate: int, *, picked: bool) -> Samples:
    octaves = max(0, -(-(pitch - BANJO_HIGHEST) // 12)) - max(0, -(-(BANJO_LOWEST - pitch) // 12))
    pitch -= 12 * octaves
    return banjo(pitch, sample_rate) if picked else banjo(pitch, sample_rate, dullness=_SLURRED_DULLNESS)


_SOUNDS: dict[str, Callable[[int, int], Samples]] = {
    "bass": lru_cache(maxsize=64)(bass),
    "chop": lru_cache(maxsize=64)(chop),
}
