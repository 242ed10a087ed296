from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest

from coach.arranging.arrangement import Arrangement
from coach.errors import InputError
from coach.listening.plan import PassPlan
from coach.tunes.tune import Meter


def test_a_pass_may_take_some_measures(solo: Callable[..., Arrangement]) -> None:
    plan = PassPlan(solo([], [], [], []), 80.0, first=2, last=3)

    assert [measure.number for measure in plan.measures] == [2, 3]
    assert plan.starts[1][1] == plan.length / 2 == 4
    assert plan.span == "2-3"


@pytest.mark.parametrize(("first", "last"), [(0, 1), (1, 5), (3, 2)])
def test_measures_that_the_solo_has_not_are_refused(first: int, last: int, solo: Callable[..., Arrangement]) -> None:
    with pytest.raises(InputError, match=f"no measures {first} to {last}; it has 1 to 4"):
        PassPlan(solo([], [], [], []), 80.0, first=first, last=last)


@pytest.mark.parametrize("tempo", [0.0, -1.0, float("inf"), float("nan")])
def test_a_tempo_that_is_none_is_refused(tempo: float, roll: Arrangement) -> None:
    with pytest.raises(InputError, match="tempo"):
        PassPlan(roll, tempo)


@pytest.mark.parametrize("bounce", [49, 68])
def test_a_bounce_out_of_range_is_refused(bounce: int, roll: Arrangement) -> None:
    with pytest.raises(InputError, match=r"50\.\.67"):
        PassPlan(roll, 80.0, bounce=bounce)


@pytest.mark.parametrize(("told", "used"), [(39.9, 39.9), (40.1, 40.0), (-41.0, -40.0)])
def test_the_lean_is_limited_to_40_ms(told: float, used: float, roll: Arrangement) -> None:
    assert PassPlan(roll, 80.0, lean_ms=told).lean_ms == used


def test_bounce_moves_the_off_beats_of_the_beats_after_a_pickup(solo: Callable[..., Arrangement]) -> None:
    plan = PassPlan(solo([], [], first=0, lengths={0: "1/2"}), 60.0, bounce=60)

    times = [plan.tempo_map.seconds(Fraction(k, 2)) for k in range(4)]
    # The pickup is an off-beat: it starts 0.4 s before the first beat, not 0.5.
    assert times == pytest.approx([0.1, 0.5, 1.1, 1.5])


def test_a_compound_metre_stays_straight(solo: Callable[..., Arrangement]) -> None:
    plan = PassPlan(solo([], length="3", meter=Meter(6, 8)), 60.0, bounce=60)

    assert plan.tempo_map.seconds(Fraction(1, 2)) == 0.5
