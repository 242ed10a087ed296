"""Tastes: small prices that tell one good solo from another, the same for the same number on every machine."""

from __future__ import annotations

from zlib import crc32

from coach.arranging.grid import GridMeasure

__all__ = ["known", "taste"]


def taste(variation: int, about: object, most: int) -> int:
    """A small price, 0 to ``most``, for doing something in a variation; the plain solo (0) has no tastes.

    Args:
        variation: which of the good solos is wanted, 0 and up.
        about: what is done, made of numbers, words and tuples of them, so that it reads the same on every machine.
        most: the highest price.
    """
    return crc32(f"{variation} {about!r}".encode()) % (most + 1) if variation else 0


def known(measure: GridMeasure) -> tuple[object, ...]:
    """What a taste goes by: the melody of a measure and the roots below it, so that equal measures are alike."""
    return tuple((note.slot, note.pitch) for note in measure.notes), measure.roots, measure.held
