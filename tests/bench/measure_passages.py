"""How often and how soon passages are recognised, and how fair the verdicts in them are.

    python tests/bench/measure_passages.py [--passes 40] [--tempo 100]

Simulated passes (tests/simulated_player.py) through solos of the demo tunes in the three tiers; of each kind of
passage:

``named``: the share in which the list at the end of the pass has the kind.
``in 8``: the share in which a passage was told within eight slots of the first sign, the first slot in which what is
played is other than what is written; ``kind``: within eight slots by its own kind. In a solo with measures alike a jump
is seen at once, but where it leads cannot be told before they differ.
``could``: the share that could be told in time: the first six slots show three signs, for one or two are a stumble; and
``in 8`` of these.
``p50 p95``: the slots from the first sign until a passage was told.
``right``: the share of verdicts that agree with the truth after the first measure of the passage.

Then how many plain passes (jitter, misses, extras and a stumble) have a passage that was none, at the end and for a
while live.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
from collections import Counter
from collections.abc import Sequence
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
    waits: list[float] = field(default_factory=list)  # until a passage was told
    kind_waits: list[float] = field(default_factory=list)  # until the kind was
    clear: list[float] = field(default_factory=list)  # the first of these where it could be told
    right: int = 0
    judged: int = 0


NEVER = math.inf
SOON = 8
STUMBLE, CLEAR = 2, 6  # so many signs may be a stumble; more of them in so many slots are none


def watch(plan: PassPlan, played: Played, kind: str | None) -> tuple[PassResult, float, float]:
    """A pass heard live; with the slots of the pass at which a passage was told, and one of the kind."""
    listener = Listener(plan)
    told = kind_told = NEVER
    slot = float(plan.arrangement.slot) * 60 / plan.tempo
    mark, at = -1.0, 0
    end = plan.tempo_map.seconds(plan.length) + 1.0
    while mark < end:
        while at < len(played.notes) and played.notes[at].seconds < mark + slot / 4:
            listener.take(played.notes[at])
            at += 1
        mark += slot / 4
        for event in listener.watermark(mark):
            if isinstance(event, PassageSeen) and event.passages:
                told = min(told, mark / slot)
                if any(passage.kind == kind for passage in event.passages):
                    kind_told = min(kind_told, mark / slot)
    listener.finish()
    assert listener.result is not None
    return listener.result, told, kind_told


def signs_of(plan: PassPlan, played: Played, lapse: Lapse) -> list[int]:
    """The slots of a lapse in which what is meant is other than what is written."""
    slot = plan.arrangement.slot
    written: dict[int, set[int]] = {}
    meant: dict[int, set[int]] = {}
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            at = int((start + pluck.at) / slot)
            written.setdefault(at, set()).add(pluck.pitch)
            if lapse.shift:
                meant.setdefault(at - lapse.shift, set()).add(pluck.pitch)
            elif pluck.id in played.meant:
                slots = plan.tempo_map.written(played.meant[pluck.id]) / float(slot)
                meant.setdefault(int(slots + 1e-6), set()).add(pluck.pitch)
    ends = int(plan.length / slot) if lapse.ends is None else lapse.ends
    return [at for at in range(lapse.begins, ends) if written.get(at) != meant.get(at)]


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
    print("kind             named  in 8   kind   could in 8     p50   p95   right  otherwise")
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
            signs = signs_of(plan, played, lapse)
            if not signs:  # all alike: nothing has happened
                continue
            result, told, kind_told = watch(plan, played, kind)
            tally.passes += 1
            kinds = [passage.kind for passage in result.passages]
            tally.named += kind in kinds
            tally.others.update(each for each in kinds if each != kind)
            tally.waits.append(told - signs[0])
            tally.kind_waits.append(kind_told - signs[0])
            if len(signs) > STUMBLE and signs[STUMBLE] - signs[0] < CLEAR:
                tally.clear.append(told - signs[0])
            if options.verbose and (kinds != [kind] or told - signs[0] > SOON):
                seen = [(p.kind, p.slots, p.first.id, p.last.id) for p in result.passages]
                print(f"   {solo.title} {solo.tier} {lapse} {seen} told after {told - signs[0]:.1f}")
            right, total = agreement(result, played, lapse)
            tally.right += right
            tally.judged += total
        print(f"{kind:15} {line_of(tally)}")
    ended = live = 0
    for number in range(options.plain):
        plan = PassPlan(everything[number % len(everything)], options.tempo)
        result, told, _ = watch(plan, play(plan, rng, None), None)
        ended += bool(result.passages)
        live += told < NEVER
        if options.verbose and result.passages:
            print("   plain", [(p.kind, p.slots, p.first.id, p.last.id) for p in result.passages])
    print(f"plain passes with a passage: {ended} of {options.plain} at the end, {live} for a while")


def line_of(tally: Tally) -> str:
    """What came of a kind, in a line."""
    waits = sorted(tally.waits)
    p50, p95 = (waits[min(len(waits) - 1, int(len(waits) * share))] for share in (0.5, 0.95))
    named, could = tally.named / tally.passes, len(tally.clear) / tally.passes
    right = tally.right / max(1, tally.judged)
    return (
        f"{named:6.1%} {soon(waits):6.1%} {soon(tally.kind_waits):6.1%}  {could:6.1%} {soon(tally.clear):6.1%} "
        f"{p50:5.1f} {p95:5.1f}  {right:6.1%}  {dict(tally.others)}"
    )


def soon(waits: Sequence[float]) -> float:
    """The share of waits of no more than eight slots."""
    return sum(wait <= SOON for wait in waits) / max(1, len(waits))


if __name__ == "__main__":
    main()
