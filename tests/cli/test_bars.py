"""Small bars of characters."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.cli.bars import bar, interval, marks

SHARES = st.floats(0, 1)


@pytest.mark.parametrize(
    ("share", "fine", "plain"),
    [
        (0, "", ""),
        (0.001, "▏", "#"),
        (0.5, "██", "##"),
        (0.6, "██▍", "##"),
        (0.99, "████", "####"),
        (1, "████", "####"),
    ],
)
def test_bars(share: float, fine: str, plain: str) -> None:
    assert (bar(share, 4, plain=False), bar(share, 4, plain=True)) == (fine, plain)


@given(SHARES, SHARES, st.integers(1, 40), st.booleans())
def test_a_greater_share_has_no_shorter_bar_and_none_is_too_wide(
    one: float, other: float, width: int, plain: bool
) -> None:
    short, long = (bar(share, width, plain=plain) for share in sorted((one, other)))

    assert len(short) <= len(long) <= width


@pytest.mark.parametrize(
    ("told", "shown"),
    [
        ((20, 50, 80, 90), "  ---o---|"),
        ((20, 50, 80, 60), "  ---o|-- "),
        ((20, 50, 80, 50), "  ---o--- "),
        ((20, None, 80, 90), "  -------|"),
        ((50, 50, 50, 0), "|    o    "),
        ((-50, 20, 500, 100), "--o------|"),
    ],
)
def test_intervals(told: tuple[float, float | None, float, float], shown: str) -> None:
    low, middle, high, goal = told

    assert interval(low, middle, high, goal=goal, ends=(0, 100), width=10, plain=True) == shown


@given(st.lists(st.floats(0, 500), min_size=3, max_size=3), st.floats(0, 500), st.integers(1, 40))
def test_an_interval_is_as_wide_as_its_scale_and_has_its_value_in_it(
    told: list[float], goal: float, width: int
) -> None:
    low, middle, high = sorted(told)
    shown = interval(low, middle, high, goal=goal, ends=(20, 300), width=width, plain=False)

    assert len(shown) == width
    assert shown.count("●") == 1
    left, right = (shown.find("─"), shown.rfind("─"))
    assert left == -1 or left - 2 <= shown.index("●") <= right + 2  # a goal may stand between


def test_marks_tell_clean_not_clean_and_not_played_apart_by_their_shape() -> None:
    assert marks([True, False, None], plain=False) == "■□·"
    assert marks([True, False, None], plain=True) == "#x."
