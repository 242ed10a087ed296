"""The listener: notes and watermarks in, verdicts out, the same live and offline.

The core has no clock. A *watermark* is the input's word that nothing with an earlier stamp will come; everything
final follows from the notes and the watermark alone, so it does not matter when, in what order or in what portions
they arrive. Of a pass, in order of time:

1. a note outside every window is settled 40 ms after it (:mod:`~coach.listening.conditioning` looks so far ahead);
2. a place is settled 40 ms after its window;
3. a measure is settled with the last of its places, its end, and the next place if an extra note there may still lie
   in the measure;
4. the pass is settled with its last place or measure.

A slurred pluck that was not heard counts as played with its pick for as long as the instrument has shown no slur in the
take. When the first one is heard, the verdicts given under that assumption in the pass are amended at once; passes that
were reported before stay as they were.

Beside that, slot by slot, the listener watches where the player is (:mod:`~coach.listening.watch`). Once a passage is
recognised, its places are judged where the player was, and what was said of them before is amended. When the pass
ends, all of it is judged along the path of least cost through the whole.
"""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Iterator, Sequence
from dataclasses import replace

from coach.listening.agenda import MEASURE, PLACE, SLOT, agenda_of
from coach.listening.books import BEHIND, OTHER_CHANNEL, Books
from coach.listening.conditioning import LOOK_AHEAD, Placed
from coach.listening.events import (
    Amended,
    DroppedNote,
    Event,
    ExtraNote,
    MeasureDone,
    PassageSeen,
    PassDone,
    VerdictGiven,
)
from coach.listening.heard import Bend, HeardNote, NoteEnd, Sound, StrayNote
from coach.listening.marks import mark_alone, mark_at
from coach.listening.moved import better, read
from coach.listening.passages import Passage
from coach.listening.places import MICROSECONDS, Place, Places, Span, places_of
from coach.listening.plan import PassPlan, Settings
from coach.listening.scores import Dropped, PassResult, pass_is_clean
from coach.listening.sounds import Sounds
from coach.listening.verdicts import Judged, NoteVerdict
from coach.listening.watch import PassageWatch

__all__ = ["Listener"]


