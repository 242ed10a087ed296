"""``coach arrange``: a tune becomes solos on paper and in files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any, get_args

import click
from rich.console import Console

from coach.arranging.arrange import Options, Work, arrange_all
from coach.arranging.arrange import arrange as make_solo
from coach.arranging.arrangement import TIERS, Arrangement, Tier
from coach.arranging.backup import BackUpStyle
from coach.arranging.breaks import KickOff
from coach.arranging.jam import MOST_TURNS
from coach.arranging.lick_table import Row
from coach.arranging.mixed import mix
from coach.cli.amount import Amount
from coach.cli.book import arrange_book, print_outcomes
from coach.cli.explained import print_explained
from coach.cli.files import write_whole
from coach.cli.given import gives_solo, read_solo
from coach.cli.jam import BY_TEMPO, Jam
from coach.cli.teacher import edits_taken, print_ways, read_edits, read_licks, read_mix
from coach.cli.writers import WRITERS, Wishes, compared, writer_for
from coach.errors import ArrangeError, InputError
from coach.instrument.tuning import TUNINGS
from coach.sheets.pages import PAPERS, Paper
from coach.tunes.read import open_book, read_tune
from coach.tunes.tune import Tune

__all__ = ["arrange"]

_ALL = "all"
_BOOK_KINDS = (".json", ".pdf")
# What only a tune can be asked for; an arrangement is written as it is.
_FOR_TUNES = (
    "tier",
    "key",
    "capo",
    "tuning",
    "chords",
    "number",
    "part",
    "variation",
    "edits",
    "mix",
    "ways",
    "take",
    "licks",
)


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
    compare: bool
    book: bool
    kinds: tuple[str, ...]
    kick_off: KickOff | None
    ending: bool
    measures: str | None
    back_up: str | None
    jam: int | None
    explain: bool
    edits: Path | None
    licks: Path | None
    mix: tuple[str, ...]
    ways: int | None
    take: str | None

    def prints(self) -> bool:
        """Whether something is printed, or written elsewhere, so that no output need be named."""
        return self.explain or self.ways is not None or self.take is not None

    @property
    def is_back_up(self) -> bool:
        """Whether a back-up part is asked for in place of a solo."""
        return self.back_up is not None and self.jam is None

    def options(self) -> Options:
        """What is wished of the solos."""
        # A file that a way is taken into need not be there yet; who takes it reads it.
        edits = read_edits(self.edits) if self.take is None else None
        return {
            "key": self.key,
            "capo": self.capo,
            "tuning": TUNINGS[self.tuning] if self.tuning else None,
            "variation": self.variation or 0,
            "edits": edits,
            "licks": self.own_licks(),
        }

    def own_licks(self) -> tuple[Row, ...]:
        """The teacher's own licks."""
        return read_licks(self.licks)

    def for_jam(self, solo: Arrangement, tune: Tune | None = None) -> Arrangement:
        """A solo with its kick-off, or what else a jam asks for."""
        return Jam(self.kick_off, self.ending, self.measures, self.back_up, self.jam).shaped(solo, self.tempo, tune)

    def wishes(self) -> Wishes:
        return Wishes(tempo=self.tempo, accompaniment=self.accompaniment, paper=self.paper)


