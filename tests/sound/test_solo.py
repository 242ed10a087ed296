from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from coach.arranging.arrange import arrange
from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, Pluck
from coach.errors import InputError
from coach.instrument.tuning import OPEN_G
from coach.sound.solo import MOST_SECONDS, render
from coach.tunes.chords import read_chord
from coach.tunes.demo import demo_tune
from coach.tunes.tune import Meter

RATE = 22050


def made(*plucks: Pluck, measures: int = 1) -> Arrangement:
    chords = (ChordAt(Fraction(0), read_chord("G")),)
    first = ArrangedMeasure(1, 1, Meter(4, 4), Fraction(4), "beginner", chords, (), plucks)
    rest = tuple(replace(first, number=number, plucks=()) for number in range(2, measures + 1))
    return Arrangement(
        "x", "X", "", "beginner", "G major", None, 0, Meter(4, 4), Fraction(1, 2), 1, 50, OPEN_G, (), (first, *rest)
    )


def pluck(at: str, string: int, fret: int = 0, role: str = "melody", **more: object) -> Pluck:
    pitch = OPEN_G.open_pitch(string) + fret
    return Pluck(f"m1e{at}", Fraction(at), Fraction(1, 2), string, fret, pitch, "T", role, **more)  # type: ignore[arg-type]


def level(sound: np.ndarray, start: float, seconds: float = 0.02) -> float:
    part = sound[round(start * RATE) : round((start + seconds) * RATE)]
    return float(np.sqrt(np.mean(part**2)))


def test_a_pluck_sounds_at_its_time_and_not_before() -> None:
    sound = render(made(pluck("1", 3)), tempo=60, sample_rate=RATE)

    assert not sound[:RATE].any()
    assert level(sound, 1.0) > 0.05


@pytest.mark.parametrize("tempo", [40, 60, 120, 240])
def test_the_tempo_sets_where_the_notes_lie(tempo: float) -> None:
    sound = render(made(pluck("3", 1)), tempo=tempo, sample_rate=RATE)

    first = int(np.flatnonzero(np.abs(sound) > 1e-4)[0])
    assert abs(first / RATE - 3 * 60 / tempo) < 0.001


def test_a_string_is_damped_when_it_is_sounded_again() -> None:
    alone = render(made(pluck("0", 3)), tempo=60, sample_rate=RATE)
    again = render(made(pluck("0", 3), pluck("1", 3, 2, role="drone")), tempo=60, sample_rate=RATE)
    other = render(made(pluck("0", 3), pluck("1", 5, role="drone")), tempo=60, sample_rate=RATE)

    def g3(sound: np.ndarray) -> float:
        part = sound[round(1.05 * RATE) : round(1.5 * RATE)]
        now = np.arange(len(part)) / RATE
        return abs(np.sum(part * np.hanning(len(part)) * np.exp(-2j * np.pi * 195.998 * now)))

    assert g3(again) < 0.1 * g3(alone)
    assert g3(other) > 0.5 * g3(alone)


def test_a_melody_note_is_louder_than_a_fill() -> None:
    sound = render(made(pluck("0", 3), pluck("2", 3, role="fill")), tempo=60, sample_rate=RATE)

    assert level(sound, 0.0, 0.2) > 1.3 * level(sound, 2.0, 0.2)


def test_a_slurred_note_is_softer_than_a_picked_one() -> None:
    slurred = pluck("2", 4, 2, technique="hammer-on", from_fret=0)
    picked = pluck("2", 4, 2)

    quiet, loud = (
        render(made(pluck("0", 3), each), tempo=60, sample_rate=RATE)
        for each in (replace(slurred, finger=None), picked)
    )

    assert level(quiet, 2.0, 0.2) < 0.9 * level(loud, 2.0, 0.2)


def test_the_accompaniment_is_heard_only_where_it_is_asked_for() -> None:
    solo = made(measures=2)

    assert not render(solo, tempo=120, sample_rate=RATE).any()
    assert level(render(solo, tempo=120, with_accompaniment=True, sample_rate=RATE), 0.0, 0.2) > 0.05


def test_the_samples_stay_within_full_scale_and_die_away() -> None:
    sound = render(arrange(demo_tune("mill-lane"), "advanced"), tempo=100, with_accompaniment=True, sample_rate=RATE)

    assert np.abs(sound).max() == pytest.approx(0.9)
    assert level(sound, len(sound) / RATE - 0.02) < 0.02


def test_the_same_solo_gives_the_same_samples() -> None:
    solo = arrange(demo_tune("hollow-hill-road"), "intermediate")

    assert np.array_equal(render(solo, tempo=90, sample_rate=RATE), render(solo, tempo=90, sample_rate=RATE))


def test_a_solo_of_twenty_minutes_is_played_and_a_longer_one_is_not() -> None:
    # A measure of four quarters at 12 quarters a minute lasts 20 seconds.
    longest = made(pluck("0", 3), measures=MOST_SECONDS // 20)

    assert len(render(longest, tempo=12, sample_rate=4000)) == pytest.approx(4000 * MOST_SECONDS, rel=0.002)
    with pytest.raises(InputError, match="lasts 20 minutes, and sound is made for 20; choose a faster tempo"):
        render(longest, tempo=11.99, sample_rate=4000)


def test_a_string_tuned_higher_than_a_banjos_sounds_octaves_lower() -> None:
    high, low = (render(made(replace(pluck("0", 1), pitch=pitch)), tempo=60, sample_rate=RATE) for pitch in (110, 86))

    assert np.array_equal(high, low)
