"""How long the listener takes a heard note, and whether time and memory stay so through an hour of playing.

    python tests/bench/bench_listener.py [--tempo 240] [--measures 250] [--runs 5] [--hour]

Own code only: takes with jitter, misses, notes from nowhere and octave ghosts go through a listener with a watermark
behind each note. Two solos: one roll over and over, and the demo tunes in the advanced tier, whose pinches and slurs
cost more. Printed are microseconds a note for the provisional mark alone (``hear``) and for all (``hear`` and
``watermark``): p50, p99 and the mean.

Measured is the processor's time of this thread, so that other processes do not count, less what an empty timed block
takes. Their traces in caches and clock rates remain: what is printed as ``least`` takes each note's least time of some
runs of the same take (the same work each time), as ``once`` every time as it came. What the process held before is no
part of it (``gc.freeze``); garbage of the listener's own is. Two yardsticks, in the same process: a call of a small
function, at the least (a machine at rest takes some 40 ns; what is above that is the machine's), and mir_eval's
matching of the same notes with the same solo.

``--hour`` plays an hour: many passes one after the other, and one pass as long as the hour; by quarter of the hour the
times, and what is held in memory after it (Python's own count, ``tracemalloc``, in a run of its own).
"""

from __future__ import annotations

import argparse
import gc
import random
import sys
import time
import timeit
import tracemalloc
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path

import mir_eval.transcription
import mir_eval.util
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulated_player import Noise, play

from coach.arranging.arrange import arrange
from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Pluck
from coach.instrument.tuning import OPEN_G
from coach.listening.heard import HeardNote
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.tunes.demo import DEMO_TUNES, demo_tune
from coach.tunes.tune import Meter

ROLL = (3, 2, 5, 1, 4, 2, 5, 1)
GHOSTS = 0.03
HOUR = 3600.0
QUARTERS = 4
NOTES = 2000  # that are timed of each solo, at least


@dataclass
class Times:
    """Nanoseconds, one entry a note: for ``hear``, and for ``hear`` and ``watermark``."""

    heard: list[int] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)

    def add(self, other: Times) -> None:
        """Put those of another take behind these."""
        self.heard += other.heard
        self.whole += other.whole

    def least(self, other: Times) -> Times:
        """The least of two runs of the same take, note by note."""
        return Times(list(map(min, self.heard, other.heard)), list(map(min, self.whole, other.whole)))


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
    """A take: 15 ms of jitter, 3 % missed, 3 % from nowhere, 3 % with an octave ghost."""
    sounds = play(plan, rng, None, Noise()).notes
    for note in list(sounds):
        if rng.random() < GHOSTS:
            sounds.append(replace(note, seconds=note.seconds + rng.uniform(0.005, 0.035), pitch=note.pitch + 12))
            sounds[-1] = replace(sounds[-1], velocity=30)
    return [replace(note, seq=seq) for seq, note in enumerate(sorted(sounds, key=lambda n: n.seconds), 1)]


def timed(plan: PassPlan, notes: Sequence[HeardNote], clock: int = 0) -> Times:
    """A take through a listener, each note with a watermark behind it; ``clock`` is what a timed block costs."""
    listener, times, now = Listener(plan), Times(), time.thread_time_ns
    gc.collect()
    gc.freeze()
    for note in notes:
        start = now()
        listener.hear(note)
        middle = now()
        listener.watermark(note.seconds)
        end = now()
        times.heard.append(middle - start - clock)
        times.whole.append(end - start - 2 * clock)
    gc.unfreeze()
    return times


