"""How the next tier comes in."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.ladder.curve import Ready
from coach.ladder.mixing import following, groups, more_mixed
from coach.ladder.rungs import Course, MeasurePlan, TierPlan


def course(count: int = 4, repeats: dict[int, int] | None = None, last: int | None = None) -> Course:
    """A course of two tiers."""
    tiers = [
        TierPlan(name, tuple(MeasurePlan(number, 1.0, 4.0) for number in range(1, to + 1)), load)
        for name, load, to in (("beginner", 1.0, count), ("advanced", 2.0, last or count))
    ]
    return Course("t", tuple(tiers), repeats or {})


def ready(**tempos: float) -> dict[int, Ready]:
    """Ready tempos by ``m1=...``."""
    return {int(name[1:]): Ready(tempo, tempo, tempo) for name, tempo in tempos.items()}


def test_measures_that_repeat_are_one_group() -> None:
    assert groups(course(5, {3: 1, 5: 1}), "beginner") == ((1, 3, 5), (2,), (4,))


def test_behind_a_tier_comes_the_next_where_its_measures_are_the_same() -> None:
    behind = following(course(), "beginner")

    assert behind is not None
    assert behind.name == "advanced"
    assert following(course(), "advanced") is None
    assert following(course(4, last=3), "beginner") is None


def test_the_easiest_measures_come_in_first_and_those_that_repeat_together() -> None:
    two = course(4, {4: 2})
    tempos = ready(m1=70, m2=90, m3=80, m4=90)

    assert more_mixed(two, "beginner", (), tempos) == ((2, 4), (2, 4))
    assert more_mixed(two, "beginner", (2, 4), tempos) == ((2, 3, 4), (3,))
    assert more_mixed(two, "beginner", (2, 3, 4), tempos) == ((1, 2, 3, 4), (1,))
    assert more_mixed(two, "beginner", (1, 2, 3, 4), tempos) == ((1, 2, 3, 4), ())


def test_of_equals_the_first_comes_in_and_a_group_is_as_easy_as_its_hardest() -> None:
    assert more_mixed(course(3), "beginner", (), ready(m1=80, m2=80, m3=80))[1] == (1,)
    assert more_mixed(course(3, {3: 1}), "beginner", (), ready(m1=90, m2=80, m3=70))[1] == (2,)


def test_half_a_group_is_made_whole() -> None:
    assert more_mixed(course(3, {3: 1}), "beginner", (1,), ready(m1=90, m2=80, m3=90)) == ((1, 3), (3,))


def test_measures_that_cannot_be_joined_wait_and_where_none_can_be_all_come_in() -> None:
    tempos = ready(m1=70, m2=90, m3=80, m4=60)
    waits = replace(course(), apart={("beginner", (2,)), ("advanced", (3,))})
    none = replace(course(), apart={("beginner", (2, number)) for number in (3, 4)} | {("beginner", (1, 2))})

    assert more_mixed(waits, "beginner", (), tempos) == ((3,), (3,))
    assert more_mixed(waits, "beginner", (3,), tempos) == ((2, 3), (2,))
    assert more_mixed(none, "beginner", (2,), tempos) == ((1, 2, 3, 4), (1, 3, 4))


@given(st.data(), st.integers(2, 12))
def test_what_repeats_is_always_of_one_tier_and_all_come_in_one_by_one(data: st.DataObject, count: int) -> None:
    repeats: dict[int, int] = {}
    for number in range(2, count + 1):
        of = data.draw(st.integers(0, number - 1))
        if of and of not in repeats:
            repeats[number] = of
    tempos = {number: Ready(*[data.draw(st.floats(20, 300))] * 3) for number in range(1, count + 1)}
    whole = course(count, repeats)
    mix: tuple[int, ...] = ()
    while True:
        mix, new = more_mixed(whole, "beginner", mix, tempos)
        if not new:
            break
        assert all((number in mix) == (of in mix) for number, of in repeats.items())
        assert len({repeats.get(number, number) for number in new}) == 1

    assert mix == tuple(range(1, count + 1))


def test_an_unknown_tier_is_a_slip() -> None:
    with pytest.raises(ValueError, match="not in"):
        following(course(), "expert")
