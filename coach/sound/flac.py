"""FLAC files (RFC 9639): one channel, 16 bits, nothing lost, about a quarter of a WAV file for plucked strings."""

from __future__ import annotations

import io

import numpy as np

from coach.sound.samples import Samples

__all__ = ["to_flac"]

_FULL_SCALE = 32767
_SMALLEST = 1.0  # of libsndfile's 0 to 1: a bank is packed once and fetched often


def to_flac(samples: Samples, sample_rate: int) -> bytes:
    """Write samples as a FLAC file.

    Args:
        samples: -1..1; what lies outside is cut off.
        sample_rate: frames a second.

    Returns:
        The bytes of the file.
    """
    import soundfile

    out = io.BytesIO()
    frames = np.round(np.clip(samples, -1.0, 1.0) * _FULL_SCALE).astype(np.int16)
    soundfile.write(out, frames, sample_rate, format="FLAC", subtype="PCM_16", compression_level=_SMALLEST)
    return out.getvalue()
