"""The licks, in a short notation; our own compositions in the trade's vocabulary.

Notation
    One word a slot, ``-`` for a held one. ``T32`` is the thumb on string 3 fret 2; ``h`` hammers on, ``p`` pulls off,
    ``s`` slides, from the fret where the string was before. What follows a comma sounds half a slot later.

Uses
    A *fill* answers the melody in a gap, a *tag* comes to rest on the root and ends a phrase, a *turnaround* stays on
    the home chord at the end of a section and leads on to its beginning.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

__all__ = ["ROWS", "Row", "Use"]

Use = Literal["fill", "tag", "turnaround"]


class Row(NamedTuple):
    """A lick as written: name, chord symbol, slots, level (1 or 2), character, use, name of the tuning."""

    name: str
    symbol: str
    slots: str
    level: int
    character: str
    use: Use = "fill"
    tuning: str = "open G"


ROWS: tuple[Row, ...] = (
    # Home in G: the second slides, hammers or pulls into the blue third, the open second string answers.
    Row("long way home", "G", "T32,s33 I20 M10 T50 I20 M10 T30 -", 1, "bright", "tag"),
    Row("gate latch", "G", "T33,p32 I20 T30 M10 T40 h42 I30 -", 2, "blue", "tag"),
    Row("stair tread", "G", "T40,h42 I30 T50 M10 T30 I20 T30 -", 1, "rising", "tag"),
    Row("there and back", "G", "T32,h33 I20 M10 T50 M10 I20 T30 -", 1, "blue", "tag"),
    Row("round the well", "G", "T33,p32 I20 T30 M10 T50 I20 T40 M10", 2, "blue", "turnaround"),
    Row("back to the gate", "G", "T32,s34 I20 T50 M10 T40,h42 I30 T50 M10", 1, "bright", "turnaround"),
    Row("short way home", "G", "T33,p32 I20 T40,h42 M10 T30 -", 2, "blue", "tag"),
    Row("porch step", "G", "T40 h42 I30 T50 M10 T30", 1, "rising", "tag"),
    Row("open door", "G", "T32,s33 I20 M10 T50 I20 M10", 1, "bright"),
    Row("up the lane", "G", "I20 M12,p10 T40 M10 I30 T50", 1, "rocking", "turnaround"),
    Row("latch key", "G", "T33,p32 I20 M10 T30", 2, "blue", "tag"),
    Row("kettle lid", "G", "T32,h33 I20 T50 M10", 1, "bright"),
    Row("first stair", "G", "T40,h42 I30 T50 M10", 1, "rising"),
    Row("sill", "G", "T32,s34 I20 M10 T50", 1, "bright"),
    Row("apple basket", "G", "T30 I20 M10,h12 T50", 1, "rocking"),
    Row("clothes line", "G", "I20 T30 M12,p10 T50", 1, "rocking"),
    Row("high shelf", "G", "M10 T40,h42 I30 T50", 1, "rising"),
    Row("cellar door", "G", "T40 I20 M12,p10 T30", 1, "rocking", "tag"),
    Row("hinge", "G", "T32,s34 I20 M10", 1, "bright"),
    Row("threshold", "G", "T40,h42 I30 M10", 1, "rising"),
    Row("wicket", "G", "M12,p10 T50 I20", 2, "rocking"),
    Row("nod", "G", "T32,s34 I20", 1, "bright"),
    Row("bow", "G", "T40,h42 I30", 1, "rising", "tag"),
    Row("wink", "G", "M12,p10 T30", 2, "rocking", "tag"),
    Row("blue nod", "G", "T33,h34 I20", 2, "blue"),
    Row("skip", "G", "M10,h12 T50", 1, "bright"),
    # Of one and a half measures, and of two.
    Row("walk round the barn", "G", "T32,s34 I20 T50 M10 T40,h42 I30 T50 M10 T30 -", 1, "bright", "tag"),
    Row("lantern carried home", "G", "T33,p32 I20 T30 M10 T40,h42 I30 T50 M10 T30 I20 T30 -", 2, "blue", "tag"),
    Row(
        "the long field",
        "G",
        "T32,s34 I20 T50 M10 T40,h42 I30 T50 M10 T33,p32 I20 T30 M10 T40,h42 I30 - -",
        2,
        "bright",
        "tag",
    ),
    # Over C, around the shape 2 0 1 2.
    Row("mill race", "C", "M12 T30 I21 M10,h12 T50 M12 I21 -", 2, "bright", "tag"),
    Row("water wheel", "C", "T40,h42 I21 T50 M12 T30 I21 T50 M12", 1, "rising"),
    Row("sluice", "C", "T40,h42 I21 M12 T50 M12 I21", 1, "bright", "tag"),
    Row("weir", "C", "T40,h42 I21 M12 T50 I21 M12", 1, "rising"),
    Row("mill pond", "C", "T40,h42 I21 T50 M12 T30 I21 T50 M12 T42 I21", 1, "rocking", "tag"),
    Row("millstone", "C", "T40,h42 I21 M12 T50", 1, "rising"),
    Row("drip", "C", "T30 I21 M10,h12 T50", 1, "bright"),
    Row("bucket", "C", "T40,h42 I21 T50 M12", 1, "rising"),
    Row("ripple", "C", "I21 T40,h42 M12 T50", 1, "rocking"),
    Row("spillway", "C", "M12 T40,h42 I21 T30", 1, "rising"),
    Row("race end", "C", "M10,h12 T30 M12 I21", 1, "bright", "tag"),
    Row("eddy", "C", "M10,h12 T30 I21", 1, "bright", "tag"),
    Row("cup", "C", "T40,h42 I21 M12", 1, "rising"),
    Row("drop", "C", "T40,h42 I21", 1, "rising", "tag"),
    Row("splash", "C", "M10,h12 T30", 1, "bright"),
    Row("sip", "C", "I20,h21 M12", 2, "bright"),
    # Over D and D7: the full shape 0 2 3 4 and the light one 0 2 1 0.
    Row("hill road", "D", "T32 I22,h23 M14 T50 M14 I23 T40 -", 2, "bright", "tag"),
    Row("hill top", "D", "T40 I22,h23 M14 T50 M14 I23", 2, "bright", "tag"),
    Row("milestone", "D", "T32 I22,h23 M14 T50", 2, "bright"),
    Row("cairn", "D", "M10 T30,h32 I23 T40", 1, "rocking", "tag"),
    Row("stile", "D", "T42,s44 I32 M10 T50", 2, "leaning"),
    Row("toll bar", "D", "T42,s44 I32 M10", 2, "leaning", "tag"),
    Row("cart track", "D", "T30,h32 I23", 1, "bright", "tag"),
    Row("hedge gap", "D", "T42,s44 I32", 2, "leaning"),
    Row("wind shift", "D7", "T30,h32 I21 T50 M10 T40 I21 T32 M10", 1, "leaning"),
    Row("wind and rain", "D7", "T30,h32 I21 T50 M10 T40,h42 I32 T50 M10 T32 I21", 1, "leaning"),
    Row("weather vane", "D7", "T30,h32 I21 M10 T50 I21 M10", 1, "leaning"),
    Row("gust", "D7", "T30,h32 I21 T50 M10", 1, "leaning"),
    Row("draught", "D7", "I21 T30,h32 M10 T40", 1, "leaning"),
    Row("shutter", "D7", "T32 I21 M12,p10 T50", 1, "leaning"),
    Row("breeze", "D7", "M10 T30,h32 I21 T50", 1, "leaning"),
    Row("flutter", "D7", "T30,h32 I21 M10", 1, "leaning"),
    Row("puff", "D7", "T30,h32 I21", 1, "leaning"),
    Row("whistle", "D7", "M12,p10 T32", 2, "leaning"),
    # Over the minor chords of G.
    Row("evening", "Em", "T40,h42 I20 T50 M12 T30 I20 T42 -", 1, "dark", "tag"),
    Row("lamp light", "Em", "T42 I30 M10,h12 T50 I20 M12", 1, "dark"),
    Row("dusk", "Em", "T40,h42 I20 T50 M12", 1, "dark"),
    Row("ember", "Em", "T42 I20 M10,h12 T30", 1, "dark"),
    Row("candle", "Em", "I20 T40,h42 M12 T50", 1, "dark"),
    Row("wick", "Em", "T40,h42 I20 M12", 1, "dark", "tag"),
    Row("moth", "Em", "T40,h42 I20", 1, "dark"),
    Row("spark", "Em", "M10,h12 T30", 1, "dark"),
    Row("first frost", "Am", "T30,h32 I21 T50 M12 T42 I21 T32 -", 1, "dark", "tag"),
    Row("thin ice", "Am", "T30,h32 I21 M12 T50 I21 M12", 1, "dark"),
    Row("icicle", "Am", "T30,h32 I21 M10,h12 T50", 2, "dark"),
    Row("snow line", "Am", "I21 T40,h42 M12 T32", 1, "dark", "tag"),
    Row("hoar", "Am", "T30,h32 I21 M12", 1, "dark"),
    Row("flake", "Am", "T30,h32 I21", 1, "dark"),
    Row("sleet", "Am", "M10,h12 T32", 1, "dark", "tag"),
    # Over A and F, the fifth string left out of A.
    Row("orchard wall", "A", "T40,h42 I22 T32 M12 T42 I22 T32 -", 2, "bright", "tag"),
    Row("windfall", "A", "T30,h32 I22 M12 T42 I22 M12", 1, "bright"),
    Row("pippin", "A", "T40,h42 I22 M12 T32", 1, "rising", "tag"),
    Row("russet", "A", "T30,h32 I22 M12 T42", 1, "bright"),
    Row("core", "A", "T30,h32 I22 M12", 1, "bright"),
    Row("stalk", "A", "T30,h32 I22", 1, "bright"),
    Row("seed", "A", "M10,h12 T32", 1, "rising", "tag"),
    Row("ferry bell", "F", "T42,h43 I21 T32 M13 T30,h32 I21 T43 -", 2, "bright", "tag"),
    Row("oar stroke", "F", "T30,h32 I21 M13 T43 I32 M13", 2, "bright"),
    Row("mooring", "F", "T30,h32 I21 M13 T43", 1, "bright", "tag"),
    Row("rope end", "F", "T42,h43 I21 M13 T32", 2, "rising"),
    Row("cleat", "F", "M12,h13 T32 I21", 2, "bright"),
    Row("knot", "F", "T42,h43 I21", 2, "rising"),
    Row("hawser", "F", "T32 M12,h13", 2, "bright", "tag"),
    # Double C: strings C G C D.
    Row("two wells", "C", "T30,h32 I20 T50 M12 T30 I20 T40 -", 1, "bright", "tag", "double C"),
    Row("well rope", "C", "T30,h32 I20 M12 T50 I20 M12", 1, "bright", "fill", "double C"),
    Row("pump handle", "C", "M10,h12 T50 I20 T30", 1, "bright", "fill", "double C"),
    Row("spout", "C", "T30,h32 I20 M12 T40", 1, "rocking", "tag", "double C"),
    Row("trough", "C", "I20 T40 M10,h12 T50", 1, "rising", "fill", "double C"),
    Row("ladle", "C", "M10,h12 T30 I20", 1, "bright", "tag", "double C"),
    Row("dipper", "C", "M10,h12 T30", 1, "bright", "fill", "double C"),
    Row("ford", "F", "T30,h32 I20 M13 T45", 2, "rising", "tag", "double C"),
    Row("stepping stone", "F", "T30,h32 I20", 1, "rising", "fill", "double C"),
    Row("far bank", "G", "T40,h42 I30 M10 T50", 1, "rising", "fill", "double C"),
    Row("reeds", "G", "T40,h42 I30", 1, "rising", "tag", "double C"),
    # Drop C: the low C under the strings of G.
    Row("low water", "C", "T40 I21 T50 M10,h12 T30 I21 T40 -", 1, "bright", "tag", "drop C"),
    Row("keel", "C", "T30 I21 M10,h12 T50 I21 M12", 1, "bright", "fill", "drop C"),
    Row("anchor", "C", "M10,h12 T30 I21 T40", 1, "rocking", "tag", "drop C"),
    Row("tiller", "C", "I21 T40 M10,h12 T50", 1, "rising", "fill", "drop C"),
    Row("buoy", "C", "M10,h12 T30 I21", 1, "bright", "tag", "drop C"),
    Row("wave", "C", "M10,h12 T30", 1, "bright", "fill", "drop C"),
    Row("harbour light", "G", "T32,s34 I20 M10 T50", 1, "bright", "fill", "drop C"),
    Row("jetty", "G", "T40,h42 I30 M10 T50", 1, "rising", "fill", "drop C"),
    Row("gangplank", "G", "T32,s34 I20", 1, "bright", "fill", "drop C"),
    # G modal: the fourth in place of the third.
    Row("old road", "G", "T40,h42 I30 T50 M10 T40 I30 T50 -", 1, "dark", "tag", "G modal"),
    Row("dry stone", "G", "T40,h42 I30 T50 M10 T40 I30", 1, "dark", "fill", "G modal"),
    Row("bracken", "G", "T40,h42 I30 M10 T50", 1, "dark", "fill", "G modal"),
    Row("heather", "G", "M10,h12 T50 I30 T40", 1, "rising", "fill", "G modal"),
    Row("burn", "G", "M12,p10 T40 I30", 1, "dark", "tag", "G modal"),
    Row("thorn", "G", "T40,h42 I30", 1, "dark", "tag", "G modal"),
    Row("peat", "Gm", "T32,h33 M10 T50", 2, "dark", "fill", "G modal"),
    Row("moss", "Gm", "T40,h42 I30", 1, "dark", "tag", "G modal"),
    Row("tarn", "C", "M10,h12 T30 I20 T42", 1, "rocking", "fill", "G modal"),
    Row("scree", "C", "T40,h42 I20", 1, "rising", "tag", "G modal"),
    # Open D: strings D F# A D.
    Row("stone bridge", "D", "T40,h42 I20 T50 M10 T30 I20 T40 -", 1, "bright", "tag", "open D"),
    Row("arch", "D", "T30,h32 I20 M10 T50 I20 M10", 1, "bright", "fill", "open D"),
    Row("keystone", "D", "M12,p10 T30 I20 T40", 1, "rocking", "tag", "open D"),
    Row("parapet", "D", "T40,h42 I30 M10 T50", 1, "rising", "fill", "open D"),
    Row("pier", "D", "I20 T30 M12,p10 T50", 1, "rocking", "fill", "open D"),
    Row("span", "D", "T32,p30 I20 M10", 1, "bright", "tag", "open D"),
    Row("pebble", "D", "M12,p10 T30", 1, "bright", "fill", "open D"),
    Row("wheel rut", "A", "M10,h12 T42 I20 T33", 2, "leaning", "tag", "open D"),
    Row("bend", "A", "M10,h12 T42", 1, "leaning", "fill", "open D"),
    Row("meadow", "G", "T30,h31 I22 M10 T40", 2, "bright", "fill", "open D"),
    Row("clover", "G", "T30,h31 I22", 2, "bright", "fill", "open D"),
)
