"""When a tune fades, and the order in which tunes come back."""

from __future__ import annotations

import pytest

from coach.ladder.curve import MOST_DAYS, READY, Curve, after_days, after_pass, begin, share
from coach.ladder.fading import SOON, Learned, coming_back, is_fading, keeps
from coach.ladder.whole import clean_share


def practised(tempo: float, passes: int) -> Curve:
    """After clean passes at a tempo."""
    curve = begin(tempo)
    for _ in range(passes):
        curve = after_pass(curve, tempo, clean=True)
    return curve


def test_a_tune_is_ready_to_the_end_of_the_days_it_keeps_and_not_longer() -> None:
    curves = {number: practised(110.0, 9 + number) for number in range(1, 5)}
    days = keeps(curves, 100.0)

    def share_after(passed: float) -> float:
        return clean_share([share(after_days(curve, passed), 100.0) for curve in curves.values()])

    assert 0 < days < MOST_DAYS
    # The days are found by the mean over what may be forgotten; the curves forget on their grid.
    assert share_after(days) >= READY - 0.002
    assert share_after(days + 0.25) < READY + 0.002


def test_what_is_not_ready_keeps_for_no_day_and_what_is_easy_for_as_long_as_is_foreseen() -> None:
    curves = {1: practised(100.0, 6)}

    assert keeps(curves, 200.0) == 0.0
    assert keeps(curves, 30.0) == MOST_DAYS


def test_practice_puts_the_fading_off() -> None:
    assert 0 < keeps({1: practised(100.0, 4)}, 100.0) < keeps({1: practised(100.0, 8)}, 100.0)


def test_tunes_come_back_in_the_order_in_which_they_fade() -> None:
    tunes = [Learned("a", "beginner", 100.0, 10.0, 20.0), Learned("b", "beginner", 90.0, 25.0, 2.0)]
    tunes.append(Learned("c", "beginner", 90.0, 7.0, 20.0))

    assert [each.tune for each in coming_back(tunes)] == ["b", "c", "a"]
    assert [each.tune for each in coming_back(tunes[::-1])] == ["b", "c", "a"]


@pytest.mark.parametrize(("day", "fading"), [(30.0 - SOON - 0.01, False), (30.0 - SOON, True), (90.0, True)])
def test_a_tune_is_about_to_fade_some_days_ahead(day: float, fading: bool) -> None:
    assert is_fading(Learned("a", "beginner", 100.0, 10.0, 20.0), day) == fading
