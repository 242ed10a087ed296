"""WAV files: one channel, 16 bits."""

from __future__ import annotations

import io
import wave

import numpy as np

from coach.sound.samples import Samples

__all__ = ["to_wav"]

_FULL_SCALE = 32767


def to_wav(samples: Samples, sample_rate: int) -> bytes:
    """Write samples as a WAV file.

    Args:
        samples: -1..1; what lies outside is cut off.
        sample_rate: frames a second.

    Returns:
        The bytes of the file.
    """
    frames = np.round(np.clip(samples, -1.0, 1.0) * _FULL_SCALE).astype("<i2")
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(sample_rate)
        file.writeframes(frames.tobytes())
    return out.getvalue()
