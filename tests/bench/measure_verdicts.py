"""How often the verdicts on a simulated player agree with the truth, by tempo.

    python tests/bench/measure_verdicts.py [--seeds 2] [--tempos 60 80 …] [--kinds spread …] [--causes]

Passes through all solos of the demo tunes, at tempos in quarters a minute (tests/verdict_trials.py tells how they are
played and heard): ``spread``, Gaussian jitter of 15 ms and nothing else; ``heavy tails``, the same spread by Student's
t; ``artefacts``, jitter, a lead and every artefact of an instrument at its stated rate (tests/player_pickup.py);
``everything``, these and what hands do, missed and wrong notes, extras, a stumble, wander and drift
(tests/player_noise.py); ``shifts``, one shift, stop or restart, misses and extras, where what was meant after the first
measure of the shift counts. A table in Markdown, by tempo; then by tier; then what the others came from, and which
artefacts were told as extra notes. On two cores, each with half of the passes.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from demo_solos import demo_solos
from verdict_trials import KINDS_OF_TRIAL, Tally, Trial, run_trial

from coach.arranging.arrangement import TIERS, Tier
from coach.tunes.demo import DEMO_TUNES

TEMPOS = (*range(60, 241, 20), 280, 320)
AIMS = {"spread": 0.995, "heavy tails": 0.995, "artefacts": 0.99, "everything": 0.99, "shifts": 0.97}
FASTEST_AIMED_AT = 240

Key = tuple[str, float, Tier]


def _row(task: tuple[str, float, int, bool]) -> list[tuple[Key, Tally]]:
    """All passes of a kind at a tempo, by tier."""
    kind, tempo, seeds, lean_of_take = task
    tallies: dict[Tier, Tally] = {tier: Tally() for tier in TIERS}
    for number, name in enumerate(DEMO_TUNES):
        for tier in TIERS:
            for seed in range(seeds):
                trial = Trial(demo_solos(name)[tier], tempo, kind, number + seed * len(DEMO_TUNES))
                tallies[tier].add(run_trial(trial, lean_of_take=lean_of_take))
    return [((kind, tempo, tier), tally) for tier, tally in tallies.items()]


def _sum(found: dict[Key, Tally], kind: str, tempos: Sequence[float], tiers: Sequence[Tier] = TIERS) -> Tally:
    total = Tally()
    for tempo in tempos:
        for tier in tiers:
            total.add(found[kind, tempo, tier])
    return total


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=2, help="passes through each solo")
    parser.add_argument("--tempos", type=float, nargs="*", default=list(TEMPOS))
    parser.add_argument("--kinds", nargs="*", default=list(KINDS_OF_TRIAL), choices=KINDS_OF_TRIAL)
    parser.add_argument(
        "--lean-of-take", action="store_true", help="the lean is not known before, but the take's median"
    )
    options = parser.parse_args()
    tasks = [(kind, tempo, options.seeds, options.lean_of_take) for tempo in options.tempos for kind in options.kinds]
    with ProcessPoolExecutor(2) as pool:
        found = {key: tally for row in pool.map(_row, tasks) for key, tally in row}

    print("| tempo |", " | ".join(options.kinds), "|")
    print("|---:|" + "---:|" * len(options.kinds))
    for tempo in options.tempos:
        shares = [_sum(found, kind, [tempo]).share for kind in options.kinds]
        print(f"| {tempo:g} |", " | ".join(f"{share:.2%}" for share in shares), "|")
    aimed = [tempo for tempo in options.tempos if tempo <= FASTEST_AIMED_AT] or options.tempos
    print("| aim |", " | ".join(f"{AIMS[kind]:.1%}" for kind in options.kinds), "|")
    print("| to 240 |", " | ".join(f"{_sum(found, kind, aimed).share:.2%}" for kind in options.kinds), "|")
    for tier in TIERS:
        shares = [_sum(found, kind, aimed, [tier]).share for kind in options.kinds]
        print(f"| {tier} |", " | ".join(f"{share:.2%}" for share in shares), "|")
    counts = [_sum(found, kind, options.tempos).notes for kind in options.kinds]
    print("| notes |", " | ".join(str(count) for count in counts), "|")
    for kind in options.kinds:
        total = _sum(found, kind, options.tempos)
        print(f"\n{kind}: {total.notes - total.right} of {total.notes} otherwise, all tempos")
        for cause, count in total.causes.most_common(12):
            print(f"  {count / total.notes:8.3%}  {cause}")
        if kind != "shifts":
            print(f"  passes with a passage told: {total.seen} of {total.passes}")
        if total.artefacts:
            extras = ", ".join(f"{name} {count}" for name, count in total.extras.most_common())
            share = sum(total.extras.values()) / total.artefacts
            print(f"  {total.artefacts} artefacts, told as extra notes: {share:.1%} ({extras or 'none'})")


if __name__ == "__main__":
    main()
