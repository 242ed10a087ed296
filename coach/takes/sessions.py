"""Session folders: what was played, by what settings, and what came of it.

``session.json`` (format ``session/1``), ``take.mid``, ``arrangement-<digest>.json``, ``report.json`` and, while it is
being played, ``journal.jsonl``. Files are written whole or not at all. A folder whose session was cut off has a journal
and no take: its journal holds all up to the last line.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from coach.arranging.arrangement import Arrangement
from coach.arranging.files import digest, from_json, to_json
from coach.errors import TakeError
from coach.listening.heard import Latency, StringChannels
from coach.listening.report import SCORING
from coach.takes.files import read_take, write_take
from coach.takes.recorder import Recorder
from coach.takes.take import Take

__all__ = [
    "FORMAT",
    "Instrument",
    "JournalWriter",
    "Session",
    "SessionFolder",
    "SessionPass",
    "mend",
    "read_session",
    "recover",
    "save_arrangement",
    "save_session",
]

FORMAT = "session/1"

SESSION = "session.json"
TAKE = "take.mid"
REPORT = "report.json"
JOURNAL = "journal.jsonl"


@dataclass(frozen=True, slots=True)
class Instrument:
    """What was played on.

    Attributes:
        name: as the port or the page calls it; may be empty.
        string_channels: the channels of strings 1 to 5, None where channels do not tell strings.
        latency: what is taken off its notes.
        calibrated: whether its latency was measured.
    """

    name: str = ""
    string_channels: StringChannels | None = None
    latency: Latency = field(default=Latency())
    calibrated: bool = False


@dataclass(frozen=True, slots=True)
class SessionPass:
    """A pass of a session; its tempo and measures are those of the take's downbeat, repeated for the reader.

    Attributes:
        number: 1 for the first.
        tier, digest: of the solo.
        tempo: of the click, in quarters a minute.
        measures: ``1-16``.
        lean_ms: that was fixed before the pass.
        bounce: 50 straight .. 67.
        self_marked: clean or not by the player's own word, where there was no instrument to hear; else None.
        free: it was played in free time, without a click; the tempo is then only what it was begun with.
    """

    number: int
    tier: str
    digest: str
    tempo: float
    measures: str
    lean_ms: float = 0.0
    bounce: int = 50
    self_marked: bool | None = None
    free: bool = False


@dataclass(frozen=True, slots=True)
class Session:
    """What is known of a session besides its take.

    Attributes:
        tune: the id of the tune.
        tiers: those that were played, in order of their first pass.
        instrument: what was played on.
        passes: one for each downbeat of the take.
        tolerance_ms: what was on time; None for the usual share of the gap.
        started: when, RFC 3339 in UTC; may be empty.
        ladder: the ladder's state at the end, as a plain dictionary.
        scoring: the version of the scorer.
    """

    tune: str
    tiers: tuple[str, ...] = ()
    instrument: Instrument = field(default=Instrument())
    passes: tuple[SessionPass, ...] = ()
    tolerance_ms: float | None = None
    started: str = ""
    ladder: Mapping[str, Any] | None = None
    scoring: int = SCORING

    def with_pass(self, new: SessionPass) -> Session:
        """The session with one more pass."""
        tiers = self.tiers if new.tier in self.tiers else (*self.tiers, new.tier)
        return replace(self, passes=(*self.passes, new), tiers=tiers)

    def to_dict(self) -> dict[str, Any]:
        """The session as plain values, keys in their order."""
        by_string = self.instrument.latency.by_string
        return {
            "format": FORMAT,
            "scoring": self.scoring,
            "started": self.started,
            "tune": self.tune,
            "tiers": list(self.tiers),
            "instrument": {
                "name": self.instrument.name,
                "string_channels": None
                if self.instrument.string_channels is None
                else list(self.instrument.string_channels),
                "latency_ms": {str(string): ms for string, ms in by_string}
                if by_string
                else self.instrument.latency.ms,
                "latency_periods": self.instrument.latency.periods,
                "calibrated": self.instrument.calibrated,
            },
            "tolerance_ms": self.tolerance_ms,
            "passes": [pass_record(each) for each in self.passes],
            "ladder": None if self.ladder is None else dict(self.ladder),
        }

    @staticmethod
    def from_dict(data: Mapping[str, Any], where: str = SESSION) -> Session:
        """Read a session from plain values.

        Raises:
            TakeError: when they are no session of this format.
        """
        try:
            if data["format"] != FORMAT:
                raise TakeError(f"the format is {data['format']!r}", where=where, cure=f"{FORMAT!r} can be read")
            made = data["instrument"]
            told, channels = made["latency_ms"], made["string_channels"]
            periods = float(made.get("latency_periods", 0.0))
            latency = (
                Latency(by_string=tuple((int(string), float(ms)) for string, ms in told.items()), periods=periods)
                if isinstance(told, dict)
                else Latency(float(told), periods=periods)
            )
            tolerance = data["tolerance_ms"]
            return Session(
                tune=str(data["tune"]),
                tiers=tuple(map(str, data["tiers"])),
                instrument=Instrument(
                    name=str(made["name"]),
                    string_channels=None if channels is None else _five(channels),
                    latency=latency,
                    calibrated=bool(made["calibrated"]),
                ),
                passes=tuple(read_pass_record(each) for each in data["passes"]),
                tolerance_ms=None if tolerance is None else float(tolerance),
                started=str(data["started"]),
                ladder=data["ladder"],
                scoring=int(data["scoring"]),
            )
        except (KeyError, ValueError, TypeError, AttributeError) as error:
            raise TakeError(f"this is no session that can be read ({error!r})", where=where) from error


def _five(channels: list[int]) -> StringChannels:
    first, second, third, fourth, fifth = map(int, channels)
    return first, second, third, fourth, fifth


def pass_record(each: SessionPass) -> dict[str, Any]:
    """A pass as it stands in ``session.json``; that it was played to a click goes without saying."""
    record = {
        "pass": each.number,
        "tier": each.tier,
        "digest": each.digest,
        "tempo": each.tempo,
        "measures": each.measures,
        "lean_ms": each.lean_ms,
        "bounce": each.bounce,
        "self_marked": each.self_marked,
    }
    return record | {"free": True} if each.free else record


def read_pass_record(data: Mapping[str, Any]) -> SessionPass:
    """The pass that :func:`pass_record` wrote; errors are those of plain dictionaries."""
    marked = data["self_marked"]
    return SessionPass(
        number=int(data["pass"]),
        tier=str(data["tier"]),
        digest=str(data["digest"]),
        tempo=float(data["tempo"]),
        measures=str(data["measures"]),
        lean_ms=float(data["lean_ms"]),
        bounce=int(data["bounce"]),
        self_marked=None if marked is None else bool(marked),
        free=bool(data.get("free", False)),
    )


@dataclass(frozen=True, slots=True)
class SessionFolder:
    """A session as it was read.

    Attributes:
        session, take: what was played.
        arrangements: the solos by their digests.
        report: the text of ``report.json``, None where there is none.
    """

    session: Session
    take: Take
    arrangements: Mapping[str, Arrangement]
    report: str | None


class JournalWriter:
    """Appends to the journal of a session being played; each line is with the system before the call returns.

    Args:
        folder: of the session; it is made where needed.

    A line is a recorder's entry, or ``{"kind": "session", ...}`` with the session as it now stands.
    """

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._file = (folder / JOURNAL).open("a", encoding="utf-8", buffering=1)

    def write(self, entry: Mapping[str, Any]) -> None:
        """Append an entry."""
        self.write_all([entry])

    def write_all(self, entries: Iterable[Mapping[str, Any]]) -> None:
        """Append entries, all at once."""
        lines = (json.dumps(entry, ensure_ascii=False, separators=(",", ":")) + "\n" for entry in entries)
        self._file.write("".join(lines))

    def session(self, session: Session) -> None:
        """Append the session as it now stands."""
        self.write({"kind": "session", "session": session.to_dict()})

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def save_arrangement(folder: Path, arrangement: Arrangement) -> Path:
    """Put a solo into a session's folder, once; returns its file."""
    path = folder / f"arrangement-{digest(arrangement)}.json"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        _write_whole(path, to_json(arrangement))
    return path


