"""The licks, in a short notation; our own compositions in the trade's vocabulary, for open G.

Notation
    One word a slot, ``-`` for a held one. ``T32`` is the thumb on string 3 fret 2; ``h`` hammers on, ``p`` pulls off,
    ``s`` slides, from the fret where the string was before. What follows a comma sounds half a slot later.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["ROWS", "Row"]


class Row(NamedTuple):
    """A lick as written: name, chord symbol, slots, level (1 or 2), character, whether it is a tag."""

    name: str
    symbol: str
    slots: str
    level: int
    character: str
    tag: bool = False


ROWS: tuple[Row, ...] = (
    # Home in G: the second slides, hammers or pulls into the blue third, the open second string answers.
    Row("long way home", "G", "T32,s33 I20 M10 T50 I20 M10 T30 -", 1, "bright", tag=True),
    Row("gate latch", "G", "T33,p32 I20 T30 M10 T40 h42 I30 -", 2, "blue", tag=True),
    Row("stair tread", "G", "T40,h42 I30 T50 M10 T30 I20 T30 -", 1, "rising", tag=True),
    Row("there and back", "G", "T32,h33 I20 M10 T50 M10 I20 T30 -", 1, "blue", tag=True),
    Row("short way home", "G", "T33,p32 I20 T40,h42 M10 T30 -", 2, "blue", tag=True),
    Row("porch step", "G", "T40 h42 I30 T50 M10 T30", 1, "rising", tag=True),
    Row("open door", "G", "T32,s33 I20 M10 T50 I20 M10", 1, "bright"),
    Row("latch key", "G", "T33,p32 I20 M10 T30", 2, "blue", tag=True),
    Row("kettle lid", "G", "T32,h33 I20 T50 M10", 1, "bright"),
    Row("first stair", "G", "T40,h42 I30 T50 M10", 1, "rising"),
    # Over C, around the shape 2 0 1 2.
    Row("mill race", "C", "M12 T30 I21 M10,h12 T50 M12 I21 -", 2, "bright", tag=True),
    Row("water wheel", "C", "T40,h42 I21 T50 M12 T30 I21 T50 M12", 1, "rising"),
    Row("sluice", "C", "T40,h42 I21 M12 T50 M12 I21", 1, "bright", tag=True),
    Row("millstone", "C", "T40,h42 I21 M12 T50 I21 M12", 1, "rising"),
    Row("drip", "C", "T30 I21 M10,h12 T50", 1, "bright"),
    Row("bucket", "C", "T40,h42 I21 T50 M12", 1, "rising"),
    # Over D and D7: the full shape 0 2 3 4 and the light one 0 2 1 0.
    Row("hill road", "D", "T32 I22,h23 M14 T50 M14 I23 T40 -", 2, "bright", tag=True),
    Row("hill top", "D", "T40 I22,h23 M14 T50 M14 I23", 2, "bright", tag=True),
    Row("milestone", "D", "T32 I22,h23 M14 T50", 2, "bright"),
    Row("wind shift", "D7", "T30,h32 I21 T50 M10 T40 I21 T32 -", 1, "leaning"),
    Row("weather vane", "D7", "T30,h32 I21 M10 T50 I21 M10", 1, "leaning"),
    Row("gust", "D7", "T30,h32 I21 T50 M10", 1, "leaning"),
    # Over the minor chords of G.
    Row("evening", "Em", "T40,h42 I20 T50 M12 T30 I20 T42 -", 1, "dark", tag=True),
    Row("lamp light", "Em", "T42 I30 M10,h12 T50 I20 M12", 1, "dark"),
    Row("dusk", "Em", "T40,h42 I20 T50 M12", 1, "dark"),
    Row("first frost", "Am", "T30,h32 I21 T50 M12 T42 I21 T32 -", 1, "dark", tag=True),
    Row("thin ice", "Am", "T30,h32 I21 M12 T50 I21 M12", 1, "dark"),
    Row("icicle", "Am", "T30,h32 I21 M10,h12 T50", 2, "dark"),
)