class Listener:
    """Listens to one pass.

    Args:
        plan: the pass.
        settings: of the player and the instrument.

    Feed it with :meth:`take` (or, by the kind of sound, :meth:`hear` and :meth:`bend`) and :meth:`watermark`; end it
    with :meth:`stop` or :meth:`finish`. Each returns the events that follow, in order; the last is
    :class:`~coach.listening.events.PassDone`.
    """

    def __init__(self, plan: PassPlan, settings: Settings | None = None) -> None:
        self.plan = plan
        self.settings = settings or Settings()
        self.places: Places = places_of(plan, self.settings.tolerance_ms)
        self.result: PassResult | None = None
        self.stopped_at: float | None = None
        self._lean = round(plan.lean_ms * 1000)
        self._slack = round(self.settings.latency.most * 1000)
        self._slurs_shown = plan.slurs_shown
        self._passed = -math.inf  # the watermark, in seconds of the take
        self._settled = -math.inf  # the same on the clock of the pass
        self._end = math.inf  # the end of the take on the clock of the pass: nothing later is expected
        self._sounds = Sounds(self.places)
        self._loose: list[Placed] = []  # in no window, not settled yet
        self._strays: set[tuple[int, int]] = set()  # by their ranks: those of them that are on a channel of no string
        self._books = Books(self.places)
        self._watch = PassageWatch(self.places, self._sounds)
        self._passages: tuple[Passage, ...] = ()  # as they were told
        self._explained: set[int] = set()  # by ``seq``: the notes that are heard for a pluck where the player was
        self._ahead: dict[int, NoteVerdict] = {}  # verdicts where the player was, before the written place is settled
        self._agenda = agenda_of(self.places, self._watch.slots.bounds)
        self._next = 0
        self._first = min(0, self.places.places[0].opens if self.places.places else 0)
        if plan.opens is not None:
            self._first = max(self._first, self._clock(plan.opens))
        self._last = self.places.end if plan.closes is None else min(self.places.end, self._clock(plan.closes) - 1)

    @property
    def is_over(self) -> bool:
        """Whether the pass is final."""
        return self.result is not None

    def hear(self, note: HeardNote) -> list[Event]:
        """Take a note.

        Returns:
            Its provisional mark; nothing more, since only a watermark makes anything final. A note behind the
            watermark breaks the promise that this made; it is dropped with that reason.
        """
        time = self._clock(note.seconds, self.settings.latency.of(note.string, note.pitch))
        if time < self._first or time > self._last or self._is_over(note.seconds):
            return [mark_alone(note, "outside")]
        if note.seconds < self._passed:
            dropped = Dropped(note.seconds, note.pitch, BEHIND, note.seq)
            self._books.dropped.append(dropped)
            return [DroppedNote(dropped)]
        place = self.places.at(time)
        placed = self._sounds.add(time, note, place)
        self._watch.hear(placed)
        if place is None:
            insort(self._loose, placed, key=lambda each: each.rank)
            return [mark_alone(note, "extra")]
        return [mark_at(place, placed, self._sounds, self._lean)]

    def bend(self, bend: Bend) -> list[Event]:
        """Take a pitch bend. Returns nothing: what it sounds is said when its place is final."""
        time = self._clock(bend.seconds, self.settings.latency.of(bend.string))
        if bend.seconds >= self._passed and time <= self._last and not self._is_over(bend.seconds):
            self._sounds.add_bend(time, bend)
            self._watch.bend(time, bend)
        return []

    def take(self, sound: Sound) -> list[Event]:
        """Take a sound, of whatever kind."""
        if isinstance(sound, HeardNote):
            return self.hear(sound)
        if isinstance(sound, Bend):
            return self.bend(sound)
        return self._end_note(sound) if isinstance(sound, NoteEnd) else self._stray(sound)

    def watermark(self, seconds: float) -> list[Event]:
        """Take the input's word that nothing with a stamp before ``seconds`` (of the take) will come."""
        if seconds <= self._passed:
            return []
        self._passed = seconds
        if self.stopped_at is not None and seconds >= self.stopped_at:
            return self._run_out()
        self._settled = self._clock(seconds) - self._slack
        return self._advance()

    def stop(self, seconds: float) -> list[Event]:
        """The player stops the pass: from then on nothing is heard, and the rest of the pass is missed.

        Args:
            seconds: when, on the clock of the take. Where the watermark is ahead of that, the stop takes effect at the
                watermark; :attr:`stopped_at` is what counts, and what the take keeps.

        The pass is final when the watermark reaches the stop.
        """
        if self.stopped_at is None and self.result is None:
            self.stopped_at = max(seconds, self._passed)
            self._forget_from(self.stopped_at)
        return self._run_out() if self.stopped_at is not None and self._passed >= self.stopped_at else []

    def finish(self, end: float | None = None) -> list[Event]:
        """Nothing more will come.

        Args:
            end: the end of the take in seconds; plucks after it are not expected, but for one that was played a little
                early. None when the take goes on beyond the pass.
        """
        if end is not None and self.stopped_at is None:
            self._end = self._clock(end)
        return self._run_out()

    # The parts

    def _end_note(self, end: NoteEnd) -> list[Event]:
        """Take a note-off, if it comes no later than it may still bear on the last note of the pass."""
        time = self._clock(end.seconds, self.settings.latency.of(end.string, end.pitch))
        if end.seconds >= self._passed and time <= self._last + LOOK_AHEAD and not self._is_over(end.seconds):
            self._sounds.endings.add(time, end)
        return []

    def _stray(self, note: StrayNote) -> list[Event]:
        """Take a note on a channel of no string: it is dropped in its turn."""
        time = self._clock(note.seconds, self.settings.latency.of(None, note.pitch))
        if not max(0, self._first) <= time <= self._last or self._is_over(note.seconds):
            return [mark_alone(note, "outside")]
        placed = Placed((time, note.seq), HeardNote(note.seconds, note.pitch, 0, note.channel, None, note.seq), None)
        if note.seconds < self._passed:
            return [DroppedNote(self._books.drop(placed, BEHIND))]
        insort(self._loose, placed, key=lambda each: each.rank)
        self._strays.add(placed.rank)
        return [mark_alone(note, "dropped")]

    def _clock(self, seconds: float, latency_ms: float = 0.0) -> int:
        """A stamp of the take on the clock of the pass, less the latency, in microseconds."""
        return round((seconds - self.plan.origin) * MICROSECONDS) - round(latency_ms * 1000)

    def _is_over(self, seconds: float) -> bool:
        return self.result is not None or (self.stopped_at is not None and seconds >= self.stopped_at)

    def _forget_from(self, seconds: float) -> None:
        """Drop what was heard from the stop on; none of it is settled yet."""
        gone = self._sounds.forget_from(seconds)
        self._watch.forget_from(seconds, gone)
        self._loose = [placed for placed in self._loose if placed.note.seconds < seconds]

    def _run_out(self) -> list[Event]:
        self._settled = math.inf
        return self._advance()

    def _advance(self) -> list[Event]:
        """Settle all that the watermark has passed, in order."""
        events: list[Event] = []
        while self._next < len(self._agenda):
            due, kind, index = self._agenda[self._next]
            if self._loose and self._loose[0].time + LOOK_AHEAD <= due:
                if self._loose[0].time + LOOK_AHEAD >= self._settled:
                    break
                events += self._settle_loose(self._loose.pop(0))
                continue
            if due >= self._settled:
                break
            self._next += 1
            if kind == PLACE:
                events += self._settle_place(self.places.places[index])
            elif kind == SLOT:
                events += self._settle_slot(due)
            elif kind == MEASURE:
                events += self._settle_measure(self.places.spans[index])
            else:
                events += self._settle_pass()
        return events

    def _settle_loose(self, placed: Placed) -> list[Event]:
        if placed.rank in self._strays:
            return [DroppedNote(self._books.drop(placed, OTHER_CHANNEL))]
        reason = self._sounds.reason(placed)
        if reason is not None:
            return [DroppedNote(self._books.drop(placed, reason))]
        if placed.note.seq in self._explained:
            return []
        return [ExtraNote(self._books.keep_extra(placed, None))]

    def _settle_place(self, place: Place) -> list[Event]:
        if place.time > self._end and not self._sounds.at_place.get(place.index):
            return []
        kept, dropped = self._sounds.conditioned(place)
        events: list[Event] = []
        for placed, reason in dropped:
            events.append(DroppedNote(self._books.drop(placed, reason)))
        judged = self._judge(place, kept)
        for here in judged.verdicts:
            note = self._ahead.pop(here.pluck.index, here)
            self._books.verdicts[note.pluck.index] = note
            events.append(VerdictGiven(note))
            if note is not here and (measure := self._books.explain(note.seq)) is not None:
                events += [Amended(note, "passage", note.seq), *self._books.score_again({measure})]
        for placed in judged.extras:
            if placed.note.seq not in self._explained:
                events.append(ExtraNote(self._books.keep_extra(placed, place.index)))
        if judged.shows_slur and not self._slurs_shown:
            self._slurs_shown = True
            if self._watch.ever_moved:
                self._watch.following = 0
            else:
                events += self._amend_before(place)
        return events

    def _amend_before(self, place: Place) -> list[Event]:
        """Judge slurred plucks again that were given the benefit of an instrument that shows no slurs."""
        events: list[Event] = []
        touched: set[int] = set()
        for earlier in self.places.places[: place.index]:
            if not earlier.slurs:
                continue
            judged = self._judge(earlier, self._sounds.conditioned(earlier)[0])
            remaining = {placed.note.seq for placed in judged.extras}
            for note in judged.verdicts:
                if note == self._books.verdicts[note.pluck.index]:
                    continue
                self._books.verdicts[note.pluck.index] = note
                measure = None if note.seq in remaining else self._books.explain(note.seq, earlier.index)
                events.append(Amended(note, "slur", None if measure is None else note.seq))
                touched |= {note.pluck.measure} if measure is None else {note.pluck.measure, measure}
        return events + self._books.score_again(touched)

    def _settle_slot(self, due: int) -> list[Event]:
        """Look where the player is, and judge what lies there."""
        if due > (self._end if self.stopped_at is None else min(self._end, self._clock(self.stopped_at))):
            return []
        return self._turn(due) if self._watch.settle() else self._follow(due)

    def _turn(self, due: float) -> list[Event]:
        """The player is seen to be, or to have been, elsewhere than it was taken until now."""
        watch = self._watch
        places = watch.moved.places.places
        to_come = {pluck.index for place in places[watch.following :] for pluck in place.plucks}
        self._ahead = {index: note for index, note in self._ahead.items() if index not in to_come}
        touched: set[int] = set()
        events: list[Event] = list(self._passages_seen())
        for index in sorted(watch.left_out):
            events += self._amend(NoteVerdict(self.places.expected[index], "missed"), touched)
        return events + self._books.score_again(touched) + self._follow(due)

    def _passages_seen(self) -> Iterator[PassageSeen]:
        if self._watch.passages != self._passages:
            self._passages = self._watch.passages
            yield PassageSeen(self._passages)

    def _follow(self, due: float) -> list[Event]:
        """Judge the places where the player was that are final by now."""
        events: list[Event] = []
        if not self._watch.ever_moved:
            return events
        touched: set[int] = set()
        moved = self._watch.moved
        while (place := self._watch.next_place(due)) is not None:
            for note in self._judge(place, moved.conditioned(place)[0], moved).verdicts:
                index = note.pluck.index
                here = replace(note, pluck=self.places.expected[index])
                if index in self._watch.twice:
                    here = better(self._books.verdicts.get(index, self._ahead.get(index)), here)
                events += self._amend(here, touched)
        return events + self._books.score_again(touched)

    def _amend(self, note: NoteVerdict, touched: set[int]) -> list[Event]:
        """Put a verdict where the player was in place of that at the written place, or keep it until that is due."""
        index = note.pluck.index
        given = self._books.verdicts.get(index)
        if note.seq is not None:
            self._explained.add(note.seq)
        if given is None:
            self._ahead[index] = note
        elif given != note:
            self._books.verdicts[index] = note
            measure = self._books.explain(note.seq)
            touched |= {note.pluck.measure} if measure is None else {note.pluck.measure, measure}
            return [Amended(note, "passage", None if measure is None else note.seq)]
        return []

    def _settle_measure(self, span: Span) -> list[Event]:
        number = span.measure.number
        if span.start > self._end and not self._books.is_begun(number):
            return []
        self._books.scores.append(self._books.score(number))
        return [MeasureDone(self._books.scores[-1])]

    def _settle_pass(self) -> list[Event]:
        books, events = self._books, self._last_reading()
        reached = self._reached()
        whole = books.is_whole(reached) if self.places.places else reached == self._last
        self.result = PassResult(
            plan=self.plan,
            notes=books.notes,
            extras=books.extras,
            dropped=tuple(sorted(books.dropped, key=lambda dropped: (dropped.seconds, dropped.seq))),
            measures=tuple(books.scores),
            whole=whole,
            clean=pass_is_clean(books.scores, whole=whole),
            slurs_shown=self._slurs_shown,
            passages=self._passages,
            kept_going=self._kept_going(reached),
            tolerance_ms=self.settings.tolerance_ms,
            traits=self._sounds.learned(books.notes),
        )
        return [*events, PassDone(self.result)]

    def _last_reading(self) -> list[Event]:
        """At the end of the pass its path is known: all of it is judged along that, where it is not the written one."""
        watch, expected = self._watch, self.places.expected
        watch.finish()
        events: list[Event] = list(self._passages_seen())
        if watch.ever_moved:
            reading = read(watch.moved, expected, lean=self._lean, slurs_shown=self._slurs_shown)
            if reading.shows_slur and not self._slurs_shown:
                self._slurs_shown = True
                reading = read(watch.moved, expected, lean=self._lean, slurs_shown=True)
            events += self._books.rewrite(reading)
            events += self._books.score_again({score.number for score in self._books.scores})
        return events

    def _reached(self) -> float:
        """The last microsecond of the pass that was heard."""
        return min(self._end, self._last if self.stopped_at is None else self._clock(self.stopped_at))

    def _kept_going(self, reached: float) -> bool:
        stopped = any(passage.kind == "stopped" for passage in self._passages)
        return not stopped and (not self.places.places or reached >= self.places.times[-1])

    def _judge(self, place: Place, kept: Sequence[Placed], sounds: Sounds | None = None) -> Judged:
        return (sounds or self._sounds).judge(
            place, kept, lean=self._lean, slurs_shown=self._slurs_shown, played=self._books.is_played
        )
