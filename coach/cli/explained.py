"""Explanations of solos on standard output, a line for each measure."""

from __future__ import annotations

from collections.abc import Iterable

import click

from coach.arranging.arrangement import Arrangement
from coach.arranging.difficulty import difficulty
from coach.arranging.explain import explain
from coach.arranging.lick_table import Row

__all__ = ["print_explained"]


def print_explained(solos: Iterable[Arrangement], licks: tuple[Row, ...] = ()) -> None:
    """Print what was done in each measure of some solos, and how hard it is; ``licks`` are those of one's own.

    A measure's line begins with its number, its difficulty and the part that adds most to it besides the notes.
    """
    for solo in solos:
        hard = difficulty(solo)
        click.echo(f"{solo.title}, {solo.tier}: difficulty {hard.index:.1f} ({_parts(hard.parts.values.items())})")
        for measure in explain(solo, licks):
            words = " ".join(sentence.text for sentence in measure.sentences)
            click.echo(f"{measure.number:4}  [{measure.difficulty:.1f} {measure.largest}]  {words}")


def _parts(values: Iterable[tuple[str, float]]) -> str:
    return ", ".join(f"{name} {value:.1f}" for name, value in values)
