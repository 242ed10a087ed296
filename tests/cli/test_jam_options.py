"""Kick-off, ending, measures and back-up on the arrange command, as a user asks for them."""

import json

import pytest
from click.testing import CliRunner

from coach.arranging.files import from_json
from coach.arranging.rules import broken_rules
from coach.cli import main

ABC = "X:1\nT:Short\nM:4/4\nL:1/4\nK:G\n" + '"G"G A B d|"C"e d c A|"D7"A B A F|"G"G4|\n'


@pytest.fixture
def tune(tmp_path):
    path = tmp_path / "short.abc"
    path.write_text(ABC, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, ["arrange", *map(str, words)])


def solo_of(path):
    return from_json(path.read_bytes(), path.name)


def test_a_whole_break_is_written(tune, tmp_path):
    out = tmp_path / "break.json"
    wished = ("--kick-off", "notes", "--measures", "2-3", "--ending")

    assert run(tune, "--tier", "intermediate", *wished, "-o", out).exit_code == 0
    solo = solo_of(out)
    assert [measure.number for measure in solo.measures] == [0, 1, 2, 3, 4]
    assert [measure.source_measure for measure in solo.measures] == [0, 2, 3, 5, 6]
    assert broken_rules(solo) == ()


def test_a_strain_is_named_by_its_letter(tune, tmp_path):
    two = tmp_path / "two.abc"
    two.write_text(ABC.replace('"D7"A B', '|"D7"A B'), encoding="utf-8")
    out = tmp_path / "strain.json"

    assert run(two, "--tier", "beginner", "--measures", "B", "-o", out).exit_code == 0
    assert [measure.source_measure for measure in solo_of(out).measures] == [3, 4]


def test_an_arrangement_does_not_tell_its_strains(tune, tmp_path):
    run(tune, "--tier", "beginner", "-o", tmp_path / "solo.json")
    done = run(tmp_path / "solo.json", "--measures", "A", "-o", tmp_path / "out.json")

    assert done.exit_code == 2
    assert "does not tell its strains" in done.stderr


def test_every_tier_and_a_solo_that_was_made_before_can_be_kicked_off(tune, tmp_path):
    run(tune, "--tier", "all", "-o", tmp_path / "{tier}.json")

    assert run(tune, "--tier", "all", "--kick-off", "beats", "-o", tmp_path / "{tier}-break.json").exit_code == 0
    for tier in ("beginner", "intermediate", "advanced"):
        made = tmp_path / f"{tier}-again.json"
        assert run(tmp_path / f"{tier}.json", "--kick-off", "beats", "-o", made).exit_code == 0
        assert made.read_bytes() == (tmp_path / f"{tier}-break.json").read_bytes()
        assert len(solo_of(made).measures) == 5


@pytest.mark.parametrize(
    ("wish", "tempo", "roles"),
    [
        ("vamp", 80, {"pinch"}),
        ("rolls", 160, {"fill", "drone"}),
        ("by-tempo", 99, {"fill", "drone"}),
        ("by-tempo", 100, {"pinch"}),
    ],
)
def test_a_back_up_part_is_written(tune, tmp_path, wish, tempo, roles):
    out = tmp_path / "part.json"

    assert run(tune, "--back-up", wish, "--tempo", tempo, "-o", out).exit_code == 0
    part = solo_of(out)
    assert {pluck.role for _, pluck in part.plucks()} == roles
    assert part.title == "Short (back-up)"


def test_a_back_up_part_of_some_measures_of_a_solo(tune, tmp_path):
    run(tune, "--tier", "beginner", "-o", tmp_path / "solo.json")

    assert run(tmp_path / "solo.json", "--back-up", "vamp", "--measures", "2", "-o", tmp_path / "p.json").exit_code == 0
    assert len(json.loads((tmp_path / "p.json").read_bytes())["measures"]) == 1


@pytest.mark.parametrize("tier", ["beginner", "advanced"])
def test_a_whole_run_is_written(tune, tmp_path, tier):
    out = tmp_path / "run.json"

    assert run(tune, "--tier", tier, "--jam", "2", "-o", out).exit_code == 0
    solo = solo_of(out)
    assert broken_rules(solo) == ()
    assert [measure.source_measure for measure in solo.measures] == [0, *[1, 2, 3, 4] * 4, 5, 6]
    assert solo.remarks[-1] == (
        f"The {tier} solo is in 1-4 and 13-16, back-up (an off-beat vamp) in 5-12, the ending in 17-18."
    )


def test_a_run_can_be_of_some_measures_with_beats_and_soft_rolls_of_a_solo_that_was_made(tune, tmp_path):
    run(tune, "--tier", "beginner", "-o", tmp_path / "solo.json")
    wished = ("--jam", "1", "--measures", "2-3", "--kick-off", "beats", "--back-up", "by-tempo", "--tempo", "90")

    assert run(tmp_path / "solo.json", *wished, "-o", tmp_path / "run.json").exit_code == 0
    solo = solo_of(tmp_path / "run.json")
    assert [measure.source_measure for measure in solo.measures] == [0, 2, 3, 2, 3, 2, 3, 4, 5]
    assert "(soft rolls)" in solo.remarks[-1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--tier", "beginner", "--measures", "2-9"), "measures 2 to 9 are no part of the solo"),
        (("--tier", "beginner", "--measures", "3-2"), "measures 3 to 2 are no part of the solo"),
        (("--tier", "beginner", "--measures", "B"), "the tune has no strain 'B'"),
        (("--tier", "beginner", "--measures", "two"), "'two' names no measures"),
        (("--back-up", "vamp", "--ending"), "a back-up part has no kick-off and no ending"),
        (("--back-up", "vamp", "--tier", "beginner"), "a back-up part has no tier"),
        (("--back-up", "vamp", "--mix", "advanced=2"), "--mix: it is for a solo, not for a back-up part"),
        (("--back-up", "vamp", "--edits", "wishes.json"), "--edits: it is for a solo, not for a back-up part"),
        (("--tier", "beginner", "--kick-off", "drums"), "drums"),
        (("--book", "--measures", "1-2"), "it is for a single tune"),
        (("--book", "--back-up", "vamp"), "it is for a single tune"),
        (("--book", "--jam", "1"), "it is for a single tune"),
        (("--tier", "beginner", "--jam", "9"), "9 is not in the range"),
    ],
)
def test_what_does_not_go_together_is_said_in_a_line(tune, tmp_path, words, said):
    done = run(tune, *words, "-o", tmp_path / "out.json")

    assert done.exit_code == 2
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "out.json").exists()
