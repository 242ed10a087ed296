"""Touches: what hands do in a measure, before it is written down as plucks with ids, lengths and pitches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from coach.arranging.arrangement import Finger, Pluck, Role, Technique
from coach.instrument.fretboard import pitch_at
from coach.instrument.tuning import Tuning

__all__ = ["Touch", "repeats", "written"]


class Touch(NamedTuple):
    """One sounding of one string.

    Attributes:
        at: in quarters from the start of its measure.
        string: 1..5.
        fret: counted from the capo.
        finger: of the right hand; None for a slurred note.
        role: what it is there for.
        technique: how it is sounded.
        from_fret: where a slurred note comes from; None for a picked one.
        longest: how long it lasts at most, in quarters; None to the next touch.
    """

    at: Fraction
    string: int
    fret: int
    finger: Finger | None
    role: Role
    technique: Technique = "pick"
    from_fret: int | None = None
    longest: Fraction | None = None


def written(number: int, touches: Iterable[Touch], length: Fraction, tuning: Tuning, capo: int) -> tuple[Pluck, ...]:
    """The plucks of a measure, in order, each lasting to the next one or to the barline at the latest.

    Args:
        number: of the measure.
        touches: in any order, within the measure, no string twice at once.
        length: of the measure, in quarters.
        tuning: the open strings without capo.
        capo: its fret.
    """
    order = sorted(touches, key=lambda touch: (touch.at, -touch.string))
    bounds = [*sorted({touch.at for touch in order}), length]
    plucks = []
    for count, touch in enumerate(order, start=1):
        lasts = min(bound for bound in bounds if bound > touch.at) - touch.at
        plucks.append(
            Pluck(
                id=f"m{number}e{count}",
                at=touch.at,
                length=lasts if touch.longest is None else min(lasts, touch.longest),
                string=touch.string,
                fret=touch.fret,
                pitch=pitch_at(tuning, touch.string, touch.fret, capo),
                finger=touch.finger,
                role=touch.role,
                technique=touch.technique,
                from_fret=touch.from_fret,
            )
        )
    return tuple(plucks)


def repeats(plucks: Sequence[Pluck], earlier: Sequence[Pluck]) -> bool:
    """Whether a measure plays what an earlier one plays, whatever their numbers."""
    return [replace(pluck, id="", left=None) for pluck in plucks] == [
        replace(pluck, id="", left=None) for pluck in earlier
    ]
