"""Passages in the words of the trade: ``Measures 5 to 6: an eighth ahead.``"""

from __future__ import annotations

from fractions import Fraction

from coach.arranging.arrangement import Arrangement
from coach.listening.passages import Passage

__all__ = ["passage_sentence"]

_LENGTHS = {
    Fraction(1, 4): "a sixteenth",
    Fraction(1, 2): "an eighth",
    Fraction(1): "a quarter",
    Fraction(2): "a half note",
}
_UNITS = ((Fraction(1), "quarters"), (Fraction(1, 2), "eighths"), (Fraction(1, 4), "sixteenths"))


def passage_sentence(passage: Passage, arrangement: Arrangement) -> str:
    """What a passage was and where, as a sentence.

    Args:
        passage: of a pass through the solo.
        arrangement: the solo.
    """
    first, last = passage.first.measure, passage.last.measure
    where = f"Measure {first}" if first == last else f"Measures {first} to {last}"
    return f"{where}: {_what(passage, arrangement)}."


def _what(passage: Passage, arrangement: Arrangement) -> str:
    if passage.kind in ("left out", "played twice"):
        return passage.kind if passage.first.measure == passage.last.measure else f"a measure {passage.kind}"
    if passage.kind == "other order":
        return "the roll in another order"
    if passage.kind == "plain melody":
        return "the plain melody without the roll"
    if passage.slots is None:
        return passage.kind
    far = _far(abs(passage.slots), passage, arrangement)
    if passage.kind == "jumped":
        return f"a jump {'ahead' if passage.slots > 0 else 'back'} over {far}"
    return f"{far} {passage.kind}"


def _far(slots: int, passage: Passage, arrangement: Arrangement) -> str:
    """A distance in note values, or in measures where these come out whole."""
    length = slots * arrangement.slot
    measure = next(each.length for each in arrangement.measures if each.number == passage.first.measure)
    if length % measure == 0:
        return "a measure" if length == measure else f"{length // measure} measures"
    if length in _LENGTHS:
        return _LENGTHS[length]
    for unit, name in _UNITS:
        if length % unit == 0:
            return f"{length // unit} {name}"
    return f"{slots} slots"
