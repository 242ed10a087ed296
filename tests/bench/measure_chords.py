"""How many beats of tunes whose chords are taken away get the same chords back, beside two plain yardsticks.

    python tests/bench/measure_chords.py FOLDER [--each]

FOLDER holds ABC books of tunes with chord symbols; they are read where they lie and nothing of them is kept. The
public-domain lead sheet that music21 installs (``leadSheet/fosterBrownHair.mxl``) is measured beside them. Every third
tune of the books, in the order of their names and numbers, is held out: no price was fitted to its chords. Its shares
were looked at while the prices were chosen, though, so it is no blind test, which only tunes never measured could be.

On each beat with a chord in the source, the chord found there is compared: ``root`` is the share of beats on which its
root is right, ``content`` the mean share of pitch classes that both have among those that either has (Jaccard 1912),
``exact`` the share of beats with the same pitch classes; notes under a slash do not count. The yardsticks: ``tonic``
holds the home chord; ``measure`` takes, for each measure, the triad of the key's scale that carries most of its melody.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import music21

from coach.errors import TuneError
from coach.tunes.chord_search import find_chords
from coach.tunes.chords import Chord
from coach.tunes.keys import Key, spell_near
from coach.tunes.phrases import mark_phrases
from coach.tunes.read import read_book, read_tune
from coach.tunes.tune import ChordChange, Measure, Tune

CORPUS = Path(music21.__file__).parent / "corpus"
LEAD_SHEET = CORPUS / "leadSheet" / "fosterBrownHair.mxl"

Finder = Callable[[Sequence[Measure], Key], tuple[Measure, ...]]


@dataclass(frozen=True, slots=True)
class Agreement:
    """Beats compared, those with the right root, the sum of the shares of pitch classes, those with the same ones."""

    beats: int = 0
    root: int = 0
    content: Fraction = Fraction(0)
    exact: int = 0

    def plus(self, other: Agreement) -> Agreement:
        """Both together."""
        return Agreement(
            self.beats + other.beats,
            self.root + other.root,
            self.content + other.content,
            self.exact + other.exact,
        )

    def shares(self) -> tuple[float, float, float]:
        """Root, content and exact as shares of the beats; 0 where there are none."""
        beats = max(1, self.beats)
        return self.root / beats, float(self.content / beats), self.exact / beats


def without_chords(tune: Tune) -> tuple[Measure, ...]:
    """The measures of a tune, their phrases marked as they would be had the source no chords."""
    bare = tuple(replace(measure, chords=()) for measure in tune.measures)
    return bare if any(measure.line_end for measure in bare) else mark_phrases(bare)


def hold_tonic(measures: Sequence[Measure], key: Key) -> tuple[Measure, ...]:
    """The first yardstick: the home chord throughout."""
    held: list[Measure] = []
    for measure in measures:
        key = measure.key or key
        held.append(replace(measure, chords=(ChordChange(Fraction(0), Chord(key.tonic, "m" if key.minor else "")),)))
    return tuple(held)


def heaviest_triads(measures: Sequence[Measure], key: Key) -> tuple[Measure, ...]:
    """The second yardstick: for each measure the triad of the scale that carries most of what begins in it."""
    chosen: list[Measure] = []
    for measure in measures:
        key = measure.key or key
        scale = {(7 * (key.fifths + step)) % 12 for step in range(-1, 6)}
        triads = [
            Chord(spell_near(key.tonic_pc + step, key.fifths), quality) for step in range(12) for quality in ("", "m")
        ]
        triads = [triad for triad in triads if triad.pitch_classes <= scale]
        weight: defaultdict[int, Fraction] = defaultdict(Fraction)
        for note in measure.notes:
            weight[note.pitch % 12] += note.length
        best = max(triads, key=lambda triad: sum((weight[pc] for pc in triad.pitch_classes), Fraction(0)))
        chosen.append(replace(measure, chords=(ChordChange(Fraction(0), best),)))
    return tuple(chosen)


FINDERS: dict[str, Finder] = {"tonic": hold_tonic, "measure": heaviest_triads, "found": find_chords}


def on_beats(measures: Sequence[Measure]) -> list[Chord | None]:
    """The chord on each beat of the full measures; None before the first."""
    chords: list[Chord | None] = []
    chord: Chord | None = None
    for measure in measures:
        left = list(measure.chords)
        for step in range(-(-measure.length // measure.meter.beat)):
            while left and left[0].at <= step * measure.meter.beat:
                chord = left.pop(0).chord
            if measure.number > 0:
                chords.append(chord)
        chord = left[-1].chord if left else chord
    return chords


def agreement(tune: Tune, finder: Finder) -> Agreement:
    """The chords that a finder gives to the bare melody of a tune beside the tune's own."""
    found = on_beats(finder(without_chords(tune), tune.key))
    total = Agreement()
    for own, other in zip(on_beats(tune.measures), found, strict=True):
        if own is not None and other is not None:
            ours, theirs = (Chord(chord.root, chord.quality).pitch_classes for chord in (other, own))
            share = Fraction(len(ours & theirs), len(ours | theirs))
            total = total.plus(Agreement(1, other.root_pc == own.root_pc, share, ours == theirs))
    return total


def has_chords(tune: Tune) -> bool:
    """Whether the chords of a tune are the source's own."""
    return not any("has no chords" in remark for remark in tune.remarks)


def tunes_of(folder: Path) -> tuple[list[Tune], Counter[str]]:
    """The tunes of the books of a folder that have chords, and why the others are left out."""
    tunes: list[Tune] = []
    reasons: Counter[str] = Counter()
    for path in sorted(folder.glob("*.abc")):
        for entry in read_book(path):
            if isinstance(entry.tune, TuneError):
                reasons[str(entry.tune)] += 1
            elif not has_chords(entry.tune):
                reasons["its source has no chords"] += 1
            else:
                tunes.append(entry.tune)
    return tunes, reasons


def row(name: str, tunes: Iterable[Tune]) -> str:
    """A line of the table: the shares of the tunes by each finder."""
    cells = [f"{name:<22}"]
    kept = list(tunes)
    for label, finder in FINDERS.items():
        total = Agreement()
        for tune in kept:
            total = total.plus(agreement(tune, finder))
        root, content, exact = (100 * share for share in total.shares())
        cells.append(f"{label} {root:5.1f} {content:5.1f} {exact:5.1f}")
    return " | ".join([*cells, f"{len(kept)} tunes, {total.beats} beats"])


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, help="a folder with ABC books")
    parser.add_argument("--each", action="store_true", help="a line for each tune, too")
    options = parser.parse_args()
    tunes, reasons = tunes_of(options.folder)
    print("percent of beats: root, content, exact")
    print(row("fitted two thirds", (tune for place, tune in enumerate(tunes) if place % 3 != 2)))
    held = [tune for place, tune in enumerate(tunes) if place % 3 == 2]
    print(row("held-out third", held))
    for meter in sorted({str(tune.measures[0].meter) for tune in held}):
        print(row(f"  held out, {meter}", (tune for tune in held if str(tune.measures[0].meter) == meter)))
    for mode in ("major", "other modes"):
        print(row(f"  held out, {mode}", (tune for tune in held if (tune.key.mode == "major") == (mode == "major"))))
    print(row("lead sheet", [read_tune(LEAD_SHEET)]))
    for reason, count in reasons.most_common():
        print(f"left out, {count}: {reason}")
    if options.each:
        for tune in tunes:
            print(row(tune.title[:22], [tune]))


if __name__ == "__main__":
    main()
