import io
import wave

import numpy as np
import pytest

from coach.sound.wav import to_wav


def test_a_file_of_three_frames_is_as_the_format_says() -> None:
    # RIFF WAVE, PCM: worked by hand from the format's description.
    expected = (
        b"RIFF" + (36 + 6).to_bytes(4, "little") + b"WAVE"
        b"fmt " + (16).to_bytes(4, "little")
        + (1).to_bytes(2, "little")  # PCM
        + (1).to_bytes(2, "little")  # one channel
        + (8000).to_bytes(4, "little")
        + (16000).to_bytes(4, "little")  # bytes a second
        + (2).to_bytes(2, "little")  # bytes a frame
        + (16).to_bytes(2, "little")
        + b"data" + (6).to_bytes(4, "little")
        + b"\x00\x00\xff\x7f\x01\x80"
    )  # fmt: skip

    assert to_wav(np.array([0.0, 1.0, -1.0]), 8000) == expected


def test_samples_come_back_and_too_loud_ones_are_cut_off() -> None:
    samples = np.array([0.25, -0.5, 3.0, -3.0])
    with wave.open(io.BytesIO(to_wav(samples, 32000))) as file:
        frames = np.frombuffer(file.readframes(4), "<i2") / 32767

    assert frames == pytest.approx([0.25, -0.5, 1.0, -1.0], abs=1e-4)
