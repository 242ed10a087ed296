"""Samples of what sounds: banjo, bass, chop and click, as arrays.

Conventions
    Pitches are MIDI note numbers in equal temperament, A4 (69) = 440 Hz. Samples are float64 in -1..1, one channel.
    The same arguments give the same samples: the noise that a string starts from is seeded.

Method
    A plucked string after Karplus & Strong (1983), Computer Music Journal 7(2), 43-55: noise runs round a delay of
    about one period and through a loop filter, y[n] = x[n] + g * sum(h[k] * y[n - N - k]), h = (1/2, 1/2) * (1 - a, a).
    The average of two samples darkens the sound as it decays; the second pair sets the fraction of the delay. Jaffe &
    Smith (1983), Computer Music Journal 7(2), 56-69, tune with an allpass; here ``a`` is solved for the exact phase
    delay at the fundamental, which needs no recursion inside a period, so that whole periods are computed at once.
    The gain g is set for a wanted T60 of the fundamental (derived from the loop gain): a loop gain r at frequency f
    decays by 60 dB in -ln(1000) / (f * ln r) seconds.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["BANJO_HIGHEST", "BANJO_LOWEST", "Samples", "banjo", "bass", "chop", "click", "frequency", "plucked"]

Samples = NDArray[np.float64]

# Pitches of a banjo string; higher up the loop gain nears 1, and a hum would stay.
BANJO_LOWEST, BANJO_HIGHEST = 36, 87

_PEAK = 0.8
_FADE = 0.03  # seconds, at the end of every sample
_HEARD = 0.8  # a banjo sample ends when this share of its T60 is over, 48 dB down

# Our choice, no source: decay by 60 dB in seconds at G3 and how much shorter an octave higher.
_BANJO_T60, _BANJO_SHORTER = 1.5, 0.85
_BASS_T60 = 1.0
_CHOP_T60 = 0.12
# Where the pick strikes, as a share of the string from the bridge.
_BANJO_PICK, _BASS_PICK = 0.12, 0.3
# Pitch in Hz and length in seconds of a wood block.
_CLICKS = {"accent": (1760.0, 0.06), "beat": (1175.0, 0.06)}


def frequency(pitch: float) -> float:
    """The frequency in Hz of a MIDI note number: 440 * 2 ** ((pitch - 69) / 12)."""
    return 440.0 * math.exp2((pitch - 69) / 12)


def plucked(pitch: int, seconds: float, t60: float, pick: float, dullness: int, sample_rate: int) -> Samples:
    """A plucked string.

    Args:
        pitch: MIDI note number; its period must be longer than four samples.
        seconds: how long to compute, > 0.
        t60: seconds in which the fundamental decays by 60 dB, > 0.
        pick: where the pick strikes, as a share of the string, 0..0.5; it weakens the partials with a node there.
        dullness: how often the noise at the start is smoothed, >= 0.
        sample_rate: frames a second.

    Returns:
        Samples with a peak of 0.8 and faded at the end.
    """
    period = sample_rate / frequency(pitch)
    angle = 2 * math.pi / period
    delay = int(period - 0.5)
    turn = math.tan(angle * (period - 0.5 - delay))
    share = turn / (math.sin(angle) + turn * (1 - math.cos(angle)))
    passed = math.cos(angle / 2) * abs(complex(1 - share + share * math.cos(angle), share * math.sin(angle)))
    gain = 10 ** (-3 / (frequency(pitch) * t60)) / passed
    taps = gain * np.convolve([0.5, 0.5], [1 - share, share])

    frames = int(seconds * sample_rate)
    # Three frames of silence lie before the sample, so that the filter may look back from the first period.
    string = np.zeros(frames + 2 * delay + 3)
    string[3 : 3 + delay] = _struck(pitch, delay, pick, dullness)
    for start in range(3 + delay, len(string), delay):
        end = min(start + delay, len(string))
        before = slice(start - delay, end - delay)
        string[start:end] += taps[0] * string[before]
        string[start:end] += taps[1] * string[before.start - 1 : before.stop - 1]
        string[start:end] += taps[2] * string[before.start - 2 : before.stop - 2]
    return _finished(string[3 : 3 + frames], sample_rate)


def _struck(pitch: int, delay: int, pick: float, dullness: int) -> Samples:
    """The string's shape as it is let go: noise over one period, without a constant part."""
    noise = np.random.default_rng(pitch).uniform(-1.0, 1.0, delay)
    for _ in range(dullness):
        noise = (noise + np.roll(noise, 1)) / 2
    noise -= np.roll(noise, round(pick * delay))
    even: Samples = noise - noise.mean()
    return even


def _finished(samples: Samples, sample_rate: int) -> Samples:
    fade = min(len(samples), int(_FADE * sample_rate))
    shaped = samples.copy()
    shaped[len(shaped) - fade :] *= np.linspace(1.0, 0.0, fade)
    scaled: Samples = shaped * (_PEAK / np.abs(shaped).max())
    return scaled


def banjo(pitch: int, sample_rate: int, seconds: float | None = None, *, dullness: int = 1) -> Samples:
    """A banjo string: bright, struck near the bridge, gone within two seconds, the sooner the higher.

    Args:
        pitch: MIDI note number, from ``BANJO_LOWEST`` to ``BANJO_HIGHEST``.
        sample_rate: frames a second.
        seconds: how long; None until it has decayed by 48 dB.
        dullness: 1 as a pick strikes it, more where a finger of the left hand sounds it.
    """
    t60 = _BANJO_T60 * _BANJO_SHORTER ** ((pitch - 55) / 12)
    return plucked(pitch, _HEARD * t60 if seconds is None else seconds, t60, _BANJO_PICK, dullness, sample_rate)


def bass(pitch: int, sample_rate: int, seconds: float = 0.7) -> Samples:
    """A plucked double bass: dull, struck far from the bridge."""
    return plucked(pitch, seconds, _BASS_T60, _BASS_PICK, 12, sample_rate)


def chop(pitch: int, sample_rate: int, seconds: float = 0.15) -> Samples:
    """One string of a chop: a short, damped stroke with the scrape of the pick."""
    string = plucked(pitch, seconds, _CHOP_T60, _BANJO_PICK, 2, sample_rate)
    scrape = np.random.default_rng(1000 + pitch).uniform(-1.0, 1.0, len(string))
    scrape *= 10 ** (-3 * np.arange(len(string)) / (0.03 * sample_rate))
    return _finished(string + 0.4 * scrape, sample_rate)


def click(weight: str, sample_rate: int) -> Samples:
    """A click as of a wood block: ``accent`` (higher) or ``beat``."""
    pitch, seconds = _CLICKS[weight]
    now = np.arange(int(seconds * sample_rate)) / sample_rate
    tone = np.sin(2 * math.pi * pitch * now) + 0.5 * np.sin(2 * math.pi * 2.7 * pitch * now)
    return _finished(tone * 10 ** (-3 * now / seconds), sample_rate)
