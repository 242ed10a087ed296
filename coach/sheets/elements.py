"""Pieces of MEI that every staff is made of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar
from xml.etree import ElementTree as ET

from coach.sheets.notation import Piece, Tuplet
from coach.tunes.tune import Meter

__all__ = ["add", "grouped", "signature", "value"]

T = TypeVar("T")


def add(parent: ET.Element, tag: str, attributes: dict[str, str] | None = None, text: str | None = None) -> ET.Element:
    """Add a child element."""
    element = ET.SubElement(parent, tag, attributes or {})
    element.text = text
    return element


def signature(meter: Meter) -> dict[str, str]:
    """The attributes of a time signature; 2/2 is cut time."""
    sign = {"count": str(meter.count), "unit": str(meter.unit)}
    return sign | ({"sym": "cut"} if (meter.count, meter.unit) == (2, 2) else {})


def value(piece: Piece[T]) -> dict[str, str]:
    """The attributes of a written value."""
    return {"dur": str(piece.dur)} | ({"dots": str(piece.dots)} if piece.dots else {})


def grouped(layer: ET.Element, groups: Sequence[list[Piece[T]] | Tuplet[T]]) -> Iterator[tuple[ET.Element, Piece[T]]]:
    """Each piece with the element it goes into, beams and tuplets made on the way."""
    for group in groups:
        parent = layer
        inner: Sequence[Piece[T]]
        if isinstance(group, Tuplet):
            inner = group.pieces
            numbers = {"num": str(group.num), "numbase": str(group.numbase), "num.format": "count"}
            parent = add(parent, "tuplet", numbers)
        else:
            inner = group
        if len(inner) > 1 and all(piece.dur >= 8 and piece.what is not None for piece in inner):
            parent = add(parent, "beam")
        for piece in inner:
            yield parent, piece
