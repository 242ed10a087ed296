"""How fast and how rightly a player is followed in free time.

    python tests/bench/bench_follower.py [--takes 4]

Three tables on demo solos, with the seeded player of ``tests/free_player.py``:

- speed: processor time of our own code a note (``hear`` and ``watermark``), p50 and p99, for each quarter of an hour of
  playing one solo over and over, beside the listener of passes with a click on the same solo in the same run;
- rightness: by what the player does, the share of right notes that are put to the onset they were meant for, when all
  is heard and while following; how often the position after a note is the true one, and within a quarter;
- latency: after how many notes what was said of a note no longer changes, p50, p95 and p99.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from free_player import Kind, performance

from coach.arranging.arrange import arrange
from coach.arranging.arrangement import TIERS
from coach.listening.alignment import align
from coach.listening.follower import Decided, Follower, Position
from coach.listening.free_time import onsets_of
from coach.listening.heard import HeardNote
from coach.listening.listener import Listener
from coach.listening.path import Onset, Sounded
from coach.listening.places import places_of
from coach.listening.plan import PassPlan
from coach.tunes.demo import DEMO_TUNES, demo_tune

MISTAKES = {"missed": 0.03, "extra": 0.03, "wrong": 0.02}
KINDS = {
    "steady": Kind(steady=True),
    "steady, mistakes": Kind(steady=True, **MISTAKES),
    "tempo 40-160 %": Kind(),
    "and stops": Kind(stops=0.02),
    "and mistakes": Kind(stops=0.02, **MISTAKES),
    "and measures again": Kind(stops=0.02, again=0.15),
    "and both": Kind(stops=0.02, again=0.15, **MISTAKES),
    "and many mistakes": Kind(stops=0.02, again=0.15, missed=0.08, extra=0.05, wrong=0.05),
}
HOUR = 3600.0


def percentile(values: Sequence[float], share: float) -> float:
    """The value below which a share of the values lies."""
    return sorted(values)[min(len(values) - 1, int(len(values) * share))]


def hour_of(onsets: Sequence[Onset]) -> list[Sounded]:
    """An hour of playing, over and over."""
    rng = random.Random(1)
    notes: list[Sounded] = []
    start = 0.0
    while start < HOUR:
        notes += [
            Sounded(start + each.note.seconds, each.note.pitch)
            for each in performance(onsets, rng, Kind(stops=0.01, **MISTAKES), 120.0)
        ]
        start = notes[-1].seconds + 1.0
    return sorted(notes, key=lambda note: note.seconds)


def speed(plan: PassPlan) -> None:
    """Print the table of speed."""
    onsets = onsets_of(places_of(plan))
    notes = hour_of(onsets)
    follower = Follower(onsets)
    times = []
    for seq, note in enumerate(notes):
        start = time.process_time()
        follower.hear(note, seq)
        follower.watermark(note.seconds)
        times.append((time.process_time() - start) * 1e6)
    print(f"{len(onsets)} onsets, {len(notes)} notes in an hour; microseconds a note")
    size = len(notes) // 4
    for quarter in range(4):
        part = times[quarter * size : (quarter + 1) * size]
        print(f"  quarter {quarter + 1}: p50 {percentile(part, 0.5):6.1f}  p99 {percentile(part, 0.99):6.1f}")
    listener = Listener(plan)
    times = []
    for seq, pluck in enumerate(listener.places.expected):
        played = HeardNote(pluck.time / 1e6, pluck.pitch, 80, pluck.string, pluck.string, seq)
        start = time.process_time()
        listener.hear(played)
        listener.watermark(played.seconds)
        times.append((time.process_time() - start) * 1e6)
    print(f"  a pass with a click: p50 {percentile(times, 0.5):6.1f}  p99 {percentile(times, 0.99):6.1f}")


def settled(follower: Follower, notes: Sequence[Sounded]) -> list[int]:
    """Follow, and tell for each note after how many more what was said of it no longer changed."""
    changed: dict[int, int] = {}
    said: dict[int, int | None] = {}
    for seq, note in enumerate(notes):
        follower.hear(note, seq)
        follower.watermark(note.seconds)
        chain = {step.note: step.onset for step in follower.chain[-40:]}
        for i in range(max(0, follower.count - 40), follower.count):
            if i not in said or said[i] != chain.get(i):
                said[i] = chain.get(i)
                changed[i] = follower.count - 1 - i
    return list(changed.values())


def rightness(solos: Sequence[tuple[Onset, ...]], takes: int) -> None:
    """Print the tables of rightness and latency."""
    print(
        "share of right notes: aligned, followed; position: right, within a quarter; notes until settled: p50 p95 p99"
    )
    for name, kind in KINDS.items():
        asked = aligned = followed = there = near = positions = 0
        waits: list[int] = []
        for number, onsets in enumerate(solos):
            for take in range(takes):
                true = performance(onsets, random.Random(10_000 + 100 * number + take), kind)
                notes = [each.note for each in true]
                steps = {step.note: step.onset for step in align(onsets, notes).steps}
                waits += settled(Follower(onsets), notes)
                follower = Follower(onsets)
                for seq, note in enumerate(notes):
                    follower.hear(note, seq)
                events = follower.finish()
                said = {event.note: event.onset for event in events if isinstance(event, Decided)}
                at = {event.note: event.onset for event in events if isinstance(event, Position)}
                for i, each in enumerate(true):
                    if not each.right or each.onset is None:
                        continue
                    asked += 1
                    aligned += steps.get(i) == each.onset
                    followed += said[i] == each.onset
                    where = at[i]
                    positions += 1
                    there += where == each.onset
                    near += where is not None and abs(onsets[where].at - onsets[each.onset].at) <= 1
        shares = f"{aligned / asked:.4f} {followed / asked:.4f}   {there / positions:.4f} {near / positions:.4f}"
        late = " ".join(str(percentile(waits, share)) for share in (0.5, 0.95, 0.99))
        print(f"  {name:20} {shares}   {late}   ({asked} notes)")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--takes", type=int, default=4, help="of each solo and kind of player")
    options = parser.parse_args()
    plans = [PassPlan(arrange(demo_tune(name), tier), 120.0) for name in sorted(DEMO_TUNES) for tier in TIERS]
    speed(max(plans, key=lambda plan: len(places_of(plan).places)))
    rightness([onsets_of(places_of(plan)) for plan in plans], options.takes)


if __name__ == "__main__":
    main()
