"""Many tunes at once: every tune of a file or a folder becomes solos, on all cores, each on its own."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import TimeoutError as JobTimeoutError
from dataclasses import dataclass, field
from pathlib import Path

from pebble import ProcessFuture, ProcessPool
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from coach.arranging.arrangement import Arrangement
from coach.cli.files import write_whole
from coach.cli.writers import WRITERS, Wishes
from coach.errors import CoachError, InputError
from coach.tunes.read import UnreadTune, open_book
from coach.tunes.tune import Tune

__all__ = ["Outcome", "arrange_book", "print_outcomes"]

SUFFIXES = (".abc", ".musicxml", ".xml", ".mxl", ".mid", ".midi")
_SECONDS_A_TUNE = 120.0

# From a tune to its solos by name.
Solos = Callable[[Tune], Mapping[str, Arrangement]]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one tune.

    Attributes:
        source: file and number.
        title: of the tune; may be empty where it was not read.
        measures: as played; 0 where there is no solo.
        written: the names of the files.
        reason: why there is no solo; empty where there is one.
    """

    source: str
    title: str
    measures: int = 0
    written: tuple[str, ...] = ()
    reason: str = ""


@dataclass(frozen=True, slots=True)
class _Job:
    """What a worker does with one tune."""

    solos: Solos
    folder: Path
    suffixes: tuple[str, ...]
    wishes: Wishes

    def __call__(self, unread: UnreadTune, source: str) -> Outcome:
        title = unread.title
        try:
            tune = unread.read()
            title = tune.title
            found = self.solos(tune)
            files = {
                self.folder / f"{tune.id}-{name}{suffix}": WRITERS[suffix](solo, self.wishes)
                for name, solo in found.items()
                for suffix in self.suffixes
            }
            write_whole(files)
        except CoachError as error:
            return Outcome(source, title, reason=str(error))
        measures = max(len(solo.measures) for solo in found.values())
        return Outcome(source, title, measures, tuple(path.name for path in files))


@dataclass(slots=True)
class _Queue:
    """Tunes that wait for a worker, and files that cannot be read at all."""

    tunes: list[tuple[str, UnreadTune]] = field(default_factory=list)
    unreadable: list[Outcome] = field(default_factory=list)

    def add(self, path: Path) -> None:
        try:
            found = open_book(path)
        except CoachError as error:
            self.unreadable.append(Outcome(path.name, "", reason=str(error)))
            return
        for unread in found:
            source = path.name if len(found) == 1 else f"{path.name}, tune {unread.number}"
            self.tunes.append((source, unread))


def arrange_book(
    source: Path, folder: Path, solos: Solos, suffixes: Sequence[str], wishes: Wishes, console: Console
) -> tuple[Outcome, ...]:
    """Arrange every tune of a file, or of all tune files below a folder, and write the solos.

    Each tune is a job of its own in one of as many processes as there are cores; one that fails, or takes longer than
    two minutes, leaves the others whole. A solo's file is named by the tune's id, the solo and the kind of file.

    Args:
        source: the file or folder.
        folder: where to write; made if it is not there, and not left behind where nothing comes of it.
        solos: makes a tune's solos by name; it must be picklable.
        suffixes: the kinds of files to write, of :data:`coach.cli.writers.WRITERS`.
        wishes: of the files.
        console: where the progress bar goes.

    Returns:
        What became of each tune, in the order of the source.

    Raises:
        InputError: when there is no tune to read, or the folder cannot be made.
    """
    queue = _Queue()
    for path in _files(source):
        queue.add(path)
    if not queue.tunes and not queue.unreadable:
        raise InputError(
            "there is no tune file in this folder", where=str(source), cure=f"look for {' '.join(SUFFIXES)} elsewhere"
        )
    made = [each for each in (folder, *folder.parents) if not each.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"the folder cannot be made ({error.strerror or error})", where=str(folder), cure="choose another name"
        ) from error
    job = _Job(solos, folder, tuple(suffixes), wishes)
    try:
        found = list(_worked_through(job, queue.tunes, console))
    finally:
        _remove_empty(made)
    return (*found, *queue.unreadable)


def _remove_empty(folders: Iterable[Path]) -> None:
    """Remove folders that were made for nothing, the innermost first."""
    with contextlib.suppress(OSError):
        for each in folders:
            each.rmdir()  # only an empty one goes


def _files(source: Path) -> Iterable[Path]:
    if not source.is_dir():
        return [source]
    return sorted(path for path in source.rglob("*") if path.suffix.lower() in SUFFIXES and path.is_file())


def _worked_through(job: _Job, tunes: Sequence[tuple[str, UnreadTune]], console: Console) -> Iterator[Outcome]:
    columns = (TextColumn("arranging"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    workers = max(1, min(os.cpu_count() or 1, len(tunes)))
    context = multiprocessing.get_context("spawn")
    with (
        Progress(*columns, console=console, transient=True) as progress,
        ProcessPool(max_workers=workers, initializer=_ignore_interrupts, context=context) as pool,
    ):
        bar = progress.add_task("arranging", total=len(tunes))
        waiting: list[tuple[str, UnreadTune, ProcessFuture]] = [
            (source, unread, pool.schedule(job, args=[unread, source], timeout=_SECONDS_A_TUNE))
            for source, unread in tunes
        ]
        try:
            for source, unread, future in waiting:
                yield _outcome(source, unread, future)
                progress.advance(bar)
        except BaseException:
            pool.stop()
            raise


def _outcome(source: str, unread: UnreadTune, future: ProcessFuture) -> Outcome:
    try:
        outcome: Outcome = future.result()
    except JobTimeoutError:
        reason = f"it took longer than {_SECONDS_A_TUNE:g} seconds and was ended."
        outcome = Outcome(source, unread.title, reason=reason)
    except Exception as error:  # noqa: BLE001 - whatever happens to one tune, the others go on
        outcome = Outcome(source, unread.title, reason=f"its worker failed ({type(error).__name__}: {error}).")
    return outcome


def _ignore_interrupts() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def print_outcomes(outcomes: Sequence[Outcome], console: Console) -> None:
    """Print what was arranged, and what was not and why."""
    table = Table(title="Tune book", title_justify="left", box=None, pad_edge=False)
    table.add_column("source", overflow="fold")
    table.add_column("title", overflow="fold")
    table.add_column("measures", justify="right")
    table.add_column("result", overflow="fold")
    for each in outcomes:
        result = each.reason or f"{len(each.written)} file{'s' * (len(each.written) != 1)}"
        table.add_row(Text(each.source), Text(each.title), str(each.measures or ""), Text(result))
    console.print(table)
    made = sum(not each.reason for each in outcomes)
    console.print(f"{made} of {len(outcomes)} tunes arranged.")
