"""The readable report of a take in free time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from rich.console import Console
from rich.text import Text

from coach.cli.measure_table import measure_table
from coach.listening.free_report import FreeReport
from coach.listening.free_time import FreePass
from coach.listening.free_words import detour_sentence, tempo_sentence
from coach.listening.scores import PassResult
from coach.listening.told import Told

__all__ = ["print_free_report"]


def print_free_report(report: FreeReport, console: Console, trouble: Callable[[PassResult], Iterable[str]]) -> None:
    """Print a report for people.

    Args:
        report: the report.
        console: where to.
        trouble: a line for each measure in which something was not as written.
    """
    arrangement = report.passes[0].result.plan.arrangement
    console.print(Text(f"{arrangement.title}, {arrangement.tier}, without a click", style="bold"))
    for each, told in zip(report.passes, report.told, strict=True):
        _print_pass(each, told, console)
        for line in (*map(detour_sentence, each.detours), *trouble(each.result)):
            console.print(Text(line))
    for line in _closing(report):
        console.print(Text(line))


def _print_pass(each: FreePass, told: Told, console: Console) -> None:
    result = each.result
    plan = result.plan
    state = "clean" if result.clean else "not clean" if result.whole else "not played to its end"
    pace = "no tempo to be told" if each.tempo is None else f"about {each.tempo:.0f} quarters a minute"
    console.print(Text(f"Pass {plan.number}, measures {plan.span}, {pace}: {state}", style="italic"))
    for saying in told.said:
        console.print(Text(f"  {saying.text}"))
    tempos = ["" if tempo is None else f"{tempo:.0f}" for tempo in each.tempos]
    console.print(measure_table(result.measures, {"tempo": tempos}))


def _closing(report: FreeReport) -> Iterator[str]:
    summary = report.report.summary
    if summary.played_share:
        yield f"Played: {summary.played_share:.1%} of what you came to."
    tempo = tempo_sentence(report.passes)
    if tempo is not None:
        yield tempo
    yield from report.report.remarks
