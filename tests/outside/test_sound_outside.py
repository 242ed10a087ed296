"""What sounds, heard by something that is not ours.

The exported MIDI is played by FluidSynth with a General MIDI sound font (Debian's fluidsynth and timgm6mb-soundfont),
our own rendering is played by nobody, and one onset detector (spectral flux, below) finds in both the onsets where the
arrangement says that they are. Agreement is mir_eval's onset F-measure.
"""

import io
import shutil
import subprocess
import wave
from pathlib import Path

import mido
import mir_eval
import numpy as np
import pytest
from demo_solos import demo_solos

from coach.arranging.arrangement import Arrangement
from coach.arranging.ringing import ringing, tempo_map
from coach.sheets.midi import to_midi
from coach.sound.solo import SAMPLE_RATE, render
from coach.sound.wav import to_wav

FONT = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")
TEMPO = 100.0
# FluidSynth's onsets come so late, in seconds: measured as 2.6 to 6.0 ms, median 4.1, with this font.
LEAST_LAG, MOST_LAG = 0.002, 0.007

HOP, SIZE = 64, 512  # frames
APART = 0.05  # seconds


@pytest.fixture(scope="module", params=["mill-lane", "lamps-on-the-water"])
def solo(request: pytest.FixtureRequest) -> Arrangement:
    return demo_solos(request.param)["advanced"]


def written_onsets(solo: Arrangement) -> np.ndarray:
    seconds = tempo_map(solo, TEMPO).seconds
    return np.array(sorted({seconds(each.start) for each in ringing(solo)}))


def onsets(sound: np.ndarray, rate: int, least: float) -> np.ndarray:
    """Onsets in seconds: where the spectral flux, over 10 ms, rises to half of a peak above a share of its top."""
    margin = np.zeros(rate // 2)
    padded = np.concatenate([margin, sound, margin])
    frames = np.lib.stride_tricks.sliding_window_view(padded, SIZE)[::HOP] * np.hanning(SIZE)
    strengths = np.sqrt(np.abs(np.fft.rfft(frames, axis=1)))
    lag, apart = int(0.01 * rate / HOP), int(APART * rate / HOP)
    flux = np.zeros(len(strengths))
    flux[lag:] = np.maximum(0, strengths[lag:] - strengths[:-lag]).sum(1)
    found: list[float] = []
    for peak in np.flatnonzero(flux >= least * np.quantile(flux, 0.98)):
        if not apart <= peak < len(flux) - apart or flux[peak] < flux[peak - apart : peak + apart + 1].max():
            continue
        rise = peak
        while flux[rise - 1] > flux[peak] / 2:
            rise -= 1
        found.append((rise * HOP + SIZE / 2 - len(margin)) / rate)
    return np.array(sorted(set(found)))


def read_wav(data: bytes) -> tuple[np.ndarray, int]:
    with wave.open(io.BytesIO(data)) as file:
        frames = np.frombuffer(file.readframes(file.getnframes()), "<i2")
        return frames.reshape(-1, file.getnchannels()).mean(1) / 32768, file.getframerate()


def solo_alone(midi: bytes) -> bytes:
    """The same file with nothing but its tempo and the solo."""
    file = mido.MidiFile(file=io.BytesIO(midi))
    alone = mido.MidiFile(type=1, ticks_per_beat=file.ticks_per_beat)
    alone.tracks.extend(file.tracks[:2])
    out = io.BytesIO()
    alone.save(file=out)
    return out.getvalue()


def test_fluidsynth_sounds_the_midi_file_where_the_arrangement_says(solo: Arrangement, tmp_path: Path) -> None:
    assert shutil.which("fluidsynth"), "install Debian's fluidsynth"
    assert FONT.is_file(), "install Debian's timgm6mb-soundfont"
    (tmp_path / "solo.mid").write_bytes(solo_alone(to_midi(solo, tempo=TEMPO)))
    subprocess.run(
        ["fluidsynth", "-q", "-ni", "-R", "0", "-C", "0", "-r", "44100", "-F", "solo.wav", str(FONT), "solo.mid"],
        cwd=tmp_path,
        check=True,
        capture_output=True,
        timeout=60,
    )

    heard = onsets(*read_wav((tmp_path / "solo.wav").read_bytes()), least=0.5)

    written = written_onsets(solo)
    nearest = np.array([heard[np.abs(heard - at).argmin()] - at for at in written])
    lag = float(np.median(nearest))
    assert LEAST_LAG < lag < MOST_LAG
    # A pick that comes 150 ms behind a soft hammered note is heard some 6 ms late.
    assert np.abs(nearest - lag).max() < 0.01
    assert np.mean(np.abs(nearest - lag) < 0.005) >= 0.95
    assert mir_eval.onset.f_measure(written + lag, heard, window=0.005)[0] >= 0.95


def test_the_rendered_solo_sounds_where_the_arrangement_says(solo: Arrangement) -> None:
    sound, rate = read_wav(to_wav(render(solo, tempo=TEMPO), SAMPLE_RATE))

    heard = onsets(sound, rate, least=0.35)

    written = written_onsets(solo)
    assert len(heard) == len(written)
    # The detector looks 10 ms ahead and back, so it is early by a steady few milliseconds.
    assert np.ptp(heard - written) < 0.005
    assert abs(np.median(heard - written)) < 0.003
