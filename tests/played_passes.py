"""Passes as the records have them, for tests of every room that keeps or asks for them."""

from __future__ import annotations

from dataclasses import replace

from coach.records.played import PlayedMeasure, PlayedPass

__all__ = ["MEASURES", "a_pass"]

MEASURES = (
    PlayedMeasure(1, 8, 8, 0, 0, 0, -3.5, clean=True),
    PlayedMeasure(2, 8, 5, 1, 2, 1, None, clean=False),
)


def a_pass(number: int = 1, **changes: object) -> PlayedPass:
    """A pass through two measures."""
    made = PlayedPass(
        player="reed",
        tune="mill-lane-1f3a9c20",
        title="Mill Lane",
        digest="ab" * 32,
        tier="beginner",
        tempo=80.0,
        goal=120.0,
        first=1,
        last=2,
        began=f"2026-03-01T18:{number:02}:00Z",
        day="2026-03-01",
        seconds=6.0,
        whole=True,
        clean=False,
        judged="heard",
        folder="evening",
        number=number,
        scoring=3,
        kept_going=True,
        measures=MEASURES,
    )
    return replace(made, **changes)  # type: ignore[arg-type]
