"""The hard rules of a finished solo, checked from the outside.

Nothing here knows how a solo was made: the checks read the finished arrangement only and share no code with the
search that makes one.

Conventions
    Moments are positions at which something is picked. Two of them are *running* when they stand in neighbouring
    slots, over barlines too. A slurred note is no moment of its own.

Rules (common practice, no source); each has its name in :data:`RULES`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import MappingProxyType

from coach.arranging.arrangement import Arrangement
from coach.arranging.handrules import (
    finger_plays_its_string,
    finger_rests,
    hand_reaches,
    pinch_is_playable,
    slur_is_possible,
    string_rings,
)
from coach.arranging.leftrules import fingers_fit_frets
from coach.arranging.paperrules import (
    ids_count_on,
    lengths_fit,
    on_the_grid,
    one_pluck_a_string,
    place_sounds_pitch,
    repeats_agree,
)
from coach.arranging.timeline import Timeline
from coach.arranging.tunerules import (
    beginner_fills_wait,
    beginner_pinches_are_few,
    drone_is_left_out,
    embellishments_are_few,
    licks_leave_the_tune_alone,
    melody_is_carried,
    melody_is_not_covered,
    phrases_keep_their_start,
    thinning_spares_the_weighty,
)

__all__ = ["RULES", "BrokenRule", "broken_rules"]

# A check yields (measure, id of the pluck or None, what is wrong).
Check = Callable[[Timeline], Iterator[tuple[int, str | None, str]]]

_CHECKS: dict[str, tuple[str, Check]] = {
    "ids": ("plucks are in order and numbered on", ids_count_on),
    "grid": ("plucks lie on the slots, slurred notes at most half a slot later", on_the_grid),
    "filled": ("plucks and rests fill the measure exactly", lengths_fit),
    "place": ("string, fret and pitch fit each other", place_sounds_pitch),
    "one a string": ("a string sounds one pluck at a time", one_pluck_a_string),
    "repeat": ("a repeated measure gets the same plucks", repeats_agree),
    "finger": ("a finger plays its own strings", finger_plays_its_string),
    "pinch": ("notes struck together have fingers that can do it", pinch_is_playable),
    "finger twice": ("no finger plays twice in running slots", finger_rests),
    "string twice": (
        "no string is picked twice in running slots, save two melody notes with no other place",
        string_rings,
    ),
    "span": ("fretted notes of a roll lie within four frets", hand_reaches),
    "slur": ("a slur is physically right", slur_is_possible),
    "left hand": ("the left hand's fingers lie in the order of the frets, no finger on two at once", fingers_fit_frets),
    "melody": ("a kept melody note has a pluck of its pitch", melody_is_carried),
    "phrase start": ("the first note of a phrase sounds", phrases_keep_their_start),
    "thinning": (
        "of four even melody notes none that has weight in its phrase is left out",
        thinning_spares_the_weighty,
    ),
    "fill over melody": ("nothing but pinch notes sounds with a melody note", melody_is_not_covered),
    "lick over melody": ("a lick leaves the tune's notes alone", licks_leave_the_tune_alone),
    "drone": ("the drone is left out over E, E7, B and B7 in the key of G", drone_is_left_out),
    "embellishments": ("a measure has at most three slurs", embellishments_are_few),
    "beginner pinches": ("a beginner has at most two pinches a measure", beginner_pinches_are_few),
    "beginner fills": ("a beginner fills only where the melody waits two beats", beginner_fills_wait),
}

RULES = MappingProxyType({name: text for name, (text, _) in _CHECKS.items()})


@dataclass(frozen=True, slots=True)
class BrokenRule:
    """A rule that a solo breaks.

    Attributes:
        rule: a name in :data:`RULES`.
        measure: number of the measure.
        pluck_id: the pluck at fault; None where no single one is.
        sentence: what is wrong and where.
    """

    rule: str
    measure: int
    pluck_id: str | None
    sentence: str


def broken_rules(arrangement: Arrangement) -> tuple[BrokenRule, ...]:
    """Every breach of every hard rule, rule by rule and then in order of position; empty for a sound solo."""
    timeline = Timeline(arrangement)
    return tuple(
        BrokenRule(name, measure, pluck_id, f"Measure {measure}: {what}.")
        for name, (_, check) in _CHECKS.items()
        for measure, pluck_id, what in check(timeline)
    )
