import io
import json
import re

import numpy as np
import pytest
import soundfile

from coach.sound.bank import BANJO, BASS, CHOP, SoundBank, render_bank, sampled_pitches
from coach.sound.samples import banjo


@pytest.fixture(scope="module")
def bank() -> SoundBank:
    return render_bank()


def frames(bank: SoundBank) -> np.ndarray:
    read, rate = soundfile.read(io.BytesIO(bank.flac), dtype="int16")
    assert rate == bank.sample_rate
    return np.asarray(read) / 32767


def test_bank_is_small_enough_to_load_with_the_page(bank: SoundBank) -> None:
    assert len(bank.flac) < 350_000


def test_the_name_of_the_file_changes_with_what_is_in_it(bank: SoundBank) -> None:
    assert re.fullmatch(r"bank-[0-9a-f]{16}\.flac", bank.name)
    assert render_bank([55]).name != bank.name
    assert bank.index()["file"] == bank.name


def test_nothing_is_lost_in_the_file(bank: SoundBank) -> None:
    sound = bank.sounds["banjo-55"]
    computed = banjo(55, bank.sample_rate)

    there = frames(bank)[sound.start : sound.start + sound.length]
    assert np.abs(there - computed).max() <= 0.5001 / 32767  # rounded to 16 bits, and no more


def test_every_sound_starts_where_the_index_says_and_is_followed_by_silence(bank: SoundBank) -> None:
    samples = frames(bank)
    for sound in bank.sounds.values():
        here = samples[sound.start : sound.start + sound.length]
        assert np.abs(here[: bank.sample_rate // 50]).max() > 0.3
        assert np.abs(here).max() == pytest.approx(0.8, abs=1e-3)
        after = samples[sound.start + sound.length :][: bank.sample_rate // 100]
        assert len(after) == bank.sample_rate // 100
        assert not after.any()


@pytest.mark.parametrize(("kind", "wanted"), [("banjo", BANJO), ("bass", BASS), ("chop", CHOP)])
def test_every_pitch_in_use_is_within_a_semitone_of_a_sample(bank: SoundBank, kind: str, wanted: range) -> None:
    there = [sound.pitch for name, sound in bank.sounds.items() if name.startswith(f"{kind}-")]

    assert all(min(abs(pitch - other) for other in there) <= 1 for pitch in wanted)


def test_only_pitches_that_are_wanted_are_rendered() -> None:
    assert sampled_pitches([55]) == (56,)
    assert sampled_pitches([55, 56, 57, 62, 55]) == (56, 63)
    assert sampled_pitches([]) == ()


def test_clicks_are_there(bank: SoundBank) -> None:
    assert {"click-accent", "click-beat"} <= set(bank.sounds)
    assert bank.sounds["click-beat"].pitch is None


def test_index_is_plain_json(bank: SoundBank) -> None:
    index = json.loads(json.dumps(bank.index()))

    assert index["format"] == "sounds/1"
    assert index["sample_rate"] == bank.sample_rate
    assert index["sounds"]["banjo-55"] == {
        "start": bank.sounds["banjo-55"].start,
        "length": bank.sounds["banjo-55"].length,
        "pitch": 55,
    }


def test_a_bank_for_few_pitches_is_smaller_and_reproducible(bank: SoundBank) -> None:
    small = render_bank([55, 59, 62])

    assert len(small.flac) < len(bank.flac)
    assert render_bank([55, 59, 62]).flac == small.flac
