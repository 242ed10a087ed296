"""The forget command, as a user runs it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from coach.service.recovery import owned

OTHERS = ["20260301T180000-sedge"]
QUESTION = "Forget reed: 3 passes of 2 tunes on 2 days and 2 session folders? This cannot be undone [y/N]: "
GONE = "Forgot reed: 3 passes of 2 tunes on 2 days and 2 session folders are gone.\n"


def test_records_and_takes_of_the_player_go_and_those_of_others_stay(practised) -> None:
    hers = practised.run("progress", "--player", "sedge").stdout

    done = practised.run("forget", "--player", "reed", "--yes")

    assert (done.exit_code, done.stdout, done.stderr) == (0, GONE, "")
    assert practised.sessions == OTHERS
    assert practised.run("progress", "--player", "sedge").stdout == hers
    assert practised.refused("progress", "--player", "reed").endswith("they have sedge.")
    assert practised.refused("forget", "--player", "reed", "--yes").endswith("they have sedge.")


def test_it_asks_first(practised) -> None:
    done = practised.run("forget", "--player", "reed", answer="y\n")

    assert (done.exit_code, done.stdout) == (0, f"{QUESTION}y\n{GONE}")
    assert practised.sessions == OTHERS


@pytest.mark.parametrize("answer", ["n\n", "\n"])
def test_without_a_yes_nothing_goes(practised, answer: str) -> None:
    before = practised.sessions
    done = practised.run("forget", "--player", "reed", answer=answer)

    assert (done.exit_code, done.stdout) == (0, f"{QUESTION}{answer.strip()}\nNothing was forgotten.\n")
    assert practised.sessions == before
    assert practised.run("progress", "--player", "reed").exit_code == 0


def test_where_nobody_answers_nothing_goes(practised) -> None:
    before = practised.sessions
    done = practised.run("forget", "--player", "reed", answer="")

    assert done.exit_code == 2
    assert done.stderr == "coach: nobody answered, so nothing was forgotten; answer, or say --yes.\n"
    assert practised.sessions == before


def test_a_player_must_be_named(practised) -> None:
    assert practised.refused("forget", "--yes") == "coach: Missing option '--player'; see coach forget --help."


def test_while_a_service_plays_there_nothing_goes(practised) -> None:
    with owned(practised.data / "sessions") as ours:
        assert ours
        said = practised.refused("forget", "--player", "reed", "--yes")

    assert said == (
        f"coach: {practised.data / 'sessions'}: a service is running that keeps what is played there; end it first."
    )
    assert len(practised.sessions) == 3


def test_takes_that_cannot_be_taken_away_leave_the_records_to_try_again(
    practised, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(folder: Path) -> None:
        raise PermissionError(13, "Permission denied", str(folder))

    with monkeypatch.context() as patched:
        patched.setattr(shutil, "rmtree", refuse)
        said = practised.refused("forget", "--player", "reed", "--yes")

    assert said.startswith(
        f"coach: {practised.data / 'sessions' / '20260301T180000-reed'}: what was played cannot be taken away"
    )
    assert practised.run("progress", "--player", "reed").exit_code == 0
    assert practised.run("forget", "--player", "reed", "--yes").exit_code == 0


@pytest.mark.parametrize(
    ("name", "is_theirs"),
    [
        ("20260301T180000-reed-2", True),  # the second of that moment: the first is there
        ("20260301T180001-reed-2", False),  # no first one: it is of another player, reed-2
        ("20260301T180000-reed-2-2", False),
        ("20260301T180000-reedy", False),
        ("20260301T180000-the-reed", False),
        ("2026-reed", False),
        ("reed", False),
        ("20260305T090000-reed", True),
    ],
)
def test_takes_that_the_records_do_not_know_are_told_by_their_name(practised, name: str, is_theirs: bool) -> None:
    (practised.data / "sessions" / name).mkdir()

    practised.run("forget", "--player", "reed", "--yes")

    assert practised.sessions == sorted(OTHERS if is_theirs else [*OTHERS, name])


def test_a_link_to_somewhere_else_is_not_followed(practised, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "letter").write_text("mine")
    (practised.data / "sessions" / "20260305T090000-reed").symlink_to(elsewhere)

    assert practised.run("forget", "--player", "reed", "--yes").stdout == GONE
    assert (elsewhere / "letter").read_text() == "mine"


def test_without_any_takes_the_records_go_all_the_same(practised) -> None:
    shutil.rmtree(practised.data / "sessions")

    done = practised.run("forget", "--player", "reed", "--yes")

    assert done.stdout == "Forgot reed: 3 passes of 2 tunes on 2 days and 0 session folders are gone.\n"
    assert not (practised.data / "sessions").exists()


def test_what_is_theirs_alone_in_a_studio_goes_too(practised) -> None:
    people = practised.data / "studios" / "mill" / "people"
    for player in ("reed", "sedge"):
        (people / player).mkdir(parents=True)
        (people / player / "instruments.json").write_text("{}")

    assert practised.run("forget", "--player", "reed", "--yes").exit_code == 0

    assert [path.name for path in people.iterdir()] == ["sedge"]
