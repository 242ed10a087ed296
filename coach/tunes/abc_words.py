"""Laying the words of an ABC tune under its notes.

References:
    The ABC music standard 2.1, December 2011, section 5.1 (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["align"]

_VERSE_NUMBER = re.compile(r"\s*\d+[.)]?[~\s]+")


def align(words: str, bars: Sequence[int]) -> list[str | None]:
    r"""Lay one verse under one line of music.

    A space parts words; ``-`` parts syllables, and stands for a note of its own after a space or another ``-``; ``_``
    holds a syllable for one more note; ``*`` leaves a note without one; ``~`` is a space within a syllable and ``\-`` a
    printed hyphen; ``|`` goes on to the next measure unless the measure has just been filled. A number before the first
    word names the verse and is not sung.

    Args:
        words: what stands behind ``w:``.
        bars: for each note of the line the number of barlines before it, never falling. Rests and grace notes have
            no entry, tied notes have one each.

    Returns:
        For each note its syllable, ending in a hyphen when its word goes on, or None. Words that are left over are
        dropped.
    """
    syllables: list[str | None] = [None] * len(bars)
    at, filled, last, text = 0, False, -1, ""

    def put(syllable: str | None) -> int:
        if at < len(bars):
            syllables[at] = syllable and (syllable.strip() or None)
        return at + 1

    words = _VERSE_NUMBER.sub("", words, count=1) if _VERSE_NUMBER.match(words) else words
    position = 0
    while position <= len(words):
        letter = words[position] if position < len(words) else " "
        position += 1
        if letter == "\\" and words[position : position + 1] == "-":
            text += "-"
            position += 1
            continue
        if letter not in " \t-_*|":
            text += " " if letter == "~" else letter
            continue
        if text:
            last, at, filled = at, put(text), True
            text = ""
            if letter == "-":
                if last < len(bars) and syllables[last]:
                    syllables[last] = f"{syllables[last]}-"
                continue
        elif letter == "-":
            at, filled = put(None), True
        if letter in "_*":
            at, filled = put(None), True
        elif letter == "|":
            at, filled = _next_measure(at, bars, filled=filled), False
    return syllables


def _next_measure(at: int, bars: Sequence[int], *, filled: bool) -> int:
    if filled and 0 < at < len(bars) and bars[at - 1] != bars[at]:
        return at
    start = at
    while at < len(bars) and bars[at] == bars[start]:
        at += 1
    return at