def save_session(folder: Path, session: Session, take: Take, report: str | None = None) -> None:
    """Write a session that has ended (its solos are there already); the journal is not needed after that."""
    folder.mkdir(parents=True, exist_ok=True)
    _write_whole(folder / TAKE, write_take(take))
    text = json.dumps(session.to_dict(), ensure_ascii=False, indent=1)
    _write_whole(folder / SESSION, f"{text}\n".encode())
    if report is not None:
        _write_whole(folder / REPORT, report.encode())
    (folder / JOURNAL).unlink(missing_ok=True)


def recover(folder: Path) -> tuple[Session, Take]:
    """What the journal of a session that was cut off holds: all up to its last whole line.

    Raises:
        TakeError: when there is no journal or it holds no session.
    """
    path = folder / JOURNAL
    lines = _read(path).decode("utf-8", errors="replace").split("\n")
    recorder = Recorder()
    session: Session | None = None
    # What follows the last line break was being written when the session was cut off.
    for number, line in enumerate(lines[:-1], 1):
        try:
            entry = json.loads(line)
        except ValueError as error:
            raise TakeError("the line is no JSON", where=f"{path} line {number}") from error
        if not isinstance(entry, dict):
            raise TakeError("the line is no entry", where=f"{path} line {number}")
        if entry.get("kind") == "session":
            session = Session.from_dict(entry.get("session", {}), f"{path} line {number}")
        else:
            recorder.apply(entry)
    if session is None:
        raise TakeError("the journal holds no session", where=str(path))
    # A pass is told in two lines, its downbeat and its place in the session; one that has only one did not begin.
    while len(recorder.passes) > len(session.passes):
        recorder.cancel_pass()
    return replace(session, passes=session.passes[: len(recorder.passes)]), recorder.take()


