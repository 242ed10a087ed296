"""Laying a solo out on pages: measures dealt to systems, systems to pages; nothing but numbers.

Common practice, no source: four measures a system, fewer where words or notes are dense; systems begin with a phrase
where that costs little; pages are filled evenly, and the first one has room for the heading.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Literal

from coach.sheets.folding import PaperMeasure

__all__ = ["PAPERS", "Paper", "dealt_to_pages", "dealt_to_systems"]

Paper = Literal["a4", "letter"]

# Width and height in millimetres (ISO 216; ANSI/ASME Y14.1).
PAPERS: Mapping[Paper, tuple[float, float]] = MappingProxyType({"a4": (210.0, 297.0), "letter": (215.9, 279.4)})

_MOST = 4  # measures in a system
_OFF_PHRASE = 0.2  # what a system costs that begins inside a phrase, beside the square of the share left empty
_PHRASE = 4
_LAST_PAGE = 0.8  # empty room on the last page counts less


def dealt_to_systems(
    paper: Sequence[PaperMeasure], widths: Sequence[float], room: float, *, most: int = _MOST
) -> list[tuple[PaperMeasure, ...]]:
    """Deal measures to as few systems as will do, evenly filled.

    Args:
        paper: the measures.
        widths: what each needs.
        room: what a system has; a measure that needs more stands alone.
        most: measures in a system; a pickup is not counted.

    Returns:
        The measures of each system, none empty.
    """
    count = len(paper)

    def cost(start: int, end: int) -> float | None:
        used = sum(widths[start:end])
        counted = sum(each.measure.number > 0 for each in paper[start:end])
        if end - start > 1 and (used > room or counted > most):
            return None
        return (1 - min(used / room, 1)) ** 2 + (
            0 if start == 0 or _begins(paper[start - 1], paper[start]) else _OFF_PHRASE
        )

    return [tuple(paper[start:end]) for start, end in _cut(count, cost)]


def _begins(before: PaperMeasure, here: PaperMeasure) -> bool:
    """Whether a phrase, a repeat or an ending begins here."""
    if before.ending or here.ending:
        return before.ending != here.ending
    return here.repeat_start or (here.measure.number - 1) % _PHRASE == 0


def dealt_to_pages(heights: Sequence[float], gap: float, first: float, further: float) -> list[int]:
    """Deal systems to as few pages as will do, evenly filled.

    Args:
        heights: of the systems.
        gap: the least between two systems.
        first: the height that the first page has for systems.
        further: that of every other page.

    Returns:
        How many systems each page has. The first has none where only the heading fits on it; a system that is higher
        than a page stands alone.
    """

    def cost(start: int, end: int) -> float | None:
        room = first if start == 0 else further
        used = sum(heights[start:end]) + gap * (end - start - 1)
        if end - start > 1 and used > room:
            return None
        return (1 - min(used / room, 1)) ** 2 * (_LAST_PAGE if end == len(heights) else 1)

    if heights[0] > first and heights[0] <= further:
        first = further
        return [0, *(end - start for start, end in _cut(len(heights), cost))]
    return [end - start for start, end in _cut(len(heights), cost)]


def _cut(count: int, cost: Callable[[int, int], float | None]) -> list[tuple[int, int]]:
    """Cut ``count`` things into the fewest runs, of these the cheapest; ``cost`` is None where a run may not be."""

    @cache
    def best(end: int) -> tuple[int, float, int]:
        """How many runs end at a place, what they cost, and where the last one starts."""
        if end == 0:
            return 0, 0.0, 0
        found = []
        start = end - 1
        while start >= 0 and (own := cost(start, end)) is not None:
            runs, sum_of_costs, _ = best(start)
            found.append((runs + 1, sum_of_costs + own, start))
            start -= 1
        return min(found, key=lambda run: (run[0], run[1], -run[2]))

    cuts: list[tuple[int, int]] = []
    for end in range(1, count + 1):
        best(end)  # from the front, so that no call goes deep
    end = count
    while end:
        start = best(end)[2]
        cuts.append((start, end))
        end = start
    return cuts[::-1]
