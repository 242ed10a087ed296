"""Licks: short set phrases for a chord and a length, kept as data.

A lick starts from a free beat and leaves its last slot, or its last note, free to lead into the melody. A *tag* comes
to rest on the root and ends a phrase. The table is in :mod:`coach.arranging.lick_table`; the tests hold every lick to
the hard rules of the hands.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from coach.arranging.arrangement import Finger, Technique
from coach.arranging.lick_table import ROWS, Row
from coach.instrument.tuning import OPEN_G, Tuning
from coach.tunes.chords import Chord, read_chord

__all__ = ["LICKS", "Lick", "Step", "licks_for"]

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


@dataclass(frozen=True, slots=True)
class Lick:
    """A lick in open G.

    Attributes:
        name: ours.
        chord: over which it is played, as the player thinks (without capo).
        slots: its length.
        steps: in order; the first is the entry, picked on slot 0, the last the exit.
        level: 1 for those to learn first, 2 for a quicker left hand.
        character: a word for how it sounds.
        tag: whether it comes to rest on the root and may end a phrase.
    """

    name: str
    chord: Chord
    slots: int
    steps: tuple[Step, ...]
    level: int
    character: str
    tag: bool

    @property
    def fingers(self) -> str:
        """The finger of each slot, ``-`` where nothing is picked."""
        row = ["-"] * self.slots
        for step in self.steps:
            if step.finger:
                row[int(step.at)] = step.finger
        return "".join(row)


def _lick(row: Row) -> Lick:
    words = row.slots.split()
    return Lick(row.name, read_chord(row.symbol), len(words), tuple(_steps(words)), row.level, row.character, row.tag)


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


LICKS: tuple[Lick, ...] = tuple(_lick(row) for row in ROWS)


def licks_for(chord: Chord, slots: int, tuning: Tuning = OPEN_G) -> tuple[Lick, ...]:
    """The licks of a length that can be played over a chord, in the order of the table.

    A lick of a plain triad serves the chord with a seventh or another added tone too. The table is for open G; other
    tunings have none.

    Args:
        chord: as the player thinks, without capo.
        slots: the length of the gap; licks of exactly this length are given.
        tuning: the open strings without capo.
    """
    if tuning.strings != OPEN_G.strings:
        return ()
    return tuple(
        lick
        for lick in LICKS
        if lick.slots == slots
        and lick.chord.root_pc == chord.root_pc
        and lick.chord.pitch_classes <= chord.pitch_classes
    )