def clock_cost() -> int:
    """The median of what an empty timed block takes, in nanoseconds."""
    now, spans = time.thread_time_ns, []
    for _ in range(10_001):
        start = now()
        spans.append(now() - start)
    return sorted(spans)[len(spans) // 2]


def percentile(values: Sequence[int], share: float) -> float:
    """The value below which a share of the values lies, in microseconds."""
    return sorted(values)[min(len(values) - 1, int(len(values) * share))] / 1e3


def row(name: str, times: Times) -> None:
    """Print p50, p99 and mean of both."""
    figures = [
        figure
        for values in (times.heard, times.whole)
        for figure in (percentile(values, 0.5), percentile(values, 0.99), sum(values) / len(values) / 1e3)
    ]
    print(f"  {name:28}" + " ".join(f"{figure:7.1f}" for figure in figures))


def call_cost() -> float:
    """The least time of a call of a small function, in nanoseconds."""
    return min(timeit.repeat("less(1, 2)", "def less(a, b): return a if a < b else b", number=2000, repeat=50)) * 5e5


def yardstick(plan: PassPlan, notes: Sequence[HeardNote]) -> float:
    """Microseconds a note for mir_eval's matching of a take with its solo."""
    times = [plan.tempo_map.seconds(at + pluck.at) for measure, at in plan.starts for pluck in measure.plucks]
    pitches = [pluck.pitch for measure in plan.measures for pluck in measure.plucks]
    start = time.perf_counter()
    mir_eval.transcription.match_notes(
        np.array([[seconds, seconds + 0.1] for seconds in times]),
        mir_eval.util.midi_to_hz(np.array(pitches, dtype=float)),
        np.array([[note.seconds, note.seconds + 0.1] for note in notes]),
        mir_eval.util.midi_to_hz(np.array([note.pitch for note in notes], dtype=float)),
        offset_ratio=None,
    )
    return (time.perf_counter() - start) / len(notes) * 1e6


def short(solos: Sequence[tuple[str, Arrangement]], tempo: float, runs: int) -> None:
    """Time some takes, more than once each."""
    clock = clock_cost()
    print(f"microseconds a note (an empty timed block, {clock} ns, taken off); tempo {tempo:g}")
    print(f"  {'':28}{'hear: p50     p99    mean':>23}{'and watermark: p50     p99    mean':>24}")
    for name, solo in solos:
        plan, rng = PassPlan(solo, tempo), random.Random(1)
        least, once, theirs, calls = Times(), Times(), [], []
        while len(least.whole) < NOTES:
            notes = take_of(plan, rng)
            least_here: Times | None = None
            for _ in range(runs):
                run = timed(plan, notes, clock)
                least_here = run if least_here is None else least_here.least(run)
                once.add(run)
            assert least_here is not None
            least.add(least_here)
            theirs.append(min(yardstick(plan, notes) for _ in range(runs)))
            calls.append(call_cost())
        row(f"{name}, {len(least.whole)} notes, least", least)
        row("once", once)
        print(f"  a call: {min(calls):.0f} to {max(calls):.0f} ns; mir_eval's matching: {min(theirs):.0f} a note")


def passes(solo: Arrangement, tempo: float) -> Iterator[tuple[PassPlan, list[HeardNote]]]:
    """An hour of passes through a solo, one after the other."""
    rng, plan = random.Random(2), PassPlan(solo, tempo)
    for _ in range(round(HOUR / (float(plan.length) * 60 / tempo))):
        yield plan, take_of(plan, rng)


def hour(name: str, played: Iterable[tuple[PassPlan, list[HeardNote]]], runs: int) -> None:
    """Time an hour, and say by quarter what is held after it."""
    clock, takes = clock_cost(), list(played)
    times = Times()
    for plan, notes in takes:
        least = timed(plan, notes, clock)
        for _ in range(runs - 1):
            least = least.least(timed(plan, notes, clock))
        times.add(least)
    print(f"{name}: {len(takes)} passes, {len(times.whole)} notes; a call {call_cost():.0f} ns")
    size = len(times.whole) // QUARTERS
    for quarter in range(QUARTERS):
        part = slice(quarter * size, (quarter + 1) * size)
        row(f"quarter {quarter + 1}, least of {runs}", Times(times.heard[part], times.whole[part]))
    tracemalloc.start()
    held, heard = [], 0
    for plan, notes in takes:
        listener = Listener(plan)
        for note in notes:
            listener.hear(note)
            listener.watermark(note.seconds)
            heard += 1
            if heard % size == 0:
                gc.collect()
                held.append(tracemalloc.get_traced_memory()[0] / 1e6)
        listener.finish()
    print(
        f"  held after each quarter: {', '.join(f'{each:.2f}' for each in held)} MB; "
        f"at most {tracemalloc.get_traced_memory()[1] / 1e6:.2f} MB"
    )
    tracemalloc.stop()


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--measures", type=int, default=250)
    parser.add_argument("--tempo", type=float, default=240.0)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--hour", action="store_true")
    options = parser.parse_args()
    tunes = [(name, arrange(demo_tune(name), "advanced")) for name in DEMO_TUNES]
    if not options.hour:
        short([("a roll", solo_of(options.measures)), *tunes], options.tempo, options.runs)
    else:
        name, tune = tunes[0]
        hour(f"an hour of {name}, pass after pass", passes(tune, options.tempo), options.runs)
        plan = PassPlan(solo_of(round(HOUR * options.tempo / 240)), options.tempo)
        hour("one pass of an hour", [(plan, take_of(plan, random.Random(2)))], options.runs)


if __name__ == "__main__":
    main()
