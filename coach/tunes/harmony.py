"""Chords for a tune: those that the user gives, or a plain choice where there are none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from coach.errors import TuneError
from coach.tunes.chords import QUALITIES, Chord, read_chord
from coach.tunes.keys import Key, spell
from coach.tunes.tune import ChordChange, Measure

__all__ = ["find_chords", "home_key", "read_chords", "set_chords"]

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


def find_chords(measures: Sequence[Measure], key: Key) -> tuple[Measure, ...]:
    """The same measures, each with the I, IV or V7 (i, iv, V7 in minor) that carries most of its melody.

    A note weighs as much as it lasts within the measure, as the seventh of V7 half; of equals the chord before goes on,
    else the first of the three. The last measure with a melody ends on the home chord where that carries any of it.
    A pickup takes no chord.
    """
    weights = _weights(measures)
    last = max((index for index, weight in enumerate(weights) if weight), default=-1)
    changed: list[Measure] = []
    before: Chord | None = None
    for index, (measure, weight) in enumerate(zip(measures, weights, strict=True)):
        key = measure.key or key
        chosen = before
        if measure.number > 0 and (weight or before is None):
            chosen = _choose(weight, key, before)
            home = _chords_of(key)[0]
            if index == last and any(pc in home.pitch_classes for pc in weight):
                chosen = home
        news = (ChordChange(Fraction(0), chosen),) if chosen is not None and chosen != before else ()
        changed.append(replace(measure, chords=news))
        before = chosen
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


def _weights(measures: Sequence[Measure]) -> list[dict[int, Fraction]]:
    """For each measure how long each pitch class sounds in it, notes held over its barline included."""
    weights: list[dict[int, Fraction]] = [{} for _ in measures]
    for first, measure in enumerate(measures):
        for note in measure.notes:
            left, at, index = note.length, note.at, first
            while left > 0 and index < len(measures):
                here = min(left, measures[index].length - at)
                weight = weights[index]
                weight[note.pitch % 12] = weight.get(note.pitch % 12, Fraction(0)) + here
                left, at, index = left - here, Fraction(0), index + 1
    return weights


def _choose(weight: dict[int, Fraction], key: Key, before: Chord | None) -> Chord:
    def carried(chord: Chord) -> tuple[Fraction, bool]:
        seventh = (chord.root_pc + 10) % 12
        total = sum(
            (length / 2 if pc == seventh else length for pc, length in weight.items() if pc in chord.pitch_classes),
            Fraction(0),
        )
        return total, chord == before

    return max(_chords_of(key), key=carried)


def _chords_of(key: Key) -> tuple[Chord, Chord, Chord]:
    quality = "m" if key.minor else ""
    return (
        Chord(key.tonic, quality),
        Chord(spell(key.tonic_pc + 5, key.fifths), quality),
        Chord(spell(key.tonic_pc + 7, key.fifths), "7"),
    )
