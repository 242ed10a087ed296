"""Runs one pass after another: from the count-in to the moment when everything in it is final.

The runner knows no settings and no ladder; a session tells it what to play and is told what came of it. It has no clock
and does no input or output of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Literal

from coach.errors import TakeError
from coach.listening.events import Event
from coach.listening.heard import StringChannels
from coach.listening.plan import PassPlan
from coach.service.absences import Absences
from coach.service.accompany import at_levels, length_of, midi_of
from coach.service.clock import ClockMap, Now
from coach.service.keeping import Keeper, PassKeeping
from coach.service.orders import Ended, Order
from coach.service.outside import MidiOutside
from coach.service.pages import Page
from coach.service.passes import SERVICE, CapturedNote, LivePass, Reference, Unkept
from coach.service.protocol import Begin, FromService
from coach.service.running import Running
from coach.service.telling import Told, told

__all__ = ["PassRunner"]

AHEAD = 0.3
"""Seconds between the order to play and the first click, where the service decides."""

CALLBACK = 0.05
"""Seconds after which a message captured by the service has surely been handed over."""

UNSOUNDED = 30.0
"""Seconds for which a page is waited for that was asked to sound the click."""

STOPPING = 2.0
"""Seconds after a stop for which notes from before it are waited for."""

FARTHEST_ORIGIN = 60.0
"""Seconds from now within which position 0 of a pass must lie."""

AFTER_SELF_MARKED = 0.5
"""Seconds after its last measure at which a pass that nobody listens to ends."""

UNHEARD = 60.0
"""Seconds without a word from any input after which a pass in free time is stopped: nobody else knows its end."""

FROM_TO_COME = 1.0
"""Seconds by which an input's clock, as it is known, may be ahead."""

SECOND = 0.75
"""Seconds after which the journal is written again: with the pause between two ticks at most a second."""

AT_EASE = 1.0
"""Seconds after which those who play for an instrument begin a pass in free time."""

_PASSING = frozenset({"heard", "place"})
"""Kinds of messages that are not told again to a page that comes back: what they say is past."""


