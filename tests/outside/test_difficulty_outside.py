"""The three tiers of tunes from outside rise in difficulty.

Source of the tunes: ``music21.corpus``, folders ``essenFolksong`` and ``ryansMammoth``, read where they lie; the
samples are fixed by their seed. The limit (98 %) is what was asked of the tiers: common practice, no source. Larger
samples are for ``tests/bench/measure_difficulty.py``.
"""

import importlib
from pathlib import Path

import pytest

SAMPLES = (("essenFolksong", 5), ("ryansMammoth", 2))
SEED = 2027
RISING = 0.98


@pytest.fixture
def measure_difficulty(monkeypatch):
    """The module that measures; a script, so its folder is made known for the while."""
    monkeypatch.syspath_prepend(str(Path(__file__).parent.parent / "bench"))
    return importlib.import_module("measure_difficulty")


@pytest.mark.timeout(600)
@pytest.mark.parametrize(("folder", "count"), SAMPLES)
def test_the_tiers_of_outside_tunes_rise_in_difficulty(measure_difficulty, folder, count):
    found = measure_difficulty.measure(measure_difficulty.sample(folder, count, SEED))

    assert len(found.by_tune) >= 0.8 * count
    assert found.share >= RISING, measure_difficulty.table(found)


def test_a_tier_that_is_no_harder_than_the_one_before_does_not_rise(measure_difficulty):
    assert measure_difficulty.rises([1.0, 2.0, 3.0])
    assert not measure_difficulty.rises([1.0, 2.0, 2.0])
    assert not measure_difficulty.rises([2.0, 1.0, 3.0])
