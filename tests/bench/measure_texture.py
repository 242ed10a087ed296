"""What the three tiers of many outside tunes are made of: shares, broken rules, reasons for a refusal.

    python tests/bench/measure_texture.py [--folder essenFolksong] [--count 300] [--seed 1] [--each]

The tunes are read from the corpus of the installed music21 (``music21.corpus``); nothing of them is kept.
The shares are those of :mod:`coach.arranging.texture`; tunes whose melody is too dense for rolls are counted apart.
"""

from __future__ import annotations

import argparse
import dataclasses
import random
import re
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import music21

from coach.arranging.arrange import arrange_all
from coach.arranging.arrangement import TIERS, Arrangement
from coach.arranging.rules import BrokenRule, broken_rules
from coach.arranging.texture import Share, Texture, texture
from coach.errors import CoachError
from coach.tunes.read import read_tune

SHARES = tuple(each.name for each in dataclasses.fields(Texture))

# A tune of the corpus: its file and its number in it.
Entry = tuple[Path, int]


def sample(folder: str, count: int, seed: int) -> list[Entry]:
    """So many tunes of a folder of the corpus, drawn at random but the same for the same seed."""
    root = Path(music21.__file__).parent / "corpus" / folder
    entries = [
        (path, int(number))
        for path in sorted(root.glob("*.abc"))
        for number in re.findall(r"^X:\s*(\d+)", path.read_text("latin-1"), re.MULTILINE)
    ]
    return random.Random(seed).sample(entries, count)


@dataclass(slots=True)
class Survey:
    """What was found.

    Attributes:
        made: tunes with three tiers.
        reasons: why the others have none, with places and numbers taken out, and how many.
        dense: tunes whose melody is too dense for rolls.
        broken: every breach of a hard rule, with its tune and tier.
        by_tune: the textures of each tune that is not dense, by tier.
        seconds: processor time of reading and of arranging.
    """

    made: int = 0
    reasons: Counter[str] = field(default_factory=Counter)
    dense: int = 0
    broken: list[tuple[str, str, BrokenRule]] = field(default_factory=list)
    by_tune: dict[str, dict[str, Texture]] = field(default_factory=dict)
    seconds: tuple[float, float] = (0.0, 0.0)

    def shares(self, tier: str) -> dict[str, Share]:
        """The shares of a tier over all tunes that are not dense."""
        total = dict.fromkeys(SHARES, Share(0, 0))
        for textures in self.by_tune.values():
            for name in SHARES:
                total[name] = total[name].plus(getattr(textures[tier], name))
        return total

    def add(self, name: str, solos: Iterable[Arrangement]) -> None:
        """Count the solos of one tune."""
        self.made += 1
        found: dict[str, Texture] = {}
        for solo in solos:
            self.broken += [(name, solo.tier, broken) for broken in broken_rules(solo)]
            found[solo.tier] = texture(solo)
        if is_dense(solo):
            self.dense += 1
        else:
            self.by_tune[name] = found


def is_dense(solo: Arrangement) -> bool:
    """Whether the solo says that its melody is too dense for rolls."""
    return any("too dense" in remark for remark in solo.remarks)


def survey(entries: Iterable[Entry]) -> Survey:
    """Read and arrange tunes and count what comes of it."""
    found = Survey()
    reading = arranging = 0.0
    for path, number in entries:
        start = time.process_time()
        try:
            tune = read_tune(path, number=number)
            middle = time.process_time()
            solos = arrange_all(tune)
        except CoachError as error:
            found.reasons[re.sub(r"\d+", "N", error.what)] += 1
            continue
        except Exception as error:
            error.add_note(f"with {path.name}, tune {number}")
            raise
        arranging += time.process_time() - middle
        reading += middle - start
        found.add(f"{path.name} {number}", solos.values())
    found.seconds = (reading, arranging)
    return found


def table(found: Survey) -> str:
    """The survey as lines to read."""
    reading, arranging = found.seconds
    made = f"{found.made} tunes with three tiers, {found.dense} of them too dense for rolls"
    lines = [f"{made}; {found.reasons.total()} refused; reading {reading:.1f} s, arranging {arranging:.1f} s"]
    lines += [f"  refused {count}: {reason}" for reason, count in found.reasons.most_common()]
    breaches = Counter((tier, broken.rule) for _, tier, broken in found.broken)
    lines += [f"  BROKEN {count}: {tier}, {rule}" for (tier, rule), count in breaches.most_common()]
    lines += [f"    {name} ({tier}): {broken.sentence}" for name, tier, broken in found.broken[:10]]
    lines.append(f"{'':23}" + "".join(f"{tier:>26}" for tier in TIERS))
    shares = {tier: found.shares(tier) for tier in TIERS}
    for name in SHARES:
        row = "".join(f"{shares[tier][name].value:>12.3f} {_of(shares[tier][name]):>13}" for tier in TIERS)
        lines.append(f"{name:23}{row}")
    return "\n".join(lines)


def _of(share: Share) -> str:
    return f"{share.part}/{share.whole}"


def main() -> None:
    """Survey a sample and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--folder", default="essenFolksong")
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--each", action="store_true", help="a line for each tune")
    options = parser.parse_args()
    found = survey(sample(options.folder, options.count, options.seed))
    print(table(found))
    if options.each:
        for name, textures in found.by_tune.items():
            shares = " ".join(f"{each}={getattr(textures['intermediate'], each).value:.2f}" for each in SHARES)
            print(f"{name}: {shares}")


if __name__ == "__main__":
    main()
