"""What a session's coach offers and thinks: the ladder of the tune at hand, sittings, and tunes that a rung goes to.

The tune at hand is the one that the player chose. A rung may be of another one, a study to warm up on or something
known; floor and goal are then those of the tune at hand still, and come back with it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Any

from msgspec import structs

from coach.errors import InputError
from coach.ladder.known import Known
from coach.ladder.rungs import Wanted
from coach.ladder.sitting import COUNTS
from coach.ladder.standing import Wishes
from coach.service.choice import Choice
from coach.service.climb import Climb, Recalled
from coach.service.diary import Diary
from coach.service.held import ruled
from coach.service.kept_settings import read_settings, settings_record, tune_of
from coach.service.kept_sitting import SITTING, read_sitting, sitting_record
from coach.service.memory import SittingKept, days_of, time_of
from coach.service.orders import Ended
from coach.service.protocol import Rung, Settings, SittingState, TuneLine
from coach.service.seen import seen_of
from coach.service.settings import Chosen

__all__ = ["Coaching"]


class Coaching:
    """The coach of a session.

    Args:
        climb: the ladder.
        choice: of the session.
        diary: what the session remembers.
        listed: gives the list of tunes.

    Attributes:
        rung: what is offered next; None where nothing is.
        thinks: what the coach thinks of what the player has chosen; empty where it agrees.
        rest: the reminder of a rest that is due before the next pass; else empty.
    """

    def __init__(self, climb: Climb, choice: Choice, diary: Diary, listed: Callable[[], list[TuneLine]]) -> None:
        self.rung: Rung | None = None
        self.thinks = ""
        self.rest = ""
        self._climb = climb
        self._choice = choice
        self._diary = diary
        self._listed = listed
        self._tune = ""
        self._restores = ""
        self._left: Chosen | None = None
        self._last: SittingKept | None = None
        self._warmed_up = 0
        self._record: Mapping[str, Any] = {}
        self._wished: Wishes | None = None  # when a rung was offered last

    # ------------------------------------------------------------------------------------------ what is remembered

    def opened(self) -> None:
        """The diary is open: the player's own settings come back, and the ladder knows of their tunes; a sitting that
        was on a few minutes ago goes on."""
        remembered = self._diary.remembered
        with suppress(InputError):
            self._choice.change(read_settings(remembered.settings, of_tune=False))
        self._climb.remember(remembered.standings.values())
        self._record = remembered.settings
        self._last = last = remembered.sitting
        sitting = read_sitting(remembered.settings.get(SITTING), self._day)
        if sitting is not None:
            self._climb.go_on(sitting)
        elif last is not None:
            self._climb.rise(last_minutes=last.minutes, last_tempo=last.tempo)

    def choose_first(self, given: Collection[str], *, is_whole: bool) -> bool:
        """Choose the tune to begin with, where none is chosen yet.

        Args:
            given: the ids of the tunes that the service was begun with; they go before others.
            is_whole: whether the list of tunes is whole, so that what is not there will not come.

        Returns:
            whether one was chosen.
        """
        lines = [line.id for line in self._listed() if not line.study or line.id in given]
        if self._choice.chosen.tune or not self._diary.is_open or not lines:
            return False
        settings = self._diary.remembered.settings
        last = tune_of(settings)
        is_there = any(line.id == last for line in self._listed()) and (not given or last in given)
        if is_there:
            self._restores = last
        elif last and not given and not is_whole:
            return False
        if is_there:
            # The rest of it comes back with the solos; of these the tier's own is written first.
            self._choice.change(Settings(tune=last, tier=read_settings(settings, of_tune=True).tier))
        else:
            self._choice.change(Settings(tune=next((tune for tune in lines if tune in given), lines[0])))
        return True

    def keep_settings(self) -> None:
        """Have the sitting remembered, and the settings, but for what a rung has put aside for a while."""
        if not self._diary.is_open or self._restores:
            return
        if self._left is None:
            self._record = settings_record(self._choice.own)
        sitting = self._climb.sitting
        is_on = sitting.minutes is not None or sitting.began is not None
        kept = sitting_record(sitting, self._day) if is_on else None
        self._diary.keep_settings({**self._record, SITTING: kept})

    # ------------------------------------------------------------------------------------------ what is chosen

    def arrived(self) -> None:
        """Solos have come."""
        course, chosen = self._choice.course, self._choice.chosen
        if course is None or not self._diary.is_open:
            return
        remembered = self._diary.remembered
        recalled = Recalled(remembered.standings.get(course.tune), remembered.known.get(course.tune))
        self._climb.arrived(course, recalled, aside=self._is_aside)
        if self._is_aside:
            return
        if self._tune == chosen.tune:
            if self.rung is not None and not self._choice.is_possible(self.rung):
                self._offer()
            return
        self._tune = chosen.tune
        if self._restores == chosen.tune:
            with suppress(InputError):
                self._choice.recall(read_settings(remembered.settings, of_tune=True))
        self._restores = ""
        self.rung = None
        if self._climb.standing_of(chosen.tune) is not None or self._climb.sitting.minutes is not None:
            self._offer()
        self.think()

    def asked(self, message: Settings) -> None:
        """The player is about to choose otherwise: what a rung has put aside comes back first."""
        if message.tune is not None:
            self._restores = ""
            left = self._left
            self._come_back()
            if left is not None and message.tune != self._choice.chosen.tune:
                self._choice.put(tier=left.tier, tempo=left.tempo)

    def changed(self, message: Settings, *, wishes_before: Wishes) -> None:
        """The player has chosen otherwise."""
        if self._left is not None:
            told = {name: value for name in ("goal", "floor") if (value := getattr(message, name)) is not None}
            self._left = replace(self._left, **told)
        if self._choice.chosen.tune != self._tune and not self._is_aside:
            self.rung = None
        if self.rung is not None and self.wishes != wishes_before:
            self._offer()
        self.think()
        self.keep_settings()

    def ruled(self) -> bool:
        """What a teacher has set may be otherwise now; tells whether that changes what is chosen or offered."""
        is_other = self._choice.rule()
        if self.rung is not None and self.wishes != self._wished:
            self._offer()
            is_other = True
        if is_other:
            self.think()
        return is_other

    @property
    def wishes(self) -> Wishes:
        """What the player wants for the tune at hand."""
        choice, left = self._choice, self._left
        rules = choice.rules_of(choice.at_hand)
        aims = choice.chosen
        if left is not None:
            aims, _ = ruled(replace(choice.own, floor=left.floor, goal=left.goal), rules)
        cap = None if rules is None else rules.cap
        return Wishes(aims.floor, aims.goal, aims.policy, aims.step, aims.clean_needed, cap)

    def take_rung(self) -> None:
        """Choose what is offered.

        Raises:
            InputError: when nothing is.
        """
        rung = self.rung
        if rung is None:
            raise InputError("no next rung is offered yet", cure="play a pass first")
        left = self._left
        self._come_back()
        if rung.tune not in ("", self._choice.at_hand) or rung.use == "warm-up":
            self._left = left or self._choice.own
        self._warmed_up += rung.use == "warm-up"
        self._choice.take_rung(rung)
        self.think()
        self.keep_settings()

    def told_rung(self) -> Rung | None:
        """The rung as pages are told it: with the tune at hand by name where another one is on their sheet."""
        rung, chosen = self.rung, self._choice.chosen
        if rung is None:
            return None
        tune = rung.tune or (self._choice.at_hand if chosen.tune != self._choice.at_hand else "")
        return structs.replace(rung, tune=tune, title=self.title_of(tune))

    def think(self) -> None:
        """Think of what is chosen."""
        chosen, tune = self._choice.chosen, self._choice.at_hand
        self.thinks = ""
        if self._tune == tune == chosen.tune and not chosen.jam and self._choice.solos:
            self.thinks = self._climb.thinks(_wanted(chosen), self.wishes, self._day)

    # ------------------------------------------------------------------------------------------ passes and sittings

    def begins(self) -> None:
        """A pass begins."""
        self.rest = ""
        self.keep_settings()

    def over(self, ended: Ended, *, clean: bool) -> None:
        """A pass to the click is over that moves the ladder: the next rung follows."""
        seen = seen_of(ended, clean=clean, now=self._diary.today)
        self._show(self._climb.over(ended.order.piece.tune, seen, self.wishes))
        self.rest = self._climb.rest()
        self.think()
        self.keep_settings()

    def repeat(self, ended: Ended, why: str) -> None:
        """The pass that is over moves nothing: it is offered again."""
        order, measures = ended.order, ended.order.plan.measures
        piece = order.piece
        self.rung = Rung(
            tier=piece.tier,
            tempo=order.tempo if self.wishes.cap is None else min(order.tempo, self.wishes.cap),
            first=measures[0].number,
            last=measures[-1].number,
            why=why,
            use=order.use,
            tune="" if piece.tune == self._choice.at_hand else piece.tune,
            mix=list(piece.mix),
            solo=self._choice.chosen.with_solo,
            backing=self._choice.chosen.with_backing,
        )

    def say_of_rung(self, why: str) -> None:
        """What was said of the rung was said of another pass."""
        if self.rung is not None:
            self.rung = structs.replace(self.rung, why=why)

    def sit(self, minutes: float) -> None:
        """A sitting begins; with 0 minutes the one that is on ends.

        Raises:
            InputError: when no tune is there to practise.
        """
        if minutes:
            if not self._tune:
                raise InputError("there is no solo to practise yet", cure="choose a tune and wait for its solo")
            self._rise()
            last = self._last
            self._climb.sit(
                minutes,
                self._day,
                last_minutes=None if last is None else last.minutes,
                last_tempo=None if last is None else last.tempo,
            )
        else:
            self._rise()
            self._climb.rise()
        self._offer()
        self.keep_settings()

    def sitting(self) -> SittingState | None:
        """The sitting that was planned, for pages; None where none was."""
        sitting = self._climb.sitting
        if sitting.minutes is None:
            return None
        return SittingState(sitting.minutes, round(sitting.elapsed, 1), bool(self.rest) and sitting.is_asked)

    def sitting_kept(self) -> SittingKept | None:
        """The sitting as far as it has gone, planned or not; None before its first pass."""
        sitting = self._climb.sitting
        if sitting.began is None:
            return None
        return SittingKept(
            time_of(sitting.began), sitting.minutes, round(sitting.elapsed, 2), sitting.top_tempo or None
        )

    def record(self, tune: str) -> dict[str, object] | None:
        """Where the ladder of a tune stands, as plain values; None where it was never climbed."""
        standing = self._climb.standing_of(tune)
        return None if standing is None else dict(standing)

    def known(self, tune: str) -> Known | None:
        """The curves of a tune; None where it was never played."""
        return self._climb.known_of(tune)

    def title_of(self, tune: str) -> str:
        """The title of a tune in the list; empty where it is not there."""
        return next((line.title for line in self._listed() if line.id == tune), "")

    # ------------------------------------------------------------------------------------------ the parts

    @property
    def _is_aside(self) -> bool:
        return self._choice.chosen.tune != self._choice.at_hand

    @property
    def _day(self) -> float:
        return days_of(self._diary.today)

    def _rise(self) -> None:
        """The sitting that is on is the last one now, where it was long enough to count."""
        kept = self.sitting_kept()
        if kept is not None and kept.minutes >= COUNTS:
            self._last = kept

    def _offer(self) -> None:
        chosen = self._left or self._choice.chosen
        self._show(self._climb.offer(_wanted(chosen), self.wishes, self._day))

    def _show(self, rung: Rung | None) -> None:
        """Offer a rung; a warm-up goes through the roll studies by turns, from day to day."""
        if rung is not None and rung.use == "warm-up" and not rung.tune:
            studies = [line.id for line in self._listed() if line.study]
            if studies:
                rung = structs.replace(rung, tune=studies[(int(self._day) + self._warmed_up) % len(studies)])
        self.rung = rung
        self._wished = self.wishes
        if rung is not None:
            self._choice.prepare(rung)

    def _come_back(self) -> None:
        """Floor and goal are those of the tune at hand again."""
        if self._left is not None:
            self._choice.put(goal=self._left.goal, floor=self._left.floor)
            self._left = None


def _wanted(chosen: Chosen) -> Wanted:
    return Wanted(chosen.tier, chosen.tempo, chosen.mix, chosen.first, chosen.last)
