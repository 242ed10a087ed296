"""Licks: short set phrases for a chord and a length, kept as data.

A lick starts from a free beat, or on a melody note that it begins with, and leads into the next melody note. The table
is in :mod:`coach.arranging.lick_table`; the tests hold every lick to the hard rules of the hands. A teacher's own licks
are rows like those of the table, numbered behind it; :mod:`coach.arranging.own_licks` holds them to the same rules.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from coach.arranging.arrangement import Finger, Technique
from coach.arranging.lick_table import ROWS, Row, Use
from coach.instrument.tuning import OPEN_G, TUNINGS, Tuning
from coach.tunes.chords import Chord, read_chord

__all__ = ["LICKS", "Lick", "Step", "licks_for", "licks_in", "licks_of"]

_HALF = Fraction(1, 2)
_STEP = re.compile(r"([TIMhps])([1-5])(\d+)")
_FINGERS: dict[str, Finger] = {"T": "T", "I": "I", "M": "M"}
_TECHNIQUES: dict[str, Technique] = {"h": "hammer-on", "p": "pull-off", "s": "slide"}


@dataclass(frozen=True, slots=True)
class Step:
    """A note of a lick.

    Attributes:
        at: in slots from the start of the lick; whole, or halfway between for a slurred note.
        string, fret: where.
        finger: of the right hand; None for a slurred note.
        technique: how it is sounded.
        from_fret: where a slurred note comes from; None for a picked one.
    """

    at: Fraction
    string: int
    fret: int
    finger: Finger | None
    technique: Technique = "pick"
    from_fret: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Lick:
    """A lick; each is equal to itself alone.

    Attributes:
        number: its place in the table.
        name: ours.
        tuning: in which it lies under the hand.
        chord: over which it is played, as the player thinks (without capo).
        slots: its length.
        steps: in order; the first is the entry, picked on slot 0, the last the exit.
        level: 1 for those to learn first, 2 for a quicker left hand.
        character: a word for how it sounds.
        use: a fill, a tag, or a turnaround.
    """

    number: int
    name: str
    tuning: Tuning
    chord: Chord
    slots: int
    steps: tuple[Step, ...]
    level: int
    character: str
    use: Use

    @property
    def tag(self) -> bool:
        """Whether it comes to rest on the root and may end a phrase."""
        return self.use == "tag"

    @property
    def own(self) -> bool:
        """Whether it is a teacher's own, not one of the table."""
        return self.number >= len(ROWS)

    @property
    def entry(self) -> int | None:
        """The pitch with which it begins, without capo: of its first note, or of what that is slurred to at once.

        None where the first note is slurred a slot later, so that no melody note can be told by it.
        """
        first, second = self.steps[0], self.steps[min(1, len(self.steps) - 1)]
        if second.finger is None and second.at == 1:
            return None
        heard = second if second.finger is None else first
        return self.tuning.open_pitch(heard.string) + heard.fret

    def slurs(self, start: int, stop: int) -> int:
        """How many of its notes are slurred, of those from one of its slots up to another."""
        return sum(step.finger is None and start <= step.at < stop for step in self.steps)

    @property
    def fingers(self) -> str:
        """The finger of each slot, ``-`` where nothing is picked."""
        row = ["-"] * self.slots
        for step in self.steps:
            if step.finger:
                row[int(step.at)] = step.finger
        return "".join(row)


def _lick(number: int, row: Row) -> Lick:
    words = row.slots.split()
    steps = tuple(_steps(words))
    chord, tuning = read_chord(row.symbol), TUNINGS[row.tuning]
    return Lick(number, row.name, tuning, chord, len(words), steps, row.level, row.character, row.use)


def _steps(words: list[str]) -> Iterator[Step]:
    last: dict[int, int] = {}
    for slot, word in enumerate(words):
        for half, note in enumerate(word.split(",")):
            match = _STEP.fullmatch(note)
            if match is None:
                continue
            how, string, fret = match[1], int(match[2]), int(match[3])
            slurred = how in _TECHNIQUES
            yield Step(
                slot + half * _HALF,
                string,
                fret,
                _FINGERS.get(how),
                _TECHNIQUES.get(how, "pick"),
                last[string] if slurred else None,
            )
            last[string] = fret


LICKS: tuple[Lick, ...] = tuple(_lick(number, row) for number, row in enumerate(ROWS))


@lru_cache(maxsize=256)
def licks_of(rows: tuple[Row, ...]) -> tuple[Lick, ...]:
    """The licks of rows that are not of the table; the same rows give the same licks."""
    return tuple(_lick(number, row) for number, row in enumerate(rows, start=len(LICKS)))


@lru_cache(maxsize=256)
def licks_in(tuning: Tuning, own: tuple[Row, ...] = ()) -> tuple[Lick, ...]:
    """The licks of a tuning, in the order of the table and then of a teacher's ``own``; none for one that neither
    knows."""
    return tuple(lick for lick in (*LICKS, *licks_of(own)) if lick.tuning.strings == tuning.strings)


@lru_cache(maxsize=1024)
def licks_for(
    root_pc: int, tones: frozenset[int], tuning: Tuning = OPEN_G, own: tuple[Row, ...] = ()
) -> tuple[Lick, ...]:
    """The licks that can be played over a chord, in the order of :func:`licks_in`.

    A lick of a plain triad serves the chord with a seventh or another added tone too.

    Args:
        root_pc: the pitch class of the root, as the player thinks, without capo.
        tones: the pitch classes of the chord.
        tuning: the open strings without capo.
        own: a teacher's own licks.
    """
    return tuple(
        lick for lick in licks_in(tuning, own) if lick.chord.root_pc == root_pc and lick.chord.pitch_classes <= tones
    )
