from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.listening.traits import PLUCK, Traits


def played(velocities: Sequence[int] = (), lengths: Sequence[int] = ()) -> Traits:
    return Traits().learned(velocities, lengths)


@pytest.mark.parametrize(("plucks", "gate"), [(19, 0), (20, 40), (21, 40)])
def test_there_is_no_gate_below_20_plucks(plucks: int, gate: int) -> None:
    assert played([80] * plucks).gate == gate


@pytest.mark.parametrize(("soft", "gate"), [(4, 40), (5, 40), (6, 10)])
def test_the_gate_is_half_of_what_all_but_one_pluck_in_twenty_reach(soft: int, gate: int) -> None:
    # Of 119 plucks the softest 6 make up the softest twentieth (119 / 20 = 5.95, the 6th from below counts).
    assert played([20] * soft + [80] * (119 - soft)).gate == gate


@settings(derandomize=True, deadline=None)
@given(velocities=st.lists(st.integers(1, 127), min_size=20, max_size=200))
def test_the_gate_is_by_numpys_percentile(velocities: list[int]) -> None:
    softest = np.percentile(velocities, 5, method="inverted_cdf")

    assert played(velocities).gate == int(softest) // 2


@settings(derandomize=True, deadline=None)
@given(passes=st.lists(st.lists(st.integers(1, 127), max_size=30), max_size=5), data=st.data())
def test_what_is_learned_hangs_on_the_plucks_and_not_on_how_they_are_parted_into_passes(
    passes: list[list[int]], data: st.DataObject
) -> None:
    traits = Traits()
    for velocities in passes:
        traits = traits.learned(velocities, [1000 * velocity for velocity in velocities])
    together = data.draw(st.permutations([velocity for velocities in passes for velocity in velocities]))

    assert traits == played(together, [1000 * velocity for velocity in together])


def test_an_instrument_of_one_velocity_has_a_gate_that_none_of_its_notes_falls_under() -> None:
    assert all(played([velocity] * 50).gate < velocity for velocity in range(1, 128))


@pytest.mark.parametrize(
    ("held", "cut", "holds"),
    [(19, 0, False), (20, 0, True), (20, 1, True), (39, 2, False), (40, 2, True), (0, 50, False), (0, 0, False)],
)
def test_an_instrument_holds_its_notes_when_20_are_held_for_each_that_is_not(held: int, cut: int, holds: bool) -> None:
    assert played(lengths=[PLUCK + 1] * held + [PLUCK] * cut).holds == holds


def test_a_pluck_sounds_longer_than_20_ms() -> None:
    traits = played(lengths=[19_999, 20_000, 20_001])

    assert (traits.held, traits.cut) == (1, 2)
