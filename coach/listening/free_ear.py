"""The ear of a pass in free time: notes and watermarks in, marks at once, verdicts when the player is done.

While it is played, each note is followed (:mod:`~coach.listening.follower`) once the watermark is 40 ms past it, so
that what looks like a ghost is known as one: it gets a provisional mark, a second one where what came after it makes
it another pluck, and tells in which measure the player is and how fast. Verdicts are given at the end, by all that was
heard, and are exactly those of :func:`~coach.listening.free_time.hear_freely`.

The end
    A pass is over with Stop; ``AFTER_LAST`` seconds after a note with which the last place was reached, if nothing
    follows; and after ``SILENCE`` seconds without a note, which is longer than a learner stops to think
    (common practice, no source). Who has not begun is waited for ``BEFORE_FIRST`` seconds. The last place counts as
    reached only at the end of a few that were sounded in their order: one note alone may be a slip that looks like it.
    The end follows from the notes alone, so a recorded pass ends where it ended live, whatever lies behind it.
"""

from __future__ import annotations

import math
from bisect import insort
from dataclasses import replace

from coach.listening.events import (
    DroppedNote,
    Event,
    ExtraNote,
    Heard,
    MeasureDone,
    PassDone,
    PlayerAt,
    VerdictGiven,
)
from coach.listening.follower import Decided, Follower
from coach.listening.free_time import CLOSE, FreePass, doubted, hear_freely, less_latency, onsets_of
from coach.listening.heard import HeardNote, Sound
from coach.listening.path import Sounded
from coach.listening.places import places_of
from coach.listening.plan import PassPlan, Settings

__all__ = ["AFTER_LAST", "BEFORE_FIRST", "SILENCE", "FreeEar"]

AFTER_LAST = 2.0
SILENCE = 15.0
BEFORE_FIRST = 60.0
IN_ORDER = 4  # onsets sounded in their order, or all where there are fewer, before the last one counts


