"""A tune as the ladder sees it."""

from dataclasses import replace
from typing import Any

import pytest

from coach.arranging.arrangement import TIERS
from coach.arranging.studies import warm_ups
from coach.service.courses import course_of
from coach.service.jobs import Solo
from coach.service.pieces import Piece
from coach.tunes.demo import demo_tune


def test_each_tier_has_its_measures_with_how_hard_and_how_long_they_are(solos: Any) -> None:
    course = course_of("lane", solos)

    assert (course.tune, course.repeats) == ("lane", {})
    assert [tier.name for tier in course.tiers] == list(TIERS)
    for plan in course.tiers:
        solo = solos[plan.name]
        assert [measure.number for measure in plan.measures] == [1, 2, 3, 4]
        assert [measure.quarters for measure in plan.measures] == [4.0] * 4
        assert tuple(measure.difficulty for measure in plan.measures) == solo.difficulty
        assert plan.load == pytest.approx(sum(len(m.plucks) for m in solo.arrangement.measures) / 16)
    assert course.tiers[0].load < course.tiers[2].load


def test_what_cannot_be_made_is_not_on_the_way(solos: Any) -> None:
    mixed, jam = Piece("lane", "beginner", (2,)), Piece("lane", "advanced", jam=True)
    other = Piece("other", "beginner", (3,), jam=True)

    assert course_of("lane", solos, [mixed, other]).apart == {("beginner", (2,))}
    assert course_of("lane", solos, [mixed, other]).can_jam
    assert not course_of("lane", solos, [jam]).can_jam


def test_tiers_that_are_not_there_are_left_out(solos: Any) -> None:
    assert [tier.name for tier in course_of("lane", {"advanced": solos["advanced"]}).tiers] == ["advanced"]


def test_repeats_and_pickups_keep_their_numbers(solos_of: Any) -> None:
    barrow = course_of("barrow", solos_of(demo_tune("turn-the-barrow")))
    lamps = course_of("lamps", solos_of(demo_tune("lamps-on-the-water")))

    assert barrow.repeats[9] == 1
    assert [(measure.number, measure.quarters) for measure in lamps.tiers[0].measures[:2]] == [(0, 1.0), (1, 3.0)]


def test_a_study_has_nothing_for_the_ear_and_is_not_for_a_jam_nor_is_a_solo_without_chords(solos: Any) -> None:
    solo = solos["beginner"]
    bare = tuple(replace(measure, chords=()) for measure in solo.arrangement.measures)
    without_chords = replace(solo, arrangement=replace(solo.arrangement, measures=bare))
    study = warm_ups()[0]
    studying = Solo(study, "d", b"", (1.0,) * len(study.measures))

    assert course_of("lane", solos).can_jam
    assert not course_of("lane", {"beginner": without_chords}).can_jam
    assert not course_of("study", {"beginner": studying}).can_jam
    assert course_of("lane", {"beginner": without_chords}).by_ear
    assert not course_of("study", {"beginner": studying}).by_ear
