"""Keys: a tonic, a mode and what follows from them."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["MODES", "NAMES_OF_NATURALS", "Key", "pitch_class", "spell", "spell_near"]

NAMES_OF_NATURALS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}

# Semitones of the tonic above the tonic of the major scale with the same key signature.
MODES = {"major": 0, "dorian": 2, "phrygian": 4, "lydian": 5, "mixolydian": 7, "minor": 9, "locrian": 11}

_SHARP_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_FLAT_NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")


def pitch_class(name: str) -> int:
    """The pitch class (0 = C ... 11 = B) of a note name such as ``F#`` or ``Bb``.

    Raises:
        ValueError: when the name is none.
    """
    letter, signs = name[:1].upper(), name[1:]
    if letter not in NAMES_OF_NATURALS or set(signs) - {"#", "b"}:
        raise ValueError(f"{name!r} is no note name")
    return (NAMES_OF_NATURALS[letter] + signs.count("#") - signs.count("b")) % 12


def spell(pc: int, fifths: int) -> str:
    """The name of a pitch class where the key signature has ``fifths`` sharps (flats when negative)."""
    return (_FLAT_NAMES if fifths < 0 else _SHARP_NAMES)[pc % 12]


def spell_near(pc: int, fifths: int) -> str:
    """The name of a pitch class that lies nearest to a key on the line of fifths: B flat, not A sharp, in G and in C.

    A key's own notes lie from one fifth below its major tonic to five above; three more are taken below them (the
    roots of the major chords on the lowered sixth, third and seventh) and two above. Common practice, no source.
    """
    place = (pc * 7) % 12
    place += 12 * ((fifths + 7 - place) // 12)
    signs, index = divmod(place + 1, 7)
    return "FCGDAEB"[index] + ("#" * signs if signs > 0 else "b" * -signs)


@dataclass(frozen=True, slots=True)
class Key:
    """A key.

    Attributes:
        tonic: a note name, ``G`` or ``Bb``.
        mode: a name in :data:`MODES`.
    """

    tonic: str
    mode: str = "major"

    @property
    def tonic_pc(self) -> int:
        """The pitch class of the tonic, 0..11."""
        return pitch_class(self.tonic)

    @property
    def minor(self) -> bool:
        """Whether the tonic chord is minor."""
        return self.mode in {"minor", "dorian", "phrygian", "locrian"}

    @property
    def fifths(self) -> int:
        """Sharps (positive) or flats (negative) of the key signature, -6..6."""
        major_pc = (self.tonic_pc - MODES[self.mode]) % 12
        fifths = (major_pc * 7) % 12
        return fifths - 12 if fifths > 6 or (fifths == 6 and "b" in self.tonic) else fifths

    def __str__(self) -> str:
        return f"{self.tonic} {self.mode}"
