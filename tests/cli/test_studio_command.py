"""``coach studio`` and ``coach serve --studio``."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from coach.cli import main
from coach.records.store import Store, url_of
from coach.studio.invitations import invitations_of, look_at
from coach.studio.members import add_person
from coach.studio.people import Person, StudioName


def run(*words: str) -> Result:
    return CliRunner().invoke(main, words)


def invited(data: Path, out: str) -> tuple[str, str, str]:
    """Where a printed link leads, and the studio and role of what it opens."""
    link = re.search(r"(\S+)/join\.html#(\S+)", out)
    assert link is not None, out
    store = Store(url_of(data / "records.db"))
    found = store.read(lambda c: look_at(c, link[2], datetime.now(UTC)))
    store.close()
    return link[1], found.studio.id, found.role


def test_a_studio_is_opened_and_its_teacher_comes_in_by_the_link(tmp_path: Path) -> None:
    data = tmp_path / "new"
    opened = run("studio", "open", "Old Mill", "--data", str(data), "--address", "https://banjo.example/")

    assert opened.exit_code == 0, opened.output
    assert "people sign in to it as old-mill" in opened.output
    assert invited(data, opened.output) == ("https://banjo.example", "old-mill", "teacher")


def test_studios_are_listed_and_people_let_in_again(tmp_path: Path) -> None:
    for name in ("Old Mill", "Brook"):
        run("studio", "open", name, "--data", str(tmp_path))

    listed = run("studio", "list", "--data", str(tmp_path))
    teacher = run("studio", "invite", "brook", "--teacher", "--data", str(tmp_path))
    student = run("studio", "invite", "brook", "--data", str(tmp_path))

    assert listed.output.splitlines() == [
        "brook: Brook, 0 teachers, 0 students",
        "old-mill: Old Mill, 0 teachers, 0 students",
    ]
    assert invited(tmp_path, teacher.output) == ("http://localhost:8765", "brook", "teacher")
    assert invited(tmp_path, student.output) == ("http://localhost:8765", "brook", "student")


def test_a_teacher_who_lost_access_gets_it_back_as_who_they_were(tmp_path: Path) -> None:
    run("studio", "open", "Brook", "--data", str(tmp_path))
    store = Store(url_of(tmp_path / "records.db"))
    brook = StudioName("brook", "Brook")
    store.write(lambda c: add_person(c, "r1", "Ruth", "teacher", brook, "2026-03-01T09:00:00Z")).result()
    store.close()

    again = run("studio", "invite", "brook", "--again", "ruth", "--data", str(tmp_path))

    assert "Ruth comes back in here, once" in again.output
    assert invited(tmp_path, again.output) == ("http://localhost:8765", "brook", "teacher")
    store = Store(url_of(tmp_path / "records.db"))
    (waiting,) = [each for each in store.read(lambda c: invitations_of(c, brook)) if each.person is not None]
    store.close()
    assert waiting.person == Person("r1", "Ruth", "teacher", brook)


def test_records_without_a_studio_say_how_to_open_one(tmp_path: Path) -> None:
    Store(url_of(tmp_path / "records.db")).close()
    assert "open one: coach studio open NAME" in run("studio", "list", "--data", str(tmp_path)).output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("open", "..."), "the name of the studio has nothing that could be read"),
        (("open", "Mill", "--address", "banjo.example"), "is no address of a service"),
        (("invite", "brook"), "there is no studio 'brook'; there are old-mill."),
        (("invite", "old-mill", "--again", "Ruth"), "nobody in Old Mill is called 'Ruth'"),
    ],
)
def test_what_cannot_be_is_said_in_a_line(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    run("studio", "open", "Old Mill", "--data", str(tmp_path))

    refused = run("studio", *words, "--data", str(tmp_path))

    assert refused.exit_code == 2
    assert said in refused.output
    assert len(refused.output.splitlines()) == 1
    assert run("studio", "list", "--data", str(tmp_path)).output.count("\n") == 1


def test_no_records_are_made_by_looking(tmp_path: Path) -> None:
    refused = run("studio", "list", "--data", str(tmp_path))
    assert (refused.exit_code, list(tmp_path.iterdir())) == (2, [])


def test_a_studio_is_not_served_where_all_can_read_on_the_way(tmp_path: Path) -> None:
    refused = run("serve", "--studio", "--host", "0.0.0.0", "--data", str(tmp_path))
    assert refused.exit_code == 2
    assert "without https" in refused.output


def test_a_studio_without_its_libraries_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coach.cli.serve.importlib.util.find_spec", lambda name: None)
    refused = run("serve", "--studio", "--data", str(tmp_path))
    assert refused.exit_code == 2
    assert "(argon2, webauthn); install them: pip install 'banjo-practice-coach[studio]'" in refused.output