@click.command(epilog="Example: coach arrange mill-lane.abc --tier all -o 'mill-lane-{tier}.svg'")
@click.argument("tune", type=click.Path(path_type=Path))
@click.option("--tier", type=click.Choice([*TIERS, _ALL]), help="Which solo; all writes three files.")
@click.option("-o", "--output", metavar="OUT", help=f"The file to write: {' '.join(WRITERS)}")
@click.option("--key", metavar="KEY", help="The key that shall sound, like A or F#m.")
@click.option("--capo", type=click.IntRange(0, 11), metavar="FRET", help="The fret of the capo, 0 for none.")
@click.option(
    "--tuning",
    type=click.Choice(list(TUNINGS)),
    help="Of the open strings; open G, where the tune lies well in it, if not said.",
)
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
    "--tempo",
    type=Amount(20, 400),
    default=80.0,
    show_default=True,
    help="Quarters a minute (.mid .musicxml .wav, and a back-up by tempo).",
)
@click.option("--accompaniment", is_flag=True, help="Bass and chop sound along in a .wav.")
@click.option("--paper", type=click.Choice(list(PAPERS)), default="a4", show_default=True, help="Of a .pdf.")
@click.option(
    "--compare", is_flag=True, help="With --tier all: one .pdf or .svg, tune and solos measure under measure."
)
@click.option(
    "--book",
    is_flag=True,
    help="TUNE is a file of many tunes or a folder, OUT a folder; of a tab the tune is taken, a .json passed over.",
)
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
@click.option(
    "--measures", metavar="A-B", help="Only these measures, as played, or a strain of the tune by its letter."
)
@click.option(
    "--back-up",
    type=click.Choice([*get_args(BackUpStyle), BY_TEMPO]),
    help="A back-up part in place of a solo: a vamp on the off-beats, or soft rolls (by tempo: below 100 quarters).",
)
@click.option(
    "--jam",
    type=click.IntRange(1, MOST_TURNS),
    metavar="TURNS",
    help="A whole run: kick-off, break, back-up in the TURNS of others (--back-up says which), break, ending.",
)
@click.option("--edits", type=click.Path(path_type=Path), metavar="FILE", help="A teacher's edits (.json) to apply.")
@click.option(
    "--licks",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Licks of one's own (.json) that advanced solos may take.",
)
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
    if asked.compare and (asked.tier != _ALL or asked.book or asked.is_back_up or asked.mix):
        raise InputError("a comparison is of all tiers of one tune", where="--compare", cure="ask for --tier all")
    if asked.book:
        _arrange_book(asked)
        return
    for name in ("mix", "edits") if asked.is_back_up else ():
        if getattr(asked, name) not in (None, ()):
            raise InputError("it is for a solo, not for a back-up part", where=f"--{name}", cure="leave it out")
    if asked.kinds:
        raise InputError("only a book is written as several kinds of file", where="--as", cure="end OUT in the suffix")
    if asked.output is None and not asked.prints():
        raise InputError("no file to write is named", where="-o", cure="name one, like solo.svg, or ask to --explain")
    if asked.output is not None:
        writer_for(asked.output)  # refused before the work is done
    if gives_solo(asked.tune, asked.tier):
        _write(asked, _given(asked))
        return
    try:
        _arrange_tune(asked)
    except ArrangeError as error:
        # What arranges knows no files; what is wrong with options or edits says where by itself.
        if error.where.startswith(("--", str(asked.edits), str(asked.licks))):
            raise
        where = ", ".join(each for each in (asked.tune.name, error.where) if each)
        raise ArrangeError(error.what, where=where, cure=error.cure) from None


def _arrange_tune(asked: _Asked) -> None:
    """Arrange a tune, and take or print what else is asked for."""
    options = asked.options()
    read = read_tune(asked.tune, number=asked.number, part=asked.part, chords=asked.chords)
    others: dict[Path, bytes] = {}
    if asked.take is not None:
        if asked.edits is None:
            raise InputError("no file for the edit is named", where="--take", cure="name one with --edits")
        tier = _one_tier(asked, "--take")
        options["edits"], others[asked.edits] = edits_taken(read, tier, asked.take, asked.edits, options)
    _write(asked, _arranged(asked, options, read) if asked.output is not None or asked.explain else {}, others)
    if asked.ways is not None:
        print_ways(read, _one_tier(asked, "--ways"), asked.ways, options)
    if asked.number is None:
        _say_which(asked.tune, read)


def _say_which(path: Path, tune: Tune) -> None:
    """Say on stderr which tune of a book was taken, where it has more than one."""
    tunes = open_book(path)
    if len(tunes) > 1:
        which = f"this is number {tunes[0].number}, {tune.title}: choose with --number"
        click.echo(f"coach: {path.name}: the file holds {len(tunes)} tunes; {which}.", err=True)


