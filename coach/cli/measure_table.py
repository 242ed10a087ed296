"""The table of measures in a readable report, on passes to a click and in free time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.table import Table

from coach.listening.scores import MeasureScore

__all__ = ["count", "measure_table"]


def measure_table(scores: Sequence[MeasureScore], of_time: Mapping[str, Sequence[str]]) -> Table:
    """A line for each measure.

    Args:
        scores: of the measures.
        of_time: columns that stand before the spread: by their headings a cell for each measure.
    """
    columns = {
        "measure": [str(score.number) for score in scores],
        "played": [f"{score.played}/{score.expected}" for score in scores],
        "missed": [count(score.missed) for score in scores],
        "wrong": [count(score.wrong) for score in scores],
        "extra": [count(score.extra) for score in scores],
        **of_time,
        "spread": ["" if score.spread_ms is None else f"{score.spread_ms:.0f} ms" for score in scores],
        "melody": ["" if score.melody_heard is None else f"{score.melody_heard:.0%}" for score in scores],
        "": ["clean" if score.clean else "again" for score in scores],
    }
    table = Table(box=None, pad_edge=False)  # 80 columns hold the verdict even beside offsets of three digits
    for heading in columns:
        table.add_column(heading, justify="right" if heading else "left", no_wrap=True)
    for row in zip(*columns.values(), strict=True):
        table.add_row(*row)
    return table


def count(number: int) -> str:
    """A number of faults; a dot for none, so that the others stand out."""
    return str(number) if number else "."
