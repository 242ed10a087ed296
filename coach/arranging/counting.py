"""A place in a measure as it is counted aloud: one and two and, one e and a, in compound metres one two three."""

from __future__ import annotations

from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure

__all__ = ["counted"]

# What is said between two beats, by the share of the beat that is past (common practice, no source).
_SIMPLE = {Fraction(1, 4): "the e", Fraction(1, 2): "the and", Fraction(3, 4): "the a"}
_COMPOUND = {Fraction(1, 3): "the second part", Fraction(2, 3): "the third part"}


def counted(measure: ArrangedMeasure, at: Fraction) -> str:
    """A position in words: ``beat 1``, ``the and of beat 2``, ``1/3 of a beat after beat 2``.

    Args:
        measure: of an arrangement; a pickup counts from its end.
        at: in quarters from the measure's start.
    """
    meter = measure.meter
    missing = max(Fraction(0), meter.length - measure.length) if measure.number == 0 else Fraction(0)
    beat, past = divmod(at + missing, meter.beat)
    named = f"beat {beat + 1}"
    share = past / meter.beat
    if not share:
        return named
    word = (_COMPOUND if meter.compound else _SIMPLE).get(share)
    return f"{word} of {named}" if word else f"{share} of a beat after {named}"
