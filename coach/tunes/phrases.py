"""Finding where phrases begin in a tune whose source does not mark them by its lines.

Each note could begin a phrase. What speaks for it has a price off: the note before it is long or a rest comes between,
the words have punctuation there, a passage of a measure begins there that is heard elsewhere, too. What speaks against
it has a price: a phrase of few or very many notes, one that begins elsewhere in the measure than the phrase before, a
break within a word. The row of phrases with the lowest sum is found exactly, by dynamic programming over the notes.
Double bars and the signs of repeats always end a phrase.

References:
    Temperley 2001, The Cognition of Basic Musical Structures, chapter 3: gaps, length in notes and parallel metre as
    the three preferences for phrases (from memory; the prices here are our own, fitted to sung folk songs whose lines
    are phrases: ``tests/bench/measure_phrases.py``).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from coach.tunes.tune import Measure, Note

__all__ = ["mark_phrases"]

# Prices; only their ratios count.
BEGIN = 180  # to begin a phrase at all
GAP = 160  # off for each usual step from the note before to this one, and once more for a rest between
MOST_GAPS = 4  # a longer gap speaks no louder
PUNCTUATION = 250  # off where the words have a comma or more
WITHIN_WORD = 400  # where a word goes on
RETURN = 20  # off where a passage begins that is heard elsewhere
OTHER_PLACE = 210  # where the phrase before began elsewhere in the measure
LENGTH = 150  # for each doubling or halving of a phrase of the usual number of notes
USUAL = 8  # notes in a phrase
MOST_NOTES = 32  # in a phrase, where there is a choice

_PUNCTUATION = (",", ".", ";", ":", "!", "?", "…", "—")


@dataclass(frozen=True, slots=True)
class _Onset:
    """A note of the tune, as the search sees it.

    Attributes:
        start: in quarters from the start of the tune.
        place: in quarters from the barline.
        price: to begin a phrase here.
        forced: whether a sign begins one here.
    """

    start: Fraction
    place: Fraction
    price: int
    forced: bool


def mark_phrases(measures: Sequence[Measure]) -> tuple[Measure, ...]:
    """The same measures with ``phrase_start`` set on the notes that begin phrases; the first note always does."""
    begins = iter(_begins(_onsets(measures)))
    return tuple(
        replace(measure, notes=tuple(replace(note, phrase_start=next(begins)) for note in measure.notes))
        for measure in measures
    )


def _onsets(measures: Sequence[Measure]) -> list[_Onset]:
    notes: list[tuple[Fraction, Fraction, Note, bool]] = []
    start, breaks = Fraction(0), True
    for measure in measures:
        # A short measure at the start, or behind a repeat, is the end of a full one.
        shift = measure.meter.length - measure.length if measure.number == 0 else Fraction(0)
        breaks = breaks or measure.repeat_start
        for note in measure.notes:
            notes.append((start + note.at, note.at + shift, note, breaks))
            breaks = False
        breaks = breaks or measure.double_bar or measure.repeat_end > 1
        start += measure.length
    if not notes:
        return []
    usual = (notes[-1][0] - notes[0][0]) / max(1, len(notes) - 1) or Fraction(1)
    returns = _returns(notes, max(measure.meter.length for measure in measures))
    onsets: list[_Onset] = []
    for index, (at, place, _, forced) in enumerate(notes):
        price = BEGIN - RETURN * returns[index]
        if index:
            begun, _, before, _ = notes[index - 1]
            rest = max(Fraction(0), at - begun - before.length)
            price -= min(GAP * MOST_GAPS, int(GAP * (at - begun + rest) / usual))
            if before.lyric is not None and before.lyric.endswith(_PUNCTUATION):
                price -= PUNCTUATION
            elif before.lyric is not None and before.lyric.endswith("-"):
                price += WITHIN_WORD
        onsets.append(_Onset(at, place, price, forced))
    return onsets


def _returns(notes: Sequence[tuple[Fraction, Fraction, Note, bool]], length: Fraction) -> list[bool]:
    """For each note whether the passage of a measure's length that it begins is heard from another note, too."""
    passages: list[tuple[tuple[Fraction, int], ...]] = []
    for index, (at, place, first, _) in enumerate(notes):
        passage: list[tuple[Fraction, int]] = [(place, first.pitch)]
        for start, _, note, _ in notes[index + 1 :]:
            if start >= at + length:
                break
            passage.append((start - at, note.pitch))
        passages.append(tuple(passage))
    heard = Counter(passages)
    return [len(passage) > 2 and heard[passage] > 1 for passage in passages]


def _begins(onsets: Sequence[_Onset]) -> list[bool]:
    """For each note whether it begins a phrase in the cheapest row of phrases."""
    begins = [False] * len(onsets)
    if not onsets:
        return begins
    begins[0] = True
    signs = [index for index, onset in enumerate(onsets) if onset.forced and index]
    for first, last in zip([0, *signs], [*signs, len(onsets)], strict=True):
        for index in _part(onsets[first:last]):
            begins[first + index] = True
    return begins


def _part(onsets: Sequence[_Onset]) -> list[int]:
    """The first notes of the phrases of a part that no sign divides, by their index."""
    end = len(onsets)
    sums = [0] + [10**12] * end
    came = [0] * (end + 1)
    for begin in range(end):
        for stop in range(begin + 1, min(begin + MOST_NOTES, end) + 1):
            price = sums[begin] + _LENGTHS[stop - begin]
            if stop < end:
                price += onsets[stop].price + OTHER_PLACE * (onsets[stop].place != onsets[begin].place)
            if price < sums[stop]:
                sums[stop], came[stop] = price, begin
    found = [came[end]]
    while found[-1]:
        found.append(came[found[-1]])
    return found[::-1]


_LENGTHS = [0] + [round(LENGTH * abs(math.log2(count / USUAL))) for count in range(1, MOST_NOTES + 1)]
