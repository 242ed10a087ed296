"""How long the listener takes a heard note, and whether that stays so through a long pass.

    python tests/bench/bench_listener.py [--measures 500] [--tempo 240]

Own code only, processor time of one process: a take of a running roll with jitter, misses and ghosts goes through a
listener with a watermark behind each note. Printed for each quarter of the pass: microseconds a note for the
provisional mark alone (``hear``) and for all (``hear`` and ``watermark``), p50 and p99; then the same take scored
offline, beside mir_eval's note matching of the same notes in the same run.
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Sequence
from fractions import Fraction

import mir_eval.transcription
import mir_eval.util
import numpy as np

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.instrument.tuning import OPEN_G
from coach.listening.heard import HeardNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.report import Scored, score
from coach.tunes.tune import Meter

ROLL = (3, 2, 5, 1, 4, 2, 5, 1)


def solo_of(measures: int) -> Arrangement:
    """A solo of one roll over and over."""
    made = []
    for number in range(1, measures + 1):
        plucks = tuple(
            Pluck(f"m{number}e{k + 1}", Fraction(k, 2), Fraction(1, 2), s, 0, OPEN_G.open_pitch(s), "T", "fill")
            for k, s in enumerate(ROLL)
        )
        made.append(ArrangedMeasure(number, number, Meter(4, 4), Fraction(4), "intermediate", (), (), plucks))
    head = ("bench-00000000", "Bench", "", "intermediate", "G major", None, 0, Meter(4, 4), Fraction(1, 2), 1, 50)
    return Arrangement(*head, OPEN_G, (), tuple(made))


def take_of(plan: PassPlan, rng: random.Random) -> list[HeardNote]:
    """A take: 15 ms of jitter, 3 % missed, 3 % octave ghosts."""
    notes: list[tuple[float, int, int, int]] = []
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            if rng.random() < 0.03:
                continue
            seconds = plan.tempo_map.seconds(start + pluck.at) + rng.gauss(0, 0.015)
            notes.append((seconds, pluck.pitch, rng.randint(60, 100), pluck.string))
            if rng.random() < 0.03:
                notes.append((seconds + rng.uniform(0.005, 0.035), pluck.pitch + 12, 30, pluck.string))
    return [HeardNote(s, pitch, v, string, string, seq) for seq, (s, pitch, v, string) in enumerate(sorted(notes), 1)]


def percentile(values: Sequence[float], share: float) -> float:
    """The value below which a share of the values lies, in microseconds."""
    return sorted(values)[min(len(values) - 1, int(len(values) * share))] * 1e6


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--measures", type=int, default=500)
    parser.add_argument("--tempo", type=float, default=240.0)
    options = parser.parse_args()
    plan = PassPlan(solo_of(options.measures), options.tempo)
    notes = take_of(plan, random.Random(1))
    listener = Listener(plan)
    heard: list[float] = []
    whole: list[float] = []
    for note in notes:
        start = time.process_time()
        listener.hear(note)
        middle = time.process_time()
        listener.watermark(note.seconds)
        end = time.process_time()
        heard.append(middle - start)
        whole.append(end - start)
    print(f"{len(notes)} notes, microseconds a note: hear p50 p99, hear and watermark p50 p99")
    size = len(notes) // 4
    for quarter in range(4):
        part = slice(quarter * size, (quarter + 1) * size)
        figures = [percentile(times[part], share) for times in (heard, whole) for share in (0.5, 0.99)]
        print(f"quarter {quarter + 1}: " + " ".join(f"{figure:7.1f}" for figure in figures))
    start = time.process_time()
    score([Scored(plan)], notes)
    ours = time.process_time() - start
    times = [plan.tempo_map.seconds(at + pluck.at) for measure, at in plan.starts for pluck in measure.plucks]
    pitches = [pluck.pitch for _, pluck in plan.arrangement.plucks()]
    start = time.process_time()
    mir_eval.transcription.match_notes(
        np.array([[seconds, seconds + 0.1] for seconds in times]),
        mir_eval.util.midi_to_hz(np.array(pitches, dtype=float)),
        np.array([[note.seconds, note.seconds + 0.1] for note in notes]),
        mir_eval.util.midi_to_hz(np.array([note.pitch for note in notes], dtype=float)),
        offset_ratio=None,
    )
    theirs = time.process_time() - start
    print(f"whole report (two hearings): {ours * 1e3:.0f} ms; mir_eval match_notes: {theirs * 1e3:.0f} ms")


if __name__ == "__main__":
    main()