class PassRunner:
    """Runs passes.

    Args:
        keeper: keeps them.
        now: the service's clock.
        broadcast: sends a message to every page of the session.
        ended: told when a pass is over.
        midi: the ports; told when a pass begins and ends, and when an output is to fall silent.
    """

    def __init__(
        self,
        keeper: Keeper,
        now: Now,
        broadcast: Callable[[FromService], None],
        ended: Callable[[Ended], None],
        midi: MidiOutside,
    ) -> None:
        self._keeper = keeper
        self._now = now
        self._broadcast = broadcast
        self._ended = ended
        self._midi = midi
        self._absences = Absences()
        self._running: Running | None = None

    @property
    def order(self) -> Order | None:
        """What is being played; None between passes."""
        return None if self._running is None else self._running.order

    @property
    def state(self) -> Literal["counting in", "playing"] | None:
        """Where the pass is; None between passes."""
        if self._running is None:
            return None
        reference = self._running.live.reference
        return "playing" if reference is not None and self._now() >= reference.service_origin else "counting in"

    @property
    def told(self) -> Sequence[Told]:
        """What pages were told of the pass, for those who come back; provisional marks aside."""
        return () if self._running is None else self._running.told

    @property
    def is_waiting(self) -> bool:
        """Whether the page that is to sound the click has not done so yet."""
        return self._running is not None and self._running.live.reference is None

    def begin(self, order: Order, pages: Iterable[Page]) -> None:
        """Begin a pass; ``pages`` are those that are here."""
        now = self._now()
        length = math.inf if order.free else length_of(order.plan)
        live = LivePass(order.number, order.plan, order.listen, lead=order.lead, length=length)
        running = self._running = Running(order, live, now)
        self._absences.begins()
        for page in pages:
            if page.clock.best is not None:
                running.maps[page.seat] = page.clock.best
        if order.sounder is None:
            leaves = now if order.free else now + AHEAD + order.lead
            if order.send is not None:
                order.send(midi_of(at_levels(order.parts, order.levels), leaves))
            self._refer(Reference(SERVICE, leaves + order.out_delay))

    def begin_for(self, page: Page | None) -> Begin | None:
        """The message that tells a page of the pass, or those who look on, on the service's clock; None between
        passes."""
        return None if self._running is None else self._running.begin_for(page)

    def sounding(self, page: Page, number: int, origin: float) -> bool:
        """A page sounds the click.

        Returns:
            whether that is news: it was asked to, for this pass, and had not done so.
        """
        running = self._running
        if (
            running is None
            or running.order.number != number
            or running.order.sounder is not page
            or running.live.reference is not None
        ):
            return False
        mapping = running.maps.setdefault(page.seat, page.clock.best or ClockMap(0.0, 0.0))
        reference = Reference(page.seat, origin, mapping)
        if abs(reference.service_origin - self._now()) > FARTHEST_ORIGIN:
            self._end_before("The page's clock puts the pass at a time far from now; load the page anew.")
            return False
        self._refer(reference)
        return True

    def join(
        self, seat: str, page: Page | None, channels: StringChannels | None, setup: tuple[bytes, ...] = ()
    ) -> None:
        """Let an input take part; ``page`` is None for one of the service's own."""
        running = self._running
        if running is None or running.order.self_marked or running.live.takes(seat):
            return
        if page is None:
            running.live.join(seat, SERVICE, None, channels, setup)
            return
        if page.seat not in running.maps and page.clock.best is not None:
            running.maps[page.seat] = page.clock.best
        running.live.join(seat, page.seat, running.maps.get(page.seat), channels, setup)

    def takes(self, seat: str) -> bool:
        """Whether an input takes part."""
        return self._running is not None and self._running.live.takes(seat)

    def lost(self, seat: str) -> None:
        """An input of the service has vanished: what is missed until it is back is not the player's."""
        if seat in self._midi.reserved:
            self._absences.lost(seat, self._now())

    def instrument_lost(self, page: Page, stamp: float | None) -> None:
        """The instrument that a page hears was unplugged, at ``stamp`` on the page's clock."""
        self._absences.lost(page.instrument_seat, self._when(page, stamp))

    def instrument_back(self, page: Page, stamp: float | None) -> None:
        """It is there (again), from ``stamp`` on the page's clock."""
        self._absences.there([page.instrument_seat], self._when(page, stamp))

    def feed(self, seat: str, notes: Sequence[CapturedNote], watermark: float | None) -> None:
        """Take what an input sends, on its own clock."""
        running = self._running
        if running is None or not running.live.takes(seat):
            return
        live = running.live
        if running.order.free and live.reference is not None:
            # Nothing else says when such a pass must have ended.
            live.latest = self._now() - live.reference.service_origin + FROM_TO_COME
        self._tell(live.feed(seat, notes, watermark))

    def stop(self, sentence: str = "") -> None:
        """Stop the pass, for a reason that is said where the player did not ask for it."""
        running = self._running
        if running is None or running.stop_asked is not None:
            return
        reference = running.live.reference
        self._midi.silence()
        now = self._now()
        if reference is None or now <= reference.service_origin:
            self._end_before(sentence)
            return
        running.stop_asked = now
        running.sentence = sentence
        if running.order.self_marked:
            self._tell([*running.live.stop(now - reference.service_origin), *running.live.give_up()])
        else:
            self._tell(running.live.stop(now - reference.service_origin))

    def tick(self, pages: Iterable[Page]) -> None:
        """Time goes on: the service's own inputs are complete to just before now; who is waited for too long is not."""
        self._absences.there(self._midi.seats(), self._now())
        running = self._running
        if running is None:
            return
        now = self._now()
        # One that has vanished too: it stamps what comes when it is back, and nothing is waited for until then.
        for seat in running.live.seats_on(SERVICE):
            self.feed(seat, (), now - CALLBACK)
        for page in pages:
            if page.is_gone(now):
                self._instrument_gone(page)
                self._lose(running, page)
        self._expire(running, now)

    def lose_clock(self, page: Page) -> None:
        """A page was loaded anew: its clock is another one, and what it sounded is gone."""
        running = self._running
        frozen = None if running is None else running.maps.get(page.seat)
        if running is None or frozen is None or not page.is_new_clock(frozen):
            return
        self._lose(running, page)
        running.maps.pop(page.seat)  # what it sends from now on is on its new clock

    def close(self) -> None:
        """The service ends: a pass that is being played is kept as far as it was heard."""
        running = self._running
        if running is None:
            return
        self._midi.silence()
        reference = running.live.reference
        now = self._now()
        if reference is None or now <= reference.service_origin:
            self._end_before("")
            return
        self._tell(running.live.cut_off(now - reference.service_origin))

    # The parts

    def _refer(self, reference: Reference) -> None:
        running = self._running
        assert running is not None
        order = running.order
        try:
            plan = self._kept(order, reference) if order.is_kept else replace(order.plan, origin=0.0)
        except TakeError as error:
            self._midi.silence()
            self._end_before(str(error))
            return
        take = self._keeper if order.is_kept else Unkept()
        self._tell(running.live.refer(reference, plan, take))
        if not order.self_marked:
            self._midi.pass_begins(plan, reference.service_origin + (AT_EASE if order.free else 0.0))

    def _kept(self, order: Order, reference: Reference) -> PassPlan:
        """The plan of a pass with its place in the take that it goes into."""
        return self._keeper.begin(
            PassKeeping(
                order.solo,
                order.plan,
                order.instrument,
                order.tolerance_ms,
                reference.service_origin,
                order.lead,
                order.self_marked,
                order.free,
            )
        )

    def _tell(self, events: Iterable[Event]) -> None:
        running = self._running
        assert running is not None
        for event in events:
            message = told(event, running.order.number, running.order.solo.arrangement, running.live.names)
            if message is None:
                continue
            if message.__struct_config__.tag not in _PASSING:
                running.told.append(message)
            if not running.order.self_marked:
                self._broadcast(message)
        if running.live.is_over:
            self._running = None
            self._midi.pass_ends()
            live = running.live
            self._ended(
                Ended(
                    running.order,
                    live.ear,
                    stopped=running.stop_asked is not None or live.cut_off_at is not None,
                    end=live.end,
                    stopped_at=live.stopped_at,
                    sentence=running.sentence,
                    away=running.away(self._absences),
                )
            )

    def _when(self, page: Page, stamp: float | None) -> float:
        """A moment on a page's clock as service time; now where the page does not tell, or its clock is not known."""
        mapping = page.clock.best if self._running is None else self._running.map_of(page)
        return self._now() if stamp is None or mapping is None else min(self._now(), mapping.to_service(stamp))

    def _instrument_gone(self, page: Page) -> None:
        """The page that hears an instrument has been away for too long: so has its instrument."""
        if page.instrument and page.away_since is not None and self.takes(page.instrument_seat):
            self._absences.lost(page.instrument_seat, page.away_since)

    def _end_before(self, sentence: str) -> None:
        """End a pass that has not come to its first measure: it did not take place."""
        running = self._running
        assert running is not None
        self._running = None
        self._midi.pass_ends()
        if running.order.is_kept and running.live.reference is not None:
            self._keeper.cancel()
        self._ended(Ended(running.order, None, stopped=True, sentence=sentence))

    def _lose(self, running: Running, page: Page) -> None:
        """A page takes no part any more."""
        if self._running is not running:
            return
        if running.order.sounder is page:
            self.stop("The page that sounded the click is gone, so the pass was stopped.")
        for seat in running.live.seats_on(page.seat):
            if self._running is running:
                self._tell(running.live.leave(seat))

    def _expire(self, running: Running, now: float) -> None:
        if self._running is not running:
            return
        live, reference = running.live, running.live.reference
        if reference is None:
            if now - running.since > UNSOUNDED:
                self._end_before("The page did not sound the click, so the pass was not begun; turn its sound on.")
            return
        pass_time = now - reference.service_origin
        if running.order.is_kept and now - running.last_second >= SECOND:
            running.last_second = now
            if pass_time <= live.length:
                self._keeper.goes_on(live.plan.origin + pass_time)
            else:
                self._keeper.write_down()
        if running.order.self_marked:
            if pass_time > live.length + AFTER_SELF_MARKED:
                self._tell(live.give_up())
        elif running.stop_asked is not None:
            if now - running.stop_asked > STOPPING:
                self._tell(live.give_up())
        elif pass_time > live.length + UNSOUNDED:
            self._tell(live.give_up())
        elif running.order.free and pass_time > live.complete_to + UNHEARD:
            self.stop("Nothing has come from an instrument for a minute, so the pass was ended.")
