"""What tests of commands on the records share: a data folder in which two players have practised."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from played_passes import a_pass

from coach.cli import main
from coach.ladder.curve import after_pass, begin, to_bytes
from coach.records.entry import Entry, keep_entry
from coach.records.known import KnownCurve
from coach.records.store import Store, url_of
from coach.takes.recorder import Recorder
from coach.takes.sessions import JournalWriter, read_session

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
HIS = "20260301T180000-reed"
CUT_OFF = "20260302T180000-reed"
HERS = "20260301T180000-sedge"


@dataclass(frozen=True)
class Practised:
    """A data folder, and commands on it."""

    data: Path

    def run(self, command: str, *words: object, answer: str | None = None) -> Result:
        """Run a command on the folder."""
        given = [command, "--data", str(self.data), *map(str, words)]
        return CliRunner().invoke(main, given, input=answer, prog_name="coach")

    def refused(self, command: str, *words: object) -> str:
        """The one sentence with which a command is refused."""
        done = self.run(command, *words)
        assert (done.exit_code, done.stdout) == (2, ""), done.exception
        assert done.stderr.count("\n") == 1
        return done.stderr.rstrip("\n")

    @property
    def sessions(self) -> list[str]:
        """The session folders that are there."""
        return sorted(path.name for path in (self.data / "sessions").iterdir() if path.is_dir())


def entries() -> list[Entry]:
    """Two tunes of one player, and a tune of another."""
    curve = begin(70)
    for tempo in (66, 72, 78, 84):
        curve = after_pass(curve, tempo, clean=True)
    known = {"beginner": {1: KnownCurve(to_bytes(curve), 4, "2026-03-02T18:05:00Z")}}
    return [
        Entry(a_pass(1, folder=HIS, tempo=72.0, clean=True, seconds=120.0)),
        Entry(a_pass(2, folder=HIS, tempo=84.0, seconds=60.0), known),
        Entry(
            a_pass(3, folder=HIS, tune="birch-road-00000001", title="Birch Road", day="2026-03-02", seconds=90.0),
            ladder='{"tempo": 84}',
            settings={"bounce": "55"},
        ),
        Entry(a_pass(4, folder=HERS, player="sedge")),
    ]


@pytest.fixture(scope="session")
def practised_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder of two players, one of whom was cut off, to be copied."""
    data = tmp_path_factory.mktemp("practised") / "data"
    (data / "sessions").mkdir(parents=True)
    store = Store(url_of(data / "records.db"))
    for entry in entries():
        store.write(lambda connection, entry=entry: keep_entry(connection, entry)).result()
    store.close()
    for name in (HIS, HERS, CUT_OFF):
        shutil.copytree(SAMPLES / "clean", data / "sessions" / name)
    cut_off = data / "sessions" / CUT_OFF
    session = read_session(cut_off).session
    for name in ("take.mid", "session.json", "report.json"):
        (cut_off / name).unlink()
    with JournalWriter(cut_off) as journal:
        recorder = Recorder(journal.write)
        for number, _ in enumerate(session.passes):
            recorder.begin_pass(2.0 + 30 * number, 80.0)
        recorder.add(3.5, bytes([0x90, 67, 90]))
        journal.session(session)
    return data


@pytest.fixture
def practised(practised_data: Path, tmp_path: Path) -> Practised:
    """Where two players have practised, one of them until it was cut off."""
    return Practised(Path(shutil.copytree(practised_data, tmp_path / "data")))
