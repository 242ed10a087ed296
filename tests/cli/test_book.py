"""Many tunes at once, as a user runs it."""

import json
from importlib.resources import files

import pytest
from click.testing import CliRunner

from coach.cli import main

GOOD = "X:{}\nT:{}\nM:4/4\nL:1/4\nK:G\n" + '"G"G A B d|"D7"A4|\n\n'
SILENT = "X:{}\nT:{}\nM:4/4\nL:1/4\nK:G\nz4|\n\n"


def run(*words):
    return CliRunner().invoke(main, ["arrange", "--book", *map(str, words)], env={"COLUMNS": "200"})


@pytest.fixture
def one_core(monkeypatch):
    """A machine of one core, for what has nothing to do with how many: a worker takes a second to start."""
    monkeypatch.setattr("os.cpu_count", lambda: 1)


@pytest.fixture
def folder(tmp_path):
    songs = tmp_path / "songs"
    (songs / "more").mkdir(parents=True)
    (songs / "book.abc").write_text(
        GOOD.format(1, "First") + SILENT.format(2, "Silent") + GOOD.format(3, "Third").replace("B d", "d B")
    )
    (songs / "more" / "deep.abc").write_text(GOOD.format(1, "Deep").replace("G A", "B A"))
    (songs / "noise.mid").write_bytes(b"\x00\x01\x02")
    (songs / "letter.txt").write_text("no tune")
    return songs


def test_every_tune_of_a_folder_is_arranged_and_what_is_not_is_told_with_its_reason(folder, tmp_path):
    out = tmp_path / "out"

    done = run(folder, "-o", out, "--as", ".json", "--as", ".txt")

    assert done.exit_code == 0, done.output
    written = sorted(path.name for path in out.iterdir())
    assert len(written) == 3 * 3 * 2
    tiers = {json.loads((out / name).read_bytes())["tier"] for name in written if name.endswith(".json")}
    assert tiers == {"beginner", "intermediate", "advanced"}
    rows = {row.split("  ")[0]: row for row in done.stdout.splitlines()}
    assert "6 files" in rows["book.abc, tune 1"]
    assert "no melody" in rows["book.abc, tune 2"]
    assert "6 files" in rows["book.abc, tune 3"]
    assert "6 files" in rows["deep.abc"]
    assert "noise.mid" in rows
    assert "letter.txt" not in done.stdout
    assert "3 of 5 tunes arranged." in done.stdout


def test_a_book_file_is_arranged_in_one_tier_as_asked(folder, tmp_path, one_core):
    done = run(folder / "book.abc", "-o", tmp_path / "out", "--tier", "beginner", "--key", "A", "--as", ".json")

    assert done.exit_code == 0
    solos = [json.loads(path.read_bytes()) for path in (tmp_path / "out").iterdir()]
    assert {(solo["tier"], solo["capo"], solo["sounding_key"]) for solo in solos} == {("beginner", 2, "A major")}


def test_a_book_becomes_paper_and_arrangements_and_of_a_tab_the_tune_is_taken(folder, tmp_path, one_core):
    songs = tmp_path / "mixed"
    songs.mkdir()
    (songs / "deep.abc").write_text((folder / "more" / "deep.abc").read_text())
    for name in ("own.json", "own.musicxml"):
        alone = ["arrange", str(songs / "deep.abc"), "--tier", "advanced", "-o", str(songs / name)]
        assert CliRunner().invoke(main, alone).exit_code == 0

    done = run(songs, "-o", tmp_path / "out", "--tier", "beginner")

    assert done.exit_code == 0
    assert "own.json" not in done.stdout
    assert "2 of 2 tunes arranged." in done.stdout
    written = sorted((tmp_path / "out").iterdir())
    assert [path.suffix for path in written] == [".json", ".pdf"] * 2
    assert written[1].read_bytes().startswith(b"%PDF")
    assert {json.loads(path.read_bytes())["tier"] for path in written[::2]} == {"beginner"}


def test_a_solo_of_a_book_is_the_one_that_the_tune_gives_alone(folder, tmp_path):
    run(folder / "more" / "deep.abc", "-o", tmp_path / "out", "--tier", "advanced", "--as", ".json")
    alone = ["arrange", str(folder / "more" / "deep.abc"), "--tier", "advanced", "-o", str(tmp_path / "alone.json")]
    assert CliRunner().invoke(main, alone).exit_code == 0

    (path,) = (tmp_path / "out").iterdir()

    assert path.read_bytes() == (tmp_path / "alone.json").read_bytes()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--chords", "G"), "--chords: it is for a single tune"),
        (("--number", "1"), "--number: it is for a single tune"),
        (("--part", "1"), "--part: it is for a single tune"),
    ],
)
def test_what_a_book_cannot_have_is_said_in_a_line(folder, tmp_path, words, said):
    done = run(folder, "-o", tmp_path / "out", *words)

    assert done.exit_code == 2
    assert done.stderr.count("\n") == 1
    assert said in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_folder_without_tunes_is_refused(tmp_path):
    (tmp_path / "empty").mkdir()
    empty = run(tmp_path / "empty", "-o", tmp_path / "out")

    assert empty.exit_code == 2
    assert "no tune file in this folder" in empty.stderr


def test_a_book_that_comes_to_nothing_is_refused_and_no_folder_is_left_save_what_was_there(tmp_path, one_core):
    (tmp_path / "silent.abc").write_text(SILENT.format(1, "Silent"))
    (tmp_path / "mine").mkdir()

    for out in (tmp_path / "mine", tmp_path / "mine" / "new" / "deep"):
        silent = run(tmp_path / "silent.abc", "-o", out)

        assert silent.exit_code == 2
        assert "no tune could be arranged" in silent.stderr
        assert "no melody" in silent.stdout

    assert (tmp_path / "mine").is_dir()
    assert list((tmp_path / "mine").iterdir()) == []


def test_kinds_are_for_books_only(tmp_path):
    tune = str(files("coach.tunes") / "demo" / "mill-lane.abc")
    done = CliRunner().invoke(
        main, ["arrange", tune, "--tier", "beginner", "--as", ".json", "-o", str(tmp_path / "x.json")]
    )

    assert done.exit_code == 2
    assert "only a book" in done.stderr


def test_an_output_that_is_no_folder_is_refused(folder, tmp_path):
    (tmp_path / "file").write_text("x")

    done = run(folder, "-o", tmp_path / "file")

    assert done.exit_code == 2
    assert "the folder cannot be made" in done.stderr
