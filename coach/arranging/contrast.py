"""What differs between two ways through one measure, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure, Pluck
from coach.arranging.counting import counted

__all__ = ["contrast"]

_MOST = 5  # places that are told; how many more there are is counted
_FINGERS = {"T": "the thumb", "I": "the index finger", "M": "the middle finger"}
_DOES = {"melody": "plays the melody on", "fill": "fills on", "drone": "fills on"}


def contrast(standing: ArrangedMeasure, other: ArrangedMeasure) -> str:
    """A sentence that tells where another way sounds something else than the one that stands.

    Args:
        standing, other: the same measure, written in two ways.

    Returns:
        what the other has at each such place, in order; empty where both sound alike.
    """
    clauses: list[str] = []
    for at in sorted({pluck.at for measure in (standing, other) for pluck in measure.plucks}):
        was, now = _at(standing, at), _at(other, at)
        gone = [each for each in was if not _has(now, each)]
        come = [each for each in now if not _has(was, each)]
        if gone or come:
            clauses.append(f"on {counted(standing, at)} {_change(gone, come)}")
    if not clauses:
        return ""
    more = len(clauses) - _MOST
    if more > 0:
        clauses[_MOST:] = ["and another place differs" if more == 1 else f"and {more} more places differ"]
    text = "; ".join(clauses)
    return f"{text[0].upper()}{text[1:]}."


def _at(measure: ArrangedMeasure, at: Fraction) -> list[Pluck]:
    return [pluck for pluck in measure.plucks if pluck.at == at]


def _has(plucks: Iterable[Pluck], wanted: Pluck) -> bool:
    return any(
        (each.string, each.fret, each.technique) == (wanted.string, wanted.fret, wanted.technique) for each in plucks
    )


def _change(gone: Sequence[Pluck], come: Sequence[Pluck]) -> str:
    """What comes in place of what; that a string is open is said only where another is stopped."""
    stopped = any(each.fret for each in (*gone, *come))

    def places(plucks: Sequence[Pluck]) -> str:
        return " and ".join(_place(each, stopped=stopped) for each in plucks)

    if not come:
        return f"nothing on {places(gone)}"
    if len(come) > 1:
        what = f"{places(come)} sound together"
    elif come[0].finger is None:
        what = f"a {come[0].technique} leads to {places(come)}"
    else:
        what = f"{_FINGERS[come[0].finger]} {_DOES.get(come[0].role, 'plays')} {places(come)}"
    return f"{what} in place of {places(gone)}" if gone else f"{what} besides"


def _place(pluck: Pluck, *, stopped: bool) -> str:
    if pluck.fret:
        return f"string {pluck.string} fret {pluck.fret}"
    return f"string {pluck.string} open" if stopped else f"string {pluck.string}"
