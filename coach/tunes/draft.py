"""A tune being read: measures filled one after another, whatever the format of the source."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from coach.tunes.chords import Chord
from coach.tunes.keys import Key
from coach.tunes.tune import ChordChange, Measure, Meter, Note

__all__ = [
    "MOST_MEASURES",
    "Draft",
    "MeasureWriter",
    "Misnamed",
    "first_number",
    "remark_on_texts",
    "remarks_on",
    "remarks_on_names",
]

MOST_MEASURES = 500


@dataclass(frozen=True, slots=True)
class Draft:
    """What a reader of one format hands on.

    Attributes:
        title, rights, key: as of a :class:`coach.tunes.tune.Tune`.
        measures: on paper, in order; their numbers mean nothing yet.
        remarks: what the reader had to leave out.
        phrased: whether the notes that begin phrases are marked already.
        key_told: whether the source tells the key, mode and all; a bare key signature does not.
    """

    title: str
    rights: str
    key: Key
    measures: tuple[Measure, ...]
    remarks: tuple[str, ...] = ()
    phrased: bool = False
    key_told: bool = True


@dataclass(slots=True)
class MeasureWriter:
    """Fills measures note by note.

    Attributes:
        meter: of the measure being filled.
        measures: those that are finished.
    """

    meter: Meter
    measures: list[Measure] = field(default_factory=list)
    _at: Fraction = Fraction(0)
    _notes: list[Note] = field(default_factory=list)
    _chords: list[ChordChange] = field(default_factory=list)
    _repeat_start: bool = False
    _endings: tuple[int, ...] = ()
    _key: Key | None = None
    _line_end: bool = False
    _line_at: Fraction = Fraction(0)

    @property
    def at(self) -> Fraction:
        """Where the writer stands, in quarters from the start of the measure."""
        return self._at

    @property
    def empty(self) -> bool:
        """Whether nothing has been put into the measure being filled."""
        return self._at == 0

    def add_note(self, note: Note, *, tied: bool = False) -> None:
        """Put a note where the writer stands.

        Args:
            note: its position is replaced by the writer's.
            tied: whether it is the continuation of the note before.
        """
        if tied and (joined := self._last_note()) is not None:
            words = joined.lyric if joined.lyric is not None else note.lyric
            self._replace_last(replace(joined, length=joined.length + note.length, lyric=words))
        else:
            self._notes.append(replace(note, at=self._at))
        self._at += note.length

    def add_rest(self, length: Fraction) -> None:
        """Go on without a note, by a length in quarters."""
        self._at += length

    def rest_until(self, at: Fraction) -> None:
        """Go on without a note up to a position in the measure; nothing is done where the writer is past it."""
        self._at = max(self._at, at)

    def add_chord(self, chord: Chord) -> None:
        """The chord from here on."""
        if self._chords and self._chords[-1].at == self._at:
            self._chords.pop()
        self._chords.append(ChordChange(self._at, chord))

    def change_key(self, key: Key) -> None:
        """The key from this measure on; where it changes within a measure, from the next one on."""
        self._key = key

    def start_repeat(self) -> None:
        """A sign that begins a repeat stands before what follows; it ends an ending."""
        self._repeat_start = True
        self._endings = ()

    def start_ending(self, times: tuple[int, ...]) -> None:
        """What follows is played at these times through only."""
        self._endings = times

    def end_line(self) -> None:
        """A line of the source ends here."""
        if not self.empty:
            self._line_end, self._line_at = True, self._at
        elif self.measures:
            self.measures[-1] = replace(self.measures[-1], line_end=True)

    def bar(self, *, ends: int = 1, double: bool = False) -> None:
        """Finish the measure; a barline with nothing since the last one only adds its signs to that.

        What is longer than the metre, and has the end of a line in it, is two measures: many old collections leave out
        the bar there.
        """
        if self.empty:
            if self.measures and (ends > 1 or double):
                last = self.measures[-1]
                self.measures[-1] = replace(
                    last, repeat_end=max(ends, last.repeat_end), double_bar=double or last.double_bar
                )
        elif self._at > self.meter.length and 0 < self._line_at < self._at:
            cut = self._line_at
            notes, chords, end = self._notes, self._chords, self._at
            self._notes = [note for note in notes if note.at < cut]
            self._chords = [change for change in chords if change.at < cut]
            self._finish(cut, ends=1, double=False)
            self._notes = [replace(note, at=note.at - cut) for note in notes if note.at >= cut]
            self._chords = [replace(change, at=change.at - cut) for change in chords if change.at >= cut]
            self._finish(end - cut, ends=ends, double=double)
        else:
            self._finish(self._at, ends=ends, double=double)
        if ends > 1 or double:
            self._endings = ()

    def _finish(self, length: Fraction, *, ends: int, double: bool) -> None:
        self.measures.append(
            Measure(
                number=0,
                meter=self.meter,
                length=length,
                notes=tuple(self._notes),
                chords=tuple(self._chords),
                repeat_start=self._repeat_start,
                repeat_end=ends,
                endings=self._endings,
                double_bar=double,
                line_end=self._line_end,
                key=self._key if self.measures else None,
            )
        )
        self._notes, self._chords = [], []
        self._repeat_start = self._line_end = False
        self._key, self._at, self._line_at = None, Fraction(0), Fraction(0)

    def _last_note(self) -> Note | None:
        """The note that ends where the writer stands."""
        if self._notes:
            note, end = self._notes[-1], self._at
        else:
            held = self._at
            for measure in reversed(self.measures):
                held += measure.length
                if measure.notes:
                    note, end = measure.notes[-1], held
                    break
            else:
                return None
        return note if note.at + note.length == end else None

    def _replace_last(self, note: Note) -> None:
        if self._notes:
            self._notes[-1] = note
            return
        for index in range(len(self.measures) - 1, -1, -1):
            if self.measures[index].notes:
                measure = self.measures[index]
                self.measures[index] = replace(measure, notes=(*measure.notes[:-1], note))
                return


@dataclass(frozen=True, slots=True)
class Misnamed:
    """A symbol over the staff that is no chord name that is known.

    Attributes:
        index: of its measure.
        symbol: as the source has it.
        chord: what it is read as; None where it is left out.
    """

    index: int
    symbol: str
    chord: Chord | None


def first_number(measures: Sequence[Measure]) -> int:
    """The number of the first measure: 0 where it is a pickup, else 1."""
    return 0 if len(measures) > 1 and measures[0].length < measures[0].meter.length else 1


def remarks_on_names(misnamed: Iterable[Misnamed], first: int) -> tuple[str, ...]:
    """One sentence for each symbol that is no known chord name, with its measures, the first numbered ``first``."""
    places: dict[tuple[str, Chord | None], list[int]] = {}
    for each in misnamed:
        numbers = places.setdefault((each.symbol, each.chord), [])
        if first + each.index not in numbers:
            numbers.append(first + each.index)
    return tuple(
        f"Measure {', '.join(map(str, numbers[:8]))}{' …' * (len(numbers) > 8)}: {symbol[:24]!r} is no chord name that "
        + (f"is known, and is read as {chord.symbol}." if chord else "can be read, and is left out.")
        for (symbol, chord), numbers in list(places.items())[:_MOST_NAMES]
    )


_MOST_NAMES = 12
_MOST_TEXTS = 6


def remark_on_texts(texts: Sequence[tuple[int, str]]) -> tuple[str, ...]:
    """One sentence for all text over the staff that is no chord, with the number of its measure; none for none."""
    if not texts:
        return ()
    named = ", ".join(f"{text[:24]!r} in measure {number}" for number, text in texts[:_MOST_TEXTS])
    return (f"Text over the staff that is no chord is left out: {named}{' …' * (len(texts) > _MOST_TEXTS)}.",)


def remarks_on(found: Iterable[str]) -> tuple[str, ...]:
    """The sentences for what a reader passed over."""
    return tuple(sentence for name, sentence in _PASSED_OVER.items() if name in set(found))


_PASSED_OVER = {
    "graces": "Grace notes become slurs where the hand allows it; the others are left out.",
    "ornaments": "Ornaments (trills, turns and the like) are left out.",
    "double notes": "Where several notes stand together, the highest is the melody.",
    "voices": "Of several voices the first is the melody.",
    "directions": "Signs that send the player to another place (D.C., segno, coda) are not followed.",
}
