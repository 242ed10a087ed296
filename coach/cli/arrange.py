"""``coach arrange``: a tune becomes solos on paper and in files."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, get_args

import click
from rich.console import Console

from coach.arranging.arrange import arrange as make_solo
from coach.arranging.arrange import arrange_all
from coach.arranging.arrangement import TIERS, Arrangement, Tier
from coach.arranging.backup import BackUpStyle
from coach.arranging.breaks import KickOff
from coach.cli.amount import Amount
from coach.cli.book import arrange_book, print_outcomes
from coach.cli.explained import print_explained
from coach.cli.files import write_whole
from coach.cli.given import gives_solo, read_solo
from coach.cli.jam import BY_TEMPO, Jam
from coach.cli.writers import WRITERS, Wishes, writer_for
from coach.errors import InputError
from coach.instrument.tuning import TUNINGS
from coach.sheets.pages import PAPERS, Paper
from coach.tunes.read import read_tune
from coach.tunes.tune import Tune

__all__ = ["arrange"]

_ALL = "all"
_BOOK_KINDS = (".json", ".svg")
# What only a tune can be asked for; an arrangement is written as it is.
_FOR_TUNES = ("tier", "key", "capo", "tuning", "chords", "number", "part", "variation")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the command line says: an attribute for each option, by its name."""

    tune: Path
    tier: str | None
    output: str | None
    key: str | None
    capo: int | None
    tuning: str | None
    chords: str | None
    number: int | None
    part: str | None
    variation: int | None
    tempo: float
    accompaniment: bool
    paper: Paper
    book: bool
    kinds: tuple[str, ...]
    kick_off: KickOff | None
    ending: bool
    measures: str | None
    back_up: str | None
    explain: bool
    variation: int
    edits: Path | None
    mix: tuple[str, ...]
    ways: int | None
    take: str | None

    def for_jam(self, solo: Arrangement) -> Arrangement:
        """A solo with its kick-off, or what else a jam asks for."""
        return Jam(self.kick_off, self.ending, self.measures, self.back_up).shaped(solo, self.tempo)

    def wishes(self) -> Wishes:
        return Wishes(tempo=self.tempo, accompaniment=self.accompaniment, paper=self.paper)


@click.command(epilog="Example: coach arrange mill-lane.abc --tier all -o 'mill-lane-{tier}.svg'")
@click.argument("tune", type=click.Path(path_type=Path))
@click.option("--tier", type=click.Choice([*TIERS, _ALL]), help="Which solo; all writes three files.")
@click.option("-o", "--output", metavar="OUT", help=f"The file to write: {' '.join(WRITERS)}")
@click.option("--key", metavar="KEY", help="The key that shall sound, like A or F#m.")
@click.option("--capo", type=click.IntRange(0, 11), metavar="FRET", help="The fret of the capo, 0 for none.")
@click.option("--tuning", type=click.Choice(list(TUNINGS)), help="Of the open strings; open G if not said.")
@click.option("--chords", metavar="CHORDS", help="'G | C | D7 | G', a group for each measure.")
@click.option("--number", type=int, metavar="N", help="Which tune of an ABC book.")
@click.option("--part", metavar="NAME", help="The part, voice or track with the melody, by name or counted from 1.")
@click.option(
    "--variation",
    type=click.IntRange(0, 9999),
    metavar="N",
    help="Another good solo; the same N gives the same one, 0 the plain best.",
)
@click.option(
    "--tempo", type=Amount(20, 400), default=80.0, show_default=True, help="Quarters a minute (.mid .musicxml .wav)."
)
@click.option("--accompaniment", is_flag=True, help="Bass and chop sound along in a .wav.")
@click.option("--paper", type=click.Choice(list(PAPERS)), default="a4", show_default=True, help="Of a .pdf.")
@click.option("--book", is_flag=True, help="TUNE is a file of many tunes or a folder, OUT a folder.")
@click.option(
    "--as",
    "kinds",
    multiple=True,
    type=click.Choice(list(WRITERS)),
    help=f"Of a book: the kind of files, more than one if repeated; {' and '.join(_BOOK_KINDS)} if not said.",
)
@click.option(
    "--kick-off", type=click.Choice(get_args(KickOff)), help="Begin with lead-in notes or a measure of beats."
)
@click.option("--ending", is_flag=True, help="End with a two-measure ending.")
@click.option("--measures", metavar="A-B", help="Only these measures, as played.")
@click.option(
    "--back-up",
    type=click.Choice([*get_args(BackUpStyle), BY_TEMPO]),
    help="A back-up part in place of a solo: a vamp on the off-beats, or soft rolls (by tempo: below 100 quarters).",
)
@click.option(
    "--variation", type=click.IntRange(0, 999), default=0, metavar="N", help="Another good solo; the same N the same."
)
@click.option("--edits", type=click.Path(path_type=Path), metavar="FILE", help="A teacher's edits (.json) to apply.")
@click.option(
    "--mix",
    multiple=True,
    metavar="TIER=MEASURES",
    help="Measures of another tier, like advanced=3-4,7, as played; their repeats go along.",
)
@click.option("--ways", type=click.IntRange(0), metavar="M", help="Print other ways through measure M, as played.")
@click.option("--take", metavar="M:K", help="Take way K of measure M (0 keeps it as it is) into the file of --edits.")
@click.option("--explain", is_flag=True, help="Print what was done in each measure and why; -o may be left out then.")
def arrange(**given: Any) -> None:
    """Write a solo for TUNE: ABC, MusicXML, a Standard MIDI File, or a solo to be written otherwise.

    A solo is an arrangement (.json), or MusicXML with a banjo tablature where no --tier is named; what hands cannot do
    in it is said.
    """
    asked = _Asked(**given)
    if asked.book:
        _arrange_book(asked)
        return
    if asked.kinds:
        raise InputError("only a book is written as several kinds of file", where="--as", cure="end OUT in the suffix")
    if asked.output is None and not asked.explain:
        raise InputError("no file to write is named", where="-o", cure="name one, like solo.svg, or ask to --explain")
    write = writer_for(asked.output) if asked.output is not None else None
    solos = _given(asked) if gives_solo(asked.tune, asked.tier) else _arranged(asked)
    if asked.output is not None and write is not None:
        write_whole(
            {Path(asked.output.replace("{tier}", tier)): write(solo, asked.wishes()) for tier, solo in solos.items()}
        )
    if asked.explain:
        print_explained(solos.values())


