"""FLAC files (RFC 9639): one channel, 16 bits, nothing lost, about a quarter of a WAV file for plucked strings."""

from __future__ import annotations

import io

from coach.sound.samples import Samples
from coach.sound.wav import to_frames

__all__ = ["to_flac"]

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
    soundfile.write(out, to_frames(samples), sample_rate, format="FLAC", subtype="PCM_16", compression_level=_SMALLEST)
    return out.getvalue()
