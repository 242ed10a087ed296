"""One pass while it is played: whose stamps mean what, what is final, and what was heard.

Everything here is in *pass time*: seconds from position 0 of the pass, where the click is heard. A pass has one
reference for its click: the page that sounds it, or the service (a MIDI output, or nobody). Stamps of that one's own
inputs become pass time by one subtraction; for other inputs a clock mapping lies between, frozen for the pass.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Protocol

from coach.listening.events import Event
from coach.listening.heard import Decoder, HeardNote, Sound, StringChannels
from coach.listening.plan import PassPlan
from coach.service.clock import ClockMap
from coach.takes.take import PERCUSSION, is_channel_message

__all__ = ["SERVICE", "CapturedNote", "Ear", "LivePass", "Reference", "TakeClock", "Unkept"]

SERVICE = ""
"""The name of the service among those who have a clock; pages are named by their seats."""

AFTERWARDS = 5.0
"""Seconds after the last measure of a pass in which messages are part of its take; before it, its count-in is."""


@dataclass(frozen=True, slots=True)
class CapturedNote:
    """A MIDI message as it was captured: its number on its seat, stamp on the clock of its input, and bytes."""

    seq: int
    stamp: float
    data: bytes


@dataclass(frozen=True, slots=True)
class Reference:
    """Where the click is heard.

    Attributes:
        clock: the one whose clock ``origin`` is on: a page by its seat, or :data:`SERVICE`.
        origin: when position 0 is heard there.
        mapping: of that clock to the service's; None for the service itself.
    """

    clock: str
    origin: float
    mapping: ClockMap | None = None

    def pass_time(self, stamp: float, clock: str, mapping: ClockMap | None) -> float:
        """A stamp on anybody's clock as pass time; where it is the reference's own, no mapping enters."""
        if clock == self.clock:
            return stamp - self.origin
        seconds = stamp if mapping is None else mapping.to_service(stamp)
        return seconds - self.service_origin

    @property
    def service_origin(self) -> float:
        """When position 0 is heard, on the service's clock."""
        return self.origin if self.mapping is None else self.mapping.to_service(self.origin)

    def origin_on(self, clock: str, mapping: ClockMap | None) -> float | None:
        """When position 0 is heard, on the clock of a page; None where its clock is not known yet."""
        if clock == self.clock:
            return self.origin
        return None if mapping is None else mapping.to_page(self.service_origin)


@dataclass(slots=True)
class _Input:
    """An input that takes part in the pass."""

    clock: str
    mapping: ClockMap | None
    decoder: Decoder
    setup: tuple[bytes, ...]
    mutes_percussion: bool
    watermark: float = -math.inf  # on its own clock
    waiting: list[CapturedNote] = field(default_factory=list)


class Ear(Protocol):
    """What hears a pass: sounds and watermarks in, events out; all times are seconds of the take.

    :class:`~coach.listening.listener.Listener` hears one that is played to a click.
    """

    @property
    def is_over(self) -> bool:
        """Whether everything is final."""
        ...

    @property
    def stopped_at(self) -> float | None:
        """Where the player stopped the pass, None where they did not."""
        ...

    def take(self, sound: Sound) -> list[Event]:
        """Take a note or a bend."""
        ...

    def watermark(self, seconds: float) -> list[Event]:
        """Take the word that nothing with a stamp before ``seconds`` will come."""
        ...

    def stop(self, seconds: float) -> list[Event]:
        """The player stops the pass; it is final when the watermark comes there."""
        ...

    def finish(self, end: float | None = None) -> list[Event]:
        """Nothing more will come; ``end`` is the end of the take where it ends within the pass."""
        ...


class TakeClock(Protocol):
    """What a pass needs of the take that it is part of; times are seconds of the take."""

    def snap(self, seconds: float) -> float:
        """A stamp put on its tick."""
        ...

    def snap_down(self, seconds: float) -> float:
        """A watermark put on the tick at or before it."""
        ...

    def keep(self, seconds: float, data: bytes) -> None:
        """Keep a message that was put on its tick."""
        ...


class Unkept:
    """Of a pass that is no part of a take: stamps stay as they are, nothing is kept."""

    def snap(self, seconds: float) -> float:
        """The stamp itself."""
        return seconds

    def snap_down(self, seconds: float) -> float:
        """The watermark itself."""
        return seconds

    def keep(self, seconds: float, data: bytes) -> None:
        """Nothing."""


