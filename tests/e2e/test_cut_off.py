"""A service that is killed, or ended by Ctrl-C, in the middle of a pass: what was played is kept."""

from __future__ import annotations

import json
import signal
from collections.abc import Callable
from pathlib import Path

import pytest
from real_parts import DEMO_TUNES, Player, Remote, Served, coach, solo_notes

from coach.takes.sessions import read_session

pytestmark = pytest.mark.usefixtures("jack_server")

TEMPO = 150
HEARD = 16  # notes after which the service is ended


@pytest.fixture(scope="module")
def notes(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[float, bytes]]:
    """What is played, in quarters."""
    path = tmp_path_factory.mktemp("solo") / "x.mid"
    coach("arrange", DEMO_TUNES / "mill-lane.abc", "--tier", "intermediate", "-o", path)
    return [(float(at), data) for at, data in solo_notes(path)][: 2 * HEARD]


def in_mid_pass(served: Served, player: Player, notes: list[tuple[float, bytes]]) -> Remote:
    """A pass that is being played, some notes of which have been heard."""
    page = served.join()
    page.use_ports(player.input, player.output)
    page.choose("Mill Lane", tier="intermediate", tempo=TEMPO, string_channels="1-5")
    player.begin(notes)
    page.say(kind="start", sounds=False)
    while len(page.all("heard")) < HEARD:
        page.next()
    return page


def check_kept(folder: Path, page: Remote, played: list[tuple[float, bytes]], *, seconds: float) -> None:
    """Every note that a page was told of is in the take, but for those of the last seconds, and the take gives the
    report that lies beside it."""
    kept = read_session(folder)
    told = [(message["pitch"], message["string"]) for message in page.all("heard")]
    last = played[len(told) - 1][0] - seconds * TEMPO / 60
    sure = told[: sum(at <= last for at, _ in played[: len(told)])]
    (mark,) = kept.take.passes
    notes = [each for each in kept.take.messages if each.data[0] & 0xF0 == 0x90 and each.seconds > mark.seconds - 0.3]
    assert sure
    assert [(each.data[1], (each.data[0] & 0x0F) + 1) for each in notes[: len(sure)]] == sure
    assert kept.take.end >= notes[len(sure) - 1].seconds
    report = json.loads((folder / "report.json").read_text("utf-8"))
    assert (report["passes"][0]["whole"], report["tempo"]) == (False, TEMPO)
    # What was played counts as played; what had not been reached at the end of the take is not expected.
    assert {note["verdict"] for note in report["notes"][: len(sure) - 1]} <= {"early", "on time", "late"}
    assert len(sure) - 1 <= len(report["notes"]) <= 2 * HEARD
    assert coach("replay", folder, "--json") == (folder / "report.json").read_text("utf-8")


def test_a_take_is_there_up_to_the_last_second_after_the_service_was_killed(
    serve: Callable[..., Served], notes: list[tuple[float, bytes]]
) -> None:
    served = serve()
    with Player() as player:
        page = in_mid_pass(served, player, notes)
        served.process.kill()
        assert served.wait() == -signal.SIGKILL
        (folder,) = served.folders()
        assert sorted(path.name for path in folder.iterdir() if path.suffix != ".json") == ["journal.jsonl"]

        again = serve(data=served.data)
        again.complaints.until(f"The session in {folder} was cut off; its take is kept up to the last second.")

    assert sorted(path.name for path in folder.iterdir() if not path.name.startswith("arrangement-")) == [
        "report.json",
        "session.json",
        "take.mid",
    ]
    # The journal is written once a second, by a machine that may be busy.
    check_kept(folder, page, notes, seconds=1.5)


def test_ctrl_c_in_mid_pass_ends_cleanly_and_keeps_the_take(
    serve: Callable[..., Served], notes: list[tuple[float, bytes]]
) -> None:
    served = serve()
    with Player() as player:
        page = in_mid_pass(served, player, notes)
        code = served.end(signal.SIGINT)

    assert code == 0
    assert served.complaints.seen == []
    (folder,) = served.folders()
    assert not (folder / "journal.jsonl").exists()
    check_kept(folder, page, notes, seconds=0.0)
