"""From a tune on its grid to what is chosen for every measure: repeats found, the rest searched."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, MutableSequence, Sequence
from types import MappingProxyType
from typing import NamedTuple

from coach.arranging.fixed import Edge, Fixed, after_edge, before_edge, beside
from coach.arranging.picks import NOWHERE, STATES, step
from coach.arranging.search import Chosen, NoWayError, solve
from coach.arranging.ways import ANY_HAND, FREE, LINKED, Joint, Offer, Way

__all__ = ["STANDING", "End", "Offers", "Solo", "choose", "joins", "repeats", "solve_between"]

_DRONE = 5  # the state of the thumb on the fifth string
# In the place of a measure that the search did not choose.
STANDING = Chosen(
    Way(0, (), 1, ANY_HAND, rolled=False), (), Joint(1, FREE, NOWHERE, gap=True), Joint(1, FREE, NOWHERE, gap=True)
)

# What a measure offers: its index and how many concessions are made.
Offers = Callable[[int, int], Offer]
# What is known at the end of a stretch.
End = Joint | Fixed | None


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
        """The share of strokes that are the thumb's on the fifth string alone, 0..1; pinches are none of them."""
        states = [option.state for chosen in self.chosen for option in chosen.options]
        return states.count(_DRONE) / max(1, len(states))


def repeats(measures: Sequence[Hashable], sources: Sequence[int | None]) -> list[int | None]:
    """For each measure the earlier one that it repeats: from the same place on paper, or in a passage of two and more.

    Args:
        measures: on the grid, with whatever else must be equal in what repeats.
        sources: for each measure the index of the earlier one from the same place on paper, or None.
    """
    first: dict[Hashable, int] = {}
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


def choose(
    same_as: Sequence[int | None],
    offers: Offers,
    most_concessions: int,
    fixed: Mapping[int, Fixed] = MappingProxyType({}),
) -> Solo:
    """Search a whole tune.

    Stretches of new measures are searched exactly, in order, between what is known on both sides; repeated ones are
    copied. Where a copy does not join what follows it is searched again on its own. What stands as it is is known
    too; where nothing can be played beside it by the rules, the rules end at its barline.

    Args:
        same_as: for each measure the earlier one that it repeats, or None.
        offers: what a measure offers, by its index, at a number of concessions.
        most_concessions: how many there are.
        fixed: the measures that stand as they are, by index.

    Raises:
        NoWayError: where a measure (by index) cannot be played at all.
    """
    search = _Search(list(same_as), offers, most_concessions, fixed)
    index = 0
    while index < len(same_as):
        if index in fixed:
            index = search.stand(index)
        else:
            index = search.copy(index) if search.same_as[index] is not None else search.stretch(index)
    return Solo(tuple(search.chosen), tuple(search.same_as), tuple(search.conceded))


def solve_between(
    indices: range, offers: Offers, conceded: MutableSequence[int], most_concessions: int, before: End, after: End
) -> tuple[int, list[Chosen]]:
    """Solve a stretch between what is known on both sides, making concessions where no way is found.

    Args:
        indices: of its measures.
        offers: what a measure offers, by its index, at a number of concessions.
        conceded: for each measure of the tune how many it has made; counted on here.
        most_concessions: how many there are.
        before, after: what is known on both sides; None where nothing is.

    Raises:
        NoWayError: with the place in the stretch (0 for its first measure) of the one that cannot be played.
    """
    while True:
        measures = [offers(index, conceded[index]) for index in indices]
        shift, start, stop = 0, None, None
        if isinstance(before, Fixed):
            edge, shift = before_edge(before, measures[0].hands), 1
            measures = [edge.offer, beside(measures[0], edge.busy, behind=True), *measures[1:]]
        else:
            start = before
        if isinstance(after, Fixed):
            edge = after_edge(after, measures[-1].hands)
            measures = [*measures[:-1], beside(measures[-1], edge.busy, behind=False), edge.offer]
        else:
            stop = after
        try:
            price, chosen = solve(measures, start, stop)
        except NoWayError as error:
            # The measure concedes, and where it has conceded all, the one behind it that it cannot reach.
            place = min(max(0, error.measure - shift), len(indices) - 1)
            near = [index for index in indices[place : place + 2] if conceded[index] < most_concessions]
            if not near:
                raise NoWayError(place) from None
            conceded[near[0]] += 1
        else:
            return price, chosen[shift : shift + len(indices)]


def joins(before: Chosen | Fixed, after: Chosen | Fixed) -> bool:
    """Whether a measure can be followed by another without breaking a hard rule at the barline."""
    if isinstance(before, Chosen) and isinstance(after, Chosen):
        return _joins(before.leaves, after.enters)
    if isinstance(before, Fixed):
        hands = {1} if isinstance(after, Fixed) else {after.enters.hand}
        edge = before_edge(before, hands)
        if isinstance(after, Fixed):
            return True  # both are as the teacher wants them
        return not _blocks(edge, after.enters) and _solvable([edge.offer], None, after.enters)
    assert isinstance(after, Fixed)
    edge = after_edge(after, {before.leaves.hand})
    return not _blocks(edge, before.leaves) and _solvable([edge.offer], before.leaves, None)


