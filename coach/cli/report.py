"""``coach report``: scores a recorded take against a solo, by the code that scores live."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import click
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from coach.arranging.arrangement import TIERS, Arrangement
from coach.cli.amount import Amount
from coach.cli.files import read_file
from coach.cli.free import print_free_report
from coach.cli.given import gives_solo, read_solo
from coach.cli.measure_table import count, measure_table
from coach.cli.printed import tidily
from coach.errors import InputError
from coach.instrument.tuning import TUNINGS
from coach.listening.free_report import FreeReport
from coach.listening.heard import Latency, read_string_channels
from coach.listening.passage_words import passage_sentence
from coach.listening.plan import Settings
from coach.listening.playing import PassPlaying
from coach.listening.report import Report
from coach.listening.scores import PassResult
from coach.listening.told import Told
from coach.listening.verdicts import NoteVerdict
from coach.takes.files import read_take
from coach.takes.replay import Hearing, report_freely, report_on

__all__ = ["print_report", "report"]

# A latency beyond this many milliseconds is a slip of the pen.
_MOST_LATENCY = 500.0


@click.command(epilog="Example: coach report mill-lane.abc --tier beginner evening.mid --tempo 80")
@click.argument("tune", type=click.Path(path_type=Path))
@click.argument("take", type=click.Path(path_type=Path), metavar="TAKE.mid")
@click.option("--tier", type=click.Choice(TIERS), help="Which solo was played; needed unless TUNE is an arrangement.")
@click.option("--tempo", type=Amount(10, 400), help="Of the click, for a take without downbeat marks.")
@click.option("--json", "as_json", is_flag=True, help="Print the report as JSON (report/1).")
@click.option("--free", is_flag=True, help="Played without a click: follow the player, tell the tempo of each measure.")
@click.option("--lean-ms", type=Amount(-40, 40), help="Your steady lead (negative) or lag; else the median.")
@click.option("--latency-ms", default="0", metavar="MS", help="How late the instrument hears: 12, or 1=7,2=8,3=10 ...")
@click.option(
    "--latency-periods",
    type=Amount(0, 20),
    default=0.0,
    help="And how many vibrations of the note it needs to know its pitch.",
)
@click.option("--tolerance-ms", type=Amount(0, 300), help="What is on time; else a fifth of the gap.")
@click.option("--bounce", type=click.IntRange(50, 67), help="Where off-beats fall: 50 straight ... 67.")
@click.option("--string-channels", metavar="CHANNELS", help="The MIDI channels of strings 1 to 5, like 11-15.")
@click.option("--number", type=int, metavar="N", help="Which tune of an ABC book.")
@click.option("--part", metavar="NAME", help="The part, voice or track with the melody.")
@click.option("--chords", metavar="CHORDS", help="'G | C | D7 | G', a group for each measure.")
@click.option("--key", metavar="KEY", help="The key that sounds, where the solo was arranged with one.")
@click.option("--capo", type=click.IntRange(0, 11), metavar="FRET", help="The fret of the capo, likewise.")
@click.option("--tuning", type=click.Choice(list(TUNINGS)), help="Of the open strings, likewise.")
def report(
    tune: Path,
    take: Path,
    tier: str | None,
    tempo: float | None,
    as_json: bool,
    free: bool,
    lean_ms: float | None,
    latency_ms: str,
    latency_periods: float,
    tolerance_ms: float | None,
    bounce: int | None,
    string_channels: str | None,
    number: int | None,
    part: str | None,
    chords: str | None,
    key: str | None,
    capo: int | None,
    tuning: str | None,
) -> None:
    """Report on TAKE.mid, played to a solo for TUNE: a tune, which is arranged at once, or a solo as it is.

    A solo is an arrangement (.json), or MusicXML with a banjo tablature where no --tier is named.
    """
    told = {"--tempo": tempo, "--lean-ms": lean_ms, "--tolerance-ms": tolerance_ms, "--bounce": bounce}
    clicked = next((option for option, value in told.items() if value is not None), None)
    if free and clicked is not None:
        raise InputError(
            f"{clicked} is about a click, and --free has none", where="--free", cure="leave one of them out"
        )
    hearing = Hearing(
        tempo=tempo,
        lean_ms=lean_ms,
        bounce=bounce,
        string_channels=None if string_channels is None else read_string_channels(string_channels),
        settings=Settings(replace(_read_latency(latency_ms), periods=latency_periods), tolerance_ms),
    )
    recorded = read_take(read_file(take), str(take))
    if gives_solo(tune, tier):
        solo = read_solo(tune)
        if tier is not None and tier != solo.tier:
            raise InputError(f"the solo is {solo.tier}, not {tier}", where=str(tune), cure="leave --tier out")
    else:
        solo = _arranged(tune, tier, number, part, chords, key, capo, tuning)
    try:
        result = report_freely(recorded, solo, hearing) if free else report_on(recorded, solo, hearing)
    except InputError as error:
        place = f"{take}, {error.where}" if error.where else str(take)
        raise type(error)(error.what, where=place, cure=error.cure) from error
    if as_json:
        click.echo(result.to_json(), nl=False)
        return
    print_report(result, Console(highlight=False, soft_wrap=False))


def _arranged(
    path: Path,
    tier: str | None,
    number: int | None,
    part: str | None,
    chords: str | None,
    key: str | None,
    capo: int | None,
    tuning: str | None,
) -> Arrangement:
    from coach.arranging.arrange import arrange
    from coach.tunes.read import read_tune

    named = next((each for each in TIERS if each == tier), None)
    if named is None:
        raise InputError("which solo was played is not said", where="--tier", cure=f"choose {', '.join(TIERS)}")
    tune = read_tune(path, number=number, part=part, chords=chords)
    return arrange(tune, named, key=key, capo=capo, tuning=TUNINGS[tuning] if tuning else None)


def _read_latency(text: str) -> Latency:
    """Read ``12`` or ``1=7,2=8,3=10,4=14,5=6``."""
    try:
        if "=" not in text:
            latency = Latency(float(text))
        else:
            pairs = [part.split("=") for part in text.split(",")]
            latency = Latency(by_string=tuple((int(string), float(ms)) for string, ms in pairs))
    except ValueError:
        latency = Latency(float("nan"))
    told = [latency.ms, *(ms for _, ms in latency.by_string)]
    strings = [string for string, _ in latency.by_string]
    if (
        not all(abs(ms) <= _MOST_LATENCY for ms in told)
        or len(set(strings)) != len(strings)
        or not all(1 <= string <= 5 for string in strings)
    ):
        raise InputError(
            f"{text!r} is no latency", where="--latency-ms", cure="write milliseconds like 12, or 1=7,2=8,3=10,4=14,5=6"
        )
    return latency


# The readable report


def print_report(report: Report | FreeReport, console: Console) -> None:
    """Print a report for people, on passes to a click or in free time."""
    with tidily(console):
        if isinstance(report, FreeReport):
            print_free_report(report, console, _trouble)
        else:
            _print_report(report, console)


def _print_report(report: Report, console: Console) -> None:
    arrangement = report.results[0].plan.arrangement
    console.print(Text(f"{arrangement.title}, {arrangement.tier}", style="bold"))
    for result, told in zip(report.results, report.told, strict=True):
        _print_pass(result, told, console)
    for line in _closing(report):
        console.print(Text(line))


def _print_pass(result: PassResult, told: Told, console: Console) -> None:
    plan = result.plan
    state = "clean" if result.clean else "not clean" if result.whole else "not played to its end"
    tempo = f"{plan.tempo:.4g} quarters a minute ({plan.tempo / 2:.4g} half notes)"
    console.print(Text(f"Pass {plan.number}, measures {plan.span}, {tempo}: {state}", style="italic"))
    for saying in told.said:
        console.print(Padding(Text(saying.text), (0, 0, 0, 2)))
    scores = result.measures
    of_time = {
        "off time": [count(score.off_time) for score in scores],
        "offset": ["" if score.mean_offset_ms is None else f"{_signed(score.mean_offset_ms)} ms" for score in scores],
    }
    console.print(measure_table(scores, of_time))
    said = [saying.text for saying in told.said]
    for passage in result.passages:
        sentence = passage_sentence(passage, plan.arrangement)
        if sentence not in said:
            console.print(Text(sentence))
    for line in _numbers(told.playing):
        console.print(Text(line))
    for line in _trouble(result):
        console.print(Text(line))


def _signed(value: float, digits: int = 0) -> str:
    """A number with its sign, never minus zero."""
    return f"{round(value, digits) + 0.0:+.{digits}f}"


def _numbers(playing: PassPlaying) -> Iterator[str]:
    """How the pass was played, where there is something to tell."""
    if playing.evenness_ms is not None:
        swing = "" if playing.swing is None else f", long to short {playing.swing:.2f}"
        yield f"Neighbouring notes are even within {playing.evenness_ms:.0f} ms{swing}."
    if playing.positions:
        slots = ", ".join(f"{each.slot}: {_signed(each.offset_ms)}" for each in playing.positions)
        yield f"Each note of the roll against the others, in ms: {slots}."
    if playing.melody_db is not None:
        yield f"The melody lies {_signed(playing.melody_db, 1)} dB against the fill."
    if playing.picked_slurs:
        yield f"Picked, not slurred: {', '.join(playing.picked_slurs)}."


def _trouble(result: PassResult) -> Iterator[str]:
    """A line for each measure in which something was not as written; none where nothing was heard at all."""
    if not result.extras and all(note.verdict == "missed" for note in result.notes):
        return
    for score in result.measures:
        notes = [note for note in result.notes if note.pluck.measure == score.number and note.verdict != "on time"]
        extras = [extra for extra in result.extras if extra.measure == score.number and extra.fault]
        said = [_said(note) for note in notes]
        if extras:
            said.append(f"{len(extras)} extra")
        if said:
            yield f"Measure {score.number}: {', '.join(said)}."


def _said(note: NoteVerdict) -> str:
    name = f"note {note.pluck.id.partition('e')[2]} (string {note.pluck.string})"
    if note.verdict in ("early", "late") and note.offset_ms is not None:
        return f"{name} {note.verdict} by {abs(note.offset_ms):.0f} ms"
    if note.verdict == "other string" and note.string is not None:
        return f"{name} on string {note.string}"
    return f"{name} wrong" if note.verdict == "wrong note" else f"{name} {note.verdict}"


def _counted(count: int, reason: str) -> str:
    several = count > 1 and reason.endswith(("ghost", "double", "string", "slur"))
    return f"{count} {reason}{'s' if several else ''}"


def _closing(report: Report) -> Iterator[str]:
    summary = report.summary
    if summary.played_share is not None:
        yield f"Played: {summary.played_share:.1%} of the solo."
    if summary.mean_offset_ms is not None and summary.spread_ms is not None:
        side = "before" if summary.mean_offset_ms < 0 else "after"
        yield f"On average {abs(summary.mean_offset_ms):.0f} ms {side} the click, spread {summary.spread_ms:.0f} ms."
    if report.lean_ms:
        lean = f"{abs(report.lean_ms):.0f} ms of steady {'lead' if report.lean_ms < 0 else 'lag'}"
        yield f"Taken off before early and late are judged: {lean}."
    if summary.tempo_drift_percent is not None:
        pace = "faster" if summary.tempo_drift_percent >= 0 else "slower"
        yield f"The playing runs {abs(summary.tempo_drift_percent):.1f} % {pace} than the click."
    reasons = Counter(dropped.reason for result in report.results for dropped in result.dropped)
    if reasons:
        yield "Not counted: " + ", ".join(_counted(count, reason) for reason, count in sorted(reasons.items())) + "."
    yield from report.remarks
