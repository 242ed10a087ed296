"""WAV files: one channel, 16 bits."""

from __future__ import annotations

import io
import wave

import numpy as np

from coach.sound.samples import Samples

__all__ = ["to_wav"]

_FULL_SCALE = 32767
_BLOCK = 1 << 20  # frames that are written at once, so that a long sound is not held several times


def to_wav(samples: Samples, sample_rate: int) -> bytes:
    """Write samples as a WAV file.

    Args:
        samples: -1..1; what lies outside is cut off.
        sample_rate: frames a second.

    Returns:
        The bytes of the file.
    """
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(sample_rate)
        for start in range(0, len(samples), _BLOCK):
            block = np.clip(samples[start : start + _BLOCK], -1.0, 1.0)
            file.writeframes(np.round(block * _FULL_SCALE).astype("<i2").tobytes())
    return out.getvalue()
