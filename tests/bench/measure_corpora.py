"""Whole collections arranged in three tiers on all cores: the shares by collection and metre, as a table in Markdown.

    python tests/bench/measure_corpora.py [essenFolksong ryansMammoth ...] [--share 1.0]

The tunes are read from the corpus of the installed music21 (``music21.corpus``); nothing of them is kept. The shares
are those of :mod:`coach.arranging.texture`, over tunes whose melody is not too dense for rolls; ``rising`` is the share
of tunes whose difficulty rises from tier to tier. Besides: what was refused and why, every breach of a hard rule, notes
a second (melody notes, all tiers made, reading included) and the peak memory of a worker.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import re
import resource
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import groupby, pairwise
from pathlib import Path

import music21

from coach.arranging.arrange import arrange_all
from coach.arranging.arrangement import TIERS
from coach.arranging.difficulty import difficulty
from coach.arranging.rules import broken_rules
from coach.arranging.texture import Share, Texture, texture
from coach.errors import CoachError
from coach.tunes.read import open_book
from coach.tunes.tune import Tune

# Tier and share of each column, and the column's heading.
COLUMNS = (
    ("intermediate", "filled_rolls", "I filled roll"),
    ("intermediate", "chordal_fills", "I chordal fills"),
    ("intermediate", "drone", "I drone"),
    ("intermediate", "thinned_even", "I even thinned"),
    ("advanced", "filled_rolls", "A filled roll"),
    ("advanced", "drone", "A drone"),
    ("advanced", "licked_gaps", "A licks in gaps"),
    ("advanced", "embellished", "A slur or lick"),
    ("beginner", "kept", "B kept"),
    ("intermediate", "kept", "I kept"),
    ("advanced", "kept", "A kept"),
    ("advanced", "downbeats", "A downbeats"),
)
CHUNK = 40
FEWEST = 20  # tunes that a metre needs for a row of its own


@dataclass(frozen=True, slots=True)
class Found:
    """What came of one tune.

    Attributes:
        name: file and number.
        meter: as the solo notates its start; empty where there is no solo.
        notes: melody notes as played.
        reason: why there is no solo, with places and numbers taken out.
        dense: whether its melody is too dense for rolls.
        rises: whether the difficulty rises from tier to tier.
        broken: tier and sentence of each breach of a hard rule.
        textures: by tier.
    """

    name: str
    meter: str = ""
    notes: int = 0
    reason: str = ""
    dense: bool = False
    rises: bool = False
    broken: tuple[tuple[str, str], ...] = ()
    textures: tuple[tuple[str, Texture], ...] = ()


def chunks(folder: str, share: float) -> Iterator[list[tuple[Path, int]]]:
    """Stretches of tunes of a collection: files and indices in them."""
    root = Path(music21.__file__).parent / "corpus" / folder
    entries = [(path, index) for path in sorted(root.glob("*.abc")) for index in range(len(open_book(path)))][
        :: max(1, round(1 / share))
    ]
    for first in range(0, len(entries), CHUNK):
        yield entries[first : first + CHUNK]


def arranged(chunk: Sequence[tuple[Path, int]]) -> tuple[list[Found], int]:
    """What came of each tune of a stretch, and the peak memory of this process so far in KiB."""
    found: list[Found] = []
    for path, group in groupby(chunk, key=lambda entry: entry[0]):
        book = open_book(path)
        found += [_found(f"{path.name} {book[index].number}", book[index].read) for _, index in group]
    return found, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def _found(name: str, read: Callable[[], Tune]) -> Found:
    try:
        solos = arrange_all(read())
    except CoachError as error:
        return Found(name, reason=re.sub(r"\d+", "N", error.what))
    except Exception as error:
        error.add_note(f"with {name}")
        raise
    one = solos["advanced"]
    return Found(
        name,
        str(one.meter),
        sum(len(measure.melody) for measure in one.measures),
        dense=any("too dense" in remark for remark in one.remarks),
        rises=all(a < b for a, b in pairwise(difficulty(solos[tier]).index for tier in TIERS)),
        broken=tuple((tier, broken.sentence) for tier, solo in solos.items() for broken in broken_rules(solo)),
        textures=tuple((tier, texture(solo)) for tier, solo in solos.items()),
    )


def row(name: str, tunes: Sequence[Found]) -> str:
    """A line of the table."""
    made = [each for each in tunes if not each.reason]
    open_ones = [each for each in made if not each.dense]
    cells = [name, str(len(tunes)), str(len(made)), str(len(made) - len(open_ones))]
    cells += [str(sum(len(each.broken) for each in made)), _share(Share(sum(e.rises for e in made), len(made)))]
    for tier, share, _ in COLUMNS:
        total = Share(0, 0)
        for each in open_ones:
            total = total.plus(getattr(dict(each.textures)[tier], share))
        cells.append(_share(total))
    return f"| {' | '.join(cells)} |"


def _share(share: Share) -> str:
    return f"{share.value:.3f}".lstrip("0") if share.whole else "-"


def table(folder: str, tunes: Sequence[Found]) -> Iterator[str]:
    """The rows of a collection: all of it, then each metre that has tunes enough."""
    yield row(folder, tunes)
    by_meter: dict[str, list[Found]] = defaultdict(list)
    for each in tunes:
        by_meter[each.meter].append(each)
    for meter, group in sorted(by_meter.items(), key=lambda pair: -len(pair[1])):
        if meter and len(group) >= FEWEST:
            yield row(f"- {meter}", group)


def _print_troubles(tunes: Iterable[Found]) -> None:
    reasons = Counter(each.reason for each in tunes if each.reason)
    for reason, count in reasons.most_common():
        print(f"refused {count}: {reason}")
    for each in tunes:
        for tier, sentence in each.broken:
            print(f"BROKEN in {each.name}, {tier}: {sentence}")


def main() -> None:
    """Arrange the collections and print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="*", default=["essenFolksong", "ryansMammoth"])
    parser.add_argument("--share", type=float, default=1.0, help="of the tunes, evenly spread")
    options = parser.parse_args()
    heads = ["collection, metre", "tunes", "made", "dense", "broken", "rising", *(head for *_, head in COLUMNS)]
    rows = [f"| {' | '.join(heads)} |", f"|{'---|' * len(heads)}"]
    with ProcessPoolExecutor(os.cpu_count(), multiprocessing.get_context("spawn")) as pool:
        for folder in options.folders:
            start = time.perf_counter()
            tunes: list[Found] = []
            memory = 0
            for found, peak in pool.map(arranged, chunks(folder, options.share)):
                tunes += found
                memory = max(memory, peak)
            seconds = time.perf_counter() - start
            notes = sum(each.notes for each in tunes)
            print(
                f"{folder}: {len(tunes)} tunes, {notes} melody notes in {seconds:.0f} s on {os.cpu_count()} cores, "
                f"{notes / seconds:.0f} notes a second; peak of a worker {memory / 1024:.0f} MB"
            )
            _print_troubles(tunes)
            rows += table(folder, tunes)
    print("\n".join(rows))


if __name__ == "__main__":
    main()
