"""The study command, as a user runs it, and what is done with a study afterwards."""

import json

import pytest
from click.testing import CliRunner

from coach.cli import main
from coach.service.jobs import Solo, read_file, tiers_of

ASKED = ("forward", "--chords", "G | C | D7 | G")


def run(*words):
    return CliRunner().invoke(main, [*map(str, words)])


@pytest.mark.parametrize(
    ("suffix", "start"), [(".json", b"{"), (".txt", b"Forward roll"), (".mid", b"MThd"), (".svg", b"<svg")]
)
def test_the_suffix_says_what_is_written(tmp_path, suffix, start):
    out = tmp_path / f"study{suffix}"

    assert run("study", *ASKED, "-o", out).exit_code == 0
    assert out.read_bytes().startswith(start)


def test_every_option_reaches_the_study(tmp_path):
    out = tmp_path / "study.json"
    wished = ("--meter", "3/4", "--tuning", "double C", "--capo", 2, "--measures", 6, "--tempo", 90)

    assert run("study", "alternating thumb", "--chords", "C | F", *wished, "-o", out).exit_code == 0
    study = json.loads(out.read_bytes())
    assert (study["meter"], study["tuning"]["name"], study["capo"]) == ("3/4", "double C", 2)
    assert len(study["measures"]) == 7
    assert "Goal: 90 quarters a minute." in study["remarks"]


def test_the_tempo_is_that_of_the_midi_file(tmp_path):
    run("study", *ASKED, "--tempo", 120, "-o", tmp_path / "study.mid")

    # Microseconds a quarter, by arithmetic.
    assert (500_000).to_bytes(3, "big") in (tmp_path / "study.mid").read_bytes()


def test_a_measure_that_is_held_for_six_quarters_is_drawn(tmp_path):
    out = tmp_path / "study.svg"

    assert run("study", "forward", "--chords", "G", "--meter", "12/8", "-o", out).exit_code == 0
    assert b"m2e1" in out.read_bytes()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("forward", "--chords", "G | H"), "'H' is no chord name that is known"),
        (("sideways", "--chords", "G"), "sideways"),
        (("forward", "--chords", "G", "--meter", "7/8"), "7/8"),
        (("forward", "--chords", "G", "--measures", "0"), "0"),
        (("forward",), "--chords"),
    ],
)
def test_what_cannot_be_used_is_said_in_a_line(tmp_path, words, said):
    done = run("study", *words, "-o", tmp_path / "study.json")

    assert done.exit_code == 2
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not list(tmp_path.iterdir())


def test_a_study_is_reported_like_any_solo_and_has_no_melody_to_hear(tmp_path):
    for suffix in ("json", "mid"):
        run("study", *ASKED, "-o", tmp_path / f"study.{suffix}")
    done = run("report", tmp_path / "study.json", "--tier", "beginner", tmp_path / "study.mid", "--json")

    assert done.exit_code == 0
    report = json.loads(done.stdout)
    assert report["passes"][0]["clean"]
    assert {measure["melody_heard"] for measure in report["measures"]} == {None}
    assert report["summary"]["played_share"] == 1.0
    # In a table for people the column of the melody is empty.
    assert run("report", tmp_path / "study.json", tmp_path / "study.mid").exit_code == 0


def test_a_study_is_served_like_any_solo(tmp_path):
    run("study", *ASKED, "-o", tmp_path / "study.json")
    (given,), complaints = read_file((tmp_path / "study.json").read_bytes(), "study.json")

    assert (given.title, given.meter, given.measures, complaints) == ("Forward roll", "4/4", 5, ())
    assert isinstance(given.source, Solo)
    assert tiers_of(given.source) == ("beginner",)
