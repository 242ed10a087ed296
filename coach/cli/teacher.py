"""What a teacher asks of ``coach arrange``: edits, other ways through a measure, tiers by measure."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import click

from coach.arranging.applying import remarks_on_edits
from coach.arranging.arrange import Options, Work
from coach.arranging.arrangement import TIERS, Arrangement, Tier
from coach.arranging.edit_files import edits_from_json, edits_to_json
from coach.arranging.edits import Edits, added, lock
from coach.arranging.lick_table import Row
from coach.arranging.otherways import OtherWay, other_ways
from coach.arranging.own_licks import licks_from_json
from coach.cli.files import read_file
from coach.errors import InputError
from coach.sheets.text import to_tab
from coach.tunes.tune import Tune

__all__ = ["edits_taken", "print_ways", "read_edits", "read_licks", "read_mix"]

# Up to what a way costs more or less it is about as good as the one that stands, and where a little worse ends.
_ABOUT, _LITTLE = 1, 5
_MIX = re.compile(r"(\w+)=(\d+(?:-\d+)?(?:,\d+(?:-\d+)?)*)")
_TAKEN = re.compile(r"(\d+):(\d+)")


def read_edits(path: Path | None) -> Edits | None:
    """The edits of a file; None where none is named."""
    return None if path is None else edits_from_json(read_file(path), str(path))


def read_licks(path: Path | None) -> tuple[Row, ...]:
    """The licks of a file; none where none is named."""
    return () if path is None else licks_from_json(read_file(path), str(path))


def read_mix(words: tuple[str, ...]) -> dict[int, Tier]:
    """The tiers of measures, by their number as played, from words like ``advanced=3-4,7``.

    Raises:
        InputError: when a word is none such, or names a measure again for another tier.
    """
    found: dict[int, Tier] = {}
    for word in words:
        match = _MIX.fullmatch(word)
        tier: Tier | None = next((each for each in TIERS if match is not None and each == match[1]), None)
        if match is None or tier is None:
            raise InputError(
                f"{word!r} does not say which measures are of which tier",
                where="--mix",
                cure="write it like advanced=3-4,7",
            )
        for span in match[2].split(","):
            first, _, last = span.partition("-")
            for number in range(int(first), int(last or first) + 1):
                if found.setdefault(number, tier) != tier:
                    raise InputError(
                        f"measure {number} gets two tiers", where="--mix", cure="name it for one of them alone"
                    )
    return found


def print_ways(tune: Tune, tier: Tier, number: int, options: Options) -> None:
    """Print a measure as it stands and the other ways through it."""
    work = Work(tune, **options)
    ways = other_ways(work, tier, number)
    solo = work.solo(tier)
    click.echo(f"{tune.title}, {tier} solo, measure {number} as it stands:\n")
    click.echo(_tab(solo, next(k for k, measure in enumerate(solo.measures) if measure.number == number)))
    for way in ways:
        place = next(k for k, measure in enumerate(solo.measures) if measure.number == number)
        other = replace(solo, measures=(*solo.measures[:place], way.measure, *solo.measures[place + 1 :]))
        click.echo(f"Way {way.number}, {_extra(way)}. {way.sentence}\n")
        click.echo(_tab(other, place))
    if not ways:
        click.echo("No other way through it differs enough: in two slots at least, and in a quarter of them.")


def edits_taken(tune: Tune, tier: Tier, word: str, path: Path, options: Options) -> tuple[Edits, bytes]:
    """The edits of a file, which need not be there yet, with a way through a measure taken; and the file to write.

    What the file holds counts from now on as made for the tune as it is; where it was not, that is said on stderr.

    Args:
        tune: as read.
        tier: of the solo.
        word: ``5:2``, the second of the other ways through measure 5 as played; ``5:0`` keeps it as it stands.
        path: of the file.
        options: for the solo; the file's own edits apply.

    Raises:
        InputError: when the word is none such, or there is no such way.
    """
    match = _TAKEN.fullmatch(word)
    if match is None:
        raise InputError(f"{word!r} does not say which way to take", where="--take", cure="write it like 5:2")
    number, count = int(match[1]), int(match[2])
    edits = edits_from_json(read_file(path), str(path)) if path.exists() else Edits(tune.id)
    wished: Options = {**options, "edits": edits}
    work = Work(tune, **wished)
    ways = other_ways(work, tier, number)
    if count > len(ways):
        raise InputError(
            f"measure {number} has {len(ways)} other ways, not {count}", where="--take", cure="list them with --ways"
        )
    for remark in remarks_on_edits(edits, work.frame):
        click.echo(remark, err=True)
    solo = work.solo(tier)
    standing = next(measure for measure in solo.measures if measure.number == number)
    frame = work.frame
    edits = replace(edits, tune=tune.id, tuning=frame.tuning.name, position=str(frame.setting.key))
    edits = added(edits, lock(solo, ways[count - 1].measure if count else standing))
    return edits, edits_to_json(edits)


def _extra(way: OtherWay) -> str:
    """How natural a way is beside the one that stands, in words; what it costs more in brackets."""
    more = "less" if way.extra > 0 else "more"
    if abs(way.extra) <= _ABOUT:
        words = "about as good"
    elif abs(way.extra) <= _LITTLE:
        words = f"a little {more} natural"
    else:
        words = f"{more} natural"
    return f"{words} ({way.extra})"


def _tab(solo: Arrangement, place: int) -> str:
    return to_tab(replace(solo, measures=(solo.measures[place],)))
