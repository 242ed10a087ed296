"""``coach arrange``: a tune becomes solos on paper and in files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import click

from coach.arranging.arrange import arrange as make_solo
from coach.arranging.arrange import arrange_all
from coach.arranging.arrangement import TIERS, Arrangement, Tier
from coach.arranging.files import from_json, to_json
from coach.cli.amount import Amount
from coach.cli.files import read_file, write_whole
from coach.errors import InputError
from coach.instrument.tuning import TUNINGS
from coach.tunes.read import read_tune

__all__ = ["arrange"]

_ALL = "all"


def _write_svg(solo: Arrangement, tempo: float) -> bytes:  # noqa: ARG001
    from coach.sheets.svg import to_svg

    return to_svg(solo).encode()


def _write_mei(solo: Arrangement, tempo: float) -> bytes:  # noqa: ARG001
    from coach.sheets.mei import to_mei

    return to_mei(solo).encode()


def _write_text(solo: Arrangement, tempo: float) -> bytes:  # noqa: ARG001
    from coach.sheets.text import to_text

    return to_text(solo).encode()


def _write_midi(solo: Arrangement, tempo: float) -> bytes:
    from coach.sheets.midi import to_midi

    return to_midi(solo, tempo=tempo)


# The writers by suffix; heavy ones are imported when they are used.
_WRITERS: dict[str, Callable[[Arrangement, float], bytes]] = {
    ".json": lambda solo, _: to_json(solo),
    ".mei": _write_mei,
    ".mid": _write_midi,
    ".svg": _write_svg,
    ".txt": _write_text,
}


@click.command(epilog="Example: coach arrange mill-lane.abc --tier all -o 'mill-lane-{tier}.svg'")
@click.argument("tune", type=click.Path(path_type=Path))
@click.option("--tier", type=click.Choice([*TIERS, _ALL]), help="Which solo; all writes three files.")
@click.option("-o", "--output", required=True, metavar="OUT", help="The file to write: .json .mei .mid .svg .txt")
@click.option("--key", metavar="KEY", help="The key that shall sound, like A or F#m.")
@click.option("--capo", type=click.IntRange(0, 11), metavar="FRET", help="The fret of the capo, 0 for none.")
@click.option("--tuning", type=click.Choice(list(TUNINGS)), help="Of the open strings; open G if not said.")
@click.option("--chords", metavar="CHORDS", help="'G | C | D7 | G', a group for each measure.")
@click.option("--number", type=int, metavar="N", help="Which tune of an ABC book.")
@click.option("--part", metavar="NAME", help="The part, voice or track with the melody, by name or counted from 1.")
@click.option("--tempo", type=Amount(20, 400), default=80.0, show_default=True, help="Quarters a minute (.mid).")
def arrange(
    tune: Path,
    tier: str | None,
    output: str,
    key: str | None,
    capo: int | None,
    tuning: str | None,
    chords: str | None,
    number: int | None,
    part: str | None,
    tempo: float,
) -> None:
    """Write a solo for TUNE: ABC, MusicXML, a Standard MIDI File, or an arrangement (.json) to be written otherwise."""
    write = _WRITERS.get(Path(output).suffix.lower())
    if write is None:
        raise InputError(
            f"no solo can be written as {Path(output).suffix or 'a file without a suffix'}",
            where=output,
            cure=f"choose one of {' '.join(_WRITERS)}",
        )
    if tune.suffix.lower() == ".json":
        if tier or key or capo is not None or tuning or chords or number is not None or part:
            raise InputError(
                "an arrangement is only written in another form",
                where=str(tune),
                cure="give nothing but -o and --tempo",
            )
        write_whole({Path(output): write(from_json(read_file(tune), str(tune)), tempo)})
        return
    if tier is None:
        raise InputError("which solo is not said", where="--tier", cure=f"choose {', '.join(TIERS)} or {_ALL}")
    if tier == _ALL and "{tier}" not in output:
        raise InputError("three solos need three files", where=output, cure="put {tier} into the name")
    read = read_tune(tune, number=number, part=part, chords=chords)
    strings = TUNINGS[tuning] if tuning else None
    solos: dict[Tier, Arrangement]
    if tier == _ALL:
        solos = arrange_all(read, key=key, capo=capo, tuning=strings)
    else:
        named: Tier = next(each for each in TIERS if each == tier)
        solos = {named: make_solo(read, named, key=key, capo=capo, tuning=strings)}
    write_whole({Path(output.replace("{tier}", each)): write(solo, tempo) for each, solo in solos.items()})
