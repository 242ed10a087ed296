"""Slurring: slurs that were picked instead, as far as an instrument tells.

A slurred pluck that comes as a note-on of its pitch counts as played, whether the left hand sounded it or the right:
that it was picked is no error of pitch, but a teacher would say so. Two things tell it, both over the passes that are
looked at, and both want the note as loud as a pick: at least nine tenths of the median velocity of the pass's picks.

By bend
    The instrument shows slurs of this technique by bends (at least three, and at least half of those that were heard),
    and this one came without.
By velocity alone
    The instrument sends how strongly it was played, and its slurs are softer than its picks by 3 dB or more, in the
    median of at least six note-ons. This one lies above the median of the picks, and above that of the slurs by more
    than 3 dB and by 3.5 times their scatter (robust). Where most slurs are picked this tells nothing.

The numbers are our own (common practice, no source), chosen for few false alarms.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log10
from statistics import median

from coach.listening.findings import Finding
from coach.listening.habits import of_notes
from coach.listening.playing import decibels, sends_velocity
from coach.listening.strokes import PassStrokes, Stroke

__all__ = ["picked_instead", "slurring_findings"]

LEAST_BENDS = 3
AS_LOUD = 0.9
LEAST_SLURS = 6
SOFTER_DB = 3.0
SCATTERS = 3.5
COST = 0.5  # a note

_TO_DEVIATION = 1.4826  # of a normal distribution, from its median absolute deviation


def picked_instead(passes: Sequence[PassStrokes]) -> tuple[Stroke, ...]:
    """The slurred plucks of the last of some passes through a solo that were picked instead, in order.

    Args:
        passes: in order, at least one; the earlier ones add evidence of how the instrument shows slurs.
    """
    heard = passes[-1]
    picks = [stroke.note.velocity for stroke in heard.strokes if _is_struck(stroke) and stroke.note.pluck.picked]
    came = [stroke for stroke in heard.strokes if _is_struck(stroke) and _is_slurred(stroke) and not stroke.note.bent]
    if not picks or not came:
        return ()
    usual = median(velocity for velocity in picks if velocity is not None)
    loud = [stroke for stroke in came if (stroke.note.velocity or 0) >= AS_LOUD * usual]
    by_bend = _shown_by_bends(passes)
    limit = _limit_db(passes, 20 * log10(usual))
    return tuple(
        stroke
        for stroke in loud
        if stroke.pluck.technique in by_bend or (limit is not None and decibels(stroke) > limit)
    )


def slurring_findings(passes: Sequence[PassStrokes]) -> list[Finding]:
    """What is to be said of slurs that were picked."""
    picked = picked_instead(passes)
    if not picked:
        return []
    of = sum(stroke.note.played and _is_slurred(stroke) for stroke in passes[-1].strokes)
    return [of_notes("picked, not slurred", len(picked) / of, picked, of, COST * len(picked))]


def _is_slurred(stroke: Stroke) -> bool:
    return not stroke.note.pluck.picked


def _is_struck(stroke: Stroke) -> bool:
    """Whether a pluck was played and heard by a note-on."""
    return stroke.note.played and bool(stroke.note.velocity)


def _shown_by_bends(passes: Sequence[PassStrokes]) -> frozenset[str]:
    """The techniques whose slurs this instrument shows by bends."""
    bent: dict[str, list[bool]] = {}
    for heard in passes:
        for stroke in heard.strokes:
            if _is_slurred(stroke) and stroke.note.played and not stroke.note.assumed:
                bent.setdefault(stroke.pluck.technique, []).append(stroke.note.bent)
    return frozenset(
        technique for technique, each in bent.items() if sum(each) >= LEAST_BENDS and 2 * sum(each) >= len(each)
    )


def _limit_db(passes: Sequence[PassStrokes], usual_db: float) -> float | None:
    """The level above which a slur by note-on was picked; None where velocity does not tell that.

    Args:
        passes: that are looked at.
        usual_db: the median level of the picks of the last.
    """
    strokes = [stroke for heard in passes for stroke in heard.strokes if _is_struck(stroke)]
    slurs = [decibels(stroke) for stroke in strokes if _is_slurred(stroke) and not stroke.note.bent]
    picks = [decibels(stroke) for stroke in strokes if not _is_slurred(stroke)]
    if len(slurs) < LEAST_SLURS or not picks or not sends_velocity(strokes):
        return None
    middle = median(slurs)
    if median(picks) - middle < SOFTER_DB:
        return None
    scatter = _TO_DEVIATION * median(abs(slur - middle) for slur in slurs)
    return max(usual_db, middle + max(SOFTER_DB, SCATTERS * scatter))
