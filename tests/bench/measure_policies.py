"""How many passes simulated learners need from 60 to 120 under each rule of the tempo. It is a simulation.

Run by hand: ``python tests/bench/measure_policies.py [LEARNERS] [KIND] [POLICY ...]``; 200 learners, kind 0 and all
policies by default, which takes half an hour on a slow core. The kinds of learners: 0, those of the test; 1, what a
pass teaches goes by each measure for itself; 2 and 3, as 0, but learning faster or slower.

What learners are and what is counted stands in ``tests/ladder/learners.py``. Learners of the table have the seeds from
0 on; the numbers of the default were chosen with those from 10000 on. The interval is that of the mean, at 95 %; those
who have not arrived after 3000 passes count with these. Failing is the share of whole passes that are not clean, and
beside it that of loops of spots; then by twenties of whole passes, for those who still climb, with the interval of
that mean.
"""

from __future__ import annotations

import math
import sys
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from statistics import mean, stdev

sys.path.insert(0, str(Path(__file__).parents[1] / "ladder"))

from learners import MOST, POLICIES, RATE, Climb, climb, learner

KINDS = (
    ("what a pass teaches goes by how the pass comes out", True, RATE),
    ("what a pass teaches goes by each measure for itself", False, RATE),
    ("what a pass teaches goes by how the pass comes out; they learn faster by two fifths", True, 1.4 * RATE),
    ("what a pass teaches goes by how the pass comes out; they learn slower by two sevenths", True, RATE / 1.4),
)
WINDOW = 20
FEWEST = 20  # learners in a window that is shown


def line(name: str, climbs: Sequence[Climb]) -> str:
    passes = [each.passes for each in climbs]
    half = 1.96 * stdev(passes) / math.sqrt(len(passes))
    failing = [share for each in climbs for share in each.failing]
    spots = [share for each in climbs for share in each.failing_spots]
    windows: dict[int, list[float]] = defaultdict(list)
    for each in climbs:
        for start in range(0, len(each.failing) - WINDOW + 1, WINDOW):
            windows[start].append(mean(each.failing[start : start + WINDOW]))
    by_time = " ".join(
        f"{mean(shares):.3f}±{1.96 * stdev(shares) / math.sqrt(len(shares)):.3f}"
        for _, shares in sorted(windows.items())
        if len(shares) >= FEWEST
    )
    never = sum(each.passes >= MOST for each in climbs)
    return (
        f"{name:53}{mean(passes):7.1f} {mean(passes) - half:6.1f}..{mean(passes) + half:5.1f}"
        f"{sorted(passes)[len(passes) // 2]:7.1f}{never:6d}{mean(failing):8.3f}"
        f"{mean(spots) if spots else math.nan:7.3f}{len(spots) / len(climbs):6.0f}  {by_time}"
    )


def main(count: int, kind: int, names: Sequence[str]) -> None:
    name, by_pass, rate = KINDS[kind]
    print(f"{count} simulated learners; {name}")
    print(f"{'':53}   mean    95 %      median never failing spots loops  failing by twenties of whole passes")
    for policy in names:
        climbs = [climb(learner(seed, by_pass=by_pass, rate=rate), POLICIES[policy](), seed) for seed in range(count)]
        print(line(policy, climbs), flush=True)


if __name__ == "__main__":
    told = sys.argv[1:]
    main(int(told[0]) if told else 200, int(told[1]) if told[1:] else 0, told[2:] or list(POLICIES))
