"""The arrange command, as a user runs it."""

import json
import wave
from importlib.resources import files

import pytest
from click.testing import CliRunner

from coach.cli import main
from coach.cli.files import write_whole
from coach.errors import InputError

ABC = "X:1\nT:Short\nM:4/4\nL:1/4\nK:G\n" + '"G"G A B d|"D7"A4|\n\nX:2\nT:Second\nM:4/4\nL:1/4\nK:D\n"D"D F A d|D4|\n'


@pytest.fixture
def book(tmp_path):
    path = tmp_path / "book.abc"
    path.write_text(ABC, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, ["arrange", *map(str, words)])


def test_all_three_tiers_are_written_under_their_names(book, tmp_path):
    done = run(book, "--tier", "all", "-o", tmp_path / "solo-{tier}.json")

    assert done.exit_code == 0
    for tier in ("beginner", "intermediate", "advanced"):
        assert json.loads((tmp_path / f"solo-{tier}.json").read_bytes())["tier"] == tier


@pytest.mark.parametrize(
    ("suffix", "start"),
    [(".json", b"{"), (".txt", b"Short"), (".mid", b"MThd"), (".svg", b"<svg"), (".mei", b"<?xml"), (".wav", b"RIFF")],
)
def test_the_suffix_says_what_is_written(book, tmp_path, suffix, start):
    out = tmp_path / f"solo{suffix}"

    assert run(book, "--tier", "beginner", "-o", out).exit_code == 0
    assert out.read_bytes().startswith(start)


def test_a_wav_has_the_accompaniment_only_where_it_is_asked_for_and_keeps_the_tempo(book, tmp_path):
    def frames(name, *more):
        assert run(book, "--tier", "beginner", "-o", tmp_path / name, *more).exit_code == 0
        with wave.open(str(tmp_path / name)) as file:
            return file.getnframes(), file.readframes(file.getnframes())

    plain = frames("plain.wav", "--tempo", 120)

    assert frames("with.wav", "--tempo", 120, "--accompaniment")[1] != plain[1]
    assert frames("again.wav", "--tempo", 120) == plain
    assert frames("slow.wav", "--tempo", 60)[0] - plain[0] == 8 * 0.5 * 44100


def test_an_arrangement_is_written_otherwise(book, tmp_path):
    run(book, "--tier", "advanced", "-o", tmp_path / "solo.json")

    assert run(tmp_path / "solo.json", "-o", tmp_path / "again.json").exit_code == 0
    assert (tmp_path / "again.json").read_bytes() == (tmp_path / "solo.json").read_bytes()


def test_the_same_call_gives_the_same_bytes(book, tmp_path):
    for name in ("one.json", "two.json"):
        run(book, "--tier", "intermediate", "--key", "A", "-o", tmp_path / name)

    assert (tmp_path / "one.json").read_bytes() == (tmp_path / "two.json").read_bytes()


def test_key_capo_tuning_chords_and_number_reach_the_arranger(book, tmp_path):
    out = tmp_path / "solo.json"

    assert run(book, "--tier", "beginner", "--number", 2, "--key", "E", "--capo", 2, "-o", out).exit_code == 0
    solo = json.loads(out.read_bytes())
    assert (solo["title"], solo["key"], solo["sounding_key"], solo["capo"]) == ("Second", "D major", "E major", 2)

    assert run(book, "--tier", "beginner", "--tuning", "open D", "--chords", "Em | D", "-o", out).exit_code == 0
    solo = json.loads(out.read_bytes())
    assert solo["tuning"]["name"] == "open D"
    assert len(solo["measures"][0]["chords"]) == 1