def _write(
    asked: _Asked, solos: Mapping[str, Arrangement], others: Mapping[Path, bytes] = MappingProxyType({})
) -> None:
    """Write solos, by tier, and other files, all or none of them; explain the solos where that is asked for."""
    files = dict(others)
    if asked.output is not None and asked.compare:
        files[Path(asked.output)] = compared(asked.output, list(solos.values()), asked.wishes())
    elif asked.output is not None:
        write = writer_for(asked.output)
        files |= {
            Path(asked.output.replace("{tier}", tier)): write(solo, asked.wishes()) for tier, solo in solos.items()
        }
    write_whole(files)
    if asked.explain:
        print_explained(solos.values(), asked.own_licks())


def _one_tier(asked: _Asked, option: str) -> Tier:
    """The one tier that is named, where more or none would make no sense."""
    tier: Tier | None = next((each for each in TIERS if each == asked.tier), None)
    if tier is None or asked.mix:
        raise InputError("it is for the solo of one tier", where=option, cure=f"choose one of {', '.join(TIERS)}")
    return tier


def _arrange_book(asked: _Asked) -> None:
    """Arrange every tune of a file or folder, and say what became of each."""
    for name in ("chords", "number", "part", "measures", "back_up", "jam", "edits", "mix", "ways", "take"):
        if getattr(asked, name) not in (None, ()):
            raise InputError(
                "it is for a single tune", where=f"--{name.replace('_', '-')}", cure="leave it out, or leave --book out"
            )
    if asked.output is None or asked.explain:
        raise InputError("a book is written into a folder", where="--book", cure="name it with -o, without --explain")
    console = Console(highlight=False)
    outcomes = arrange_book(
        asked.tune,
        Path(asked.output),
        partial(_solos, asked, asked.options()),
        asked.kinds or _BOOK_KINDS,
        asked.wishes(),
        Console(stderr=True),
    )
    print_outcomes(outcomes, console)
    if all(each.reason for each in outcomes):
        raise InputError("no tune could be arranged", where=str(asked.tune), cure="see the reasons above")


def _given(asked: _Asked) -> dict[str, Arrangement]:
    """The solo that was given as such, by its tier."""
    for name in _FOR_TUNES:
        if getattr(asked, name) not in (None, ()):
            tune = "give the tune" if asked.tune.suffix.lower() == ".json" else "name a --tier to arrange its tune anew"
            raise InputError(
                f"this is for a tune, and {asked.tune.name} is a solo already",
                where=f"--{name}",
                cure=f"leave it out, or {tune}",
            )
    solo = asked.for_jam(read_solo(asked.tune))
    return {solo.tier: solo}


def _arranged(asked: _Asked, options: Options, read: Tune) -> dict[str, Arrangement]:
    """The solos that are asked for, by tier."""
    if asked.is_back_up:
        if asked.tier is not None:
            raise InputError("a back-up part has no tier", where="--tier", cure="leave it out")
        return _solos(replace(asked, tier=TIERS[0]), options, read)
    if asked.tier is None:
        raise InputError("which solo is not said", where="--tier", cure=f"choose {', '.join(TIERS)} or {_ALL}")
    if asked.tier == _ALL and asked.output is not None and not asked.compare and "{tier}" not in asked.output:
        raise InputError("three solos need three files", where=asked.output, cure="put {tier} into the name")
    if asked.compare and asked.output is not None and "{tier}" in asked.output:
        raise InputError("a comparison is one file", where=asked.output, cure="leave {tier} out of the name")
    return _solos(asked, options, read)


def _solos(asked: _Asked, options: Options, read: Tune) -> dict[str, Arrangement]:
    """The solos of a tune."""
    if asked.mix:
        solo = mix(Work(read, **options), _one_tier(replace(asked, mix=()), "--mix"), read_mix(asked.mix)).arrangement
        return {solo.tier: asked.for_jam(solo, read)}
    if asked.tier in {None, _ALL}:
        return {tier: asked.for_jam(solo, read) for tier, solo in arrange_all(read, **options).items()}
    tier = _one_tier(asked, "--tier")
    return {tier: asked.for_jam(make_solo(read, tier, **options), read)}
