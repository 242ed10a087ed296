"""``coach tunings``: which tuning, position and capo suit a tune, and why."""

from __future__ import annotations

from pathlib import Path

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from coach.arranging.proposals import Proposal, proposals
from coach.tunes.read import read_tune

__all__ = ["tunings"]

_WIDTH = 120
_MOST = 6


@click.command(epilog="Example: coach tunings songs.abc --number 3 --key A")
@click.argument("tune", type=click.Path(path_type=Path))
@click.option("--key", metavar="KEY", help="What shall sound, such as A or F#m; the tune's own if not said.")
@click.option("--number", type=int, metavar="N", help="Which tune of an ABC book.")
@click.option("--part", metavar="NAME", help="The part, voice or track with the melody, by name or counted from 1.")
def tunings(tune: Path, key: str | None, number: int | None, part: str | None) -> None:
    """List the tunings, positions and capos that suit TUNE best, six at most, with the reasons."""
    found = proposals(read_tune(tune, number=number, part=part), key)
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = _WIDTH
    console.print(_table(found))


def _table(found: tuple[Proposal, ...]) -> Table:
    table = Table(box=None, pad_edge=False)
    for name in ("tuning", "think in", "capo", "sounds in"):
        table.add_column(name, no_wrap=True)
    for name in ("frets 0-5", "open"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("why")
    for each in found[:_MOST]:
        table.add_row(
            each.tuning.name,
            Text(str(each.key)),
            str(each.capo),
            Text(str(each.sounding_key)),
            f"{100 * each.low:.0f} %",
            f"{100 * each.open:.0f} %",
            Text(_why(each)),
        )
    return table


def _why(proposal: Proposal) -> str:
    """The merits as a sentence."""
    why = "; ".join(proposal.merits) or ("no capo is needed" if not proposal.capo else "the capo gives the key")
    return f"{why[0].upper()}{why[1:]}."
