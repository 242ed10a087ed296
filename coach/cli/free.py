"""The readable report of a take in free time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from rich.console import Console
from rich.table import Table
from rich.text import Text

from coach.listening.free_report import FreeReport
from coach.listening.free_time import Detour, FreePass
from coach.listening.scores import MeasureScore, PassResult
from coach.listening.told import Told

__all__ = ["print_free_report"]

# Less is not heard as another tempo: 3 % over six intervals (Drake & Botte 1993, Percept. Psychophys. 54(3)).
_HEARD_CHANGE = 0.03


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
        for line in (*map(_passage, each.detours), *trouble(each.result)):
            console.print(Text(line))
    for line in _closing(report):
        console.print(Text(line))


def _print_pass(each: FreePass, told: Told, console: Console) -> None:
    result = each.result
    plan = result.plan
    state = "clean" if result.clean else "not clean" if result.whole else "not played to its end"
    pace = f"about {plan.tempo:.0f} quarters a minute" if any(each.tempos) else "no tempo to be told"
    console.print(Text(f"Pass {plan.number}, measures {plan.span}, {pace}: {state}", style="italic"))
    for saying in told.said:
        console.print(Text(f"  {saying.text}"))
    table = Table(box=None)
    for heading in ("measure", "played", "missed", "wrong", "extra", "tempo", "spread", "melody", ""):
        table.add_column(heading, justify="right" if heading else "left", no_wrap=True)
    for score, tempo in zip(result.measures, each.tempos, strict=True):
        table.add_row(*_row(score, tempo))
    console.print(table)


def _row(score: MeasureScore, tempo: float | None) -> list[str]:
    def count(number: int) -> str:
        return str(number) if number else "."

    return [
        str(score.number),
        f"{score.played}/{score.expected}",
        count(score.missed),
        count(score.wrong),
        count(score.extra),
        "" if tempo is None else f"{tempo:.0f}",
        "" if score.spread_ms is None else f"{score.spread_ms:.0f} ms",
        "" if score.melody_heard is None else f"{score.melody_heard:.0%}",
        "clean" if score.clean else "again",
    ]


def _passage(detour: Detour) -> str:
    first, last = detour.first.measure, detour.last.measure
    where = f"Measure {first}" if first == last else f"Measures {first} to {last}"
    if detour.kind == "stopped":
        return f"{where}: stopped and went on."
    return f"{where}: {detour.kind}."


def _closing(report: FreeReport) -> Iterator[str]:
    summary = report.report.summary
    if summary.played_share is not None:
        yield f"Played: {summary.played_share:.1%} of what you came to."
    tempos = [
        (tempo, score.number)
        for each in report.passes
        for score, tempo in zip(each.result.measures, each.tempos, strict=True)
        if tempo is not None
    ]
    slowest, fastest = min(tempos, default=(0.0, 0)), max(tempos, default=(0.0, 0), key=lambda each: each[0])
    if fastest[0] > slowest[0] * (1 + _HEARD_CHANGE):
        yield (
            f"Slowest in measure {slowest[1]} ({slowest[0]:.0f} quarters a minute),"
            f" fastest in measure {fastest[1]} ({fastest[0]:.0f})."
        )
    yield from report.report.remarks
