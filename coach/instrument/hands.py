"""What the hands can do: fingers for strings, what may follow what, pinches, and the reach of the left hand.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import permutations
from typing import Literal

from coach.instrument.fretboard import FIRST_FRETS, places
from coach.instrument.tuning import Tuning

__all__ = [
    "AT_NEED",
    "FINGERS",
    "RELUCTANCE",
    "RUN_FINGERS",
    "SPAN",
    "STRETCH",
    "Finger",
    "may_pick",
    "only_on",
    "pinch_fingers",
    "pinch_is_legal",
    "span",
]

Finger = Literal["T", "I", "M"]

FINGERS: tuple[Finger, ...] = ("T", "I", "M")

# How unwillingly a finger goes to a string, 0 at home. What is not listed it does not play in a roll.
RELUCTANCE: Mapping[Finger, Mapping[int, int]] = {
    "T": {5: 0, 4: 0, 3: 0, 2: 1},  # on 2 when it leads
    "I": {3: 0, 2: 0, 4: 2},  # on 4 at need
    "M": {1: 0, 2: 2},  # on 2 at need
}
AT_NEED = 2

# Fingers that alternate where a melody itself runs on one string, whichever string it is.
RUN_FINGERS: frozenset[tuple[Finger, Finger]] = frozenset({("T", "I"), ("I", "T"), ("I", "M"), ("M", "I")})

# Highest less lowest fretted fret of what sounds together, and the stretch kept for the advanced.
SPAN = 3
STRETCH = 4


def may_pick(finger: Finger, string: int) -> bool:
    """Whether a finger picks a string in a roll or a pinch."""
    return string in RELUCTANCE[finger]


def only_on(tuning: Tuning, string: int, pitches: Iterable[int], *, capo: int = 0) -> bool:
    """Whether none of the pitches has a place on frets 0 to 5 of another string.

    Two melody notes a slot apart of which this is true may be picked on the same string, by different fingers.
    """
    return all(
        place.string == string
        for pitch in pitches
        for place in places(tuning, pitch, capo=capo, highest_fret=FIRST_FRETS + capo)
    )


def pinch_is_legal(fingers: Mapping[int, Finger]) -> bool:
    """Whether strings (the keys) can be struck at once by these fingers.

    Two or three different fingers, each on a string that it plays, the thumb among them on the fifth or else the
    lowest-pitched string, the index below the middle.
    """
    if not 2 <= len(fingers) <= 3 or len(set(fingers.values())) < len(fingers):
        return False
    if any(not may_pick(finger, string) for string, finger in fingers.items()):
        return False
    # The index needs no rule of its own: among the strings that the two play it always lies below the middle.
    return fingers[max(fingers)] == "T"


def pinch_fingers(strings: Iterable[int]) -> dict[int, Finger] | None:
    """The most willing fingers (by string) for strings struck at once, or None where they cannot be pinched."""
    order = sorted(strings, reverse=True)
    choices: list[dict[int, Finger]] = [
        dict(zip(order, fingers, strict=True)) for fingers in permutations(FINGERS, len(order)) if len(order) <= 3
    ]
    legal = [choice for choice in choices if pinch_is_legal(choice)]
    return min(legal, key=lambda pick: sum(RELUCTANCE[finger][string] for string, finger in pick.items()), default=None)


def span(frets: Iterable[int]) -> int:
    """Highest less lowest of the fretted frets (open strings, fret 0, do not count); 0 for fewer than two."""
    fretted = [fret for fret in frets if fret > 0]
    return max(fretted) - min(fretted) if fretted else 0
