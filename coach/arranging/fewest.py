"""The fewest measures to search again so that every broken seam is mended, and of these the cheapest.

A seam is mended when a measure beside it is searched again. What is searched again falls into runs, each between two
measures that stay; a run has a price, or none where there is no way through it. The runs are found by dynamic
programming over the measures that stay, with longer and longer runs until no longer one could help.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

__all__ = ["fewest_runs"]

# A run of measures, as its first and the one behind its last.
Run = tuple[int, int]


def fewest_runs(count: int, broken: Sequence[int], price: Callable[[int, int], int | None]) -> list[Run] | None:
    """The runs to search again.

    Args:
        count: how many measures there are.
        broken: the seams, each by the measure before it, in order.
        price: of a run (its first measure and the one behind its last), None where there is no way; asked once each.

    Returns:
        The runs in order, of all that mend every seam those with the fewest measures and then the least price; None
        where nothing mends them all.
    """
    known: dict[Run, int | None] = {}

    def priced(run: Run) -> int | None:
        if run not in known:
            known[run] = price(*run)
        return known[run]

    most = count + 1
    found: list[Run] | None = None
    for longest in range(1, count + 1):
        useful = [run for run in _runs(count, broken, longest) if _least(run, broken) <= most]
        if found is not None and all(stop - start < longest for start, stop in useful):
            break
        cheapest = _cheapest(count, set(broken), useful, priced)
        if cheapest is not None:
            found = cheapest
            most = sum(stop - start for start, stop in found)
    return found if broken else []


def _runs(count: int, broken: Sequence[int], longest: int) -> list[Run]:
    """The runs up to a length that touch a broken seam."""
    return sorted(
        {
            (start, start + length)
            for seam in broken
            for length in range(1, longest + 1)
            for start in range(seam + 1 - length, seam + 2)
            if start >= 0 and start + length <= count
        }
    )


def _least(run: Run, broken: Sequence[int]) -> int:
    """How many measures at least are searched again when this run is."""
    start, stop = run
    before = [seam for seam in broken if seam + 1 < start]
    behind = [seam for seam in broken if seam >= stop]
    return _cover(before) + stop - start + _cover(behind)


def _cover(broken: Sequence[int]) -> int:
    """The fewest measures that touch all of these seams."""
    number, covered = 0, -1
    for seam in broken:
        if seam > covered:
            number, covered = number + 1, seam + 1
    return number


def _cheapest(
    count: int, broken: set[int], runs: Sequence[Run], priced: Callable[[Run], int | None]
) -> list[Run] | None:
    """The runs with the fewest measures and then the least price that mend all seams, among these."""
    by_stop: dict[int, list[Run]] = {}
    for run in runs:
        by_stop.setdefault(run[1], []).append(run)
    # For each measure that stays (-1 before the first, ``count`` behind the last): measures, price and runs so far.
    best: dict[int, tuple[int, int, list[Run]]] = {-1: (0, 0, [])}
    for stays in range(count + 1):
        choices = []
        if stays - 1 in best and stays - 1 not in broken:
            choices.append(best[stays - 1])
        for start, stop in by_stop.get(stays, ()):
            known = best.get(start - 1)
            cost = priced((start, stop)) if known is not None else None
            if known is not None and cost is not None:
                choices.append((known[0] + stop - start, known[1] + cost, [*known[2], (start, stop)]))
        if choices:
            best[stays] = min(choices)
    return best[count][2] if count in best else None