class FreeEar:
    """Hears one pass in free time, driven as a :class:`~coach.listening.listener.Listener` is.

    Args:
        plan: the pass; its tempo is what the player is taken to have until they have shown it.
        settings: of the instrument; the tolerance of time is not used.

    Attributes:
        result: what came of the pass; None until it is over.
        stopped_at: where the player stopped it, in seconds of the take; None where they did not.
        over_at: when it is over if nothing more is heard, or when it was; in seconds of the take, less the latency.
    """

    def __init__(self, plan: PassPlan, settings: Settings | None = None) -> None:
        self.plan = plan
        self.settings = settings or Settings()
        self.result: FreePass | None = None
        self.stopped_at: float | None = None
        places = places_of(replace(plan, tempo=60.0, origin=0.0))
        self._places = places.places
        onsets = onsets_of(places)
        self._last = max((index for index, onset in enumerate(onsets) if not onset.optional), default=0)
        self._follower = Follower(onsets, 60.0 / plan.tempo) if onsets else None
        self._slack = self.settings.latency.most / 1000
        self._passed = -math.inf  # the watermark
        self.over_at = plan.origin + BEFORE_FIRST
        self._sounds: list[Sound] = []  # as they came
        self._waiting: list[HeardNote] = []  # less their latency, in order
        self._followed: list[HeardNote] = []
        self._told: list[int | None] = []  # of each of these the onset that its mark was given for
        self._at: PlayerAt | None = None

    @property
    def is_over(self) -> bool:
        """Whether the pass is final."""
        return self.result is not None

    def take(self, sound: Sound) -> list[Event]:
        """Take a note or a bend.

        Returns:
            Nothing, but for a note that is no part of the pass: a note gets its mark when the watermark has passed it.
            One that comes behind the watermark gets none; it counts for the verdicts.
        """
        if self.is_over or sound.seconds < self.plan.origin or self._is_stopped(sound.seconds):
            if isinstance(sound, HeardNote):
                return [Heard(sound.seq, None, "outside", None, sound.pitch, sound.string)]
            return []
        self._sounds.append(sound)
        heard = less_latency(sound, self.settings.latency)
        if isinstance(heard, HeardNote) and sound.seconds >= self._passed:
            insort(self._waiting, heard, key=_rank)
        return []

    def watermark(self, seconds: float) -> list[Event]:
        """Take the input's word that nothing with a stamp before ``seconds`` (of the take) will come."""
        if self.is_over or seconds <= self._passed:
            return []
        self._passed = seconds
        if self._is_stopped(seconds):
            return self._advance(math.inf)
        return self._advance(seconds - self._slack)

    def stop(self, seconds: float) -> list[Event]:
        """The player stops the pass: from then on nothing is heard.

        Args:
            seconds: when, on the clock of the take. Where the watermark is ahead of that, the stop takes effect at the
                watermark; :attr:`stopped_at` is what counts, and what the take keeps.

        The pass is final when the watermark reaches the stop.
        """
        if self.stopped_at is None and not self.is_over:
            stop = self.stopped_at = max(seconds, self._passed)
            gone = {sound.seq for sound in self._sounds if sound.seconds >= stop}
            self._sounds = [sound for sound in self._sounds if sound.seq not in gone]
            self._waiting = [note for note in self._waiting if note.seq not in gone]
        return self._advance(math.inf) if self._is_stopped(self._passed) and not self.is_over else []

    def finish(self, end: float | None = None) -> list[Event]:  # noqa: ARG002
        """Nothing more will come.

        Args:
            end: the end of the take; places after the last one reached are not expected in any case.
        """
        return [] if self.is_over else self._advance(math.inf)

    # The parts

    def _is_stopped(self, seconds: float) -> bool:
        return self.stopped_at is not None and seconds >= self.stopped_at

    def _advance(self, settled: float) -> list[Event]:
        """Follow the notes that are known with all around them; ``settled``: no earlier one will come."""
        events: list[Event] = []
        ready = 0
        while ready < len(self._waiting):
            seconds = self._waiting[ready].seconds
            if seconds >= self.over_at or seconds + CLOSE >= settled:
                break
            events += self._follow(ready)
            ready += 1
        del self._waiting[:ready]
        following = self._waiting[0].seconds if self._waiting else math.inf
        return [*events, *self._end()] if min(settled, following) >= self.over_at else events

    def _follow(self, ready: int) -> list[Event]:
        """Follow the note that waits at an index; those before it are followed."""
        note = self._waiting[ready]
        sounded = self._sounded(ready)
        self.over_at = note.seconds + SILENCE
        if self._follower is None:
            return [Heard(note.seq, None, "extra", None, note.pitch, note.string)]
        index = len(self._followed)
        self._followed.append(note)
        decided = [event for event in self._follower.follow(sounded) if isinstance(event, Decided)]
        chain = self._follower.chain
        onset = chain[-1].onset if chain and chain[-1].note == index else None
        self._told.append(onset)
        events: list[Event] = [self._mark(note, onset, doubtful=sounded.doubtful)]
        for event in decided:
            if event.onset != self._told[event.note]:
                self._told[event.note] = event.onset
                events.append(self._mark(self._followed[event.note], event.onset))
        if chain:
            if self._has_reached_the_end():
                self.over_at = note.seconds + AFTER_LAST
            at = PlayerAt(self._places[chain[-1].onset].plucks[0].measure, round(60 / self._follower.quarter, 1))
            if at != self._at:
                self._at = at
                events.append(at)
        return events

    def _sounded(self, ready: int) -> Sounded:
        """The note that waits at an index, with a doubt where what is around it gives one."""
        note = self._waiting[ready]
        since, until = len(self._followed), ready + 1
        while since and self._followed[since - 1].seconds >= note.seconds - CLOSE:
            since -= 1
        while until < len(self._waiting) and self._waiting[until].seconds <= note.seconds + CLOSE:
            until += 1
        before = self._followed[since:]
        return doubted([*before, *self._waiting[ready:until]])[len(before)]

    def _mark(self, note: HeardNote, onset: int | None, *, doubtful: bool = False) -> Heard:
        """The provisional mark of a note that sounds an onset, or none."""
        if onset is None:
            return Heard(note.seq, None, "dropped" if doubtful else "extra", None, note.pitch, note.string)
        plucks = self._places[onset].plucks
        same = [pluck for pluck in plucks if pluck.pitch == note.pitch]
        if not same:
            return Heard(note.seq, plucks[0].id, "wrong note", None, note.pitch, note.string)
        pluck = next((pluck for pluck in same if pluck.string == note.string), same[0])
        is_there = note.string in (None, pluck.string)
        return Heard(note.seq, pluck.id, "on time" if is_there else "other string", None, note.pitch, note.string)

    def _has_reached_the_end(self) -> bool:
        """Whether the last place was sounded, at the end of a few in their order."""
        assert self._follower is not None
        chain = self._follower.chain
        if chain[-1].onset < self._last:
            return False
        wanted = min(IN_ORDER, len(self._places))
        sounded: set[int] = set()
        for step in reversed(chain):
            sounded.add(step.onset)
            if len(sounded) == wanted:
                return True
            if step.how in ("start", "jump"):
                return False
        return False

    def _end(self) -> list[Event]:
        """Judge all that was heard until the pass was over."""
        latency = self.settings.latency
        sounds = [sound for sound in self._sounds if less_latency(sound, latency).seconds < self.over_at]
        self.result = hear_freely(self.plan, sounds, self.settings)
        result = self.result.result
        # Offsets are from the player's own line, and say how even they were: of a single note they are no verdict.
        return [
            *map(DroppedNote, result.dropped),
            *(VerdictGiven(replace(note, offset=None)) for note in result.notes),
            *map(ExtraNote, result.extras),
            *(MeasureDone(replace(score, mean_offset_ms=None)) for score in result.measures),
            PassDone(result),
        ]


def _rank(note: HeardNote) -> tuple[float, int]:
    return note.seconds, note.seq
