"""Whole lists of notes matched by the pairing of places: reference notes are plucks, estimated notes what was heard.

The pairing knows one place: plucks with one onset, notes with an offset each, pitches that are equal or not. A list of
notes becomes places in one of two ways:

``places``, as the listener does it: each distinct onset is a place, and a note belongs to the nearest one in whose
    window it lies, whatever its pitch.
``lines``: each pitch is a line of places of its own, and a note belongs to the nearest place of the lines that it is
    within the tolerance of; between two lines it belongs to the lower.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coach.listening.pairing import Candidate, Wanted, pair

__all__ = ["WINDOW", "f_measure", "matched"]

Way = Literal["places", "lines"]
Floats = NDArray[np.float64]

WINDOW = 50_000  # microseconds
CENTS = 50.0
_ROUNDING = 50  # microseconds: mir_eval rounds to four decimals of a second before it compares


def matched(
    reference: Floats, reference_hz: Floats, estimate: Floats, estimate_hz: Floats, way: Way
) -> set[tuple[int, int]]:
    """The pairs of a reference and an estimated note, by their numbers.

    Args:
        reference, estimate: onsets in seconds.
        reference_hz, estimate_hz: frequencies.
        way: how places are made; see the module's text.
    """
    times = np.round(reference * 1e6).astype(int)
    heard = np.round(estimate * 1e6).astype(int)
    cents = np.abs(1200 * np.log2(estimate_hz[None, :] / reference_hz[:, None]))
    close = cents <= CENTS + 1e-9
    if way == "places":
        return set(_of_line(times, heard, close, range(len(times)), range(len(heard))))
    pairs: set[tuple[int, int]] = set()
    for pitch in np.unique(reference_hz):
        line = [int(i) for i in np.flatnonzero(reference_hz == pitch)]
        taken = {j for _, j in pairs}
        notes = [int(j) for j in np.flatnonzero(close[line[0]]) if int(j) not in taken]
        pairs.update(_of_line(times, heard, close, line, notes))
    return pairs


def _of_line(
    times: NDArray[np.int_],
    heard: NDArray[np.int_],
    close: NDArray[np.bool_],
    line: Sequence[int],
    notes: Sequence[int],
) -> Iterator[tuple[int, int]]:
    """The pairs of some reference notes, whose distinct onsets are places, with some of the others."""
    onsets = sorted({int(times[i]) for i in line})
    plucks: dict[int, list[int]] = {onset: [] for onset in onsets}
    for i in line:
        plucks[int(times[i])].append(i)
    belongs: dict[int, list[int]] = {}
    for j in notes:
        nearest = _nearest(onsets, int(heard[j]))
        if abs(int(heard[j]) - nearest) <= WINDOW + _ROUNDING:
            belongs.setdefault(nearest, []).append(j)
    for onset, here in belongs.items():
        here.sort(key=lambda j: (heard[j], j))
        wanted = [Wanted(k, 1) for k in range(len(plucks[onset]))]
        candidates = []
        for j in here:
            fits = next((k for k, i in enumerate(plucks[onset]) if close[i, j]), -1)
            offset = max(-WINDOW, min(WINDOW, int(heard[j]) - onset))
            candidates.append(Candidate(offset, fits))
        for j, candidate, k in zip(here, candidates, pair(wanted, candidates, WINDOW, WINDOW), strict=True):
            if k is not None and candidate.pitch == k:
                yield plucks[onset][k], j


def _nearest(onsets: Sequence[int], time: int) -> int:
    """The nearest onset, the earlier in a tie."""
    at = bisect_left(onsets, time)
    return min(onsets[max(0, at - 1) : at + 1], key=lambda onset: (abs(onset - time), onset))


def f_measure(pairs: int, reference: int, estimate: int) -> float:
    """The harmonic mean of precision and recall; 0 where there is no pair."""
    return 2 * pairs / (reference + estimate) if pairs else 0.0
