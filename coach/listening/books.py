"""What has become final in a pass: verdicts, extras, drops and scores."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from fractions import Fraction

from coach.listening.conditioning import Placed
from coach.listening.events import Amended, DroppedNote, Event, ExtraNote, MeasureDone
from coach.listening.moved import Reading
from coach.listening.places import Expected, Places
from coach.listening.scores import Dropped, MeasureScore, score_measure
from coach.listening.verdicts import Extra, NoteVerdict, extra_of

__all__ = ["BEHIND", "OTHER_CHANNEL", "Books"]

BEHIND = "behind the watermark"
"""Why a note is dropped that comes after it was said that nothing so early would come."""

OTHER_CHANNEL = "other channel"
"""Why a note is dropped that comes on a channel of no string, where channels tell strings."""


class Books:
    """The books of a pass.

    Args:
        places: of the pass.

    Attributes:
        verdicts: by the index of the pluck.
        dropped: the notes that were dropped.
        scores: of the measures that are done, by number.
    """

    def __init__(self, places: Places) -> None:
        self.verdicts: dict[int, NoteVerdict] = {}
        self.dropped: list[Dropped] = []
        self.scores: list[MeasureScore] = []
        self._places = places
        self._extras: dict[int, list[tuple[int | None, Extra]]] = {}  # by measure; with the index of its place
        self._by_measure: dict[int, list[Expected]] = {}
        for pluck in places.expected:
            self._by_measure.setdefault(pluck.measure, []).append(pluck)

    @property
    def notes(self) -> tuple[NoteVerdict, ...]:
        """The verdicts in the order of their plucks."""
        return tuple(self.verdicts[index] for index in sorted(self.verdicts))

    @property
    def extras(self) -> tuple[Extra, ...]:
        """The extras by time."""
        found = [extra for entries in self._extras.values() for _, extra in entries]
        return tuple(sorted(found, key=lambda extra: (extra.time, extra.seq)))

    def is_played(self, index: int) -> bool:
        """Whether the pluck with this index counts as played, as far as is known."""
        note = self.verdicts.get(index)
        return note is not None and note.played

    def is_begun(self, measure: int) -> bool:
        """Whether a pluck of a measure has its verdict."""
        return any(pluck.index in self.verdicts for pluck in self._by_measure.get(measure, ()))

    def is_whole(self, reached: float) -> bool:
        """Whether the pass was played to its end: the input reached its last place (of at least one), in microseconds,
        or that was heard, and something was played in its last measure."""
        last = self._places.expected[-1]
        heard = {index for index, note in self.verdicts.items() if note.verdict != "missed"}
        return any(pluck.index in heard for pluck in self._by_measure[last.measure]) and (
            reached >= last.time or last.index in heard
        )

    def drop(self, placed: Placed, reason: str) -> Dropped:
        """Note down a note that is dropped."""
        dropped = Dropped(placed.note.seconds, placed.note.pitch, reason, placed.note.seq)
        self.dropped.append(dropped)
        return dropped

    def keep_extra(self, placed: Placed, place: int | None) -> Extra:
        """Note down an extra note, in a measure that is not done yet."""
        extra = extra_of(placed, self._places)
        if self.scores and extra.measure <= self.scores[-1].number:
            # On the very edge of a measure that is done: it goes to the next.
            following = self._places.spans[len(self.scores)].measure.number
            extra = replace(extra, measure=following, at=Fraction(0))
        self._extras.setdefault(extra.measure, []).append((place, extra))
        return extra

    def explain(self, seq: int | None, place: int | None = None) -> int | None:
        """Take out the extra (at a place, where one is given) with this ``seq``; tells its measure."""
        if seq is None:
            return None
        for measure, extras in self._extras.items():
            for entry in extras:
                if entry[1].seq == seq and place in (None, entry[0]):
                    extras.remove(entry)
                    return measure
        return None

    def rewrite(self, reading: Reading) -> list[Event]:
        """Put a reading of the whole pass in place of what is in the books; tells what comes of it."""
        events: list[Event] = []
        extras = {extra.seq: extra for extra in self.extras}
        remaining = {placed.note.seq for placed in reading.extras}
        for index in sorted(self.verdicts):
            note = reading.verdicts[index]
            if note != self.verdicts[index]:
                self.verdicts[index] = note
                is_explained = note.seq in extras and note.seq not in remaining
                events.append(Amended(note, "passage", note.seq if is_explained else None))
        dropped = {dropped.seq for dropped in self.dropped}
        self.dropped = [each for each in self.dropped if each.reason in (BEHIND, OTHER_CHANNEL)]
        for placed, reason in reading.dropped:
            now = self.drop(placed, reason)
            if now.seq not in dropped:
                events.append(DroppedNote(now))
        self._extras = {}
        for placed in reading.extras:
            extra = extras.get(placed.note.seq)
            if extra is None:
                extra = extra_of(placed, self._places)
                events.append(ExtraNote(extra))
            self._extras.setdefault(extra.measure, []).append((None, extra))
        return events

    def score(self, measure: int) -> MeasureScore:
        """The score of a measure as the books stand."""
        plucks = self._by_measure.get(measure, [])
        notes = [self.verdicts[pluck.index] for pluck in plucks if pluck.index in self.verdicts]
        extras = [extra for _, extra in self._extras.get(measure, [])]
        return score_measure(measure, self._places.plan.number, notes, extras)

    def score_again(self, touched: Collection[int]) -> list[Event]:
        """Say the scores again of measures that are done, by number, where they have become others."""
        events: list[Event] = []
        for i, score in enumerate(self.scores if touched else ()):
            if score.number in touched and (again := self.score(score.number)) != score:
                self.scores[i] = again
                events.append(MeasureDone(again))
        return events
