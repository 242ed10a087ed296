"""Small bars of characters, for tables in a terminal; each has a plainer one for terminals that know ASCII only."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["INTERVAL", "MARKS", "PLAIN_INTERVAL", "PLAIN_MARKS", "bar", "interval", "marks"]

INTERVAL, PLAIN_INTERVAL = ("─", "●", "│"), ("-", "o", "|")
"""Within, the value, the goal."""

MARKS, PLAIN_MARKS = ("■", "□", "·"), ("#", "x", ".")
"""Clean, not clean, not played."""

_EIGHTHS = " ▏▎▍▌▋▊▉█"


def bar(share: float, width: int, *, plain: bool) -> str:
    """A bar from the left.

    Args:
        share: of the width that it takes, 0..1; what is more than nothing is seen.
        width: in characters, > 0.
        plain: whether only ASCII can be shown.

    Returns:
        at most ``width`` characters.
    """
    steps = 1 if plain else 8
    filled = round(share * width * steps)
    if share > 0:
        filled = max(1, filled)
    whole, rest = divmod(filled, steps)
    return "#" * whole if plain else "█" * whole + _EIGHTHS[rest].strip()


def interval(
    low: float, middle: float | None, high: float, *, goal: float, ends: tuple[float, float], width: int, plain: bool
) -> str:
    """A scale with an interval, the value within it, and a goal.

    Args:
        low, middle, high: of the interval, in this order; the value may be missing.
        goal: where the mark for it stands.
        ends: what the ends of the scale stand for, the left one less; what lies beyond is shown at the end.
        width: in characters, > 0.
        plain: whether only ASCII can be shown.

    Returns:
        ``width`` characters. The value covers the goal, and the goal the interval.
    """
    inside, value, wished = PLAIN_INTERVAL if plain else INTERVAL
    left, right = ends

    def place(number: float) -> int:
        return max(0, min(width - 1, int((number - left) / (right - left) * width)))

    cells = [" "] * width
    for cell in range(place(low), place(high) + 1):
        cells[cell] = inside
    cells[place(goal)] = wished
    if middle is not None:
        cells[place(middle)] = value
    return "".join(cells)


def marks(clean: Iterable[bool | None], *, plain: bool) -> str:
    """A mark for each time: clean, not clean, or not played (None)."""
    full, hollow, nothing = PLAIN_MARKS if plain else MARKS
    return "".join(nothing if each is None else full if each else hollow for each in clean)
