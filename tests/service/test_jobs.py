"""What workers do: files of strangers, the demo's files, and solos that go beyond a tier's own."""

from dataclasses import replace
from typing import Any

import pytest

from coach.arranging.arrange import arrange
from coach.arranging.backup import back_up
from coach.arranging.difficulty import difficulty
from coach.arranging.files import digest, from_json, to_json
from coach.arranging.rules import broken_rules
from coach.errors import ArrangeError
from coach.instrument.rolls import ROLLS
from coach.service.jobs import demo_files, jam_of, mixed_of, read_file, solo_of
from coach.tunes.demo import DEMO_TUNES
from coach.tunes.tune import Tune

TUNE = b'X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\n"G"GABc|dedB|"D7"AFAF|"G"G4|]\n'


@pytest.mark.parametrize(
    "name", ["", "..", ".", "../../a.abc", "a\\b.abc", "é" * 80, "a\x00b.abc", "a\nb.abc", "\U0001d122" * 80 + ".abc"]
)
def test_a_file_may_have_any_name(name: str) -> None:
    tunes, complaints = read_file(TUNE, name)

    assert ([tune.title for tune in tunes], complaints) == (["Gate"], ())


# ------------------------------------------------------------------------------------------ roll studies


def test_the_demo_has_a_study_of_each_roll_behind_its_tunes() -> None:
    given = [tune for name, data in demo_files() for tune in read_file(data, name)[0]]
    studies = [tune for tune in given if tune.study]

    assert [tune.title for tune in given[: len(DEMO_TUNES)]] == list(DEMO_TUNES.values())
    assert [tune.title for tune in studies] == [f"{roll.capitalize()} roll" for roll in ROLLS]
    assert given[len(DEMO_TUNES) :] == studies
    for study in studies:
        solo = solo_of(study.source, "beginner")
        assert broken_rules(solo.arrangement) == ()
        assert [m.chords[0].chord.symbol for m in solo.arrangement.measures] == [*"GCDGGCDG", "G"]


def test_a_study_has_an_id_of_its_own_whatever_its_notes_come_out_as() -> None:
    name, data = demo_files()[-1]
    study = from_json(data, name)
    first, *others = study.measures
    otherwise = replace(study, measures=(replace(first, plucks=first.plucks[:-1]), *others))
    (given,), _ = read_file(data, name)
    (changed,), _ = read_file(to_json(otherwise), name)

    assert given.id == changed.id == study.tune
    assert changed.study


def test_a_back_up_part_and_a_solo_are_no_studies(tune: Tune) -> None:
    solo = arrange(tune, "beginner")
    for each in (solo, back_up(solo)):
        (given,), _ = read_file(to_json(each), "solo.json")
        assert not given.study


# ------------------------------------------------------------------------------------------ more than a tier's own


def test_a_solo_tells_how_hard_its_measures_are(solos: Any) -> None:
    for solo in solos.values():
        told = difficulty(solo.arrangement).measures
        assert solo.difficulty == tuple(measure.parts.index for measure in told)
    assert sum(solos["beginner"].difficulty) < sum(solos["advanced"].difficulty)


def test_a_mixed_solo_has_the_measures_of_the_next_tier(tune: Tune, solos: Any) -> None:
    mixed = mixed_of(tune, "beginner", (2, 4))

    assert [measure.tier for measure in mixed.arrangement.measures] == [
        "beginner",
        "intermediate",
        "beginner",
        "intermediate",
    ]
    assert mixed.digest == digest(mixed.arrangement) not in {solo.digest for solo in solos.values()}
    assert from_json(mixed.file, "mixed.json") == mixed.arrangement
    assert len(mixed.difficulty) == 4


def test_what_has_no_next_tier_is_not_mixed(tune: Tune, solos: Any) -> None:
    with pytest.raises(ArrangeError, match="there is no next tier to mix in"):
        mixed_of(tune, "advanced", (2,))
    with pytest.raises(ArrangeError, match="there is no next tier to mix in"):
        mixed_of(solos["beginner"], "beginner", (2,))


def test_a_jam_run_of_a_solo_is_a_solo(solos: Any) -> None:
    run = jam_of(solos["intermediate"])

    assert [measure.source_measure for measure in run.arrangement.measures] == [0, *[1, 2, 3, 4] * 3, 5, 6]
    assert run.arrangement.tune == solos["intermediate"].arrangement.tune
    assert from_json(run.file, "run.json") == run.arrangement