def test_the_tempo_of_a_midi_file_can_be_said(book, tmp_path):
    for tempo in (80, 120):
        run(book, "--tier", "beginner", "--tempo", tempo, "-o", tmp_path / f"{tempo}.mid")

    assert (500_000).to_bytes(3, "big") in (tmp_path / "120.mid").read_bytes()  # microseconds a quarter, by arithmetic
    assert (750_000).to_bytes(3, "big") in (tmp_path / "80.mid").read_bytes()


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["nowhere.abc", "--tier", "all", "-o", "x-{tier}.json"], "nowhere.abc: the file cannot be opened"),
        (["BOOK", "--tier", "all", "-o", "x.json"], "put {tier} into the name"),
        (["BOOK", "--tier", "beginner", "-o", "x.docx"], "choose one of .json"),
        (["BOOK", "-o", "x.json"], "which solo is not said"),
        (["BOOK", "--tier", "beginner", "--key", "H", "-o", "x.json"], "'H' is no key"),
        (["BOOK", "--tier", "beginner", "--capo", "12", "-o", "x.json"], "12 is not in the range 0<=x<=11"),
        (["BOOK", "--tier", "beginner", "--capo", "-1", "-o", "x.json"], "'--capo'"),
        (["BOOK", "--tier", "beginner", "--tempo", "nan", "-o", "x.mid"], "nan is no number"),
        (["BOOK", "--tier", "expert", "-o", "x.json"], "'expert' is not one of"),
        (["BOOK", "--tier", "beginner"], "-o: no file to write is named; name one, like solo.svg"),
        (["BOOK", "--tier", "beginner", "--no-such", "-o", "x.json"], "No such option"),
        (["BOOK", "--tier", "beginner", "--number", "9", "-o", "x.json"], "9"),
        (["BOOK", "--tier", "beginner", "-o", "missing/x.json"], "the file cannot be written"),
    ],
)
def test_what_goes_wrong_is_said_in_one_line_with_exit_status_2(book, tmp_path, monkeypatch, words, what):
    monkeypatch.chdir(tmp_path)
    done = run(*[str(book) if word == "BOOK" else word for word in words])

    assert done.exit_code == 2
    assert done.stderr.count("\n") == 1
    assert what in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["book.abc"]


def test_options_of_a_tune_are_refused_with_an_arrangement(book, tmp_path):
    run(book, "--tier", "beginner", "-o", tmp_path / "solo.json")
    done = run(tmp_path / "solo.json", "--tier", "advanced", "-o", tmp_path / "x.txt")

    assert done.exit_code == 2
    assert not (tmp_path / "x.txt").exists()


def test_help_shows_an_example():
    done = run("--help")

    assert done.exit_code == 0
    assert "Example: coach arrange" in done.stdout


def test_of_several_files_none_is_left_when_one_cannot_be_written(tmp_path):
    (tmp_path / "here").mkdir()

    with pytest.raises(InputError, match="cannot be written"):
        write_whole({tmp_path / "here" / "a": b"1", tmp_path / "gone" / "b": b"2"})

    assert list((tmp_path / "here").iterdir()) == []


def test_of_several_files_none_is_put_in_place_when_a_folder_has_the_name_of_another(tmp_path):
    (tmp_path / "second").mkdir()

    with pytest.raises(InputError, match="second: the file cannot be written"):
        write_whole({tmp_path / "first": b"1", tmp_path / "second": b"2"})

    assert [path.name for path in tmp_path.iterdir()] == ["second"]


@pytest.mark.parametrize("words", [["strum"], ["--no-such"]])
def test_what_is_no_command_is_said_in_one_line(words):
    done = CliRunner().invoke(main, words)

    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.startswith("coach: No such ")
    assert done.stderr.count("\n") == 1


def test_with_nothing_said_the_commands_are_listed():
    done = CliRunner().invoke(main, [])

    assert done.exit_code == 2
    assert "Commands:" in done.stderr


def test_a_demo_tune_can_be_arranged_from_where_it_is_installed(tmp_path):
    path = files("coach.tunes") / "demo" / "mill-lane.abc"

    assert run(path, "--tier", "all", "-o", tmp_path / "{tier}.txt").exit_code == 0


def test_where_a_book_has_more_tunes_the_one_that_was_taken_is_named(book, tmp_path):
    out = tmp_path / "solo.json"

    unsaid = run(book, "--tier", "beginner", "-o", out)
    title = json.loads(out.read_bytes())["title"]
    asked = run(book, "--tier", "beginner", "--number", 1, "-o", out)

    said = f"coach: {book.name}: the file holds 2 tunes; this is number 1, {title}: choose with --number.\n"
    assert (unsaid.exit_code, unsaid.stderr) == (0, said)
    assert (asked.exit_code, asked.stderr) == (0, "")


def test_what_no_solo_can_be_made_of_is_told_with_the_name_of_the_file(tmp_path):
    tune = tmp_path / "huge.abc"
    tune.write_text("X:1\nT:Huge\nM:4/4\nL:1/4\nK:C\nC,, E, g c''| C,,, c''' C E|]\n", encoding="utf-8")

    done = run(tune, "--tier", "beginner", "-o", tmp_path / "solo.json")

    assert done.exit_code == 2
    assert done.stderr.startswith("coach: huge.abc, melody: the melody spans 84 semitones")
