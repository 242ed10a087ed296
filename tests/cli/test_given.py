"""Solos that are given as such, on the command line: an arrangement, or MusicXML with a banjo tablature."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from coach.arranging.arrange import arrange
from coach.arranging.arrangement import Arrangement
from coach.cli import main
from coach.cli.given import gives_solo
from coach.sheets.midi import to_midi
from coach.sheets.musicxml import to_musicxml
from coach.tunes.demo import demo_bytes, demo_tune


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def solo() -> Arrangement:
    return arrange(demo_tune("lamps-on-the-water"), "intermediate")


@pytest.fixture
def tab(solo: Arrangement, tmp_path: Path) -> Path:
    path = tmp_path / "lamps.musicxml"
    path.write_text(to_musicxml(solo), "utf-8")
    return path


@pytest.fixture
def broken(tab: Path) -> Path:
    path = tab.with_name("thumbs.musicxml")
    text = tab.read_text("utf-8").replace("<pluck>I</pluck>", "<pluck>T</pluck>")
    path.write_text(text.replace("<pluck>M</pluck>", "<pluck>T</pluck>"), "utf-8")
    return path


def plucks(path: Path) -> list[tuple[object, ...]]:
    told = json.loads(path.read_bytes())
    return [
        tuple(pluck[name] for name in ("id", "at", "string", "fret", "finger", "technique"))
        for measure in told["measures"]
        for pluck in measure["plucks"]
    ]


def test_a_solo_goes_out_as_musicxml_and_comes_back(tmp_path: Path) -> None:
    first, score, again = (tmp_path / name for name in ("a.json", "b.musicxml", "c.json"))
    source = tmp_path / "lamps.abc"
    source.write_bytes(demo_bytes("lamps-on-the-water"))
    assert run("arrange", source, "--tier", "intermediate", "-o", first).exit_code == 0
    assert run("arrange", first, "-o", score, "--tempo", 96).exit_code == 0
    done = run("arrange", score, "-o", again)
    assert (done.exit_code, done.stderr) == (0, "")
    assert plucks(again) == plucks(first)
    assert "<per-minute>96</per-minute>" in score.read_text("utf-8")


def test_with_a_tier_named_the_tune_of_the_score_is_arranged_anew(tab: Path, tmp_path: Path) -> None:
    out = tmp_path / "new.json"
    assert run("arrange", tab, "--tier", "beginner", "-o", out).exit_code == 0
    assert json.loads(out.read_bytes())["tier"] == "beginner"


def test_broken_rules_are_said_and_the_solo_is_written(broken: Path, tmp_path: Path) -> None:
    out = tmp_path / "thumbs.json"
    done = run("arrange", broken, "-o", out)
    assert done.exit_code == 0
    lines = done.stderr.splitlines()
    assert len(lines) == 13
    assert all(line.startswith("coach: Measure ") for line in lines[:12])
    assert lines[12].endswith("more of the kind.")
    assert {row[4] for row in plucks(out)} == {"T"}
    assert run("arrange", out, "-o", tmp_path / "thumbs.txt").stderr == done.stderr


def test_a_take_is_reported_against_a_tablature(tab: Path, broken: Path, solo: Arrangement, tmp_path: Path) -> None:
    take = tmp_path / "take.mid"
    take.write_bytes(to_midi(solo, tempo=90.0))
    done = run("report", tab, take, "--json")
    told = json.loads(done.stdout)
    assert (done.exit_code, told["title"], told["tier"]) == (0, solo.title, "intermediate")
    assert {note["verdict"] for note in told["notes"]} == {"on time"}
    assert len(told["notes"]) == sum(1 for _ in solo.plucks())
    assert done.stderr == ""

    thumbs = run("report", broken, take, "--json")
    assert thumbs.stderr.count("coach: Measure ") == 12
    assert {note["verdict"] for note in json.loads(thumbs.stdout)["notes"]} == {"on time"}


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (
            ("--capo", "2"),
            "--capo: this is for a tune, and lamps.musicxml is a solo already; leave it out, or name a --tier",
        ),
        (("--tier", "all"), "three solos need three files"),
    ],
)
def test_what_makes_no_sense_is_said(tab: Path, tmp_path: Path, words: tuple[str, ...], what: str) -> None:
    done = run("arrange", tab, "-o", tmp_path / "x.json", *words)
    assert (done.exit_code, done.stderr.count("\n")) == (2, 1)
    assert what in done.stderr


def test_a_guitar_tablature_alone_is_refused_in_a_sentence(tab: Path, tmp_path: Path) -> None:
    text = tab.read_text("utf-8").replace("<staff-lines>5<", "<staff-lines>6<")
    start, end = text.index('<part id="P1">'), text.index('<part id="P2">')
    path = tmp_path / "guitar.musicxml"
    path.write_text(text[:start] + text[end:], "utf-8")
    done = run("arrange", path, "-o", tmp_path / "x.json")
    assert done.exit_code == 2
    assert (
        done.stderr == f"coach: {path}: the tablature has 6 lines; give one of five lines, for the five-string banjo.\n"
    )


def test_which_files_are_solos(tab: Path, tmp_path: Path) -> None:
    assert gives_solo(tab, None)
    assert not gives_solo(tab, "beginner")
    assert gives_solo(Path("anything.json"), "beginner")
    assert not gives_solo(tmp_path / "not-there.musicxml", None)
    assert not gives_solo(Path("tune.abc"), None)
