"""A teacher would set tempo, tier or measures of the next pass: at the student's end, who agrees or does not."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field

from coach.errors import CoachError, InputError
from coach.service.looking import Outcome, Propose
from coach.service.pages import Page, Pages
from coach.service.protocol import Answer, Offer, Settings, Steer

__all__ = ["Steering", "check", "in_words"]

NO_OFFER = Offer(0, "", "")


def check(steer: Steer) -> None:
    """See whether a proposal can be made.

    Raises:
        InputError: when it sets nothing, or its measures contradict each other.
    """
    measures = (steer.first, steer.last)
    if steer.tempo is None and steer.tier is None and measures == (None, None) and not steer.whole:
        raise InputError("nothing is to be set", cure="choose a tempo, a tier or measures")
    if steer.whole and measures != (None, None):
        raise InputError("the whole solo and some measures of it cannot both be set", cure="choose one of the two")
    if (steer.first is None) != (steer.last is None):
        raise InputError("one end of the measures is missing", cure="name the first and the last")
    if steer.first is not None and steer.last is not None and steer.first > steer.last:
        raise InputError(f"measures {steer.first} to {steer.last} run backwards", cure="name the first one first")


def in_words(steer: Steer) -> str:
    """What a proposal would set."""
    parts = []
    if steer.tempo is not None:
        parts.append(f"tempo {steer.tempo:g}")
    if steer.tier is not None:
        parts.append(f"{steer.tier} tier")
    if steer.whole:
        parts.append("the whole solo")
    elif steer.first is not None:
        alone = steer.first == steer.last
        parts.append(f"measure {steer.first}" if alone else f"measures {steer.first} to {steer.last}")
    return ", ".join(parts)


@dataclass(slots=True)
class Steering:
    """What teachers have offered a student.

    One offer is open at a time: a newer one takes its place. What the student said with *always* holds for a teacher
    as long as that one looks on.

    Args:
        pages: of the student's session.
        choose: changes its settings, as if the student had.
        answered: tells a desk what came of what it proposed, and more in words.
        looking: gives the ids of the teachers who look on.
    """

    pages: Pages
    choose: Callable[[Settings], None]
    answered: Callable[[str, Outcome, str], None]
    looking: Callable[[], Collection[str]]
    _offers: int = 0
    _open: Propose | None = None
    _always: dict[str, bool] = field(default_factory=dict)

    def propose(self, proposal: Propose) -> None:
        """A teacher would set something."""
        if not self.pages.here:
            self.answered(proposal.desk, "not here", "")
            return
        said = self._always.get(proposal.by)
        if said is not None:
            self._settle(proposal, yes=said)
            return
        if self._open is not None and self._open.desk != proposal.desk:
            self.answered(self._open.desk, "declined", "Another offer has taken its place.")
        self._offers += 1
        self._open = proposal
        self.pages.broadcast(self._offer())
        self.answered(proposal.desk, "waits", "")

    def answer(self, answer: Answer) -> None:
        """The student answers.

        Raises:
            CoachError: when no such offer is open, or what was agreed to cannot be set.
        """
        proposal = self._open
        if proposal is None or answer.offer != self._offers:
            raise InputError("this offer does not stand any more")
        self._take_back()
        if answer.always and proposal.by in self.looking():
            self._always[proposal.by] = answer.yes
        trouble = self._settle(proposal, yes=answer.yes)
        if trouble is not None:
            raise trouble

    def left(self, desk: str, *, gone: bool) -> None:
        """Somebody does not look on by a desk any more; ``gone``: it is closed."""
        looking = self.looking()
        self._always = {by: said for by, said in self._always.items() if by in looking}
        if gone and self._open is not None and self._open.desk == desk:
            self._take_back()

    def joined(self, page: Page) -> None:
        """A page of the student has come (back)."""
        if self._open is not None:
            page.send(self._offer())

    def _offer(self) -> Offer:
        assert self._open is not None
        return Offer(self._offers, self._open.name, in_words(self._open.steer))

    def _take_back(self) -> None:
        self._open = None
        self.pages.broadcast(NO_OFFER)

    def _settle(self, proposal: Propose, *, yes: bool) -> CoachError | None:
        """Set what was proposed, or leave it; returns why it could not be set."""
        if not yes:
            self.answered(proposal.desk, "declined", "")
            return None
        steer = proposal.steer
        try:
            self.choose(
                Settings(tempo=steer.tempo, tier=steer.tier, first=steer.first, last=steer.last, whole=steer.whole)
            )
        except CoachError as error:
            self.answered(proposal.desk, "agreed", str(error))
            return error
        self.answered(proposal.desk, "agreed", "")
        return None
