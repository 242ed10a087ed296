"""The pass that runs: what was ordered, what is heard of it, and what pages are told of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from coach.service.absences import Absences
from coach.service.accompany import cues_of, length_of, positions_of
from coach.service.clock import ClockMap
from coach.service.orders import Order
from coach.service.pages import Page
from coach.service.passes import LivePass
from coach.service.protocol import Begin
from coach.service.telling import Told

__all__ = ["Running"]


@dataclass(slots=True)
class Running:
    """A pass that runs; times are seconds on the service's clock.

    Attributes:
        order: what is played.
        live: what is heard.
        since: when it was begun.
        told: what pages were told, for those who come back; provisional marks aside.
        maps: of the clocks of pages, by their seats, as they are frozen for the pass.
        stop_asked: when it was stopped; None while it was not.
        sentence: why, where the player did not ask for it.
        last_second: when the take was told last that it goes on.
    """

    order: Order
    live: LivePass
    since: float
    told: list[Told] = field(default_factory=list)
    maps: dict[str, ClockMap] = field(default_factory=dict)
    stop_asked: float | None = None
    sentence: str = ""
    last_second: float = 0.0

    def map_of(self, page: Page) -> ClockMap | None:
        """The mapping of a page's clock: as it is frozen, else the best so far; None before the first exchange."""
        return self.maps.get(page.seat) or page.clock.best

    def begin_for(self, page: Page | None) -> Begin:
        """The message that tells a page of the pass, or, where none is named, those who look on: its origin is on the
        service's clock then."""
        order, reference = self.order, self.live.reference
        sounds = page is not None and order.sounder is page
        origin: float | None = None
        if reference is not None:
            here = None if page is None else reference.origin_on(page.seat, self.map_of(page))
            origin = reference.service_origin if page is None else here
        measures = order.plan.measures
        return Begin(
            number=order.number,
            digest=order.solo.digest,
            tempo=order.plan.tempo,
            first=measures[0].number,
            last=measures[-1].number,
            sounds=sounds,
            origin=origin,
            lead=order.lead,
            length=length_of(order.plan),
            positions=positions_of(order.plan) if order.is_kept else [],
            cues=cues_of(order.parts) if sounds else [],
            free=order.free,
            learning=not order.is_kept,
            levels=order.levels.as_told(),
        )

    def away(self, absences: Absences) -> tuple[tuple[float, float], ...]:
        """From when to when an instrument that was played on was away, in pass time; the reference is known."""
        reference = self.live.reference
        assert reference is not None
        origin = reference.service_origin
        last = math.inf if self.stop_asked is None else self.stop_asked - origin
        spans = ((since - origin, until - origin) for since, until in absences.of(self.live.sounded))
        return tuple((since, min(until, last)) for since, until in spans if until > 0.0 and since < last)
