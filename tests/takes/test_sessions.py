from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from coach.arranging.arrangement import Arrangement
from coach.arranging.files import digest
from coach.errors import TakeError
from coach.listening.heard import Latency
from coach.takes.recorder import Recorder
from coach.takes.sessions import (
    Instrument,
    JournalWriter,
    Session,
    SessionPass,
    mend,
    read_session,
    recover,
    save_arrangement,
    save_session,
)

NOTE = bytes([0x90, 55, 80])


@pytest.fixture
def session(roll: Arrangement) -> Session:
    latency = Latency(by_string=((1, 7.0), (4, 14.0)), periods=1.5)
    instrument = Instrument("Pickup", (11, 12, 13, 14, 15), latency, calibrated=True)
    plain = Session("study-00000000", instrument=instrument, tolerance_ms=45.0, started="2026-11-25T00:00:00Z")
    return plain.with_pass(SessionPass(1, "intermediate", digest(roll), 80.0, "1-2", -4.25, 50))


def recorded() -> Recorder:
    recorder = Recorder()
    recorder.begin_pass(1.0, 80.0)
    recorder.add(1.0, NOTE)
    return recorder


def test_a_session_is_read_as_it_was_saved(tmp_path: Path, session: Session, roll: Arrangement) -> None:
    save_arrangement(tmp_path, roll)
    take = recorded().take(9.0)
    save_session(tmp_path, session, take, "{}\n")
    read = read_session(tmp_path)

    assert (read.session, read.take, read.report) == (session, take, "{}\n")
    assert read.arrangements == {digest(roll): roll}
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
        [f"arrangement-{digest(roll)}.json", "report.json", "session.json", "take.mid"]
    )


def test_a_session_of_before_has_no_latency_by_period(session: Session) -> None:
    data = session.to_dict()
    del data["instrument"]["latency_periods"]

    assert Session.from_dict(data).instrument.latency == replace(session.instrument.latency, periods=0.0)


def test_session_json_has_the_format_of_the_contract(tmp_path: Path, session: Session) -> None:
    save_session(tmp_path, session, recorded().take())
    data = json.loads((tmp_path / "session.json").read_text("utf-8"))

    assert list(data)[:2] == ["format", "scoring"]
    assert (data["format"], data["scoring"], data["tiers"]) == ("session/1", 3, ["intermediate"])
    assert data["instrument"]["latency_ms"] == {"1": 7.0, "4": 14.0}
    assert data["instrument"]["latency_periods"] == 1.5
    assert data["passes"][0] == {
        "pass": 1,
        "tier": "intermediate",
        "digest": session.passes[0].digest,
        "tempo": 80.0,
        "measures": "1-2",
        "lean_ms": -4.25,
        "bounce": 50,
        "self_marked": None,
    }


def test_a_pass_in_free_time_is_known_again_and_one_of_before_was_to_a_click(session: Session) -> None:
    played = replace(session, passes=(replace(session.passes[0], free=True), *session.passes[1:]))
    data = played.to_dict()

    assert [each.get("free") for each in data["passes"]] == [True] + [None] * (len(played.passes) - 1)
    assert Session.from_dict(data) == played
    del data["passes"][0]["free"]
    assert not Session.from_dict(data).passes[0].free


def test_tiers_are_listed_once_in_the_order_of_their_first_pass(session: Session) -> None:
    first = session.passes[0]
    more = session.with_pass(replace(first, tier="advanced")).with_pass(first)

    assert more.tiers == ("intermediate", "advanced")


def test_a_constant_latency_and_unknown_strings_are_kept_too() -> None:
    plain = Session("tune", instrument=Instrument(latency=Latency(12.0)), ladder={"tempo": 80.0})

    assert Session.from_dict(json.loads(json.dumps(plain.to_dict()))) == plain


@pytest.mark.parametrize(
    "change",
    [{"format": "session/2"}, {"passes": [{}]}, {"instrument": None}, {"tiers": None}, {"tolerance_ms": "wide"}],
)
def test_what_is_no_session_is_refused_in_one_sentence(change: dict[str, object], session: Session) -> None:
    with pytest.raises(TakeError, match=r"^session\.json: .*\.$"):
        Session.from_dict({**session.to_dict(), **change})