def _blocks(edge: Edge, joint: Joint) -> bool:
    fingers, strings = {finger for finger, _ in edge.busy}, {string for _, string in edge.busy}
    return not joint.gap and any(f in fingers or s in strings for f, s in STATES[joint.state])


def _solvable(offers: Sequence[Offer], before: Joint | None, after: Joint | None) -> bool:
    try:
        solve(offers, before, after)
    except NoWayError:
        return False
    return True


class _Search:
    """The state of :func:`choose`: what is chosen so far."""

    def __init__(
        self, same_as: list[int | None], offers: Offers, most_concessions: int, fixed: Mapping[int, Fixed]
    ) -> None:
        self.same_as = same_as
        self.chosen: list[Chosen] = []
        self.conceded = [0] * len(same_as)
        self._offers = offers
        self._most = most_concessions
        self._fixed = fixed

    def stand(self, index: int) -> int:
        """Let a measure stand as it is, and search the one before it again where that does not lead to it."""
        if index and index - 1 not in self._fixed and not joins(self.chosen[index - 1], self._fixed[index]):
            self._mend(index - 1, self._fixed[index])
        self.chosen.append(self._fixed[index].chosen or STANDING)
        return index + 1

    def copy(self, index: int) -> int:
        """Copy a repeated measure, or search the one before it again so that it fits."""
        source = self.same_as[index]
        assert source is not None
        copied = self.chosen[source]
        if index and not joins(self._known(index - 1), copied) and not self._mend(index - 1, copied.enters):
            self.same_as[index] = None
            return index
        self.chosen.append(copied)
        self.conceded[index] = self.conceded[source]
        return index + 1

    def stretch(self, index: int) -> int:
        """Search the new measures from an index on, up to the next that is known."""
        stop = index
        while stop < len(self.same_as) and self.same_as[stop] is None and stop not in self._fixed:
            stop += 1
        before: End = self._before(index)
        after: End = self._fixed.get(stop)
        follows = self.same_as[stop] if stop < len(self.same_as) and after is None else None
        if follows is not None and follows < index and follows not in self._fixed:
            after = self.chosen[follows].enters
        try:
            self.chosen += self._solve(range(index, stop), before, after)
        except NoWayError as error:
            if isinstance(after, Joint):
                # What follows cannot be reached: let it be new as well.
                self.same_as[stop] = None
                return index
            if isinstance(before, Joint) and error.measure == 0 and self._loosen(index - 1):
                return index
            loose = self._without_fixed(range(index, stop), before, after)
            if loose is None:
                raise NoWayError(index + error.measure) from None
            self.chosen += loose
        return stop

    def _known(self, index: int) -> Chosen | Fixed:
        return self._fixed.get(index) or self.chosen[index]

    def _before(self, index: int) -> End:
        if not index:
            return None
        return self._fixed.get(index - 1) or self.chosen[index - 1].leaves

    def _without_fixed(self, indices: range, before: End, after: End) -> list[Chosen] | None:
        """Search a stretch as if the rules ended at the barline of what stands there, behind it or before it."""
        loose_before = None if isinstance(before, Fixed) else before
        loose_after = None if isinstance(after, Fixed) else after
        for start, stop in ((before, loose_after), (loose_before, after), (loose_before, loose_after)):
            if (start, stop) == (before, after):
                continue
            self.conceded[indices.start : indices.stop] = [0] * len(indices)
            try:
                return self._solve(indices, start, stop)
            except NoWayError:
                continue
        return None

    def _loosen(self, index: int) -> bool:
        """Search a measure again with a rest at its end, so that anything may follow."""
        before = self._before(index)
        if isinstance(before, Fixed):
            return False
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

    def _mend(self, index: int, after: End) -> bool:
        """Search a measure again between its neighbours; whether it was found."""
        if index in self._fixed or any(self.same_as[later] == index for later in range(index + 1, len(self.chosen))):
            return False
        try:
            (chosen,) = self._solve(range(index, index + 1), self._before(index), after)
        except NoWayError:
            return False
        self.chosen[index], self.same_as[index] = chosen, None
        return True

    def _solve(self, indices: range, before: End, after: End) -> list[Chosen]:
        return solve_between(indices, self._offers, self.conceded, self._most, before, after)[1]


def _joins(leaves: Joint, enters: Joint) -> bool:
    """Whether a measure can be followed by another without breaking a hard rule at the barline."""
    if max(leaves.lane, enters.lane) >= LINKED and leaves.lane != enters.lane:
        return False  # a lick goes on behind the barline
    if leaves.gap or enters.gap:
        return True
    return leaves.hand == enters.hand and step(leaves.state, enters.state) is not None
