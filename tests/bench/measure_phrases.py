"""Whether phrases begin where the lines of sung folk songs say, beside a plain yardstick.

    python tests/bench/measure_phrases.py [--count 300] [--seed 1]

The songs are those of the Essen collection that music21 installs (``music21.corpus``, folder ``essenFolksong``), each
line of whose ABC is a phrase of the collection; they are read where they lie and nothing of them is kept. The finder
sees neither lines nor the marks that come from them. ``precision`` is the share of the starts found that are starts of
lines, to the note, ``recall`` the share of the starts of lines that are found; the first note of a song does not count.
The yardstick begins a phrase at the first note from each fourth measure on, counted from the first note.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import music21

from coach.errors import TuneError
from coach.tunes.abc import read_abc, split_book
from coach.tunes.draft import first_number
from coach.tunes.phrases import mark_phrases
from coach.tunes.tune import Measure

FOLDER = Path(music21.__file__).parent / "corpus" / "essenFolksong"

Finder = Callable[[Sequence[Measure]], list[bool]]


@dataclass(frozen=True, slots=True)
class Starts:
    """Starts of phrases that are right, those that were found, those that there are."""

    right: int = 0
    found: int = 0
    told: int = 0

    def plus(self, other: Starts) -> Starts:
        """Both together."""
        return Starts(self.right + other.right, self.found + other.found, self.told + other.told)

    @property
    def precision(self) -> float:
        """The share of those found that are right."""
        return self.right / max(1, self.found)

    @property
    def recall(self) -> float:
        """The share of those told that are found."""
        return self.right / max(1, self.told)

    @property
    def balance(self) -> float:
        """The harmonic mean of precision and recall."""
        return 2 * self.right / max(1, self.found + self.told)

    def __str__(self) -> str:
        shares = (100 * share for share in (self.precision, self.recall, self.balance))
        return "precision {:.1f}, recall {:.1f}, their harmonic mean {:.1f}".format(*shares) + f", of {self.told}"


def found_starts(measures: Sequence[Measure]) -> list[bool]:
    """For each note whether the finder begins a phrase with it."""
    return [note.phrase_start for measure in mark_phrases(measures) for note in measure.notes]


def each_fourth_measure(measures: Sequence[Measure]) -> list[bool]:
    """The yardstick."""
    begins: list[bool] = []
    start, due = Fraction(0), None
    for measure in measures:
        for note in measure.notes:
            at = start + note.at
            begins.append(due is None or at >= due)
            due = at if due is None else due
            while due <= at:
                due += 4 * measure.meter.length
        start += measure.length
    return begins


FINDERS: dict[str, Finder] = {"found": found_starts, "every 4 measures": each_fourth_measure}


def songs(count: int, seed: int) -> list[tuple[tuple[Measure, ...], list[bool]]]:
    """The measures of so many songs without their lines, with the starts of the lines for each note.

    Songs that cannot be read, or have no more than one line, are passed over.
    """
    tunes = [tune for path in sorted(FOLDER.glob("*.abc")) for tune in split_book(path.read_bytes().decode("latin-1"))]
    kept: list[tuple[tuple[Measure, ...], list[bool]]] = []
    for tune in random.Random(seed).sample(tunes, count):
        try:
            draft = read_abc(tune, where=tune.title)
        except TuneError:
            continue
        if draft.phrased and draft.measures:
            told = [note.phrase_start for measure in draft.measures for note in measure.notes]
            first = first_number(draft.measures)
            bare = tuple(
                replace(
                    measure,
                    number=number,
                    line_end=False,
                    notes=tuple(replace(note, phrase_start=False) for note in measure.notes),
                )
                for number, measure in enumerate(draft.measures, start=first)
            )
            kept.append((bare, told))
    return kept


def compare(found: Sequence[bool], told: Sequence[bool]) -> Starts:
    """The starts of one song; its first note does not count."""
    pairs = list(zip(found, told, strict=True))[1:]
    return Starts(sum(a and b for a, b in pairs), sum(a for a, _ in pairs), sum(b for _, b in pairs))


def survey(kept: Sequence[tuple[tuple[Measure, ...], list[bool]]], finder: Finder) -> Starts:
    """The starts of all songs together."""
    total = Starts()
    for measures, told in kept:
        total = total.plus(compare(finder(measures), told))
    return total


def main() -> None:
    """Print the shares."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    kept = songs(options.count, options.seed)
    print(f"{len(kept)} songs with lines, of {options.count}")
    for name, finder in FINDERS.items():
        print(f"{name:<18} {survey(kept, finder)}")


if __name__ == "__main__":
    main()
