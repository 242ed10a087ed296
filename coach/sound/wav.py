"""WAV files: one channel, 16 bits."""

from __future__ import annotations

import io
import wave

import numpy as np
from numpy.typing import NDArray

from coach.sound.samples import Samples

__all__ = ["to_frames", "to_wav"]

_FULL_SCALE = 32767
_BLOCK = 1 << 20  # frames that are written at once, so that a long sound is not held several times


def to_frames(samples: Samples) -> NDArray[np.int16]:
    """Samples as whole numbers of 16 bits; what lies outside -1..1 is cut off."""
    return np.round(np.clip(samples, -1.0, 1.0) * _FULL_SCALE).astype(np.int16)


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
            file.writeframes(to_frames(samples[start : start + _BLOCK]).astype("<i2").tobytes())
    return out.getvalue()
