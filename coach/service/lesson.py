"""What a teacher has left for a student: pinned words and assignments, as pages of the student's session are told."""

from __future__ import annotations

from typing import Protocol

from coach.service.pages import Page
from coach.studio.rules import Rules

__all__ = ["Lesson", "NoLesson"]


class Lesson(Protocol):
    """What teachers have left for the player of a session.

    It is read from the records, so what a call asks for comes a moment later, as ``pins`` and ``assigned``.
    """

    def joined(self, page: Page) -> None:
        """A page has come (back): it is told of what is set, and of what is pinned to the tune that is chosen."""
        ...

    def chosen(self, tune: str) -> None:
        """Another tune is chosen: all pages are told of what is pinned to it."""
        ...

    def reread(self) -> None:
        """Something was pinned, read, set or ended: all pages are told."""
        ...

    def rules_of(self, tune: str) -> Rules | None:
        """What is set for a tune today; None where nothing is."""
        ...


class NoLesson:
    """Nobody teaches the player of this session."""

    def joined(self, page: Page) -> None:
        """Nothing is told."""

    def chosen(self, tune: str) -> None:
        """Nothing is told."""

    def reread(self) -> None:
        """Nothing is told."""

    def rules_of(self, tune: str) -> None:
        """Nothing is set."""
