"""A start that was asked for, and waits until a pass can begin."""

from __future__ import annotations

from coach.errors import InputError
from coach.service.choice import Choice
from coach.service.diary import Diary
from coach.service.keeping import Keeper
from coach.service.pages import Page

__all__ = ["Starting"]


class Starting:
    """The start of the next pass.

    It waits for the clock of the page that is to sound it, for the solo of a rung that was taken, for the solos of all
    tiers, without which no ladder can be climbed, and until what came before is told: a report belongs before the next
    pass.

    Args:
        choice: of the session.
        diary: what the session remembers.
        keeper: keeps what is played.

    Attributes:
        sounder: the page that is to sound the pass; None for the service.
    """

    def __init__(self, choice: Choice, diary: Diary, keeper: Keeper) -> None:
        self._choice = choice
        self._diary = diary
        self._keeper = keeper
        self.sounder: Page | None = None
        self._is_wanted = False

    @property
    def is_possible(self) -> bool:
        """Whether a pass is to begin and can."""
        if self.sounder is not None and self.sounder.link is None:
            self.forget()  # the page that asked is gone
        if not self._is_wanted or self._choice.solo is None or self._choice.is_awaited:
            return False
        has_clock = self.sounder is None or not self.sounder.clock.is_empty
        is_told = not (self._keeper.is_writing or self._diary.is_writing)
        return has_clock and is_told and self._diary.is_open

    def ask(self, sounder: Page | None, *, of_rung: bool = False) -> None:
        """A pass is to begin.

        Args:
            sounder: the page that is to sound it; None for the service.
            of_rung: it goes through what the coach or an earlier pass chose, whose solo is waited for.

        Raises:
            InputError: when there is no solo to play.
        """
        if self._choice.solo is None and not (of_rung and self._choice.is_awaited):
            raise InputError(self._choice.waiting or "no tune is chosen", cure="choose a tune and wait for its solo")
        self.sounder, self._is_wanted = sounder, True

    def forget(self) -> None:
        """No pass is to begin any more."""
        self.sounder, self._is_wanted = None, False
