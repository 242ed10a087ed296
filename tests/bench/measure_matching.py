"""The pairing of notes beside mir_eval's, on its ten published pairs of reference and estimate.

    python tests/bench/measure_matching.py FOLDER

The folder holds ``ref00.txt``, ``est00.txt``, ``output00.json`` and so on: onset, offset, frequency in hertz, and the
stored scores (Raffel et al. 2014, mir_eval, tests/data/transcription, MIT). Windows of 50 ms and 50 cents, offsets left
out; F beside the stored ``F-measure_no_offset``. ``tests/note_matching.py`` tells how lists of notes become places.
The pairs of mir_eval are as many as can be; ours are nearest to each other.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

import mir_eval
import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1]))

from note_matching import f_measure, matched

WITHIN = 0.01


def read_notes(path: Path) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Intervals in seconds and frequencies in hertz of a list of notes."""
    return mir_eval.io.load_valued_intervals(str(path))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    print("| pair | reference | estimate | stored F | F, lines | apart | F, places | apart | same pairs as mir_eval |")
    print("|---|---:|---:|---:|---:|---:|---:|---:|---:|")
    worst = {"lines": 0.0, "places": 0.0}
    took = {"lines": 0.0, "mir_eval": 0.0}
    notes = 0
    for path in sorted(folder.glob("ref*.txt")):
        name = path.stem.removeprefix("ref")
        stored = json.loads((folder / f"output{name}.json").read_text())["F-measure_no_offset"]
        (reference, reference_hz), (estimate, estimate_hz) = read_notes(path), read_notes(folder / f"est{name}.txt")
        since = time.perf_counter()
        theirs = mir_eval.transcription.match_notes(
            reference,
            reference_hz,
            estimate,
            estimate_hz,
            onset_tolerance=0.05,
            pitch_tolerance=50.0,
            offset_ratio=None,
        )
        took["mir_eval"] += time.perf_counter() - since
        cells = []
        pairs: dict[str, set[tuple[int, int]]] = {}
        for way in ("lines", "places"):
            since = time.perf_counter()
            pairs[way] = matched(reference[:, 0], reference_hz, estimate[:, 0], estimate_hz, way)
            if way in took:
                took[way] += time.perf_counter() - since
            ours = f_measure(len(pairs[way]), len(reference), len(estimate))
            worst[way] = max(worst[way], abs(ours - stored))
            cells += [f"{ours:.4f}", f"{ours - stored:+.4f}"]
        same = len(pairs["lines"] & set(theirs)) / max(1, len(theirs))
        notes += len(estimate)
        print(f"| {name} | {len(reference)} | {len(estimate)} | {stored:.4f} |", " | ".join(cells), f"| {same:.1%} |")
    for way, most in worst.items():
        verdict = "within" if most <= WITHIN else "not within"
        print(f"{way}: at most {most:.4f} from the stored F, {verdict} {WITHIN}")
    for name, seconds in took.items():
        print(f"{name}: {seconds / max(1, notes) * 1e6:.1f} microseconds a note")


if __name__ == "__main__":
    main()