def test_a_journal_holds_the_session_and_the_take_as_they_go(
    tmp_path: Path, session: Session, roll: Arrangement
) -> None:
    save_arrangement(tmp_path, roll)
    with JournalWriter(tmp_path) as journal:
        journal.session(replace(session, passes=(), tiers=()))
        recorder = Recorder(journal.write)
        recorder.begin_pass(1.0, 80.0)
        journal.session(session)
        recorder.add(1.0, NOTE)
        recorder.now(2.0)
        here = recover(tmp_path)
        read = read_session(tmp_path)

    assert here == (session, recorder.take())
    assert (read.session, read.take) == here
    mend(tmp_path)
    assert not (tmp_path / "journal.jsonl").exists()
    assert read_session(tmp_path).take == recorder.take()
    mend(tmp_path)  # nothing left to do


def test_a_line_that_was_being_written_is_left_out(tmp_path: Path, session: Session) -> None:
    with JournalWriter(tmp_path) as journal:
        journal.session(session)
        Recorder(journal.write).add(1.0, NOTE)
    path = tmp_path / "journal.jsonl"
    whole = path.read_bytes()
    for cut in range(whole.rindex(b"\n", 0, -1) + 1, len(whole)):
        path.write_bytes(whole[:cut])
        assert recover(tmp_path)[1].messages == ()


def test_a_pass_of_which_only_half_was_told_did_not_begin(tmp_path: Path, session: Session) -> None:
    with JournalWriter(tmp_path / "downbeat") as journal:
        journal.session(session)
        recorder = Recorder(journal.write)
        recorder.begin_pass(1.0, 80.0)
        recorder.begin_pass(9.0, 90.0)
    with JournalWriter(tmp_path / "session") as journal:
        journal.session(session)

    read, take = recover(tmp_path / "downbeat")
    assert (len(read.passes), [mark.tempo for mark in take.passes]) == (1, [80.0])
    assert recover(tmp_path / "session")[0].passes == ()


PLAYING = """
import sys
from pathlib import Path
from coach.takes.recorder import Recorder
from coach.takes.sessions import JournalWriter, Session

with JournalWriter(Path(sys.argv[1])) as journal:
    journal.session(Session("tune"))
    recorder = Recorder(journal.write)
    k = 0
    while True:
        k += 1
        recorder.add(k / 1000, bytes([0x90, k % 128, 80]))
        print(k, flush=True)
"""


def test_what_was_acknowledged_is_there_after_a_kill(tmp_path: Path) -> None:
    command = [sys.executable, "-c", PLAYING, str(tmp_path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        for _ in range(200):
            acknowledged = int(process.stdout.readline())
        os.kill(process.pid, signal.SIGKILL)
    take = recover(tmp_path)[1]

    assert len(take.messages) >= acknowledged
    assert [message.data[1] for message in take.messages] == [k % 128 for k in range(1, len(take.messages) + 1)]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "holds no session"),
        ("{}\n", "cannot be read"),
        ("no json\n", "line 1: the line is no JSON"),
        ("[]\n", "line 1: the line is no entry"),
        ('{"kind": "session"}\n', "line 1: this is no session"),
        ('{"kind": "now", "tick": 5}\n', "holds no session"),
    ],
)
def test_a_damaged_journal_is_refused_in_one_sentence(tmp_path: Path, text: str, what: str) -> None:
    (tmp_path / "journal.jsonl").write_text(text, "utf-8")

    with pytest.raises(TakeError, match=what):
        recover(tmp_path)


def test_a_folder_that_is_none_is_refused_in_one_sentence(tmp_path: Path, session: Session) -> None:
    with pytest.raises(TakeError, match="no such folder"):
        read_session(tmp_path / "nowhere")
    with pytest.raises(TakeError, match="cannot be read"):
        read_session(tmp_path)
    (tmp_path / "session.json").write_text("[]", "utf-8")
    with pytest.raises(TakeError, match="no session"):
        read_session(tmp_path)
    (tmp_path / "session.json").write_text("{", "utf-8")
    with pytest.raises(TakeError, match="no JSON"):
        read_session(tmp_path)
    save_session(tmp_path, session, recorded().take())
    with pytest.raises(TakeError, match="arrangement-"):
        read_session(tmp_path)


def test_a_solo_is_saved_once(tmp_path: Path, solo: Callable[..., Arrangement]) -> None:
    path = save_arrangement(tmp_path / "new", solo(3))
    before = path.stat().st_mtime_ns

    assert save_arrangement(tmp_path / "new", solo(3)) == path
    assert path.stat().st_mtime_ns == before
