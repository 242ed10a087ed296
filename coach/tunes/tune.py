"""A tune as it stands on paper: melody, chords, words, metre, key, repeats.

Positions are exact fractions of a quarter note, counted from the start of their measure.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from dataclasses import dataclass, field
from fractions import Fraction

from coach.tunes.chords import Chord
from coach.tunes.keys import Key

__all__ = ["ChordChange", "Measure", "Meter", "Note", "Tune"]


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature.

    Attributes:
        count: beats (or eighths of a compound metre) in a measure, >= 1.
        unit: the note value that is counted: 1, 2, 4, 8, 16.
    """

    count: int
    unit: int

    @property
    def length(self) -> Fraction:
        """The length of a full measure in quarters."""
        return Fraction(4 * self.count, self.unit)

    @property
    def compound(self) -> bool:
        """Whether beats divide into three (6/8, 9/8, 12/8 and the like; not 3/8)."""
        return self.count % 3 == 0 and self.count > 3 and self.unit >= 8

    @property
    def beat(self) -> Fraction:
        """The length of a beat in quarters; a dotted value in a compound metre."""
        return Fraction(4, self.unit) * (3 if self.compound else 1)

    def __str__(self) -> str:
        return f"{self.count}/{self.unit}"


@dataclass(frozen=True, slots=True)
class Note:
    """A note of the melody.

    Attributes:
        at: where it starts, in quarters from the start of its measure.
        length: in quarters, > 0; ties are joined, so it may reach over the barline.
        pitch: MIDI note number of the sounding pitch.
        lyric: the syllable of the first verse, with a trailing hyphen when its word goes on; None without words.
        verses: the syllables of the further verses, verse 2 first.
        phrase_start: whether a phrase begins here.
        grace: the pitch of the grace note before it, the last of several; None without one.
    """

    at: Fraction
    length: Fraction
    pitch: int
    lyric: str | None = None
    verses: tuple[str | None, ...] = ()
    phrase_start: bool = False
    grace: int | None = None


@dataclass(frozen=True, slots=True)
class ChordChange:
    """A chord that holds from its position until the next one, over barlines."""

    at: Fraction
    chord: Chord


@dataclass(frozen=True, slots=True)
class Measure:
    """A measure as printed.

    Attributes:
        number: 0 for a pickup measure, then 1, 2, 3 ... through the paper.
        meter: the metre in force.
        length: what the measure holds, in quarters; shorter than the metre's in a pickup or around a repeat.
        notes: the notes that start here, in order, one at a time.
        chords: the chord changes that stand here, in order.
        repeat_start: a sign that begins a repeat stands at its start.
        repeat_end: how often the passage that ends here is played; 1 where there is no repeat sign.
        endings: the times through for which this measure is played; empty for every time.
        double_bar: a double (or final) bar stands at its end.
        line_end: the line of the source ends with this measure.
        key: the key from here on where it changes, else None.
    """

    number: int
    meter: Meter
    length: Fraction
    notes: tuple[Note, ...] = ()
    chords: tuple[ChordChange, ...] = ()
    repeat_start: bool = False
    repeat_end: int = 1
    endings: tuple[int, ...] = ()
    double_bar: bool = False
    line_end: bool = False
    key: Key | None = None


@dataclass(frozen=True, slots=True)
class Tune:
    """A whole tune.

    Attributes:
        title: as the source gives it.
        rights: who may do what with it, or where it comes from; may be empty.
        key: the key at the start.
        measures: on paper, in order; a first measure numbered 0 is a pickup.
        remarks: what the reader had to decide or leave out, one sentence each.
    """

    title: str
    rights: str
    key: Key
    measures: tuple[Measure, ...]
    remarks: tuple[str, ...] = field(default=())

    @property
    def id(self) -> str:
        """A slug of the title and 8 hex digits of the SHA-256 of the tune as read."""
        plain = unicodedata.normalize("NFKD", self.title).encode("ascii", "ignore").decode().lower()
        slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-") or "tune"
        # A field that says nothing is left out, so that tunes without graces keep the names that they have had.
        digest = hashlib.sha256(repr(self).replace(", grace=None", "").encode()).hexdigest()
        return f"{slug}-{digest[:8]}"