class LivePass:
    """A pass that is played now.

    Args:
        number: of the pass on the wire.
        plan: what is played.
        listen: gives the ear that hears it, for its plan in the take.
        lead: seconds of count-in before it.
        length: seconds from position 0 to its end; infinite where only the ear will know.

    Attributes:
        plan: its origin, on the clock of the take, is right once the reference is known.
        reference: None until it is known where the click is heard; notes wait for it.
        ear: that hears it; None until the reference is known.
        names: by the number of a message in the pass its seat and its number there.
        sounded: the inputs that sent notes in it.
        cut_off_at: the seconds of the take at which it was cut off, None where it was not.
        latest: the pass time that nothing can have sounded after by now; no stamp and no watermark counts beyond it.
    """

    def __init__(
        self, number: int, plan: PassPlan, listen: Callable[[PassPlan], Ear], *, lead: float, length: float
    ) -> None:
        self.number = number
        self.plan = plan
        self.length = length
        self.reference: Reference | None = None
        self.names: dict[int, tuple[str, int]] = {}
        self.sounded: set[str] = set()
        self.cut_off_at: float | None = None
        self.latest = math.inf
        self.ear: Ear | None = None
        self._listen = listen
        self._lead = lead
        self._take: TakeClock | None = None
        self._inputs: dict[str, _Input] = {}
        self._count = 0
        self._mark = -math.inf  # the watermark of all inputs together, in pass time

    @property
    def is_over(self) -> bool:
        """Whether everything is final."""
        return self.ear is not None and self.ear.is_over

    @property
    def stopped_at(self) -> float | None:
        """The seconds of the take at which the player stopped it, None where they did not."""
        return None if self.ear is None else self.ear.stopped_at

    @property
    def complete_to(self) -> float:
        """Until when all inputs together have told what they heard, in pass time; 0 before any has."""
        return max(0.0, self._mark)

    @property
    def end(self) -> float:
        """Until when the take of the pass goes on, in seconds of the take."""
        if self.cut_off_at is not None:
            return self.cut_off_at
        return self.plan.origin + (self.length if math.isfinite(self.length) else self.complete_to)

    def join(
        self,
        seat: str,
        clock: str,
        mapping: ClockMap | None,
        channels: StringChannels | None,
        setup: tuple[bytes, ...] = (),
    ) -> None:
        """Let an input take part: nothing becomes final before it has said that nothing earlier will come.

        Args:
            seat: its name.
            clock: whose clock its stamps are on.
            mapping: of that clock, as it is frozen for this pass; None for the service's own.
            channels: of its strings; None where they do not tell strings, and then percussion is passed over.
            setup: messages by which it told its bend range before; the take has them before its first note.
        """
        if seat not in self._inputs:
            self._inputs[seat] = _Input(clock, mapping, Decoder(channels), setup, channels is None)

    def leave(self, seat: str) -> list[Event]:
        """An input takes no part any more: nothing of it is waited for."""
        self._inputs.pop(seat, None)
        return self._advance()

    def takes(self, seat: str) -> bool:
        """Whether an input takes part."""
        return seat in self._inputs

    def seats_on(self, clock: str) -> list[str]:
        """The inputs whose stamps are on somebody's clock."""
        return [seat for seat, each in self._inputs.items() if each.clock == clock]

    def refer(self, reference: Reference, plan: PassPlan, take: TakeClock) -> list[Event]:
        """It is known now where the click is heard.

        Args:
            reference: on whose clock, and when.
            plan: with the place of the pass in the take.
            take: the take.
        """
        self.reference = reference
        self.plan = plan
        self._take = take
        self.ear = self._listen(plan)
        events: list[Event] = []
        for seat, each in self._inputs.items():
            waiting, each.waiting = each.waiting, []
            events += self._hear(seat, each, waiting)
        return events + self._advance()

    def feed(self, seat: str, notes: Iterable[CapturedNote], watermark: float | None) -> list[Event]:
        """Take what an input sends.

        Args:
            seat: an input that takes part.
            notes: in the order of their numbers.
            watermark: on the input's clock; nothing before it is still to come.
        """
        each = self._inputs[seat]
        if watermark is not None:
            each.watermark = max(each.watermark, watermark)
        if self.reference is None:
            each.waiting += notes
            return []
        return self._hear(seat, each, notes) + self._advance()

    def stop(self, pass_time: float) -> list[Event]:
        """The player stops: from then on nothing is heard. Final when the watermark comes there."""
        if self.ear is None or self._take is None:
            return []
        return self.ear.stop(self._take.snap(self.plan.origin + pass_time))

    def give_up(self) -> list[Event]:
        """Wait for nothing more: what has not been heard by now will not be."""
        return [] if self.ear is None else self.ear.finish()

    def cut_off(self, pass_time: float) -> list[Event]:
        """The take ends here: what lies after it is not expected."""
        if self.ear is None or self._take is None:
            return []
        self.cut_off_at = self._take.snap_down(self.plan.origin + pass_time)
        return self.ear.finish(self.cut_off_at)

    def _hear(self, seat: str, each: _Input, notes: Iterable[CapturedNote]) -> list[Event]:
        assert self.reference is not None
        assert self.ear is not None
        assert self._take is not None
        self._set_up(each)
        events: list[Event] = []
        for note in notes:
            if not is_channel_message(note.data) or (each.mutes_percussion and note.data[0] & 0x0F == PERCUSSION - 1):
                continue
            pass_time = self.reference.pass_time(note.stamp, each.clock, each.mapping)
            if not -self._lead <= pass_time <= min(self.length + AFTERWARDS, self.latest) or self.is_over:
                continue
            seconds = self._take.snap(self.plan.origin + pass_time)
            self._count += 1
            self.names[self._count] = (seat, note.seq)
            self._take.keep(seconds, note.data)
            sound = each.decoder.feed(seconds, note.data, self._count)
            if isinstance(sound, HeardNote):
                self.sounded.add(seat)
            if sound is not None:
                events += self.ear.take(sound)
        return events

    def _set_up(self, each: _Input) -> None:
        """Let the take and the decoder know, before an input's first note, what it told before the pass."""
        assert self._take is not None
        setup, each.setup = each.setup, ()
        for data in setup:
            seconds = self._take.snap(self.plan.origin - self._lead)
            self._take.keep(seconds, data)
            each.decoder.feed(seconds, data)

    def _advance(self) -> list[Event]:
        """Tell the listener how far all inputs together are complete."""
        if self.reference is None or self.ear is None or self._take is None or not self._inputs:
            return []
        mark = min(self.reference.pass_time(each.watermark, each.clock, each.mapping) for each in self._inputs.values())
        mark = min(mark, self.latest)
        if mark <= self._mark:
            return []
        self._mark = mark
        return self.ear.watermark(self._take.snap_down(self.plan.origin + mark))
