"""A student at a glance, put together from what the pages of their session are told.

Pure: messages of the wire go in one by one, and :func:`card_of` says at any time what a desk is to be shown. A measure
holds a student up (*stuck*) when it was not clean in four passes running that played it, of the same tune and tier;
in how many it has to be that many is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from coach.arranging.arrangement import TIERS
from coach.service.protocol import Begin, Card, FromService, MeasureScored, PassStrip, Place, PracticeReport, State
from coach.studio.people import Person

__all__ = ["MOST_STRIPS", "STUCK", "Seen", "card_of", "see"]

MOST_STRIPS = 8
"""Strips of passes on a card."""

STUCK = 4
"""Passes running in which a measure was not clean."""

_PLAYED = frozenset({"counting in", "playing"})

_NEXT: Mapping[str, str] = dict(pairwise(TIERS))

_Place = tuple[str, bool, str, int]
"""A measure of a solo: tune, whether as in a jam (whose runs have measures of their own), tier and number."""


@dataclass(frozen=True, slots=True)
class _Pass:
    """A pass that is or was played.

    Attributes:
        scores: by measure whether it was clean; of those that were played.
        before: how often running each measure was not clean before it.
        strip: as it is shown when it is over; None until then.
    """

    number: int
    tune: str
    title: str
    tier: str
    mix: tuple[int, ...]
    jam: bool
    tempo: float
    first: int
    last: int
    scores: Mapping[int, bool]
    before: Mapping[_Place, int]

    @property
    def failing(self) -> Mapping[_Place, int]:
        """How often running each measure was not clean, after it."""
        failing = dict(self.before)
        for measure, clean in self.scores.items():
            place = _place(self, measure)
            if clean:
                failing.pop(place, None)
            else:
                failing[place] = failing.get(place, 0) + 1
        return failing

    def strip(self, *, whole: bool) -> PassStrip:
        """It as a strip, to the last measure that was played."""
        last = max(self.scores, default=self.first - 1)
        clean = [self.scores.get(measure, False) for measure in range(self.first, last + 1)]
        return PassStrip(self.tune, self.tier, self.tempo, self.first, clean, whole)


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen of a session so far.

    Attributes:
        state: that was told last; None before the first.
        latest: the pass that is played, or was last; None before the first.
        earlier: the one before it, whose report may still come.
        is_playing: whether the latest is still played.
        measure: that was judged last in it, or in free time where the player is.
        strips: of the last passes by their numbers, the latest last.
        practised: when the player was heard last, RFC 3339 in UTC; empty where they were not.
    """

    state: State | None = None
    latest: _Pass | None = None
    earlier: _Pass | None = None
    is_playing: bool = False
    measure: int | None = None
    strips: Mapping[int, PassStrip] = field(default_factory=dict)
    practised: str = ""


def see(seen: Seen, message: FromService, when: str) -> Seen:
    """What is seen after one more message; the very same where it changes nothing on a card.

    Args:
        seen: before it.
        message: as pages are told.
        when: it comes, RFC 3339 in UTC.
    """
    match message:
        case State():
            playing = seen.is_playing and message.state in _PLAYED
            return replace(seen, state=message, is_playing=playing, measure=seen.measure if playing else None)
        case Begin() if not message.learning:
            return _begun(seen, message)
        case MeasureScored():
            return _scored(seen, message)
        case Place():
            if not _is_of(seen, message.number) or message.measure == seen.measure:
                return seen
            return replace(seen, measure=message.measure)
        case PracticeReport():
            return _reported(seen, message, when)
        case _:
            return seen


def card_of(seen: Seen, student: Person, *, here: bool, watched: bool) -> Card:
    """The card of a student.

    Args:
        seen: of their session.
        student: who.
        here: whether a page of theirs is open.
        watched: whether somebody looks on.
    """
    state, played = seen.state, seen.latest if seen.is_playing else None
    card: dict[str, Any] = {"state": state.state if here else "", "measures": state.measures} if state else {}
    of: _Pass | State | None = played or state
    if of is not None:
        held_up, times = _held_up(seen, of)
        card |= {
            **{name: getattr(of, name) for name in ("tune", "title", "tier", "tempo", "first", "last")},
            "mix": list(of.mix),
            "stuck": held_up,
            "times": times,
        }
    return Card(
        student=student.id,
        name=student.name,
        here=here,
        measure=seen.measure,
        marks=None if played is None else played.strip(whole=False),
        strips=list(seen.strips.values()),
        practised=seen.practised,
        watched=watched,
        **card,
    )


def _is_of(seen: Seen, number: int) -> bool:
    """Whether a message is of the pass that is played."""
    return seen.is_playing and seen.latest is not None and seen.latest.number == number


def _begun(seen: Seen, begin: Begin) -> Seen:
    state, latest = seen.state, seen.latest
    if state is None or _is_of(seen, begin.number):  # told once more, with its origin
        return seen
    begun = _Pass(
        number=begin.number,
        tune=state.tune,
        title=state.title,
        tier=state.tier,
        mix=tuple(state.mix),
        jam=state.jam,
        tempo=begin.tempo,
        first=begin.first,
        last=begin.last,
        scores={},
        before={} if latest is None else latest.failing,
    )
    return replace(seen, latest=begun, earlier=latest, is_playing=True, measure=None)


def _scored(seen: Seen, message: MeasureScored) -> Seen:
    latest, score = seen.latest, message.score
    number = score["number"]
    if latest is None or not _is_of(seen, message.number) or not isinstance(number, int):
        return seen
    scores = {**latest.scores, number: bool(score["clean"])} if _is_played(score) else latest.scores
    return replace(seen, latest=replace(latest, scores=scores), measure=max(number, seen.measure or 0))


def _reported(seen: Seen, report: PracticeReport, when: str) -> Seen:
    """The report on a pass has the last word of its measures; the next pass may have begun already."""
    latest, earlier = seen.latest, seen.earlier
    if report.asks or latest is None:
        return seen
    scores = {int(score["number"] or 0): bool(score["clean"]) for score in report.measures if _is_played(score)}
    if report.number == latest.number:
        latest = played = replace(latest, scores=scores)
    elif earlier is not None and report.number == earlier.number:
        earlier = played = replace(earlier, scores=scores)
        latest = replace(latest, before=earlier.failing)
    else:
        return seen
    if not scores and not report.self_marked:
        return replace(seen, latest=latest, earlier=earlier)  # nothing was heard
    strip = played.strip(whole=report.whole)
    if report.self_marked:
        strip = PassStrip(strip.tune, strip.tier, strip.tempo, strip.first, [report.clean], report.whole, marked=True)
    strips = dict([*seen.strips.items(), (report.number, strip)][-MOST_STRIPS:])
    return replace(seen, latest=latest, earlier=earlier, strips=strips, practised=when)


def _is_played(score: Mapping[str, object]) -> bool:
    """Whether a measure was played, be it with none but wrong notes."""
    return bool(score["played"] or score["wrong"])


def _place(of: _Pass | State, measure: int) -> _Place:
    """A measure of a solo; one that is mixed in is of the next tier."""
    return of.tune, of.jam, _NEXT.get(of.tier, of.tier) if measure in of.mix else of.tier, measure


def _held_up(seen: Seen, of: _Pass | State) -> tuple[int | None, int]:
    """The measure at which the player is stuck in a solo, and how often running it was not clean; that of most times,
    of several the first."""
    failing = {} if seen.latest is None else seen.latest.failing
    stuck = [
        (-times, place[-1]) for place, times in failing.items() if times >= STUCK and place == _place(of, place[-1])
    ]
    times, measure = min(stuck, default=(0, None))
    return measure, -times