def read_session(folder: Path) -> SessionFolder:
    """Read a session's folder; one that was cut off, or is still being played, as far as its journal goes.

    Raises:
        TakeError: when it is none or a part of it cannot be read.
        TuneError: when a solo in it cannot be read.
    """
    if not folder.is_dir():
        raise TakeError("there is no such folder", where=str(folder), cure="name the folder of a recorded session")
    if (folder / JOURNAL).exists():
        session, take = recover(folder)
    else:
        session, take = _read_ended(folder)
    arrangements = {
        name: from_json(_read(folder / f"arrangement-{name}.json"), f"arrangement-{name}.json")
        for name in dict.fromkeys(each.digest for each in session.passes)
    }
    report = folder / REPORT
    return SessionFolder(session, take, arrangements, report.read_text("utf-8") if report.exists() else None)


def mend(folder: Path) -> None:
    """Save a session that was cut off from its journal. Only for a session that nobody is playing any more."""
    if (folder / JOURNAL).exists():
        save_session(folder, *recover(folder))


def _read_ended(folder: Path) -> tuple[Session, Take]:
    path = folder / SESSION
    try:
        data = json.loads(_read(path))
    except ValueError as error:
        raise TakeError("the file is no JSON", where=str(path)) from error
    if not isinstance(data, dict):
        raise TakeError("the file is no session", where=str(path))
    return Session.from_dict(data, str(path)), read_take(_read(folder / TAKE), str(folder / TAKE))


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise TakeError(f"the file cannot be read ({error.strerror})", where=str(path)) from error


def _write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    beside.write_bytes(data)
    beside.replace(path)
