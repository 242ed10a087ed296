"""A teacher's edits: what shall stand in a measure of a solo, whatever the search would write there.

Edits are values. They name the tune, the tier and the measure *on paper* (``source_measure``), so that they hold for
every repeat of it; positions are in the tune's own written time, in quarters from the start of the measure as played,
so that they hold too where the solo is notated at twice the length. Undo is an older value.

A tune may be corrected after its edits were made, which gives it another id. Edits hold for every tune of the same
title in which they fit: each measure is there, and each position lies within it. For another title they are refused.
Strings and frets mean something in one tuning and one position alone: edits for another are refused too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, Finger, Pluck, Role, Technique, Tier
from coach.errors import ArrangeError
from coach.instrument.fretboard import STRINGS, is_fret
from coach.instrument.tuning import OPEN_G

__all__ = [
    "Addition",
    "Edit",
    "Edits",
    "LeaveOut",
    "Lock",
    "Replacement",
    "WrittenPluck",
    "added",
    "check",
    "check_pluck",
    "check_string",
    "freed",
    "lock",
    "of_tiers",
]


@dataclass(frozen=True, slots=True)
class WrittenPluck:
    """A pluck as a teacher writes it.

    Attributes:
        at: in quarters of the tune's notation, from the start of the measure as played.
        string, fret: where; frets count from the capo.
        finger: of the right hand; None for a slurred note.
        technique: how it is sounded.
        from_fret: where a slurred note comes from; None for a picked one.
        role: what it is there for; None finds it: melody where it has the pitch of a melody note at its place.
    """

    at: Fraction
    string: int
    fret: int
    finger: Finger | None
    technique: Technique = "pick"
    from_fret: int | None = None
    role: Role | None = None


@dataclass(frozen=True, slots=True)
class Lock:
    """A measure stands as these plucks: one that was chosen among others, or that shall stay as it is."""

    tier: Tier
    source_measure: int
    plucks: tuple[WrittenPluck, ...]


@dataclass(frozen=True, slots=True)
class Replacement:
    """A pluck takes the place of the one on ``string`` at its position, or of all there where that string is silent."""

    tier: Tier
    source_measure: int
    string: int
    pluck: WrittenPluck


@dataclass(frozen=True, slots=True)
class Addition:
    """A pluck sounds besides what is there."""

    tier: Tier
    source_measure: int
    pluck: WrittenPluck


@dataclass(frozen=True, slots=True)
class LeaveOut:
    """A string is silent at a position."""

    tier: Tier
    source_measure: int
    at: Fraction
    string: int


Edit = Lock | Replacement | Addition | LeaveOut

# A position and a string.
_Claim = tuple[Fraction, int]


@dataclass(frozen=True, slots=True)
class Edits:
    """The edits of one tune, in the order in which they were made.

    Attributes:
        tune: the id of the tune.
        edits: no two of them contradict each other; see :func:`check`.
        tuning: the name of the one that they are for.
        position: the key that the player thinks in, like ``G major``; None where that was not noted.
        where: they come from, for errors.
    """

    tune: str
    edits: tuple[Edit, ...] = ()
    tuning: str = OPEN_G.name
    position: str | None = None
    where: str = field(default="edits", compare=False)


def added(edits: Edits, edit: Edit) -> Edits:
    """The edits with one more, which takes the place of those that it contradicts; a lock of all about its measure."""
    kept = [
        each
        for each in edits.edits
        if not (_same_measure(each, edit) and (isinstance(edit, Lock) or _contradict(each, edit)))
    ]
    return replace(edits, edits=(*kept, edit))


def freed(edits: Edits, tier: Tier, source_measure: int) -> Edits:
    """The edits without those of a measure on paper of a tier."""
    kept = [each for each in edits.edits if (each.tier, each.source_measure) != (tier, source_measure)]
    return replace(edits, edits=tuple(kept))


def of_tiers(edits: Edits, tiers: Collection[Tier]) -> Edits:
    """The edits that are for these tiers; the solos of other tiers are what they are without them."""
    return replace(edits, edits=tuple(each for each in edits.edits if each.tier in tiers))


def check(edits: Edits, where: str) -> None:
    """See that no edit contradicts another.

    Args:
        edits: all of a tune.
        where: they come from, for the error.

    Raises:
        ArrangeError: when two ask for different things in one place.
    """
    known: dict[tuple[Tier, int, _Claim | None], Edit] = {}
    for edit in edits.edits:
        for claim in _claims(edit):
            if known.setdefault((edit.tier, edit.source_measure, claim), edit) != edit:
                what = "locked in two ways" if claim is None else "edited twice, at {}, string {}".format(*claim)
                raise ArrangeError(
                    f"measure {edit.source_measure} on paper of the {edit.tier} solo is {what}",
                    where=where,
                    cure="take one of the two edits out",
                )


def check_pluck(pluck: WrittenPluck, where: str) -> None:
    """See that a pluck is one that there can be, on a banjo without capo.

    Args:
        pluck: as a teacher writes it.
        where: it stands, for the error.

    Raises:
        ArrangeError: when its string or fret is not there, or its finger does not fit how it is sounded.
    """
    check_string(pluck.string, where)
    for fret in (pluck.fret, 0 if pluck.from_fret is None else pluck.from_fret):
        if not is_fret(pluck.string, fret):
            raise ArrangeError(
                f"string {pluck.string} has no fret {fret}",
                where=where,
                cure="frets are 0 to 22, and string 5 has none from 1 to 5",
            )
    slurred = pluck.technique != "pick"
    if slurred != (pluck.finger is None) or slurred != (pluck.from_fret is not None):
        raise ArrangeError(
            "a picked note has a finger and no from_fret, a slurred one a from_fret and no finger",
            where=where,
            cure="correct the technique, finger or from_fret",
        )


def check_string(string: int, where: str) -> None:
    """See that there is such a string.

    Raises:
        ArrangeError: when there is none.
    """
    if string not in STRINGS:
        raise ArrangeError(f"there is no string {string}", where=where, cure="strings are 1 to 5")


def lock(arrangement: Arrangement, measure: ArrangedMeasure) -> Lock:
    """The edit that keeps a measure of an arrangement as it is.

    Args:
        arrangement: that it belongs to, or would belong to.
        measure: of it.
    """
    return Lock(
        measure.tier,
        measure.source_measure,
        tuple(_written(pluck, arrangement.source_scale) for pluck in measure.plucks),
    )


def _written(pluck: Pluck, scale: Fraction) -> WrittenPluck:
    return WrittenPluck(
        pluck.at / scale, pluck.string, pluck.fret, pluck.finger, pluck.technique, pluck.from_fret, pluck.role
    )


def _same_measure(one: Edit, other: Edit) -> bool:
    return (one.tier, one.source_measure) == (other.tier, other.source_measure)


def _contradict(one: Edit, other: Edit) -> bool:
    """Whether two edits of one measure want different things; a lock is what later edits start from."""
    return not set(_claims(one)).isdisjoint(_claims(other))


def _claims(edit: Edit) -> Iterator[_Claim | None]:
    """What an edit decides: positions and strings, or None for what a locked measure begins with."""
    if isinstance(edit, Lock):
        yield None
    elif isinstance(edit, LeaveOut):
        yield edit.at, edit.string
    elif isinstance(edit, Replacement):
        yield edit.pluck.at, edit.string
        yield edit.pluck.at, edit.pluck.string
    else:
        yield edit.pluck.at, edit.pluck.string
