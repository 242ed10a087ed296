"""How long three tiers of a tune take, beside music21's parse of the same tune in the same run.

    python tests/bench/bench_arrange.py [TUNE] [--rounds 5] [--growth]

Without TUNE, two songs of 32 measures are written for the purpose. The figure to watch is the ratio: the three
solos shall take no longer than the parse (``forceSource=True``, so that no pickled copy is used). Median of the
rounds, processor time of this one process.

``--growth`` prints how time grows with the measures of a song in which no strain comes twice alike (each is moved by
some steps of the scale), from 16 to 496 (the reader takes 500 at most), and the peak memory of the whole process at
the end.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import music21

from coach.arranging.arrange import arrange_all
from coach.tunes.played import written_out
from coach.tunes.read import read_tune

# Strains of eight measures made for this benchmark.
_STRAINS = (
    '"G"G2 B2 d2 B2|"C"c2 e2 d4|"G"B2 d2 B2 G2|"D7"A6 D2|"G"G2 B2 d2 B2|"C"c2 e2 g4|"D7"f2 e2 d2 c2|"G"B2 G2 G4|',
    '"C"e3 d c2 e2|"G"d2 B2 G4|"Am"A2 B2 c2 A2|"D7"F2 A2 d4|"C"e2 e2 c2 e2|"G"d2 B2 G2 A2|"D7"B2 A2 F2 D2|"G"G6 z2|',
    '"Em"E2 G2 B2 B2|"C"c3B A2 G2|"Am"A2 c2 e3d|"D7"c2 A2 F4|"G"D2 G2 B2 d2|"C"e2 e2 d2 c2|"Am"B2 c2 A2 E2|"D7"D6 D2|',
    '"G"d3 B G2 B2|"Em"e2 d2 B4|"C"c2 c2 e2 g2|"D7"a3 f d4|"G"g2 d2 B2 G2|"C"c2 E2 G2 c2|"D7"d2 c2 A2 F2|"G"G8|',
)

# How the strains follow each other in songs of 32 measures: with repeats, which cost little, and without.
_SONGS = {"AABB": (0, 0, 1, 1), "ABCD": (0, 1, 2, 3)}


def song(form: str) -> str:
    """The ABC of a 32-measure song."""
    strains = "\n".join(_STRAINS[index] for index in _SONGS[form])
    return f"X:1\nT:Bench Song {form}\nM:4/4\nL:1/8\nK:G\n{strains[:-1]}|]\n"


def long_song(measures: int) -> str:
    """The ABC of a song without repeats: strains moved along the scale, at most three steps up."""
    letters = "CDEFGABcdefgab"
    strains = []
    for index in range(measures // 8):
        strain = list(_STRAINS[index % len(_STRAINS)])
        moved = index // len(_STRAINS)
        quoted = False
        for k, sign in enumerate(strain):
            quoted ^= sign == '"'
            place = letters.find(sign)
            # One note of the strain each time, so that no two strains are alike.
            if not quoted and place >= 0 and (k * 7 + moved) % 5 == 0:
                strain[k] = letters[min(len(letters) - 3, place + 1 + moved % 3)]
        strains.append("".join(strain))
    body = "\n".join(strains)
    return f"X:1\nT:Song of {measures}\nM:4/4\nL:1/8\nK:G\n{body[:-1]}|]\n"


def median_seconds(work: Callable[[], object], rounds: int) -> float:
    """The median processor time of some rounds, after one to warm up."""
    work()
    taken = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


def main() -> None:
    """Measure and print a line for each tune."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("tune", nargs="?", type=Path)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--growth", action="store_true", help="the table of time by measures, and the peak memory")
    options = parser.parse_args()
    if options.growth:
        growth(options.rounds)
        return
    with tempfile.TemporaryDirectory() as folder:
        paths = [options.tune] if options.tune else [Path(folder) / f"{form}.abc" for form in _SONGS]
        for path in paths:
            if options.tune is None:
                path.write_text(song(path.stem), encoding="utf-8")
            report(path, options.rounds)


def growth(rounds: int) -> None:
    """Print time by measures, and the peak memory."""
    with tempfile.TemporaryDirectory() as folder:
        for measures in (16, 32, 64, 128, 256, 496):
            path = Path(folder) / f"{measures}.abc"
            path.write_text(long_song(measures), encoding="utf-8")
            tune = read_tune(path)
            solos = median_seconds(lambda tune=tune: arrange_all(tune), rounds)  # type: ignore[misc]
            print(f"{measures:4} measures: {1000 * solos:6.0f} ms, {1000 * solos / measures:5.2f} ms a measure")
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


def report(path: Path, rounds: int) -> None:
    """Measure one tune and print a line."""
    tune = read_tune(path)
    parse = median_seconds(lambda: music21.converter.parse(path, forceSource=True), rounds)
    read = median_seconds(lambda: read_tune(path), rounds)
    solos = median_seconds(lambda: arrange_all(tune), rounds)
    print(
        f"{tune.title}: {len(written_out(tune))} measures; music21 parse {1000 * parse:.0f} ms, "
        f"our reader {1000 * read:.0f} ms, three tiers {1000 * solos:.0f} ms; "
        f"three tiers / parse = {solos / parse:.2f}"
    )


if __name__ == "__main__":
    main()
