"""Whether the three tiers of a tune rise in difficulty, over many outside tunes.

    python tests/bench/measure_difficulty.py [--folder essenFolksong] [--count 300] [--seed 1]

The tunes are read from the corpus of the installed music21 (``music21.corpus``); nothing of them is kept. The index is
that of :mod:`coach.arranging.difficulty`, whose weights were fixed before anything was measured.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from statistics import fmean

from measure_texture import Entry, sample

from coach.arranging.arrange import arrange_all
from coach.arranging.arrangement import TIERS
from coach.arranging.difficulty import PARTS, Difficulty, difficulty
from coach.errors import CoachError
from coach.tunes.read import read_tune


@dataclass(slots=True)
class Rise:
    """The difficulties of the tiers of each tune that could be arranged, the beginner's first."""

    by_tune: dict[str, list[Difficulty]] = field(default_factory=dict)

    def falls(self) -> dict[str, list[Difficulty]]:
        """The tunes of which a tier is no harder than the one before."""
        return {name: found for name, found in self.by_tune.items() if not rises([each.index for each in found])}

    @property
    def share(self) -> float:
        """The share of tunes whose tiers rise, 0..1."""
        return 1 - len(self.falls()) / len(self.by_tune)


def rises(indices: Sequence[float]) -> bool:
    """Whether each number is greater than the one before."""
    return all(a < b for a, b in pairwise(indices))


def measure(entries: Iterable[Entry]) -> Rise:
    """Arrange tunes and measure their tiers."""
    found = Rise()
    for path, number in entries:
        try:
            solos = arrange_all(read_tune(path, number=number))
        except CoachError:
            continue
        found.by_tune[f"{path.name} {number}"] = [difficulty(solos[tier]) for tier in TIERS]
    return found


def table(found: Rise) -> str:
    """The parts of each tier on average, and every tune that does not rise."""
    lines = [
        f"{len(found.by_tune)} tunes, the tiers of {found.share:.1%} rise",
        f"{'':18}" + "".join(f"{t:>14}" for t in TIERS),
    ]
    for name in PARTS:
        means = [fmean(each[k].parts.values[name] for each in found.by_tune.values()) for k in range(len(TIERS))]
        lines.append(f"{name:18}" + "".join(f"{mean:>14.3f}" for mean in means))
    means = [fmean(each[k].index for each in found.by_tune.values()) for k in range(len(TIERS))]
    lines.append(f"{'index':18}" + "".join(f"{mean:>14.3f}" for mean in means))
    for name, tiers in found.falls().items():
        lines.append(f"no rise: {name}")
        lines += [
            f"   {each.index:6.3f}  " + ", ".join(f"{part} {value:.2f}" for part, value in each.parts.values.items())
            for each in tiers
        ]
    return "\n".join(lines)


def main() -> None:
    """Measure a sample and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--folder", default="essenFolksong")
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    print(table(measure(sample(options.folder, options.count, options.seed))))


if __name__ == "__main__":
    main()
