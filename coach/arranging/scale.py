"""The scale that a line walks along: that of the key, bent by the chord that sounds."""

from __future__ import annotations

from coach.tunes.chords import Chord
from coach.tunes.keys import Key

__all__ = ["key_named", "scale_under", "walk"]


def key_named(name: str) -> Key:
    """The key that an arrangement names, ``G major``."""
    tonic, _, mode = name.partition(" ")
    return Key(tonic, mode or "major")


def scale_under(key: Key, chord: Chord) -> frozenset[int]:
    """The pitch classes of a key, with a chord's tones in place of their neighbours: over A7 in G, C sharp for C."""
    own = {(7 * (key.fifths + step)) % 12 for step in range(-1, 6)}
    foreign = chord.pitch_classes - own
    near = {(tone + step) % 12 for tone in foreign for step in (1, -1)} - chord.pitch_classes
    return frozenset((own - near) | foreign)


def walk(target: int, steps: int, scale: frozenset[int]) -> tuple[int, ...]:
    """The pitches of a walk along a scale to a pitch that is not part of it.

    Args:
        target: MIDI note number.
        steps: how many pitches; a negative number comes from above, else from below.
        scale: pitch classes, no gap in it wider than an octave.
    """
    side = 1 if steps < 0 else -1
    found: list[int] = []
    pitch = target
    while len(found) < abs(steps):
        pitch += side
        if pitch % 12 in scale:
            found.append(pitch)
    return tuple(reversed(found))
