"""What hands cannot do, in a few sentences."""

from __future__ import annotations

from dataclasses import replace

from coach.arranging.arrange import arrange
from coach.arranging.arrangement import Arrangement
from coach.arranging.complaints import OF_HANDS, complaints
from coach.arranging.rules import RULES, broken_rules
from coach.tunes.demo import demo_tune


def all_thumbs(solo: Arrangement) -> Arrangement:
    return replace(
        solo,
        measures=tuple(
            replace(measure, plucks=tuple(replace(pluck, finger="T") for pluck in measure.plucks))
            for measure in solo.measures
        ),
    )


def test_a_sound_solo_has_none() -> None:
    assert complaints(arrange(demo_tune("mill-lane"), "intermediate")) == ()


def test_they_come_in_order_and_the_rest_is_counted() -> None:
    solo = all_thumbs(arrange(demo_tune("mill-lane"), "intermediate"))
    every = complaints(solo, most=10_000)
    assert len(every) > 12
    assert len(every) == len({(each.measure, each.rule) for each in broken_rules(solo) if each.rule in OF_HANDS})
    first = next(each for each in broken_rules(solo) if each.rule == "finger twice").sentence
    assert sum(sentence.startswith(f"{first[:-1]} and in ") for sentence in every) == 1
    numbers = [int(sentence.split()[1].rstrip(":")) for sentence in every]
    assert numbers == sorted(numbers)
    assert complaints(solo, most=5) == (*every[:5], f"There are {len(every) - 5} more of the kind.")
    assert complaints(solo, most=len(every) - 1) == (*every[:-1], "There is one more of the kind.")
    assert complaints(solo, most=len(every)) == every


def test_what_a_tier_leaves_out_of_a_tune_is_no_matter_of_hands() -> None:
    assert set(RULES) >= OF_HANDS
    solo = arrange(demo_tune("mill-lane"), "intermediate")
    as_beginner = replace(
        solo, tier="beginner", measures=tuple(replace(measure, tier="beginner") for measure in solo.measures)
    )
    assert {"beginner fills"} <= {each.rule for each in broken_rules(as_beginner)}
    assert not {each.rule for each in broken_rules(as_beginner)} & OF_HANDS
    assert complaints(as_beginner) == ()
