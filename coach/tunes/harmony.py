"""Chords that the user gives for a tune, and the key that it comes home in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from coach.errors import TuneError
from coach.tunes.chords import QUALITIES, Chord, read_chord
from coach.tunes.keys import Key, spell
from coach.tunes.tune import ChordChange, Measure

__all__ = ["home_key", "read_chords", "set_chords"]

Groups = tuple[tuple[Chord, ...], ...]


def read_chords(text: str, *, where: str = "the chords") -> Groups:
    """Read chords such as ``G | C | D7 | G``, one group a measure.

    Args:
        text: groups parted by ``|``; several chords in a group share its measure evenly; an empty group, or ``%``,
            goes on with the chord before. A ``|`` at either end may stand or not.
        where: the place, for errors.

    Raises:
        TuneError: when a chord cannot be read, or there is none at all.
    """
    parts = text.strip().strip("|").split("|")
    groups = tuple(
        tuple(read_chord(symbol, where=f"{where}, measure {number}") for symbol in part.split() if symbol != "%")
        for number, part in enumerate(parts, start=1)
    )
    if not any(groups):
        raise TuneError("no chord is named", where=where, cure='write one group a measure, like "G | C | D7 | G"')
    return groups


def set_chords(measures: Sequence[Measure], groups: Groups) -> tuple[Measure, ...]:
    """The same measures with these chords in place of their own.

    Args:
        measures: numbered; a pickup (number 0) takes no chord.
        groups: one for each measure; where there are fewer, and they go evenly into the tune, they are played round
            again.

    Raises:
        TuneError: when the groups do not go evenly into the measures.
    """
    full = [measure for measure in measures if measure.number > 0]
    if not full or len(full) % len(groups):
        raise TuneError(
            f"{len(groups)} groups of chords do not go evenly into the {len(full)} measures of the tune",
            where="the chords",
            cure='give one group a measure, like "G | C | D7 | G"',
        )
    changed: list[Measure] = []
    for measure in measures:
        group = groups[(measure.number - 1) % len(groups)] if measure.number > 0 else ()
        step = measure.length / max(1, len(group))
        chords = tuple(ChordChange(step * place, chord) for place, chord in enumerate(group))
        changed.append(replace(measure, chords=chords))
    return tuple(changed)


def home_key(measures: Sequence[Measure], key: Key) -> Key:
    """The key in which the tune comes home, where its key signature tells another.

    That is the key of the last chord when the last note is its root, the first chord is not the home chord of the key
    that was told, and the melody lies as well in the one as in the other; without chords, the relative minor of a major
    key when the last note is its tonic, and its chord carries as much of the melody as the major one: two of their
    three notes are the same, so the tonic of the one is weighed against the fifth of the other.
    """
    notes = [note for measure in measures for note in measure.notes]
    last_pc = notes[-1].pitch % 12
    chords = [change.chord for measure in measures for change in measure.chords]
    if chords:
        last = chords[-1]
        home = Key(last.root, "minor" if 3 in QUALITIES[last.quality][0] else "major")
        if last.root_pc != last_pc or key.tonic_pc in {chords[0].root_pc, last.root_pc}:
            return key
        told, found = (sum(note.length for note in notes if note.pitch % 12 in _scale(one)) for one in (key, home))
        return home if found >= told else key
    if key.mode == "major" and last_pc == (key.tonic_pc + 9) % 12:
        fifth_pc = (key.tonic_pc + 7) % 12
        minor, major = (sum(note.length for note in notes if note.pitch % 12 == pc) for pc in (last_pc, fifth_pc))
        return Key(spell(last_pc, key.fifths), "minor") if minor >= major else key
    return key


def _scale(key: Key) -> frozenset[int]:
    """The pitch classes of the key signature."""
    return frozenset((7 * (key.fifths + step)) % 12 for step in range(-1, 6))
