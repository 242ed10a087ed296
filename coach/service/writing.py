"""All tiers' own solos of a tune, handed over one by one as workers have written them."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from typing import Protocol

from coach.arranging.arrangement import TIERS, Tier
from coach.arranging.edits import Edits
from coach.errors import ArrangeError, CoachError
from coach.service.book import Book
from coach.service.jobs import Solo
from coach.service.pieces import Piece

__all__ = ["Fetch", "Make", "Solos", "TakeSolos", "pass_over", "progress", "write_solos"]

Solos = Mapping[Tier, Solo]
"""Of one tune, the easiest tier first."""


class TakeSolos(Protocol):
    """Takes the solos of a tune, or why there are none, on the event loop.

    It is called with those that are written already while there are ``more`` to come, and at last with all. Where some
    tier has none, ``lacking`` says why.
    """

    def __call__(self, solos: Solos | CoachError, /, *, more: bool = False, lacking: CoachError | None = None) -> None:
        """Take them."""


Fetch = Callable[[str, Tier, Edits | None, TakeSolos], None]
"""Asks for all tiers' own solos of a tune, with these edits; which tier's goes first."""
Make = Callable[[Piece, Callable[[Solo | CoachError], None]], None]
"""Asks for a mixed solo or one for a jam, which is handed over likewise."""


async def write_solos(book: Book, tune: str, first: Tier, edits: Edits | None, done: TakeSolos) -> None:
    """Have all tiers' own solos of a tune written.

    Args:
        book: has the tune.
        tune: its id.
        first: the tier that is written first.
        edits: a teacher's; None for none.
        done: takes them.

    Raises:
        ArrangeError: when the edits do not fit the tune; then ``done`` is not told of the end.
    """
    try:
        tiers = book.tiers(tune)
    except CoachError as error:
        done(error)
        return
    solos: dict[Tier, Solo] = {}
    faults: dict[Tier, CoachError] = {}

    async def write(tier: Tier) -> None:
        try:
            solos[tier] = await book.made(Piece(tune, tier).edited(edits))
        except CoachError as error:
            faults[tier] = error
        else:
            if len(solos) + len(faults) < len(tiers):
                done(_in_order(solos), more=True)

    async with asyncio.TaskGroup() as group:
        for tier in sorted(tiers, key=lambda tier: tier != first):
            group.create_task(write(tier))
    for tier in tiers:
        fault = faults.get(tier)
        if isinstance(fault, ArrangeError) and Piece(tune, tier).edited(edits).edits is not None:
            raise fault
    lacking = next((faults[tier] for tier in tiers if tier in faults), None)
    if solos:
        done(_in_order(solos), lacking=lacking)
    elif lacking is not None:
        done(lacking)


def pass_over(_: Solos | CoachError, /, *, more: bool = False, lacking: CoachError | None = None) -> None:
    """Takes solos that are written only so that they are there when they are asked for."""


def progress(there: Solos) -> str:
    """What is written of the solos, and what is still to come, in words."""
    done = [tier for tier in TIERS if tier in there]
    to_come = [tier for tier in TIERS if tier not in there]
    return (
        f"Writing the solos: {' and '.join(done)} {'are' if len(done) > 1 else 'is'} there, {' and '.join(to_come)} …"
    )


def _in_order(solos: Mapping[Tier, Solo]) -> dict[Tier, Solo]:
    return {tier: solos[tier] for tier in TIERS if tier in solos}
