"""How a pitch is spelt on the staff, and which accidentals have to be printed."""

from __future__ import annotations

from dataclasses import dataclass, field

__all__ = ["Accidentals", "Spelt", "spelt"]

_LINE_OF_FIFTHS = "FCGDAEB"  # F is -1, C is 0
_NATURALS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SIGNS = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}

# On the line of fifths a key's own notes lie from one below its major tonic to five above. Two more flats are taken
# below (the lowered seventh and third) and three more sharps above (the raised fourth, first and fifth, the leading
# notes of the chords in use and of the minor key): common practice, no source.
_LOWEST, _HIGHEST = -3, 8


@dataclass(frozen=True, slots=True)
class Spelt:
    """A pitch on the staff: letter ``c`` .. ``b``, octave (4 is that of middle C), sign ``f``, ``n``, ``s``."""

    letter: str
    octave: int
    sign: str


def spelt(pitch: int, fifths: int) -> Spelt:
    """Spell a MIDI note number where the key signature has ``fifths`` sharps (flats when negative)."""
    place = (pitch * 7) % 12  # on the line of fifths, C is 0, modulo 12
    place += 12 * ((fifths + _HIGHEST - place) // 12)
    assert fifths + _LOWEST <= place <= fifths + _HIGHEST
    signs, index = divmod(place + 1, 7)
    name = _LINE_OF_FIFTHS[index]
    octave = (pitch - signs - _NATURALS[name]) // 12 - 1
    return Spelt(name.lower(), octave, _SIGNS[signs])


def _key_sign(letter: str, fifths: int) -> str:
    return _SIGNS[(fifths - _LINE_OF_FIFTHS.index(letter.upper()) + 6) // 7]


@dataclass(slots=True)
class Accidentals:
    """Remembers the signs in force in one measure.

    Attributes:
        fifths: of the key signature.
    """

    fifths: int
    _in_force: dict[tuple[str, int], str] = field(default_factory=dict)

    def printed(self, note: Spelt) -> str | None:
        """The sign to print before a note, None when the signature or an earlier sign says it."""
        place = (note.letter, note.octave)
        current = self._in_force.get(place, _key_sign(note.letter, self.fifths))
        self._in_force[place] = note.sign
        return None if note.sign == current else note.sign
