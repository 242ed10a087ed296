"""``coach study``: a named roll over a progression becomes an arrangement to practise."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from coach.arranging.studies import METERS, MOST_MEASURES, roll_study
from coach.cli.amount import Amount
from coach.cli.files import write_whole
from coach.cli.writers import WRITERS, Wishes, writer_for
from coach.instrument.rolls import ROLLS
from coach.instrument.tuning import TUNINGS
from coach.sheets.pages import PAPERS, Paper
from coach.tunes.harmony import read_chords

__all__ = ["study"]


@click.command(epilog="Example: coach study forward --chords 'G | C | D7 | G' --tempo 80 -o study.json")
@click.argument("roll", type=click.Choice(list(ROLLS)))
@click.option("-o", "--output", required=True, metavar="OUT", help=f"The file to write: {' '.join(WRITERS)}")
@click.option("--chords", required=True, metavar="CHORDS", help="'G | C | D7 | G', a group for each measure.")
@click.option("--meter", type=click.Choice(list(METERS)), default="4/4", show_default=True, help="The metre.")
@click.option(
    "--tuning", type=click.Choice(list(TUNINGS)), default="open G", show_default=True, help="Of the open strings."
)
@click.option("--capo", type=click.IntRange(0, 11), default=0, metavar="FRET", help="The fret of the capo.")
@click.option(
    "--measures", type=click.IntRange(1, MOST_MEASURES), metavar="N", help="How many; the progression once if not said."
)
@click.option("--tempo", type=Amount(20, 400), metavar="QPM", help="What to practise it for, in quarters a minute.")
@click.option("--accompaniment", is_flag=True, help="Bass and chop sound along in a .wav.")
@click.option("--paper", type=click.Choice(list(PAPERS)), default="a4", show_default=True, help="Of a .pdf.")
def study(
    roll: str,
    output: str,
    chords: str,
    meter: str,
    tuning: str,
    capo: int,
    measures: int | None,
    tempo: float | None,
    accompaniment: bool,
    paper: Paper,
) -> None:
    """Write a study of ROLL over chords: no melody, practised like any tune (coach serve study.json)."""
    write = writer_for(output)
    groups = read_chords(chords, where="--chords")
    piece = roll_study(roll, groups, METERS[meter], tuning=TUNINGS[tuning], capo=capo, measures=measures, tempo=tempo)
    wishes = Wishes(accompaniment=accompaniment, paper=paper)
    if tempo is not None:
        wishes = replace(wishes, tempo=tempo)
    write_whole({Path(output): write(piece, wishes)})
