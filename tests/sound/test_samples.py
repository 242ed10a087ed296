import math

import numpy as np
import pytest

from coach.sound.samples import banjo, bass, chop, click, frequency, plucked

RATE = 32000


def heard_frequency(samples: np.ndarray, near: float, rate: int = RATE) -> float:
    """The frequency of the strongest partial near a frequency: peak of a padded spectrum, refined by a parabola."""
    size = 1 << 18
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), size))
    low, high = int(near * 0.97 * size / rate), int(near * 1.03 * size / rate) + 1
    peak = low + int(np.argmax(spectrum[low:high]))
    before, at, after = np.log(spectrum[peak - 1 : peak + 2])
    return (peak + (before - after) / 2 / (before - 2 * at + after)) * rate / size


def level(samples: np.ndarray, hertz: float, start: float, length: float = 0.1, rate: int = RATE) -> float:
    """The strength of one frequency in a stretch of samples, in decibels."""
    part = samples[int(start * rate) : int((start + length) * rate)]
    now = np.arange(len(part)) / rate
    return 20 * math.log10(abs(np.sum(part * np.hanning(len(part)) * np.exp(-2j * math.pi * hertz * now))))


@pytest.mark.parametrize(
    ("pitch", "hertz"), [(67, 391.995), (50, 146.832), (55, 195.998), (59, 246.942), (62, 293.665), (69, 440.0)]
)
def test_frequencies_are_those_of_equal_temperament(pitch: int, hertz: float) -> None:
    # Derived from A4 = 440 Hz by equal temperament (MIDI tuning); the open strings of open G.
    assert frequency(pitch) == pytest.approx(hertz, abs=5e-4)


@pytest.mark.parametrize("rate", [32000, 44100, 48000])
@pytest.mark.parametrize("pitch", range(48, 86, 3))
def test_banjo_is_in_tune_within_a_cent(pitch: int, rate: int) -> None:
    wanted = 440 * 2 ** ((pitch - 69) / 12)

    heard = heard_frequency(banjo(pitch, rate, 1.0), wanted, rate)

    assert abs(1200 * math.log2(heard / wanted)) < 1


@pytest.mark.parametrize("pitch", range(28, 54, 3))
def test_bass_is_in_tune_within_a_cent(pitch: int) -> None:
    wanted = 440 * 2 ** ((pitch - 69) / 12)

    assert abs(1200 * math.log2(heard_frequency(bass(pitch, RATE, 1.0), wanted) / wanted)) < 1


@pytest.mark.parametrize("t60", [0.8, 1.5])
@pytest.mark.parametrize("pitch", [50, 62, 74, 84])
def test_the_fundamental_decays_by_60_decibels_in_t60(pitch: int, t60: float) -> None:
    # Loop gain r a period: T60 = ln(1000) / (-f ln r), derived. Here it is measured.
    samples = plucked(pitch, 0.8, t60, 0.12, 1, RATE)
    fall = level(samples, frequency(pitch), 0.1) - level(samples, frequency(pitch), 0.5)

    assert fall == pytest.approx(60 * 0.4 / t60, rel=0.02)


def test_high_partials_die_before_the_fundamental() -> None:
    samples = banjo(50, RATE, 1.0)
    falls = [level(samples, n * frequency(50), 0.05) - level(samples, n * frequency(50), 0.6) for n in (1, 5, 20)]

    assert falls == sorted(falls)


def test_a_banjo_is_brighter_than_a_bass_of_the_same_pitch() -> None:
    def centre(samples: np.ndarray) -> float:
        spectrum = np.abs(np.fft.rfft(samples[:8000])) ** 2
        return float(np.sum(spectrum * np.fft.rfftfreq(8000, 1 / RATE)) / np.sum(spectrum))

    assert centre(banjo(50, RATE, 1.0)) > 2 * centre(bass(50, RATE, 1.0))


def test_a_chop_is_over_within_an_eighth_of_a_fast_breakdown() -> None:
    # 94 ms an eighth at 320 quarters a minute.
    samples = chop(60, RATE)
    early, late = np.sum(samples[: int(0.094 * RATE)] ** 2), np.sum(samples[int(0.094 * RATE) :] ** 2)

    assert late < early / 100


def test_an_accented_click_is_higher_and_both_start_at_once() -> None:
    accent, beat = click("accent", RATE), click("beat", RATE)

    assert heard_frequency(accent, 1760) > heard_frequency(beat, 1175)
    for samples in (accent, beat):
        assert np.abs(samples[: int(0.002 * RATE)]).max() > 0.5


@pytest.mark.parametrize("samples", [banjo(84, RATE), bass(28, RATE), chop(76, RATE), click("beat", RATE)])
def test_samples_keep_within_full_scale_have_no_constant_part_and_end_in_silence(samples: np.ndarray) -> None:
    assert np.abs(samples).max() == pytest.approx(0.8)
    assert abs(samples.mean()) < 0.01
    assert abs(samples[-1]) < 1e-6


def test_strings_never_grow_louder() -> None:
    for pitch in range(48, 88):
        samples = banjo(pitch, RATE)
        tenth = len(samples) // 10
        assert np.abs(samples[-tenth:]).max() < np.abs(samples[:tenth]).max() / 10


def test_same_arguments_give_same_samples() -> None:
    assert np.array_equal(banjo(62, RATE), banjo(62, RATE))
