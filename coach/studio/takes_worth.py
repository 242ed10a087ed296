"""Which few takes of some passes are worth hearing, and why, in a sentence each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

__all__ = ["MANY", "MOST", "Played", "TakeWorth", "takes_worth"]

MANY = 4
"""Tries in a row that were not clean: the first clean one behind them is worth hearing (common practice, no source)."""

MOST = 6
"""Takes that are named."""


@dataclass(frozen=True, slots=True)
class Played:
    """A pass.

    Attributes:
        folder, number: where its take is.
        tune, title, tier, mix: of the solo; of a mixed one the tier it came from, and the measures of the next.
        tempo: of the click.
        began: when, RFC 3339 in UTC; ``day`` is the date at the player's place.
        first, last: the numbers of its measures.
        is_clean: as the report has it.
        climbs: it went through the whole solo to a click, was heard, and was played to its end.
        is_heard: there is something to be heard in its take.
        measures: whether each was clean, by tier and number.
    """

    folder: str
    number: int
    tune: str
    title: str
    tier: str
    mix: tuple[int, ...]
    tempo: float
    began: str
    day: str
    first: int
    last: int
    is_clean: bool
    climbs: bool
    is_heard: bool
    measures: Mapping[tuple[str, int], bool]


@dataclass(frozen=True, slots=True)
class TakeWorth:
    """A take worth hearing, and the reason."""

    played: Played
    why: str


class _Stuck(Protocol):
    """A measure that held somebody back."""

    @property
    def tune(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def tier(self) -> str: ...
    @property
    def measure(self) -> int: ...
    @property
    def failed(self) -> int: ...
    @property
    def played(self) -> int: ...
    @property
    def is_clean(self) -> bool: ...


def takes_worth(played: Sequence[Played], held_back: Sequence[_Stuck]) -> list[TakeWorth]:
    """The takes of some passes that are worth hearing, in the order in which they were played.

    Args:
        played: all passes, the oldest first.
        held_back: measures that held the player back, the most failures first.
    """
    heard = [each for each in played if each.is_heard]
    found: list[tuple[Played, str]] = []
    for each in held_back:
        if not each.is_clean:
            last = next(
                one for one in reversed(heard) if one.tune == each.tune and (each.tier, each.measure) in one.measures
            )
            text = f"measure {each.measure} was not clean in {each.failed} of {each.played} passes: this is the last"
            found.append((last, text))
            break
    for tune in dict.fromkeys(each.tune for each in heard):
        own = [each for each in heard if each.tune == tune]
        clean = [each for each in own if each.climbs and each.is_clean]
        if clean:
            fastest = max(clean, key=lambda each: each.tempo)  # of two that are as fast the first
            found.append((fastest, f"the fastest clean one, at {fastest.tempo:g}"))
        found += _after_many(own)
    named = found[:MOST]
    whys: dict[tuple[str, int], list[str]] = {}
    for each_played, why in named:
        whys.setdefault((each_played.folder, each_played.number), []).append(why)
    return [
        TakeWorth(each, _sentence(" and ".join(whys[each.folder, each.number])))
        for each in played
        if (each.folder, each.number) in whys
    ]


def _after_many(own: Sequence[Played]) -> list[tuple[Played, str]]:
    """The first clean pass behind the most tries of the same, where these were many."""
    tries: dict[tuple[str, tuple[int, ...], int, int], int] = {}
    best: tuple[int, Played] | None = None
    for each in own:
        what = (each.tier, each.mix, each.first, each.last)
        if not each.is_clean:
            tries[what] = tries.get(what, 0) + 1
            continue
        count = tries.pop(what, 0)
        if count >= MANY and (best is None or count > best[0]):
            best = (count, each)
    return [] if best is None else [(best[1], f"the first clean one after {best[0]} tries that were not")]


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."
