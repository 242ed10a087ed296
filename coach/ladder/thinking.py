"""What the coach thinks of what the player has chosen otherwise; a player may always do so."""

from __future__ import annotations

from dataclasses import replace

from coach.ladder.here import Here
from coach.ladder.rungs import Wanted
from coach.ladder.sitting import most_tempo
from coach.ladder.spots import ready_whole
from coach.ladder.standing import EARNED
from coach.ladder.wording import measures, said, sentence

__all__ = ["FAR", "thinks"]

_OFTEN = {1: "once", 2: "twice", 3: "three times"}

FAR = 1.15
"""A tempo so much above what is ready is far above it: about two steps of the coach's own."""


def thinks(here: Here, wanted: Wanted) -> str:
    """What the coach thinks, in a sentence; empty where it agrees, and where it knows too little to say.

    Args:
        here: where the player is.
        wanted: what they have chosen for the next pass.
    """
    return _of_load(here, wanted) or _of_tier(here, wanted) or _of_tempo(here, wanted)


def _of_load(here: Here, wanted: Wanted) -> str:
    limit = most_tempo(here.sitting)
    if limit is None or said(wanted.tempo) == said(limit) or wanted.tempo < limit:
        return ""
    return sentence(f"today there are more minutes than last time, so no faster than {said(limit)} would be better")


def _of_tier(here: Here, wanted: Wanted) -> str:
    standing = here.standing
    names = [each.name for each in here.course.tiers]
    chosen, at = names.index(wanted.tier), names.index(standing.tier)
    if (chosen, bool(wanted.mix)) <= (at, bool(standing.mix)):
        return ""
    if standing.mix:
        return sentence(f"the {names[at + 1]} solo would come in measure by measure")
    wanting = EARNED - standing.won
    if wanting <= 0 and chosen == at + (not wanted.mix):
        return ""
    often = f"{_OFTEN[wanting]} more" if 0 < wanting < EARNED else _OFTEN[EARNED]
    first = names[at] if wanting > 0 else names[at + 1]
    return sentence(f"the {first} solo would come first, until it is clean at {said(here.goal)} {often}")


def _of_tempo(here: Here, wanted: Wanted) -> str:
    standing = replace(here.standing, tier=wanted.tier, mix=wanted.mix, first=wanted.first, last=wanted.last)
    own = replace(here, standing=standing).own()
    if not any(curve.passes for curve in own.values()) or _has_been_clean(here, wanted):
        return ""
    ready = ready_whole(own)
    if wanted.tempo <= FAR * ready:
        return ""
    far = f"ready at about {said(ready)}, and {said(wanted.tempo)} is far above that"
    if standing.is_part:
        return sentence(f"{measures(sorted(own))} {'is' if len(own) == 1 else 'are'} {far}")
    return sentence(f"the whole is {far}")


def _has_been_clean(here: Here, wanted: Wanted) -> bool:
    """Whether the last pass of what is chosen came clean at least so fast: then nobody is told that it is too fast."""
    alike = [
        past
        for past in here.standing.passes
        if past.counts
        and (past.tier, past.mix, past.first, past.last) == (wanted.tier, wanted.mix, wanted.first, wanted.last)
    ]
    return bool(alike) and alike[-1].is_clean and alike[-1].tempo >= wanted.tempo
