"""``coach arrange --explain`` as a user sees it."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from coach.cli import main
from coach.tunes.demo import demo_bytes


@pytest.fixture
def tune(tmp_path: Path) -> Path:
    path = tmp_path / "mill-lane.abc"
    path.write_bytes(demo_bytes("mill-lane"))
    return path


def run(*arguments: object) -> tuple[int, str, str]:
    result = CliRunner().invoke(main, ["arrange", *map(str, arguments)])
    return result.exit_code, result.stdout, result.stderr


def test_each_measure_has_its_line_with_its_difficulty(tune: Path) -> None:
    status, out, _ = run(tune, "--tier", "intermediate", "--explain")
    head, *lines = out.splitlines()

    assert status == 0
    assert head.startswith("Mill Lane, intermediate: difficulty 2.")
    assert "notes 2.0" in head
    assert [int(line.split()[0]) for line in lines] == list(range(1, 17))
    assert all("[" in line and line.endswith(".") for line in lines)
    assert "As measure 5." in lines[12]


def test_all_tiers_are_explained_and_files_written_too(tune: Path) -> None:
    out = tune.parent / "{tier}.json"
    status, told, _ = run(tune, "--tier", "all", "-o", out, "--explain")

    assert status == 0
    assert [line.split(",")[1].split(":")[0].strip() for line in told.splitlines() if ": difficulty" in line] == [
        "beginner",
        "intermediate",
        "advanced",
    ]
    assert json.loads((tune.parent / "advanced.json").read_bytes())["tier"] == "advanced"


def test_a_solo_that_is_arranged_already_is_explained(tune: Path) -> None:
    made = tune.parent / "solo.json"
    run(tune, "--tier", "advanced", "-o", made)

    assert run(made, "--explain")[:2] == (0, run(tune, "--tier", "advanced", "--explain")[1])


def test_without_a_file_and_without_explaining_there_is_nothing_to_do(tune: Path) -> None:
    status, _, error = run(tune, "--tier", "advanced")

    assert status == 2
    assert "-o: no file to write is named; name one, like solo.svg, or ask to --explain." in error


def test_a_book_is_not_explained(tune: Path) -> None:
    status, _, error = run(tune, "--book", "-o", tune.parent / "out", "--explain")

    assert status == 2
    assert "--book: a book is written into a folder" in error
