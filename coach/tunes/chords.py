"""Chord symbols: reading them, their pitch classes, moving them to another key."""

from __future__ import annotations

import re
from dataclasses import dataclass

from coach.errors import TuneError
from coach.tunes.keys import pitch_class, spell_near

__all__ = ["QUALITIES", "Chord", "nearest_chord", "read_chord"]

# Intervals in semitones above the root; the spelling a symbol is written with comes first, its synonyms after it.
QUALITIES: dict[str, tuple[tuple[int, ...], tuple[str, ...]]] = {
    "": ((0, 4, 7), ("maj", "M", "major")),
    "m": ((0, 3, 7), ("min", "-", "mi", "minor")),
    "7": ((0, 4, 7, 10), ("dom7",)),
    "m7": ((0, 3, 7, 10), ("min7", "-7", "mi7")),
    "maj7": ((0, 4, 7, 11), ("M7", "Maj7", "ma7", "j7")),
    "6": ((0, 4, 7, 9), ("maj6", "M6", "add6")),
    "m6": ((0, 3, 7, 9), ("min6", "-6")),
    "9": ((0, 2, 4, 7, 10), ()),
    "m9": ((0, 2, 3, 7, 10), ("min9",)),
    "add9": ((0, 2, 4, 7), ("add2", "2")),
    "sus4": ((0, 5, 7), ("sus",)),
    "sus2": ((0, 2, 7), ()),
    "7sus4": ((0, 5, 7, 10), ("7sus",)),
    "dim": ((0, 3, 6), ("o", "°", "mb5")),
    "dim7": ((0, 3, 6, 9), ("o7", "°7")),
    "m7b5": ((0, 3, 6, 10), ("ø", "ø7", "min7b5")),
    "aug": ((0, 4, 8), ("+", "+5")),
    "7#5": ((0, 4, 8, 10), ("+7", "aug7")),
    "5": ((0, 7), ()),
}

_CANONICAL = {name: quality for quality, (_, names) in QUALITIES.items() for name in (quality, *names)}
# Richer chords, and what is left of them here: they lose their upper notes.
_RICHER = {
    **dict.fromkeys(("maj9", "M9", "Maj9", "maj11", "maj13", "M13", "Maj13", "maj7#11"), "maj7"),
    **dict.fromkeys(("11", "13"), "9"),
    **dict.fromkeys(("m11", "m13", "min11", "min13"), "m9"),
    **dict.fromkeys(("6/9", "69"), "6"),
    "a7": "7#5",
    "a": "aug",
    "d": "dim",
    "d7": "dim7",
    "maj": "",
}
_BEGINNINGS = sorted({**_CANONICAL, **_RICHER}.items(), key=lambda each: (-len(each[0]), each[0]))

# A plus behind a bass note is a sharp, as some old collections write it.
_SYMBOL = re.compile(r"([A-Ga-g])([#b♯♭]*)([^/]*)(?:/([A-Ga-g][#b♯♭+]*))?")


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord.

    Attributes:
        root: a note name, ``G`` or ``F#``.
        quality: a key of :data:`QUALITIES`.
        bass: the note name under a slash, or empty.
    """

    root: str
    quality: str = ""
    bass: str = ""

    @property
    def symbol(self) -> str:
        """The symbol as printed, ``D7`` or ``G/B``."""
        return f"{self.root}{self.quality}" + (f"/{self.bass}" if self.bass else "")

    @property
    def root_pc(self) -> int:
        """The pitch class of the root, 0..11."""
        return pitch_class(self.root)

    @property
    def pitch_classes(self) -> frozenset[int]:
        """The pitch classes of the chord; the bass note counts when it is one of its own."""
        tones = {(self.root_pc + step) % 12 for step in QUALITIES[self.quality][0]}
        return frozenset(tones | {pitch_class(self.bass)}) if self.bass else frozenset(tones)

    def transposed(self, semitones: int, fifths: int) -> Chord:
        """The same chord moved by semitones, spelt for a key signature of ``fifths``."""
        return Chord(
            spell_near(self.root_pc + semitones, fifths),
            self.quality,
            spell_near(pitch_class(self.bass) + semitones, fifths) if self.bass else "",
        )


def read_chord(symbol: str, *, where: str = "") -> Chord:
    """Read a chord symbol.

    Args:
        symbol: as it stands in the source, ``Am7`` or ``G/B``; in parentheses, too.
        where: the place, for the error.

    Raises:
        TuneError: when it is no chord symbol that is known.
    """
    match = _SYMBOL.fullmatch(symbol.strip().strip("()"))
    quality = _CANONICAL.get(match[3].replace("♯", "#").replace("♭", "b").strip("() ")) if match else None
    if match is None or quality is None:
        raise TuneError(
            f"{symbol[:24]!r} is no chord name that is known", where=where, cure="write it like G, D7, Em or F#m7"
        )
    signs = match[2].replace("♯", "#").replace("♭", "b")
    bass = (match[4] or "").replace("♯", "#").replace("♭", "b").replace("+", "#")
    return Chord(match[1].upper() + signs, quality, bass[:1].upper() + bass[1:])


def nearest_chord(symbol: str) -> Chord | None:
    """The known chord that lies nearest to a symbol which :func:`read_chord` refuses; None where it names no root.

    The root is kept, with the longest beginning of the rest that names a quality; a bass that is no note is dropped:
    ``Gsus4/X`` becomes Gsus4, ``Gmaj13#`` Gmaj7, ``Gd`` Gdim.
    """
    match = re.match(r"\(?([A-G])([#b♯♭]?)([^/]*)(?:/([A-Ga-g][#b♯♭]?)(?![\w#]))?", symbol.strip())
    if match is None:
        return None
    rest = match[3].replace("♯", "#").replace("♭", "b").strip("() ")
    beginning, quality = next((each for each in _BEGINNINGS if rest.startswith(each[0])), ("", ""))
    if beginning in {"a", "d"} and rest != beginning:
        quality = ""
    signs, bass = (part.replace("♯", "#").replace("♭", "b") for part in (match[2], match[4] or ""))
    return Chord(match[1] + signs, quality, bass[:1].upper() + bass[1:])
