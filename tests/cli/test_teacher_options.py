"""What a teacher asks of the arrange command: edits, other ways, tiers by measure."""

import json
import re
from importlib.resources import files
from pathlib import Path

import pytest
from click.testing import CliRunner

from coach.cli import main

LANE = str(files("coach.tunes") / "demo" / "mill-lane.abc")


def run(*words):
    return CliRunner().invoke(main, ["arrange", *map(str, words)])


def measures(path):
    return {each["number"]: each for each in json.loads(path.read_bytes())["measures"]}


def places(measure):
    return [(each["at"], each["string"], each["fret"], each["finger"]) for each in measure["plucks"]]


def test_other_ways_are_printed_as_tab_with_their_cost_and_a_sentence():
    done = run(LANE, "--tier", "intermediate", "--ways", 5)

    assert done.exit_code == 0
    blocks = done.stdout.split("\nWay ")
    assert blocks[0].startswith("Mill Lane, intermediate solo, measure 5 as it stands:")
    assert len(blocks) == 9
    for number, block in enumerate(blocks[1:], start=1):
        found = re.match(rf"{number}, (about as good|a little less natural|less natural) \((\d+)\)\. On ", block)
        assert found is not None, block
        extra = int(found[2])
        assert found[1] == (
            "about as good" if extra <= 1 else "a little less natural" if extra <= 5 else "less natural"
        )
        assert sum(line[:2] in {"D|", "B|", "G|", "g|"} for line in block.splitlines()) == 5


def test_where_there_is_no_other_way_that_is_said(tmp_path):
    tune = tmp_path / "bare.abc"
    tune.write_text('X:1\nT:Bare\nM:4/4\nL:1/4\nK:G\n"C"e e e g|"G"d4|\n', encoding="utf-8")
    done = run(tune, "--tier", "beginner", "--ways", 1)

    assert done.exit_code == 0
    assert done.stdout.endswith(
        "No other way through it differs enough: in two slots at least, and in a quarter of them.\n"
    )


def test_a_way_is_taken_into_the_file_of_edits_and_holds_when_the_tune_is_arranged_again(tmp_path):
    edits, plain, out = tmp_path / "edits.json", tmp_path / "plain.json", tmp_path / "out.json"
    tier = ("--tier", "intermediate")
    assert run(LANE, *tier, "-o", plain).exit_code == 0

    assert run(LANE, *tier, "--edits", edits, "--take", "5:2").exit_code == 0
    assert run(LANE, *tier, "--edits", edits, "--take", "9:0", "-o", out).exit_code == 0

    written = json.loads(edits.read_bytes())
    assert (written["format"], [edit["kind"] for edit in written["edits"]]) == ("edits/1", ["lock", "lock"])
    assert places(measures(out)[5]) != places(measures(plain)[5])
    assert places(measures(out)[9]) == places(measures(plain)[9])
    again = tmp_path / "again.json"
    assert run(LANE, *tier, "--edits", edits, "-o", again).exit_code == 0
    assert again.read_bytes() == out.read_bytes()
    assert run(LANE, *tier, "--variation", 3, "--edits", edits, "-o", again).exit_code == 0
    assert [places(measures(again)[n]) for n in (5, 9)] == [places(measures(out)[n]) for n in (5, 9)]


def test_what_is_taken_after_the_tune_was_corrected_makes_the_file_one_for_the_tune_as_it_is(tmp_path):
    edits, tune = tmp_path / "edits.json", tmp_path / "lane.abc"
    source = Path(LANE).read_text(encoding="utf-8")
    tune.write_text(source, encoding="utf-8")
    tier = ("--tier", "intermediate", "--edits", edits)
    assert run(tune, *tier, "--take", "5:2").stderr == ""
    before = json.loads(edits.read_bytes())
    assert (before["tuning"], before["position"]) == ("open G", "G major")
    assert source.count('"D7"') > 0
    tune.write_text(source.replace('"D7"', '"D"', 1), encoding="utf-8")

    done = run(tune, *tier, "--take", "9:0")

    assert done.exit_code == 0
    assert done.stderr.startswith(f"The edits were made for another state of this tune ({before['tune']})")
    after = json.loads(edits.read_bytes())
    assert after["tune"] != before["tune"]
    assert after["edits"][0] == before["edits"][0]
    assert run(tune, *tier, "--take", "9:0").stderr == ""


def test_taking_another_way_of_the_same_measure_takes_the_place_of_the_first(tmp_path):
    edits = tmp_path / "edits.json"
    for way in ("5:1", "5:3"):
        assert run(LANE, "--tier", "advanced", "--edits", edits, "--take", way).exit_code == 0

    assert len(json.loads(edits.read_bytes())["edits"]) == 1


