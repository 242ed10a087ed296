"""``coach progress``: what a player has practised, and where each measure stands, as tables with small bars."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from coach.arranging.arrangement import TIERS
from coach.cli.bars import INTERVAL, MARKS, PLAIN_INTERVAL, PLAIN_MARKS, bar, interval, marks
from coach.cli.kept import counted, known_player, open_records, player_option, records_options
from coach.cli.printed import tidily
from coach.errors import InputError

if TYPE_CHECKING:
    from coach.records.progress import ClimbDay, PassPlayed, Progress, ReadyMeasure, TunePlayed

__all__ = ["print_progress", "progress"]

_LAST_DAYS = 14
_LAST_PASSES = 16
_MOST_NAMED = 6
_BAR, _SCALE = 20, 20  # characters
_TITLE = 29  # the same, at most: a line has 80
_MOST = 1.6  # times the goal, at the right end of a scale


@click.command(epilog="Example: coach progress --tune 'Mill Lane'")
@player_option
@click.option("--tune", metavar="TEXT", help="A part of its title or id; the tune at which the player was last if not.")
@records_options
def progress(player: str, tune: str | None, data: Path | None, records: str | None) -> None:
    """Show what was practised, the tempos of a tune day by day, and where each of its measures stands."""
    from coach.records.played import players_in
    from coach.records.progress import progress_of

    now = datetime.now(UTC)
    with open_records(data, records) as store:
        known_player(player, store.read(players_in))
        found = store.read(lambda connection: progress_of(connection, player, None, now))
        if tune is not None:
            chosen = _named(tune, found.tunes).id
            found = store.read(lambda connection: progress_of(connection, player, chosen, now))
    print_progress(found, Console(highlight=False))


def _named(text: str, tunes: Sequence[TunePlayed]) -> TunePlayed:
    """The tune that a text means: the one with this title or id, or the only one that has it in either."""
    wanted = text.casefold()
    exact = [each for each in tunes if wanted in (each.title.casefold(), each.id)]
    found = exact or [each for each in tunes if wanted in each.title.casefold() or wanted in each.id]
    if len(found) != 1:
        what = "names several tunes" if found else "names no tune that was played"
        some = (found or tunes)[:_MOST_NAMED]
        names = ", ".join(f"{each.title} ({each.id})" for each in some)
        raise InputError(f"{text!r} {what}", where="--tune", cure=f"it may be {names}" if names else "play one first")
    return found[0]


def print_progress(found: Progress, console: Console) -> None:
    """Print a player's progress."""
    plain = console.options.ascii_only
    with tidily(console):
        console.print(Text(_sum(found)))
        if found.tunes:
            console.print(_tunes(found, plain=plain))
            console.print(_days(found, plain=plain))
            console.print(Text(f"\n{found.title}, goal {found.goal:.0f} quarters a minute", style="bold"))
            console.print(_climb(found, plain=plain))
            console.print(_measures(found, plain=plain))
            console.print(Text(f"\n{_legend(plain=plain)}"))


def _sum(found: Progress) -> str:
    passes = sum(each.passes for each in found.tunes)
    minutes = sum(each.minutes for each in found.tunes)
    if not passes:
        return f"{found.player} has played no pass yet."
    played = f"{counted(passes, 'pass')} on {counted(len(found.days), 'day')}"
    return f"{found.player}: {played}, {_long(minutes)} of playing."


def _long(minutes: float) -> str:
    """So many minutes, in words."""
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest:02} min" if hours else f"{minutes:.1f} min" if minutes < 10 else f"{rest} min"


def _table(**columns: Literal["left", "right"]) -> Table:
    table = Table(box=None, pad_edge=False, title=" ", header_style="italic")
    for heading, side in columns.items():
        table.add_column(heading.replace("_", " "), justify=side, no_wrap=True)
    return table


