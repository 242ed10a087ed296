"""The ladder as a session uses it: what came of a pass in, the next rung out.

A session is about the tune at hand. A rung may lead aside, to a study to warm up on or to a tune that the player can
do; what is played there is learned from, and the next rung leads back.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from coach.ladder import rungs, sitting
from coach.ladder.decide import after_pass, is_believed, next_rung
from coach.ladder.fading import Learned
from coach.ladder.here import Here
from coach.ladder.known import Known, learned
from coach.ladder.rungs import Course, PassSeen, Wanted
from coach.ladder.sitting import Sitting, phase
from coach.ladder.standing import Standing, Wishes, begun, fitted, from_dict, to_dict, wished
from coach.ladder.thinking import thinks
from coach.service.protocol import Rung

__all__ = ["Climb", "Recalled"]

_ALL = (0, 2000)  # of a tune that is not at hand: from before its first measure to behind its last


@dataclass(frozen=True, slots=True)
class Recalled:
    """What the records have of a tune.

    Attributes:
        standing: where the ladder stood, as :meth:`Climb.standing_of` gave it; None where the tune is new.
        known: the curves of its measures; None where none were kept.
    """

    standing: Mapping[str, Any] | None = None
    known: Known | None = None


@dataclass(frozen=True, slots=True)
class _Tune:
    """A tune that has arrived; the standing is None before its first pass."""

    course: Course
    known: Known
    standing: Standing | None


class Climb:
    """Where the player of a session stands."""

    def __init__(self) -> None:
        self._tunes: dict[str, _Tune] = {}
        self._learned: dict[str, Learned] = {}
        self._at_hand = ""
        self._heard = False
        self._sitting = sitting.begun(None)
        self._is_over_told = False
        self._offered: rungs.Rung | None = None
        self._wanted: Wanted | None = None

    # ------------------------------------------------------------------------------------------ tunes

    def arrived(self, course: Course, recalled: Recalled | None = None, *, aside: bool = False) -> None:
        """The solos of a tune have come.

        Args:
            course: of the tune. Told again (a solo was written anew) it replaces the one before.
            recalled: what the records have of it; looked at only when the tune comes for the first time. A standing
                that cannot be read is none.
            aside: the tune was chosen by a rung (a study to warm up on, something known), so the tune at hand, which
                the sitting is about, stays what it was.
        """
        before = self._tunes.get(course.tune)
        if before is None:
            recalled = recalled or Recalled()
            before = _Tune(course, recalled.known or Known(), _read(recalled.standing))
        standing = None if before.standing is None else fitted(before.standing, course)
        self._tunes[course.tune] = replace(before, course=course, standing=standing)
        if not aside and course.tune != self._at_hand:
            self._at_hand = course.tune
            self._offered = self._wanted = None

    def remember(self, standings: Iterable[Mapping[str, Any]]) -> None:
        """Where the player stands with other tunes, as :meth:`standing_of` gave it: what comes back before it fades
        is found there. One that cannot be read is passed over."""
        for each in standings:
            standing = _read(each)
            if standing is not None:
                self._note(standing)

    def standing_of(self, tune: str) -> Mapping[str, Any] | None:
        """Where the player stands with a tune, as plain values for the records; None where it was never played."""
        here = self._tunes.get(tune)
        return None if here is None or here.standing is None else to_dict(here.standing)

    def known_of(self, tune: str) -> Known | None:
        """The curves of a tune for the records; None where it was never played."""
        here = self._tunes.get(tune)
        return None if here is None or not here.known.curves else here.known

    # ------------------------------------------------------------------------------------------ rungs

    def over(self, tune: str, seen: PassSeen, wishes: Wishes) -> Rung:
        """A pass is over: take it in; returns the rung that is offered now, for the tune at hand.

        Args:
            tune: its id; one that has arrived.
            seen: the pass. ``kind`` is the use of the rung that was played; ``part`` where the player chose measures
                and no rung.
            wishes: of the player for the tune at hand; aside from it hold those that the tune was left with.
        """
        here = self._tunes[tune]
        standing = here.standing
        if standing is None:
            standing = begun(tune, seen.tier, seen.tempo, wishes)
        elif tune == self._at_hand:
            standing = wished(standing, wishes)
        standing = replace(standing, heard=self._heard)  # another day the instrument may be another
        known = learned(here.known, here.course, seen) if is_believed(standing, seen) else here.known
        standing = after_pass(standing, here.course, known, seen)
        self._heard = standing.heard
        self._tunes[tune] = replace(here, known=known, standing=standing)
        self._note(standing)
        self._sitting = sitting.played(self._sitting, seen)
        offered = self._offer(self._wanted or Wanted(seen.tier, seen.tempo), wishes, seen.day)
        assert offered is not None
        return offered

    def offer(self, wanted: Wanted, wishes: Wishes, day: float) -> Rung | None:
        """The rung to be offered now for the tune at hand, without a pass: when a sitting begins or ends, when a tune
        comes back, when wishes change. None where no tune is at hand.

        Args:
            wanted: what the player has chosen; a tune that was never played begins there.
            wishes: of the player for the tune at hand.
            day: now, in days as in :class:`PassSeen`.
        """
        self._wanted = wanted
        return self._offer(wanted, wishes, day)

    def thinks(self, wanted: Wanted, wishes: Wishes, day: float) -> str:
        """What the coach thinks of what the player has chosen, in a sentence; empty where it agrees."""
        self._wanted = wanted
        here = self._here(wanted, wishes, day)
        if here is None or (self._offered is not None and self._is_offered(wanted, self._offered)):
            return ""
        return thinks(here, wanted)

    # ------------------------------------------------------------------------------------------ sittings

    def sit(self, minutes: float, day: float, *, last_minutes: float | None, last_tempo: float | None) -> None:
        """A sitting begins: the rungs go from a warm-up to something known.

        Args:
            minutes: that there are, > 0.
            day: now, in days as in :class:`PassSeen`.
            last_minutes, last_tempo: how long the last sitting was, and the highest tempo played in it; None where
                there was none.
        """
        before = sitting.without_rest(self._sitting, day)
        self._sitting = sitting.begun(minutes, last_minutes=last_minutes, last_tempo=last_tempo, without_rest=before)
        self._is_over_told = False

    def rise(self, *, last_minutes: float | None = None, last_tempo: float | None = None) -> None:
        """The sitting that was planned ends; what is played from now on is an open one.

        Args:
            last_minutes, last_tempo: as in :meth:`sit`; of the sitting that ends where that was long enough to count.
        """
        if self._sitting.elapsed >= sitting.COUNTS:
            last_minutes, last_tempo = self._sitting.elapsed, self._sitting.top_tempo
        before = sitting.without_rest(self._sitting)
        self._sitting = sitting.begun(None, last_minutes=last_minutes, last_tempo=last_tempo, without_rest=before)

    def go_on(self, sitting: Sitting) -> None:
        """A sitting goes on that was on when the service ended; its minutes may be over, and that was said then."""
        self._sitting = sitting
        self._is_over_told = phase(sitting) == "over"

    @property
    def sitting(self) -> Sitting:
        """The sitting that is on; where none was planned an open one (``minutes`` None). Its ``elapsed`` minutes,
        ``top_tempo`` and ``began`` (a day; None before its first pass) are what the records keep of it."""
        return self._sitting

    def rest(self) -> str:
        """The reminder of a rest where one is due, or that the minutes of the sitting were played, each once; call
        behind a pass only. Empty where there is none."""
        said = []
        if sitting.phase(self._sitting) == "over" and not self._is_over_told:
            self._is_over_told = True
            said.append(f"The {self._sitting.minutes:.0f} minutes of this sitting were played.")
        if sitting.rest_is_due(self._sitting):
            since = sitting.without_rest(self._sitting)
            self._sitting = sitting.asked_to_rest(self._sitting)
            said.append(f"You have played for {since:.0f} minutes: rest your hands for a few before the next pass.")
        return " ".join(said)

    # ------------------------------------------------------------------------------------------ the parts

    def _here(self, wanted: Wanted, wishes: Wishes, day: float) -> Here | None:
        """Where the player is with the tune at hand."""
        tune = self._tunes.get(self._at_hand)
        if tune is None:
            return None
        if tune.standing is None:
            first = begun(self._at_hand, wanted.tier, wanted.tempo, wishes)
            first = replace(first, mix=wanted.mix, first=wanted.first, last=wanted.last)
            standing = fitted(first, tune.course) or replace(first, tier=tune.course.tiers[0].name, mix=())
        else:
            standing = wished(tune.standing, wishes)
        return Here(standing, tune.course, tune.known, day, self._sitting)

    def _offer(self, wanted: Wanted, wishes: Wishes, day: float) -> Rung | None:
        here = self._here(wanted, wishes, day)
        if here is None:
            self._offered = None
            return None
        self._offered = next_rung(here, self._learned.values())
        return self._told(self._offered)

    def _note(self, standing: Standing) -> None:
        """Note whether a tune is one that the player can do."""
        found = Learned.of(standing)
        if found is None:
            self._learned.pop(standing.tune, None)
        else:
            self._learned[standing.tune] = found

    def _told(self, rung: rungs.Rung) -> Rung:
        low, high = self._measures(rung)
        return Rung(
            tier=rung.tier,
            tempo=rung.tempo,
            first=low if rung.first is None else rung.first,
            last=high if rung.last is None else rung.last,
            why=rung.why,
            offer_tier=rung.offers or None,
            use=rung.kind,
            tune="" if rung.tune == self._at_hand else rung.tune,
            mix=list(rung.mix),
            solo=rung.solo,
            backing=rung.backing,
        )

    def _measures(self, rung: rungs.Rung) -> tuple[int, int]:
        """The numbers of the first and last measure of the solo of a rung."""
        tune = self._tunes.get(rung.tune)
        plans = [] if tune is None else [tier.measures for tier in tune.course.tiers if tier.name == rung.tier]
        return (plans[0][0].number, plans[0][-1].number) if plans else _ALL

    def _is_offered(self, wanted: Wanted, rung: rungs.Rung) -> bool:
        low, high = self._measures(rung)

        def whole(first: int | None, last: int | None) -> tuple[int, int]:
            return low if first is None else first, high if last is None else last

        return (
            (wanted.tier, wanted.mix, f"{wanted.tempo:.0f}") == (rung.tier, rung.mix, f"{rung.tempo:.0f}")
            and whole(wanted.first, wanted.last) == whole(rung.first, rung.last)
            and rung.tune == self._at_hand
        )


def _read(record: Mapping[str, Any] | None) -> Standing | None:
    """A standing of the records; None where it is none, or of a form that is not known."""
    if record is None:
        return None
    try:
        return from_dict(record)
    except ValueError:
        return None
