"""A tune as the ladder sees it, from its solos."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from coach.arranging.arrangement import TIERS, Tier
from coach.ladder.rungs import Course, MeasurePlan, TierPlan
from coach.service.jobs import Solo
from coach.service.pieces import Piece, repeats_of

__all__ = ["course_of"]


def course_of(tune: str, solos: Mapping[Tier, Solo], impossible: Collection[Piece] = ()) -> Course:
    """The course of a tune.

    Args:
        tune: its id in the book.
        solos: its own one of each tier that there is, at least one; in each something is played.
        impossible: mixed solos and solos for a jam, of any tune, that were asked for and cannot be made.
    """
    plans = [_plan(tier, solos[tier]) for tier in TIERS if tier in solos]
    any_solo = next(iter(solos.values()))
    measures = any_solo.arrangement.measures
    # A jam needs a melody, which studies and back-up have not, and chords to back others up.
    has_melody, has_chords = any(measure.melody for measure in measures), any(measure.chords for measure in measures)
    missing = [piece for piece in impossible if piece.tune == tune]
    return Course(
        tune,
        tuple(plans),
        repeats_of(any_solo.arrangement),
        can_jam=has_melody and has_chords and not any(piece.jam for piece in missing),
        by_ear=has_melody,
        apart={(piece.tier, piece.mix) for piece in missing if not piece.jam},
    )


def _plan(tier: Tier, solo: Solo) -> TierPlan:
    measures = solo.arrangement.measures
    plucks = sum(len(measure.plucks) for measure in measures)
    return TierPlan(
        tier,
        tuple(
            MeasurePlan(measure.number, difficulty, float(measure.length))
            for measure, difficulty in zip(measures, solo.difficulty, strict=True)
        ),
        plucks / float(sum(measure.length for measure in measures)),
    )
