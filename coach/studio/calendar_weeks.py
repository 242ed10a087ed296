"""Weeks of ISO 8601, from Monday to Sunday."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta

from coach.errors import InputError

__all__ = ["Week", "read_week"]


@dataclass(frozen=True, slots=True)
class Week:
    """A week, by its year and number of ISO 8601."""

    year: int
    number: int

    @property
    def name(self) -> str:
        """``2026-W48``."""
        return f"{self.year:04}-W{self.number:02}"

    @property
    def days(self) -> tuple[str, ...]:
        """Its days, Monday first."""
        monday = date.fromisocalendar(self.year, self.number, 1)
        return tuple((monday + timedelta(days=count)).isoformat() for count in range(7))

    def moved(self, weeks: int) -> Week:
        """The week so many weeks later."""
        return Week.of(date.fromisocalendar(self.year, self.number, 1) + timedelta(weeks=weeks))

    @staticmethod
    def of(day: date) -> Week:
        """The week of a day."""
        return Week(*day.isocalendar()[:2])


def read_week(text: str) -> Week:
    """A week as it is written, ``2026-W48`` (ISO 8601-1:2019, 5.2.3).

    Raises:
        InputError: when there is no such week.
    """
    year, _, number = text.partition("-W")
    with suppress(ValueError):
        if len(year) == 4 and len(number) == 2 and (year + number).isascii() and (year + number).isdecimal():
            week = Week(int(year), int(number))
            date.fromisocalendar(week.year, week.number, 7)
            if 1000 < week.year < 9000:
                return week
    raise InputError(f"there is no such week ({text[:20]!r})", cure="write it like 2026-W48")
