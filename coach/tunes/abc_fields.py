"""The fields of an ABC tune that govern its music: metre, unit length, key.

References:
    The ABC music standard 2.1, December 2011, sections 3.1.6, 3.1.7, 3.1.14 (from memory).
"""

from __future__ import annotations

import re
from fractions import Fraction

from coach.errors import TuneError
from coach.tunes.keys import Key
from coach.tunes.tune import Meter

__all__ = ["FIELD", "names_mode", "read_key", "read_meter", "read_unit", "signature", "usual_unit"]

# A field on a line of its own; music may begin with a letter and the sign of a repeat, ``d:|``.
FIELD = re.compile(r"([A-Za-z+]):(?![|:])(.*)")

_METER = re.compile(r"\(?(\d{1,2}(?:\+\d{1,2})*)\)?/(\d{1,2})")
_UNIT = re.compile(r"(\d{1,2})/(\d{1,3})|1")
_KEY = re.compile(r"([A-Ga-g])([#b♯♭]?)\s*([A-Za-z]*)")
_SIGN = re.compile(r"(?<!\S)(\^\^|\^|__|_|=)([A-Ga-g])(?!\S)")
_MODES = {
    "": "major",
    "maj": "major",
    "ion": "major",
    "m": "minor",
    "min": "minor",
    "aeo": "minor",
    "dor": "dorian",
    "phr": "phrygian",
    "lyd": "lydian",
    "mix": "mixolydian",
    "loc": "locrian",
}
_BEHIND_MAJOR = {"lydian": -1, "major": 0, "mixolydian": 1, "dorian": 2, "minor": 3, "phrygian": 4, "locrian": 5}
_MAJOR_KEYS = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")


def read_meter(value: str, *, where: str) -> Meter:
    """Read the value of an ``M:`` field.

    Raises:
        TuneError: when it names no metre, or none at all is wanted.
    """
    text = value.strip()[:40]
    if text in {"C", "c"}:
        return Meter(4, 4)
    if text in {"C|", "c|"}:
        return Meter(2, 2)
    match = _METER.search(text)
    if match is None:
        raise TuneError(
            f"the tune has no metre (M:{text})" if text.lower() in {"", "none"} else f"{text[:30]!r} is no metre",
            where=where,
            cure="give it one, such as M:4/4, and barlines to suit",
        )
    count, unit = sum(map(int, match[1].split("+"))), int(match[2])
    if not 1 <= count <= 32 or unit not in {1, 2, 4, 8, 16, 32}:
        raise TuneError(
            f"{text[:30]!r} is no metre that can be used", where=where, cure="write one such as M:4/4 or M:6/8"
        )
    return Meter(count, unit)


def read_unit(value: str, *, where: str) -> Fraction:
    """Read the value of an ``L:`` field: the unit length as a fraction of a whole note.

    Raises:
        TuneError: when it is no length.
    """
    match = _UNIT.match(value.strip())
    if match is None or (match[1] and not int(match[1]) * int(match[2])):
        raise TuneError(f"{value[:30]!r} is no unit length", where=where, cure="write one such as L:1/8")
    return Fraction(int(match[1]), int(match[2])) if match[1] else Fraction(1)


def usual_unit(meter: Meter) -> Fraction:
    """The unit length where the tune gives none: a sixteenth in metres shorter than three quarters, else an eighth."""
    return Fraction(1, 16) if Fraction(meter.count, meter.unit) < Fraction(3, 4) else Fraction(1, 8)


def read_key(value: str, *, where: str) -> tuple[Key | None, dict[str, str]]:
    """Read the value of a ``K:`` field.

    Returns:
        The key, None where the field only names a clef; and the accidentals that it names one by one, by letter.

    Raises:
        TuneError: when it is no key.
    """
    text = value.split("%", maxsplit=1)[0].strip()
    signs = {letter.upper(): sign for sign, letter in _SIGN.findall(text)}
    if text.lower() in {"", "none"} or text.split()[0].lower() == "exp":
        return Key("C"), signs
    if text.split()[0] in {"HP", "Hp"}:
        # The scale of the pipes: F and C sharp, G natural, home on A.
        return Key("A", "mixolydian"), signs
    if re.match(r"(clef|treble|bass|alto|tenor|perc|octave|transpose|stafflines|middle)", text, re.IGNORECASE):
        return None, signs
    match = _KEY.match(text)
    if match is None:
        raise TuneError(f"{value[:30]!r} is no key", where=where, cure="write one such as K:G or K:Am")
    word = match[3].lower()
    mode = _MODES.get(word if word == "m" else word[:3], "major")
    tonic = match[1].upper() + match[2].replace("♯", "#").replace("♭", "b")
    return Key(tonic, mode), signs


def names_mode(value: str) -> bool:
    """Whether the value of a ``K:`` field tells the mode; a bare ``K:G`` is often no more than a key signature."""
    text = value.strip()
    match = _KEY.match(text)
    word = match[3].lower() if match else ""
    return text[:2] in {"HP", "Hp"} or word == "m" or word[:3] in _MODES.keys() - {"", "m"}


def signature(key: Key, *, where: str) -> str:
    """The major key, as ABC writes it, that has the same key signature.

    Raises:
        TuneError: when the signature would have more than seven signs.
    """
    signs = key.tonic[1:]
    # Steps on the line of fifths: each sharp of the tonic is seven steps up, each flat seven down.
    fifths = "FCGDAEB".index(key.tonic[0]) - 1 + 7 * (signs.count("#") - signs.count("b")) - _BEHIND_MAJOR[key.mode]
    if abs(fifths) > 7:
        raise TuneError(f"the key of {key} has more than seven signs", where=where, cure="write it in another key")
    return _MAJOR_KEYS[fifths + 7]
