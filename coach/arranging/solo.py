"""From a tune on its grid to what is chosen for every measure: repeats found, the rest searched."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from coach.arranging.grid import GridMeasure
from coach.arranging.picks import step
from coach.arranging.search import Chosen, NoWayError, solve
from coach.arranging.ways import Joint, Offer, Way

__all__ = ["Solo", "choose", "repeats"]

_DRONE = 5  # the state of the thumb on the fifth string

# What a measure offers: its index and how many concessions are made.
Offers = Callable[[int, int], Offer]


class Solo(NamedTuple):
    """A solo before it is written down.

    Attributes:
        chosen: for each measure.
        same_as: for each measure the index of the one that it repeats, or None.
        conceded: for each measure how many concessions it took.
    """

    chosen: tuple[Chosen, ...]
    same_as: tuple[int | None, ...]
    conceded: tuple[int, ...]

    def drone_share(self) -> float:
        """The share of picks that are on the open fifth string, 0..1."""
        states = [option.state for chosen in self.chosen for option in chosen.options]
        return states.count(_DRONE) / max(1, len(states))


def repeats(measures: Sequence[GridMeasure], sources: Sequence[int | None]) -> list[int | None]:
    """For each measure the earlier one that it repeats: from the same place on paper, or in a passage of two and more.

    Args:
        measures: on the grid.
        sources: for each measure the index of the earlier one from the same place on paper, or None.
    """
    first: dict[GridMeasure, int] = {}
    twin: list[int | None] = []
    for index, measure in enumerate(measures):
        source = sources[index]
        if source is not None and measures[source] == measure:
            twin.append(source)
            first.setdefault(measure, index)
            continue
        known = first.setdefault(measure, index)
        twin.append(None if known == index else known)
    return [
        twin[index] if sources[index] is not None or _in_passage(twin, index) else None for index in range(len(twin))
    ]


def _in_passage(twin: Sequence[int | None], index: int) -> bool:
    here = twin[index]
    if here is None:
        return False
    before = index > 0 and twin[index - 1] == here - 1
    after = index + 1 < len(twin) and twin[index + 1] == here + 1
    return before or after


def choose(same_as: Sequence[int | None], offers: Offers, most_concessions: int) -> Solo:
    """Search a whole tune.

    Stretches of new measures are searched exactly, in order, between what is known on both sides; repeated ones are
    copied. Where a copy does not join what follows it is searched again on its own.

    Args:
        same_as: for each measure the earlier one that it repeats, or None.
        offers: what a measure offers, by its index, at a number of concessions.
        most_concessions: how many there are.

    Raises:
        NoWayError: where a measure (by index) cannot be played at all.
    """
    search = _Search(list(same_as), offers, most_concessions)
    index = 0
    while index < len(same_as):
        index = search.copy(index) if search.same_as[index] is not None else search.stretch(index)
    return Solo(tuple(search.chosen), tuple(search.same_as), tuple(search.conceded))


class _Search:
    """The state of :func:`choose`: what is chosen so far."""

    def __init__(self, same_as: list[int | None], offers: Offers, most_concessions: int) -> None:
        self.same_as = same_as
        self.chosen: list[Chosen] = []
        self.conceded = [0] * len(same_as)
        self._offers = offers
        self._most = most_concessions

    def copy(self, index: int) -> int:
        """Copy a repeated measure, or search the one before it again so that it fits."""
        source = self.same_as[index]
        assert source is not None
        copied = self.chosen[source]
        if index and not _joins(self.chosen[index - 1].leaves, copied.enters) and not self._mend(index - 1, copied):
            self.same_as[index] = None
            return index
        self.chosen.append(copied)
        self.conceded[index] = self.conceded[source]
        return index + 1

    def stretch(self, index: int) -> int:
        """Search the new measures from an index on, up to the next repeated one."""
        stop = index
        while stop < len(self.same_as) and self.same_as[stop] is None:
            stop += 1
        follows = self.same_as[stop] if stop < len(self.same_as) else None
        after = self.chosen[follows].enters if follows is not None and follows < index else None
        before = self.chosen[index - 1].leaves if index else None
        try:
            self.chosen += self._solve(range(index, stop), before, after)
        except NoWayError as error:
            if after is not None:
                # What follows cannot be reached: let it be new as well.
                self.same_as[stop] = None
                return index
            if before is not None and error.measure == 0 and self._loosen(index - 1):
                return index
            raise NoWayError(index + error.measure) from None
        return stop

    def _loosen(self, index: int) -> bool:
        """Search a measure again with a rest at its end, so that anything may follow."""
        before = self.chosen[index - 1].leaves if index else None
        offer = self._offers(index, self._most)
        ways = [
            way
            for way in offer.ways
            if isinstance(way, Way) and (not way.layers or way.layers[-1].last < way.size - way.fine)
        ]
        try:
            (chosen,) = solve([offer._replace(ways=ways)], before)[1]
        except NoWayError:
            return False
        if chosen == self.chosen[index]:
            return False
        self.chosen[index], self.same_as[index], self.conceded[index] = chosen, None, self._most
        return True

    def _mend(self, index: int, after: Chosen) -> bool:
        """Search a measure again between its neighbours; whether it was found."""
        if any(self.same_as[later] == index for later in range(index + 1, len(self.chosen))):
            return False
        before = self.chosen[index - 1].leaves if index else None
        try:
            (chosen,) = self._solve(range(index, index + 1), before, after.enters)
        except NoWayError:
            return False
        self.chosen[index], self.same_as[index] = chosen, None
        return True

    def _solve(self, indices: range, before: Joint | None, after: Joint | None) -> list[Chosen]:
        """Solve a stretch, making concessions where no way is found."""
        while True:
            try:
                return solve([self._offers(index, self.conceded[index]) for index in indices], before, after)[1]
            except NoWayError as error:
                # The measure concedes, and where it has conceded all, the one behind it that it cannot reach.
                near = [
                    index for index in indices[error.measure : error.measure + 2] if self.conceded[index] < self._most
                ]
                if not near:
                    raise
                self.conceded[near[0]] += 1


def _joins(leaves: Joint, enters: Joint) -> bool:
    """Whether a measure can be followed by another without breaking a hard rule at the barline."""
    if leaves.gap or enters.gap:
        return True
    return leaves.hand == enters.hand and step(leaves.state, enters.state) is not None
