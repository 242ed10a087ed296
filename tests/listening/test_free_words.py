from __future__ import annotations

from dataclasses import replace

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.free_time import Detour, FreePass, hear_freely
from coach.listening.free_words import detour_sentence, tempo_sentence
from coach.listening.places import places_of
from coach.listening.plan import PassPlan


def with_tempos(solo: Arrangement, *tempos: float | None) -> FreePass:
    return replace(hear_freely(PassPlan(solo, 90.0), []), tempos=tempos)


def test_a_detour_is_named_with_its_measures(roll: Arrangement) -> None:
    plucks = places_of(PassPlan(roll, 90.0)).expected

    assert detour_sentence(Detour(plucks[0], plucks[7], "played twice")) == "Measure 1: played twice."
    assert detour_sentence(Detour(plucks[0], plucks[8], "left out")) == "Measures 1 to 2: left out."
    assert detour_sentence(Detour(plucks[2], plucks[3], "stopped")) == "Measure 1: stopped and went on."


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
