"""Our pairing of notes beside mir_eval's matching, by the F that comes of both.

Outside: Raffel et al. 2014, mir_eval, ``transcription.precision_recall_f1_overlap`` with windows of 50 ms and 50 cents
and no offsets (SEEN in the installed package). It pairs as many notes as can be, ours pairs the nearest.
``bench/measure_matching.py`` does the same on the library's published pairs.
"""

from __future__ import annotations

import random

import mir_eval.transcription
import numpy as np
import pytest
from note_matching import f_measure, matched
from numpy.typing import NDArray

Notes = tuple[NDArray[np.float64], NDArray[np.float64]]  # onsets in seconds, MIDI notes


def pair_of_lists(rng: random.Random, tempo: float) -> tuple[Notes, Notes]:
    """Notes of up to four voices on a grid of sixteenths, and what a bad transcription makes of them.

    Onsets are off by up to some 100 ms and pitches by up to 60 cents; a fifth is left out, a fifth invented.
    """
    grid = 15 / tempo
    reference, estimate = [], []
    for slot in range(200):
        for pitch in rng.sample(range(50, 75), rng.choice([0, 1, 1, 2, 4])):
            reference.append((1 + slot * grid, float(pitch)))
            if rng.random() > 0.2:
                estimate.append((1 + slot * grid + rng.gauss(0, 0.03), pitch + rng.uniform(-0.6, 0.6)))
            if rng.random() < 0.2:
                estimate.append((1 + slot * grid + rng.uniform(-0.1, 0.1), float(rng.randint(50, 75))))
    estimate.sort()
    first, second = np.array(reference), np.array(estimate)
    return (first[:, 0], first[:, 1]), (second[:, 0], second[:, 1])


def intervals(onsets: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.stack([onsets, onsets + 0.1], axis=1)


@pytest.mark.parametrize("tempo", [60.0, 120.0, 240.0])
def test_the_f_of_our_pairs_is_that_of_mir_eval(tempo: float) -> None:
    rng = random.Random(tempo)
    for _ in range(4):
        (reference, pitches), (estimate, heard) = pair_of_lists(rng, tempo)
        hertz, heard_hertz = mir_eval.util.midi_to_hz(pitches), mir_eval.util.midi_to_hz(heard)
        _, _, theirs, _ = mir_eval.transcription.precision_recall_f1_overlap(
            intervals(reference), hertz, intervals(estimate), heard_hertz, offset_ratio=None
        )
        pairs = matched(reference, hertz, estimate, heard_hertz, "lines")
        ours = f_measure(len(pairs), len(reference), len(estimate))

        assert 0.4 < theirs < 0.9
        assert ours == pytest.approx(theirs, abs=0.01)
        assert len({i for i, _ in pairs}) == len({j for _, j in pairs}) == len(pairs)


def test_our_pairs_are_nearer_to_each_other_than_the_most_that_there_can_be() -> None:
    """Two notes a sixteenth apart, played 10 and 6 ms late, a third between them: the nearest are paired."""
    reference, hertz = np.array([1.0, 1.09]), np.array([440.0, 440.0])
    estimate, heard = np.array([1.01, 1.0496, 1.096]), np.array([440.0, 440.0, 440.0])

    assert matched(reference, hertz, estimate, heard, "lines") == {(0, 0), (1, 2)}


@pytest.mark.parametrize(("late", "cents", "count"), [(0.05, 50.0, 1), (0.0502, 0.0, 0), (0.0, 50.1, 0)])
def test_the_limits_themselves_match_as_they_do_there(late: float, cents: float, count: int) -> None:
    reference, hertz = np.array([1.0]), np.array([440.0])
    estimate, heard = np.array([1.0 + late]), np.array([440.0 * 2 ** (cents / 1200)])
    theirs = mir_eval.transcription.match_notes(
        intervals(reference), hertz, intervals(estimate), heard, offset_ratio=None
    )

    assert len(matched(reference, hertz, estimate, heard, "lines")) == count
    if cents != 50.0:  # there the last bit of the logarithm decides
        assert len(theirs) == count