def _arrange_book(asked: _Asked) -> None:
    """Arrange every tune of a file or folder, and say what became of each."""
    for name in ("chords", "number", "part", "measures", "back_up"):
        if getattr(asked, name) is not None:
            raise InputError(
                "it is for a single tune", where=f"--{name.replace('_', '-')}", cure="leave it out, or leave --book out"
            )
    if asked.output is None or asked.explain:
        raise InputError("a book is written into a folder", where="--book", cure="name it with -o, without --explain")
    console = Console(highlight=False)
    outcomes = arrange_book(
        asked.tune,
        Path(asked.output),
        partial(_solos, asked),
        asked.kinds or _BOOK_KINDS,
        asked.wishes(),
        Console(stderr=True),
    )
    print_outcomes(outcomes, console)
    if all(each.reason for each in outcomes):
        raise InputError("no tune could be arranged", where=str(asked.tune), cure="see the reasons above")


def _given(asked: _Asked) -> dict[str, Arrangement]:
    """The solo that was given as such, by its tier."""
    if any(getattr(asked, name) is not None for name in _FOR_TUNES):
        raise InputError(
            "an arrangement is only written in another form",
            where=str(asked.tune),
            cure="give nothing but -o, --tempo, --accompaniment and --paper",
        )
    solo = asked.for_jam(read_solo(asked.tune))
    return {solo.tier: solo}


def _arranged(asked: _Asked) -> dict[str, Arrangement]:
    """The solos that are asked for, by tier."""
    if asked.back_up:
        if asked.tier is not None:
            raise InputError("a back-up part has no tier", where="--tier", cure="leave it out")
        return _solos(
            replace(asked, tier=TIERS[0]),
            read_tune(asked.tune, number=asked.number, part=asked.part, chords=asked.chords),
        )
    if asked.tier is None:
        raise InputError("which solo is not said", where="--tier", cure=f"choose {', '.join(TIERS)} or {_ALL}")
    if asked.tier == _ALL and asked.output is not None and "{tier}" not in asked.output:
        raise InputError("three solos need three files", where=asked.output, cure="put {tier} into the name")
    return _solos(asked, read_tune(asked.tune, number=asked.number, part=asked.part, chords=asked.chords))


def _solos(asked: _Asked, read: Tune) -> dict[str, Arrangement]:
    """The solos of a tune."""
    strings = TUNINGS[asked.tuning] if asked.tuning else None
    if asked.tier in {None, _ALL}:
        solos = arrange_all(read, key=asked.key, capo=asked.capo, tuning=strings, variation=asked.variation or 0)
        return {each: asked.for_jam(solo) for each, solo in solos.items()}
    tier: Tier = next(each for each in TIERS if each == asked.tier)
    solo = make_solo(read, tier, key=asked.key, capo=asked.capo, tuning=strings, variation=asked.variation or 0)
    return {tier: asked.for_jam(solo)}
