"""How often habits are found that are there, and that are not.

Run by hand: ``python tests/bench/measure_habits.py [TAKES]`` (400 plain takes by default; it takes some minutes).
Planted habits are those of the virtual player at full strain, one at a time at their stated size, and a fifth string
that is early by so much; plain takes vary in tempo, spread, tails, notes left out, and in what the instrument tells.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from habit_takes import Moved, erring_only, habit_study, plain, strained

from coach.arranging.arrangement import ArrangedMeasure, Pluck
from coach.listening.plan import PassPlan
from coach.listening.saying import findings_of

SEEDS = 40

ERRORS = (
    ("DRONE_EARLY", "fifth string early"),
    ("CHANGE_LATE", "change late"),
    ("RUSH", "open roll rushed"),
    ("MISSED_BY_MIDDLE", "middle missed"),
    ("SWALLOWED", "swallowed"),
    ("CRUSHED", "crushed"),
    ("WRONG_STRING", "neighbour string"),
    ("CUT_SHORT", "fill cut short"),
)


def early(milliseconds: int) -> Moved:
    """The fifth string comes early."""

    def moved(pluck: Pluck, _: ArrangedMeasure, __: PassPlan) -> float:
        return -milliseconds / 1000 if pluck.string == 5 else 0.0

    return moved


def main(takes: int) -> None:
    study = habit_study()
    print(f"one error of the virtual player, {SEEDS} seeds: share found; in 1 pass, in 3 passes; other findings")
    for error, name in ERRORS:
        with erring_only(error):
            found = [
                [{f.name for f in findings_of(strained(study, seed, passes=passes))} for seed in range(SEEDS)]
                for passes in (1, 3)
            ]
        shares = [sum(name in names for names in each) / SEEDS for each in found]
        others = Counter(other for each in found for names in each for other in names - {name, "middle soft"})
        print(f"  {error:18}{shares[0]:6.2f}{shares[1]:6.2f}  {dict(others)}")
    print(f"the fifth string early by so many ms, spread 15 ms, {SEEDS} seeds: share found in 1 pass, in 3 passes")
    for milliseconds in (5, 9, 12, 15, 18, 25, 35, 50):
        shares = [
            sum(
                any(
                    f.name == "fifth string early"
                    for f in findings_of(plain(study, seed, passes=n, moved=early(milliseconds)))
                )
                for seed in range(SEEDS)
            )
            / SEEDS
            for n in (1, 3)
        ]
        print(f"  {milliseconds:3}{shares[0]:6.2f}{shares[1]:6.2f}")
    count: Counter[str] = Counter()
    wrong = 0
    for seed in range(takes):
        found_here = findings_of(
            plain(
                study,
                10_000 + seed,
                tempo=(60.0, 80.0, 100.0, 140.0, 200.0, 280.0)[seed % 6],
                passes=1 + seed // 6 % 3,
                jitter=(0.008, 0.015, 0.02)[seed // 18 % 3],
                heavy=seed // 54 % 2 == 1,
                left_out=(0.0, 0.02, 0.05)[seed // 2 % 3],
                strings=seed % 5 > 0,
                velocity=seed % 7 > 0,
            )
        )
        habits = {f.name for f in found_here} - {"leaning ahead", "leaning behind"}
        count.update(habits)
        wrong += bool(habits)
    print(f"{takes} plain takes: {wrong} with a habit ({wrong / takes:.2%}); {dict(count)}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
