from __future__ import annotations

from dataclasses import replace

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.free_time import Detour, FreePass, hear_freely
from coach.listening.free_words import detour_sentence, detour_sentences, tempo_sentence
from coach.listening.places import places_of
from coach.listening.plan import PassPlan


def with_tempos(solo: Arrangement, *tempos: float | None) -> FreePass:
    return replace(hear_freely(PassPlan(solo, 90.0), []), tempos=tempos)


def test_a_detour_is_named_with_its_measures(roll: Arrangement) -> None:
    plucks = places_of(PassPlan(roll, 90.0)).expected

    assert detour_sentence(Detour(plucks[0], plucks[7], "played twice")) == "Measure 1: played twice."
    assert detour_sentence(Detour(plucks[0], plucks[8], "left out")) == "Measures 1 to 2: left out."
    assert detour_sentence(Detour(plucks[2], plucks[3], "stopped")) == "Measure 1: stopped and went on."


def test_several_detours_of_a_kind_are_told_in_one_sentence(roll: Arrangement) -> None:
    solo = replace(
        roll,
        measures=tuple(replace(roll.measures[0], number=n, plucks=roll.measures[0].plucks[:1]) for n in range(1, 13)),
    )
    plucks = places_of(PassPlan(solo, 90.0)).expected
    stops = [Detour(plucks[k], plucks[k], "stopped") for k in (0, 3, 4)]
    left_out = Detour(plucks[6], plucks[7], "left out")
    again = [Detour(plucks[k], plucks[k + 1], "played twice") for k in (0, 3, 6, 9)]

    assert list(detour_sentences([stops[0], left_out, *stops[1:]])) == [
        "You stopped and went on 3 times, in measures 1, 4 and 5.",
        "Measures 7 to 8: left out.",
    ]
    assert list(detour_sentences([stops[0], stops[0]])) == ["You stopped and went on twice, in measure 1."]
    assert list(detour_sentences(again)) == ["You began again 4 times, in 8 measures."]
    assert list(detour_sentences([])) == []


@pytest.mark.parametrize(("other", "said"), [(61.8, False), (61.9, True)])
def test_a_change_of_tempo_is_said_from_where_it_can_be_heard(roll: Arrangement, other: float, said: bool) -> None:
    sentence = tempo_sentence([with_tempos(roll, other, 60.0)])

    told = "Slowest in measure 2 (60 quarters a minute), fastest in measure 1 (62)."
    assert sentence == (told if said else None)


def test_measures_without_a_tempo_are_passed_over(roll: Arrangement) -> None:
    assert tempo_sentence([with_tempos(roll, None, None)]) is None
    assert tempo_sentence([with_tempos(roll, None, 60.0), with_tempos(roll, 90.0, None)]) == (
        "Slowest in measure 2 (60 quarters a minute), fastest in measure 1 (90)."
    )
