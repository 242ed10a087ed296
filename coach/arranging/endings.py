"""Two-measure endings on the home chord, in a short notation; our own compositions in the trade's vocabulary.

Notation
    One word for each value of the metre's grid, ``-`` for a held one. ``T3`` is the thumb on string 3 at the fret of
    the home chord's usual shape, ``T32`` on its fret 2; ``TR`` is the thumb on the root.
    ``h`` hammers on, ``p`` pulls off, ``s`` slides, from the fret where the string was before. ``&`` joins what is
    struck together, which is a pinch; all else is a lick.

An ending without frets serves every home chord and tuning. Chords whose usual shape has the root on string 4 or 3
begin and close on it; where string 2 has it (C in open G) the thumb closes there. An ending with frets is written
for a tuning and a home chord. *Plain* endings move in beats, for the beginner; *busy* ones in running values.

Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Literal, NamedTuple, cast

from coach.arranging.arrangement import Finger, Technique, Tier
from coach.arranging.chord_rolls import fret_in, root_place
from coach.arranging.neck import find_neck
from coach.arranging.touches import Touch
from coach.instrument.tuning import Tuning
from coach.tunes.chords import Chord
from coach.tunes.tune import Meter

__all__ = ["ENDINGS", "Ending", "Measured", "endings"]

# The touches of both measures.
Measured = tuple[tuple[Touch, ...], tuple[Touch, ...]]

_TECHNIQUES: dict[str, Technique] = {"h": "hammer-on", "p": "pull-off", "s": "slide"}
_WORD = re.compile(r"([TIM])([1-5R])(\d*)|([hps])([1-4])(\d+)")
_LEADING = 2  # the string on which the thumb leads
_DRONE, _INSIDE = 5, 4


class Ending(NamedTuple):
    """An ending as written.

    Attributes:
        meters: whose measures it fills.
        manner: ``plain`` or ``busy``.
        first, second: its measures.
        root: where the root lies: ``inside`` (string 4 or 3) or ``string 2``.
        tuning, home: what it is written for; empty where it serves all.
    """

    meters: str
    manner: Literal["plain", "busy"]
    first: str
    second: str
    root: Literal["inside", "string 2"] = "inside"
    tuning: str = ""
    home: str = ""


_FOURS, _SIXES = "4/4 2/2", "3/4 6/8"

ENDINGS: tuple[Ending, ...] = (
    # Written for a tuning and its home chord.
    Ending(_FOURS, "busy", "T32 h33 I20 M10 T30 M10 T42 p40", "T30 - - - T30&M10 - - -", "inside", "open G", "G"),
    Ending(_SIXES, "busy", "T32 h33 I20 M10 T42 p40", "T30&M10 - - - - -", "inside", "open G", "G"),
    Ending(_FOURS, "busy", "T40 h42 I30 M12 T21 M12 T32 p30", "T21 - - - T21&M12 - - -", "string 2", "open G", "C"),
    Ending(_FOURS, "busy", "T42 h44 I32 M10 T32 p30 T42 p40", "T40 - - - T40&M10 - - -", "inside", "open G", "D"),
    Ending(_FOURS, "busy", "T42 p40 I30 M12 T20 M12 T32 p30", "T40 - - - T40&M12 - - -", "inside", "double C", "C"),
    Ending(_FOURS, "busy", "T42 p40 I20 M10 T31 p30 T42 p40", "T40 - - - T40&M10 - - -", "inside", "open D", "D"),
    # For every home chord whose shape has its root on string 4 or 3.
    Ending("4/4 2/2", "busy", "TR - I2 M1 T5 - I2 -", "- - TR - TR&M1 - - -"),
    Ending("4/4 2/2", "plain", "TR - I2 - M1 - I2 -", "TR - - - TR&M1 - - -"),
    Ending("3/4", "busy", "TR I2 M1 T5 M1 I2", "TR&M1 - - - - -"),
    Ending("3/4", "plain", "TR - I2 - M1 -", "TR&M1 - - - - -"),
    Ending("2/4", "busy", "TR M1 T5 I2", "TR&M1 - - -"),
    Ending("2/4", "plain", "TR - M1 -", "TR&M1 - - -"),
    Ending("6/8", "busy", "TR I2 M1 T5 M1 I2", "TR&M1 - - - - -"),
    Ending("6/8", "plain", "TR - - M1 - -", "TR&M1 - - - - -"),
    Ending("9/8", "busy", "TR I2 M1 T5 I2 M1 T5 M1 I2", "TR&M1 - - - - - - - -"),
    Ending("9/8", "plain", "TR - - I2 - - M1 - -", "TR&M1 - - - - - - - -"),
    Ending("12/8", "busy", "TR I2 M1 T5 I2 M1 T5 I2 M1 T5 M1 I2", "TR - - - - - TR&M1 - - - - -"),
    Ending("12/8", "plain", "TR - - I2 - - M1 - - I2 - -", "TR - - - - - TR&M1 - - - - -"),
    # For those that have it on string 2.
    Ending("4/4 2/2", "busy", "T4 - I3 T2 M1 - T3 -", "- - T2 - T2&M1 - - -", "string 2"),
    Ending("4/4 2/2", "plain", "T4 - T3 - I2 - M1 -", "T2 - - - T2&M1 - - -", "string 2"),
    Ending("3/4", "busy", "T4 I3 M1 T2 M1 I3", "T2&M1 - - - - -", "string 2"),
    Ending("3/4", "plain", "T4 - T3 - M1 -", "T2&M1 - - - - -", "string 2"),
    Ending("2/4", "busy", "T4 I3 M1 I3", "T2&M1 - - -", "string 2"),
    Ending("2/4", "plain", "T3 - M1 -", "T2&M1 - - -", "string 2"),
    Ending("6/8", "busy", "T4 I3 M1 T2 M1 I3", "T2&M1 - - - - -", "string 2"),
    Ending("6/8", "plain", "T4 - - T3 - -", "T2&M1 - - - - -", "string 2"),
    Ending("9/8", "busy", "T4 I3 M1 T2 I3 M1 T2 M1 I3", "T2&M1 - - - - - - - -", "string 2"),
    Ending("9/8", "plain", "T4 - - T3 - - M1 - -", "T2&M1 - - - - - - - -", "string 2"),
    Ending("12/8", "busy", "T4 I3 M1 T2 I3 M1 T4 I3 M1 T2 M1 I3", "T2 - - - - - T2&M1 - - - - -", "string 2"),
    Ending("12/8", "plain", "T4 - - T3 - - I2 - - M1 - -", "T2 - - - - - T2&M1 - - - - -", "string 2"),
)
# Where the metre has none of its own: the root, and a pinch.
_ANY_METER = (Ending("", "plain", "TR", "TR&M1"), Ending("", "plain", "T2", "T2&M1", "string 2"))


def endings(meter: Meter, tuning: Tuning, home: Chord, tier: Tier) -> Iterator[Measured]:
    """The endings that suit, the best first, as touches for two measures.

    Args:
        meter: of both measures.
        tuning: of the open strings.
        home: the home chord.
        tier: the beginner gets the plain ones, the others the busy ones first.
    """
    place = "string 2" if root_place(home, tuning).string == _LEADING else "inside"
    suiting = [each for each in ENDINGS if str(meter) in each.meters.split() and _serves(each, tuning, home, place)]
    manners = ("plain",) if tier == "beginner" else ("busy", "plain")
    order = [each for manner in manners for each in suiting if each.manner == manner]
    for ending in (*order, *(each for each in _ANY_METER if each.root == place)):
        first, second = (_touches(row, meter, tuning, home) for row in (ending.first, ending.second))
        if first is not None and second is not None:
            yield first, second


def _serves(ending: Ending, tuning: Tuning, home: Chord, place: str) -> bool:
    if ending.tuning:
        return (ending.tuning, ending.home) == (tuning.name, home.symbol)
    return ending.root == place


def _touches(row: str, meter: Meter, tuning: Tuning, home: Chord) -> tuple[Touch, ...] | None:
    """The touches of a row; None where the shape lacks a string that it needs."""
    words = row.split()
    step = meter.length / len(words)
    found: list[Touch] = []
    at_fret: dict[int, int] = {}
    for index, word in enumerate(words):
        for part in word.split("&") if word != "-" else ():
            touch = _touch(part, index * step, tuning, home, at_fret, pinched="&" in word)
            if touch is None:
                return None
            at_fret[touch.string] = touch.fret
            found.append(touch)
    return tuple(found)


def _touch(
    part: str, at: Fraction, tuning: Tuning, home: Chord, at_fret: dict[int, int], *, pinched: bool
) -> Touch | None:
    match = _WORD.fullmatch(part)
    assert match is not None, part
    if match[4]:
        string = int(match[5])
        return Touch(at, string, int(match[6]), None, "lick", _TECHNIQUES[match[4]], at_fret[string])
    if match[2] == "R":
        string, fret = root_place(home, tuning)
    else:
        string = int(match[2])
        if string == _DRONE and not find_neck(tuning, 0).drone_suits(home.pitch_classes):
            string = _INSIDE
        shaped = int(match[3]) if match[3] else fret_in(home, string, tuning)
        if shaped is None:
            return None
        fret = shaped
    finger = cast("Finger", match[1])
    return Touch(at, string, fret, finger, "pinch" if pinched else "lick")
