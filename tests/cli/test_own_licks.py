"""Licks of one's own on the command line."""

import json
from importlib.resources import files

from click.testing import CliRunner

from coach.cli import main

LANE = str(files("coach.tunes") / "demo" / "mill-lane.abc")
LICKS = {
    "format": "licks/1",
    "licks": [
        {"name": "over the hill", "chord": "G", "slots": "T33,p32 I20 M10 T40,h42 I20 M10 T30 -", "use": "tag"},
        {"name": "down again", "chord": "G", "slots": "T40,h42 I20 M10 T30", "use": "tag"},
    ],
}


def run(*words):
    return CliRunner().invoke(main, ["arrange", *map(str, words)])


def written(tmp_path, licks=None):
    path = tmp_path / "licks.json"
    path.write_text(json.dumps(LICKS if licks is None else licks), encoding="utf-8")
    return path


def test_an_advanced_solo_takes_licks_of_ones_own_and_tells_them_by_name(tmp_path):
    plain, own, again = (tmp_path / f"{name}.json" for name in ("plain", "own", "again"))
    licks = written(tmp_path)
    run(LANE, "--tier", "advanced", "-o", plain)
    done = run(LANE, "--tier", "advanced", "--licks", licks, "--explain", "-o", own)
    run(LANE, "--tier", "advanced", "--licks", licks, "-o", again)

    assert done.exit_code == 0
    assert "“over the hill”" in done.stdout or "“down again”" in done.stdout
    assert own.read_bytes() != plain.read_bytes()
    assert own.read_bytes() == again.read_bytes()


def test_a_file_that_holds_no_licks_is_refused(tmp_path):
    broken = {"licks": [{"name": "mine", "chord": "G", "slots": "T30 T30"}]}
    for licks, words in ((broken, "licks.json, lick “mine”: its fingers TT follow no named roll"), ([], "no licks")):
        done = run(LANE, "--tier", "advanced", "--licks", written(tmp_path, licks), "-o", tmp_path / "out.svg")
        assert done.exit_code == 2
        assert words in done.stderr
        assert not (tmp_path / "out.svg").exists()


def test_a_solo_that_is_there_already_takes_no_licks(tmp_path):
    solo = tmp_path / "solo.json"
    run(LANE, "--tier", "advanced", "-o", solo)
    done = run(solo, "--licks", written(tmp_path), "-o", tmp_path / "out.svg")
    assert done.exit_code == 2
    assert "--licks" in done.stderr
