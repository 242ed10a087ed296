"""How often and how soon passages are recognised, and how fair the verdicts in them are.

    python tests/bench/measure_passages.py [--passes 40] [--tempo 100]

Simulated passes (tests/simulated_player.py) through solos of the demo tunes in the three tiers: for each kind of
passage the share that was named, the share told within eight slots (from the first slot in which what is played is
other than what is written), the slots at the 50th and 95th percentile, and the share of verdicts that agree with the
truth after the first measure of the passage; then how many plain passes (jitter, misses, extras and a stumble) have a
passage that was none.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulated_player import KINDS, Lapse, Noise, Played, play, random_lapse

from coach.arranging.arrange import arrange
from coach.arranging.arrangement import TIERS, Arrangement
from coach.listening.events import PassageSeen
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.scores import PassResult
from coach.tunes.demo import DEMO_TUNES, demo_tune


@dataclass
class Tally:
    """What came of one kind."""

    passes: int = 0
    named: int = 0
    others: Counter[str] = field(default_factory=Counter)
    waits: list[float] = field(default_factory=list)
    right: int = 0
    judged: int = 0


def watch(plan: PassPlan, played: Played, lapse: Lapse | None) -> tuple[PassResult, float | None]:
    """A pass heard live; with the slots after its beginning at which the kind of the lapse was told."""
    listener = Listener(plan)
    told: float | None = None
    slot = float(plan.arrangement.slot) * 60 / plan.tempo
    mark, at = -1.0, 0
    end = plan.tempo_map.seconds(plan.length) + 1.0
    while mark < end:
        while at < len(played.notes) and played.notes[at].seconds < mark + slot / 4:
            listener.take(played.notes[at])
            at += 1
        mark += slot / 4
        for event in listener.watermark(mark):
            if lapse is None or told is not None or not isinstance(event, PassageSeen):
                continue
            if any(passage.kind == lapse.kind for passage in event.passages):
                told = mark / slot - first_sign(plan, lapse)
    listener.finish()
    assert listener.result is not None
    return listener.result, told


def first_sign(plan: PassPlan, lapse: Lapse) -> int:
    """The first slot of a lapse in which what is played is other than what is written."""
    slot = plan.arrangement.slot
    written: dict[int, set[int]] = {}
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            written.setdefault(int((start + pluck.at) / slot), set()).add(pluck.pitch)
    at = lapse.begins
    while lapse.shift and written.get(at) == written.get(at + lapse.shift):
        at += 1
    return at


def agreement(result: PassResult, played: Played, lapse: Lapse) -> tuple[int, int]:
    """How many verdicts after the first measure of a lapse agree with the truth, and of how many."""
    plan = result.plan
    measure = max(each.length for each in plan.measures)
    begins, ends = lapse.begins, plan.length / plan.arrangement.slot if lapse.ends is None else lapse.ends
    if lapse.kind == "stopped":  # what follows counts, from the first note on
        begins, ends = ends - measure / plan.arrangement.slot, ends + measure / plan.arrangement.slot
    since = plan.tempo_map.seconds(begins * plan.arrangement.slot + measure)
    until = plan.tempo_map.seconds(ends * plan.arrangement.slot)
    right = total = 0
    for note in result.notes:
        meant = played.meant.get(note.pluck.id)
        if meant is None or not since <= meant < until:
            continue
        total += 1
        if note.pluck.id in played.missed:
            right += not note.played
        else:
            right += note.verdict in ("on time", "early", "late") and abs(note.offset or 0) < 75_000
    return right, total


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--passes", type=int, default=40, help="of each kind")
    parser.add_argument("--plain", type=int, default=200)
    parser.add_argument("--tempo", type=float, default=100.0)
    parser.add_argument("--kinds", nargs="*", default=list(KINDS))
    parser.add_argument("--verbose", action="store_true")
    options = parser.parse_args()
    everything: list[Arrangement] = [arrange(demo_tune(name), tier) for name in DEMO_TUNES for tier in TIERS]
    rng = random.Random(1)
    print("kind             named  in 8   p50   p95  right  otherwise")
    for kind in options.kinds:
        tally = Tally()
        # The roll and its absence are heard where there is one.
        rolls = kind in ("other order", "plain melody")
        solos = [solo for solo in everything if not rolls or solo.tier != "beginner"]
        for number in range(options.passes):
            solo = solos[number % len(solos)]
            plan = PassPlan(solo, options.tempo)
            lapse = random_lapse(rng, kind, solo)
            played = play(plan, rng, lapse, Noise(stumble=0))
            result, told = watch(plan, played, lapse)
            tally.passes += 1
            kinds = [passage.kind for passage in result.passages]
            tally.named += kind in kinds
            tally.others.update(each for each in kinds if each != kind)
            if told is not None:
                tally.waits.append(told)
            if options.verbose and kinds != [kind]:
                seen = [(p.kind, p.slots, p.first.id, p.last.id) for p in result.passages]
                print(f"   {solo.title} {solo.tier} {lapse} {seen}")
            if options.verbose and (told is None or told > 8):
                print(f"   late {solo.title} {solo.tier} {lapse} {told}")
            right, total = agreement(result, played, lapse)
            tally.right += right
            tally.judged += total
        waits = sorted(tally.waits) or [float("nan")]
        soon = sum(wait <= 8 for wait in tally.waits) / tally.passes
        p50, p95 = (waits[min(len(waits) - 1, int(len(waits) * share))] for share in (0.5, 0.95))
        share = tally.right / max(1, tally.judged)
        print(
            f"{kind:15} {tally.named / tally.passes:6.1%} {soon:6.1%} {p50:5.1f} {p95:5.1f} {share:6.1%}"
            f"  {dict(tally.others)}"
        )
    false = 0
    for number in range(options.plain):
        plan = PassPlan(everything[number % len(everything)], options.tempo)
        result, _ = watch(plan, play(plan, rng, None), None)
        false += bool(result.passages)
        if options.verbose and result.passages:
            print("   plain", [(p.kind, p.slots, p.first.id, p.last.id) for p in result.passages])
    print(f"plain passes with a passage: {false} of {options.plain}")


if __name__ == "__main__":
    main()
