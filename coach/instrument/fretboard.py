"""Strings and frets: what sounds where, and where a pitch can be had.

Frets count from the capo, on the fifth string too. The fifth string's own nut is at fret 5, so its fret n (n > 5)
sounds n - 5 semitones over its open pitch and its frets 1 to 5 do not exist.
"""

from __future__ import annotations

from typing import NamedTuple

from coach.instrument.tuning import Tuning

__all__ = [
    "FIRST_FRETS",
    "HIGHEST_FRET",
    "LONG_STRINGS",
    "STRINGS",
    "Place",
    "fifth_string_place",
    "is_fret",
    "pitch_at",
    "places",
]

STRINGS = (1, 2, 3, 4, 5)
LONG_STRINGS = (4, 3, 2, 1)
HIGHEST_FRET = 22
FIRST_FRETS = 5  # most solos stay on frets 0 to 5

_FIFTH_NUT = 5
# Frets of the fifth string under which a spike usually sits (common practice, no source).
_SPIKES = (7, 9, 10)


class Place(NamedTuple):
    """A string (1..5) and a fret counted from the capo."""

    string: int
    fret: int


def is_fret(string: int, fret: int, *, capo: int = 0, highest_fret: int = HIGHEST_FRET) -> bool:
    """Whether the string (1..5) has this fret, counted from the capo; ``highest_fret`` counts from the nut."""
    if string not in STRINGS or not 0 <= fret <= highest_fret - capo:
        return False
    return string != 5 or fret == 0 or fret > _FIFTH_NUT


def pitch_at(tuning: Tuning, string: int, fret: int, capo: int = 0) -> int:
    """The MIDI note number that sounds at a string and fret.

    Args:
        tuning: the open strings without capo.
        string: 1..5.
        fret: from the capo; on the fifth string 0, or 6 and up.
        capo: its fret, 0 for none; the fifth string is raised by as much.

    Raises:
        ValueError: when the string has no such fret.
    """
    if not is_fret(string, fret, capo=capo):
        raise ValueError(f"string {string} has no fret {fret} with the capo at {capo}")
    return tuning.open_pitch(string) + capo + (fret - _FIFTH_NUT if string == 5 and fret else fret)


def places(tuning: Tuning, pitch: int, *, capo: int = 0, highest_fret: int = HIGHEST_FRET) -> tuple[Place, ...]:
    """All places where a pitch sounds, the lowest fret first, then the lowest string number.

    Args:
        tuning: the open strings without capo.
        pitch: MIDI note number that sounds.
        capo: its fret, 0 for none.
        highest_fret: the last fret to look at, counted from the nut (with the capo at 2, 7 means frets 0 to 5).
    """
    found = []
    for string in STRINGS:
        steps = pitch - tuning.open_pitch(string) - capo
        fret = steps + _FIFTH_NUT if string == 5 and steps > 0 else steps
        if is_fret(string, fret, capo=capo, highest_fret=highest_fret):
            found.append(Place(string, fret))
    return tuple(sorted(found, key=lambda place: (place.fret, place.string)))


def fifth_string_place(capo: int) -> str:
    """Where the fifth string goes for a capo, as a sentence for the sheet; empty without a capo.

    Where there is no spike the next lower one is used (or none) and the string is tuned up by the rest.
    """
    if capo == 0:
        return ""
    spike = _spike(capo)
    rest = fifth_string_raised(capo)
    if not rest:
        return f"Capo at fret {capo}, fifth string under the spike at fret {spike}."
    up = f"tuned up {rest} semitone{'s' if rest > 1 else ''}"
    if spike is None:
        return f"Capo at fret {capo}, fifth string {up}."
    return f"Capo at fret {capo}, fifth string under the spike at fret {spike} and {up}."


def fifth_string_raised(capo: int) -> int:
    """By how many semitones the fifth string is tuned up for a capo, beyond the spike that helps."""
    return _FIFTH_NUT + capo - (_spike(capo) or _FIFTH_NUT)


def _spike(capo: int) -> int | None:
    return max((fret for fret in _SPIKES if fret <= _FIFTH_NUT + capo), default=None)
