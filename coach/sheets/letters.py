"""Which letters the font of printed sheets has.

References:
    The table ``cmap``, format 4, of the OpenType specification 1.9 (from memory).
"""

from __future__ import annotations

import struct
from functools import cache
from importlib.resources import files

__all__ = ["letters_missing"]

_FONT = "LiberationSerif-Regular.ttf"
# Signs of chords, which the typesetter finds in another font of its own.
_ELSEWHERE = frozenset("♭♮♯")


def letters_missing(text: str) -> tuple[str, ...]:
    """The letters of a text that the font has not, each once, in order; blanks and marks of writing direction aside."""
    return tuple(
        letter
        for letter in dict.fromkeys(text)
        if ord(letter) not in _covered() and letter.isprintable() and not letter.isspace() and letter not in _ELSEWHERE
    )


@cache
def _covered() -> frozenset[int]:
    """The code points that the font has a glyph for, of the Basic Multilingual Plane."""
    font = (files("coach.sheets") / "fonts" / _FONT).read_bytes()
    (count,) = struct.unpack_from(">H", font, 4)
    tables = {font[at : at + 4]: struct.unpack_from(">I", font, at + 8)[0] for at in range(12, 12 + 16 * count, 16)}
    start = tables[b"cmap"]
    (subtables,) = struct.unpack_from(">H", font, start + 2)
    for index in range(subtables):
        offset = start + struct.unpack_from(">I", font, start + 4 + 8 * index + 4)[0]
        if struct.unpack_from(">H", font, offset)[0] == 4:
            return _segments(font, offset)
    raise AssertionError("the font has no table of letters in format 4")


def _segments(font: bytes, start: int) -> frozenset[int]:
    """The code points of a subtable in format 4: runs, each from a start to an end, with where their glyphs are."""
    (twice,) = struct.unpack_from(">H", font, start + 6)

    def row(number: int, kind: str = "H") -> tuple[int, ...]:
        # After the ends two bytes are kept free.
        return struct.unpack_from(f">{twice // 2}{kind}", font, start + 14 + number * twice + (2 if number else 0))

    ends, starts, deltas, offsets = row(0), row(1), row(2, "h"), row(3)
    found = set()
    for index, (first, last, delta, offset) in enumerate(zip(starts, ends, deltas, offsets, strict=True)):
        for point in range(first, min(last, 0xFFFE) + 1):
            glyph = point
            if offset:
                at = start + 16 + 3 * twice + 2 * index + offset + 2 * (point - first)
                (glyph,) = struct.unpack_from(">H", font, at)
                if glyph == 0:
                    continue
            if (glyph + delta) & 0xFFFF:
                found.add(point)
    return frozenset(found)
