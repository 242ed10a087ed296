"""The strains of a tune, A, B, C ..., as its repeat signs and double bars part them, and where a solo plays one.

Common practice, no source: a strain ends at a double bar or a repeat sign; the endings of a repeat belong to it, and
the upbeat that stands between two strains belongs to the second.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from string import ascii_uppercase

from coach.arranging.arrangement import Arrangement
from coach.errors import InputError
from coach.tunes.tune import Measure, Tune

__all__ = ["strain_span", "strains"]


def strains(tune: Tune) -> tuple[tuple[int, int], ...]:
    """The first and last measure, by number on paper, of each strain; a pickup belongs to the first."""
    found: list[list[Measure]] = [[]]
    for index, measure in enumerate(tune.measures):
        if measure.repeat_start and not _is_upbeat(found[-1]):
            found.append([])
        found[-1].append(measure)
        more_endings = index + 1 < len(tune.measures) and bool(tune.measures[index + 1].endings)
        ended = (measure.double_bar or measure.repeat_end > 1) and not (measure.endings and more_endings)
        if ended and not _is_upbeat(found[-1]):
            found.append([])
    if len(found) > 1 and _is_upbeat(found[-1]):
        # What is left behind the last sign fills up the measure before it.
        rest = found.pop()
        found[-1] += rest
    return tuple((measures[0].number, measures[-1].number) for measures in found)


def _is_upbeat(measures: Sequence[Measure]) -> bool:
    """Whether measures hold less than a full one, or nothing yet."""
    length = sum((measure.length for measure in measures), Fraction(0))
    return not measures or length < measures[0].meter.length


def strain_span(solo: Arrangement, tune: Tune, name: str) -> tuple[int, int]:
    """The numbers of the first and last measure of a strain in a solo: the last time when it is first played through.

    Args:
        solo: for the tune, with all its measures.
        tune: as read.
        name: ``A``, ``B`` ..., in any case.

    Raises:
        InputError: when the tune has no such strain.
    """
    known = strains(tune)
    letters = ascii_uppercase[: len(known)]
    wanted = name.strip().upper()
    if len(wanted) != 1 or wanted not in letters:
        raise InputError(
            f"the tune has no strain {name[:24]!r}", where=tune.title, cure=f"choose {' or '.join(letters)}"
        )
    first, last = known[letters.index(wanted)]
    played: list[int] = []
    source = first - 1
    for measure in solo.measures:
        if not first <= measure.source_measure <= last:
            if played:
                break
            continue
        if measure.source_measure <= source:
            played = []
        source = measure.source_measure
        played.append(measure.number)
    return played[0], played[-1]