@pytest.mark.parametrize("suffix", [".json", ".txt", ".mid", ".svg", ".mei", ".musicxml"])
def test_a_mixed_solo_is_written_as_every_kind_of_file(tmp_path, suffix):
    out = tmp_path / f"solo{suffix}"

    assert (
        run(LANE, "--tier", "beginner", "--mix", "advanced=3-4,7", "--mix", "intermediate=9", "-o", out).exit_code == 0
    )
    assert out.stat().st_size > 0
    if suffix == ".json":
        assert json.loads(out.read_bytes())["tier"] == "mixed"
        tiers = {number: each["tier"] for number, each in measures(out).items()}
        assert [n for n, tier in tiers.items() if tier == "advanced"] == [3, 4, 7]
        assert [n for n, tier in tiers.items() if tier == "intermediate"] == [9]


def test_a_mixed_solo_is_explained_and_reported_on_like_any(tmp_path):
    solo, take = tmp_path / "solo.json", tmp_path / "take.mid"
    mixing = ("--tier", "beginner", "--mix", "advanced=3-4")
    assert run(LANE, *mixing, "-o", solo).exit_code == 0
    assert run(LANE, *mixing, "-o", take).exit_code == 0

    explained = run(solo, "--explain")
    assert explained.exit_code == 0
    assert explained.stdout.startswith("Mill Lane, mixed: difficulty")

    reported = CliRunner().invoke(main, ["report", str(solo), str(take), "--json"])
    assert reported.exit_code == 0
    report = json.loads(reported.stdout)
    assert report["tier"] == "mixed"
    assert report["summary"]["played_share"] == 1.0


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["--tier", "all", "--ways", "5"], "--ways: it is for the solo of one tier"),
        (["--ways", "5"], "--ways: it is for the solo of one tier"),
        (["--tier", "beginner", "--ways", "40"], "there is no measure 40 as played; choose from 1 to 16"),
        (["--tier", "beginner", "--mix", "advanced=3", "--ways", "5"], "--ways: it is for the solo of one tier"),
        (["--tier", "beginner", "--take", "5:1"], "--take: no file for the edit is named; name one with --edits"),
        (["--tier", "beginner", "--take", "5", "--edits", "e.json"], "'5' does not say which way to take"),
        (["--tier", "beginner", "--take", "1:9", "--edits", "e.json"], "other ways, not 9; list them with --ways"),
        (["--tier", "beginner", "--take", "99:1", "--edits", "e.json"], "there is no measure 99 as played"),
        (["--tier", "beginner", "--edits", "none.json", "-o", "x.json"], "none.json: the file cannot be opened"),
        (
            ["--tier", "beginner", "--edits", "bad.json", "-o", "x.json"],
            'bad.json: these are no edits: "format" is not',
        ),
        (
            ["--tier", "beginner", "--edits", "other.json", "-o", "x.json"],
            "other.json: they are for the tune other-00000000",
        ),
        (["--tier", "beginner", "--mix", "expert=3", "-o", "x.json"], "'expert=3' does not say which measures"),
        (["--tier", "beginner", "--mix", "advanced=x", "-o", "x.json"], "write it like advanced=3-4,7"),
        (
            ["--tier", "beginner", "--mix", "advanced=3-4", "--mix", "intermediate=4", "-o", "x.json"],
            "--mix: measure 4 gets two tiers",
        ),
        (["--tier", "beginner", "--mix", "advanced=99", "-o", "x.json"], "there is no measure 99 as played"),
        (["--tier", "all", "--mix", "advanced=3", "-o", "{tier}.json"], "--mix: it is for the solo of one tier"),
        (["--book", "--mix", "advanced=3", "-o", "x"], "--mix: it is for a single tune"),
    ],
)
def test_what_makes_no_sense_is_said_in_one_line_with_exit_status_2(tmp_path, monkeypatch, words, what):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bad.json").write_text("{}", encoding="utf-8")
    (tmp_path / "other.json").write_text(
        '{"format": "edits/1", "tune": "other-00000000", "edits": []}', encoding="utf-8"
    )

    done = run(LANE, *words)

    assert done.exit_code == 2
    assert what in done.stderr
    assert done.stderr.count("\n") == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bad.json", "other.json"]


def test_an_arrangement_has_no_other_ways(tmp_path):
    run(LANE, "--tier", "beginner", "-o", tmp_path / "solo.json")

    done = run(tmp_path / "solo.json", "--ways", 3)

    assert done.exit_code == 2
    assert "is a solo already; leave it out, or give the tune." in done.stderr