def _legend(*, plain: bool) -> str:
    inside, value, goal = PLAIN_INTERVAL if plain else INTERVAL
    clean, not_clean, not_played = PLAIN_MARKS if plain else MARKS
    return (
        f"By day: {inside} from the slowest to the fastest, {value} the fastest that was clean, {goal} the goal.\n"
        f"By measure: {value} the tempo at which four passes in five are clean, {inside} where it lies nine times in"
        f" ten; the last passes: {clean} clean, {not_clean} not, {not_played} not played. A measure that repeats"
        " another stands where that one does."
    )


def _tunes(found: Progress, *, plain: bool) -> Table:
    """What was played, tune by tune."""
    table = _table(tune="left", passes="right", minutes="right", share="left", last="left")
    table.columns[0].max_width = _TITLE
    most = max(each.minutes for each in found.tunes)
    for each in found.tunes:
        share = bar(each.minutes / most if most else 0, _BAR, plain=plain)
        table.add_row(Text(each.title), str(each.passes), f"{each.minutes:.1f}", share, each.last)
    return table


def _days(found: Progress, *, plain: bool) -> Table:
    """The last days."""
    table = _table(day="left", minutes="right", share="left")
    shown = found.days[-_LAST_DAYS:]
    most = max(each.minutes for each in shown)
    for each in shown:
        table.add_row(each.day, f"{each.minutes:.1f}", bar(each.minutes / most if most else 0, _BAR, plain=plain))
    return table


def _climb(found: Progress, *, plain: bool) -> Table:
    """The tempos of the tune on its last days."""
    shown, goal = found.climb[-_LAST_DAYS:], found.goal or 0
    ends = _ends(goal, shown)
    table = _table(day="left", tier="left", passes="right", tempo="left", clean="right", against_the_goal="left")
    for each in shown:
        scale = interval(each.low, each.fastest_clean, each.high, goal=goal, ends=ends, width=_SCALE, plain=plain)
        table.add_row(
            each.day,
            each.tier,
            str(each.passes),
            _range(each.low, each.high),
            "" if each.fastest_clean is None else f"{each.fastest_clean:.0f}",
            scale,
        )
    return table


def _measures(found: Progress, *, plain: bool) -> Table:
    """Where each measure of the solo that was played last stands."""
    goal, last = found.goal or 0, found.passes[-1]
    ready = _ready(found.ready, last)
    ends = _ends(goal, list(ready.values()))
    of_tier = [each for each in found.passes if each.tier == last.tier and each.kind != "jam"][-_LAST_PASSES:]
    table = _table(
        measure="right", tier="left", ready="right", between="left", against_the_goal="left", last_passes="left"
    )
    for number in sorted({*found.measures, *ready}):
        at = ready.get(number)
        table.add_row(
            str(number),
            "" if at is None else at.tier,
            "" if at is None else f"{at.tempo:.0f}",
            "" if at is None else _range(at.low, at.high),
            "" if at is None else interval(at.low, at.tempo, at.high, goal=goal, ends=ends, width=_SCALE, plain=plain),
            marks((each.measures.get(number) for each in of_tier), plain=plain),
        )
    return table


def _ready(lines: Sequence[ReadyMeasure], last: PassPlayed) -> dict[int, ReadyMeasure]:
    """The measures of the solo of a pass, each in the tier that it had there."""
    tiers = [str(tier) for tier in TIERS]
    mixed_in = next((tier for tier in tiers[tiers.index(last.tier) + 1 :]), "") if last.tier in tiers else ""
    return {each.measure: each for each in lines if each.tier == (mixed_in if each.measure in last.mix else last.tier)}


def _ends(goal: float, shown: Sequence[ClimbDay | ReadyMeasure]) -> tuple[float, float]:
    """The ends of a scale for some intervals: one that is hardly known does not press the others together."""
    lowest = min([goal, *(each.low for each in shown)])
    highest = max([goal, *(each.high for each in shown)])
    return 0.95 * lowest, min(1.05 * highest, _MOST * goal)


def _range(low: float, high: float) -> str:
    return f"{low:.0f}" if round(low) == round(high) else f"{low:.0f}-{high:.0f}"
