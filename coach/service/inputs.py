"""What the instruments and feet of a session send, on its way to the pass that is played."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from coach.errors import InputError
from coach.listening.heard import StringChannels
from coach.listening.midi_bytes import MidiSplitter
from coach.service.clock import ClockMap, Now
from coach.service.entering import Entering
from coach.service.foot import FOOT_SEAT, FootBoard
from coach.service.foot_learning import FootLearner
from coach.service.in_use import InUse
from coach.service.outside import MidiOutside
from coach.service.pages import Page, Pages
from coach.service.passes import CapturedNote
from coach.service.protocol import Ack, Input, InputNote, Notes
from coach.service.runner import PassRunner
from coach.service.settings import Chosen
from coach.service.strings import StringEar, string_of
from coach.takes.take import is_channel_message

__all__ = ["Hearer", "Inputs", "Sent"]

Sent = tuple[float, bytes, int | None]
"""A MIDI message of a channel: when it was captured, on the service's clock, its bytes, and the string where that is
known."""

Hearer = Callable[[Sequence[Sent]], None]
"""Takes what is sent."""

_OWN_CLOCK = ClockMap(0.0, 0.0)

LONGEST_SEAT = 40
"""Characters of a seat on the wire."""


class Inputs:
    """The inputs of a session: the service's own and those of its pages.

    Args:
        runner: of the passes.
        midi: the ports.
        pages: of the session, by seat.
        in_use: the instrument that is played on.
        chosen: gives the settings.
        press: does what a foot switch is for.
        set_switch: told what a switch is to do, and the name of the one that was pressed, empty where none was in time.
        tells_strings: whether the instrument is known to tell strings by its channels, without listening.
        now: the service's clock.

    Attributes:
        entering: the pages that write down what is played between passes.
    """

    def __init__(
        self,
        runner: PassRunner,
        midi: MidiOutside,
        pages: Pages,
        in_use: InUse,
        chosen: Callable[[], Chosen],
        press: Callable[[str], None],
        set_switch: Callable[[str, str], None],
        tells_strings: Callable[[], bool],
        now: Now,
    ) -> None:
        self._runner = runner
        self._in_use = in_use
        self._pages = pages
        self._chosen = chosen
        self._press = press
        self._set_switch = set_switch
        self._now = now
        self.entering = Entering(now)
        self._feet = FootBoard()
        self._splitters: dict[str, MidiSplitter] = {}
        self._learner: FootLearner | None = None
        self._hearer: Hearer | None = None
        self._strings = StringEar(lambda seat: seat in pages or midi.tells_strings(seat) or tells_strings())

    def midi_in(self, seat: str, note: CapturedNote) -> None:
        """Take bytes that the service itself captured."""
        notes = list(self._notes(seat, note))
        if notes and seat != FOOT_SEAT and self._in_use.hears(seat):
            self._runner.join(seat, None, self.channels(), self._strings.setup(seat))
            self._runner.feed(seat, notes, None)
            if self._runner.order is None:
                self.entering.hear(notes, self.channels())
            self._let_overhear(notes, _OWN_CLOCK)

    def take_notes(self, page: Page, message: Notes) -> None:
        """Take what a page captured, and acknowledge it.

        Raises:
            InputError: when it comes under the seat of another one.
        """
        seat = message.seat
        taken = {page.seat: page.taken, page.instrument_seat: page.instrument_taken}.get(seat)
        if taken is None:
            raise InputError(f"the seat {seat!r} is not this page's", cure="send notes under its own seat")
        if not message.items:  # the watermark alone, ten times a second
            self._runner.feed(seat, (), message.watermark)
            return
        notes = list(self._whole(seat, taken.new(message)))
        if not self._in_use.hears(seat):
            notes = []
        if notes:
            self._runner.join(seat, page, self.channels(), self._strings.setup(seat))
        self._runner.feed(seat, notes, message.watermark)
        if notes:
            self._let_overhear(notes, page.clock.best)
        page.send(Ack(seat, taken.seq))

    def take_input(self, page: Page, message: Input) -> None:
        """A page hears an instrument, another one, or none any more.

        Raises:
            InputError: when its seat leaves no room for that of an instrument.
        """
        if len(page.instrument_seat) > LONGEST_SEAT:
            raise InputError(f"the seat {page.seat!r} is too long for a page with an instrument", cure="shorten it")
        before, page.instrument = page.instrument, message.name
        if message.name == before:
            self._runner.instrument_back(page, None)  # the page was away, and its instrument with it
            return
        if message.name:
            page.named_at = self._now()
            self._runner.instrument_back(page, message.stamp)
        else:
            self._runner.instrument_lost(page, message.stamp)
        self._let_go(page.instrument_seat)
        self._strings.replace(page.instrument_seat)

    def channels(self) -> StringChannels | None:
        """The channels of the strings in the pass, or in the next one; all its inputs are read alike."""
        if self._runner.order is not None:
            return self._runner.order.instrument.string_channels
        chosen = self._chosen()
        if chosen.string_channels != "auto":
            return chosen.told_channels
        return self._strings.channels(self._in_use.seats, own=self._in_use.page is not None)

    def overhear(self, hearer: Hearer | None) -> None:
        """Tell somebody who looks on all that is sent from now on, also between passes; None for nobody any more."""
        self._hearer = hearer

    def join(self, here: Iterable[Page], sounder: Page | None) -> None:
        """Let the inputs take part in the pass that has begun: those of the instrument in use, and the pads of pages
        that are here and have sent notes, or sound the click."""
        channels, own = self.channels(), self._in_use.page
        for seat in self._in_use.seats:
            self._runner.join(seat, own, channels, self._strings.setup(seat))
        for page in here:
            if page is sounder or page.seat in self._strings.seats:
                self._runner.join(page.seat, page, channels, self._strings.setup(page.seat))
        self._strings.forget(self._pages)

    def forget(self, seat: str) -> None:
        """This input of a page is gone for good."""
        self.entering.forget(seat)
        self._strings.replace(seat)
        self.lost(seat)

    @property
    def learning_foot(self) -> tuple[str, str]:
        """What the switch will do whose press is waited for, and what the player is to do; empty where none is."""
        return ("", "") if self._learner is None else (self._learner.does, self._learner.words)

    def learn_foot(self, does: str) -> None:
        """Wait for the press of a switch, or, where nothing is named, for none any more."""
        self._learner = FootLearner(does, self._now()) if does else None

    def tick(self) -> None:
        """Time goes on."""
        if self._learner is not None:
            self._learner.tick(self._now())
            self._see_switch(self._learner)

    def changed(self) -> None:
        """Another instrument is played on: the channels of the one before say nothing of it."""
        self._strings.forget(self._in_use.all_seats)

    def lost(self, seat: str) -> None:
        """An input has vanished."""
        self._runner.lost(seat)
        self._let_go(seat)

    def _let_go(self, seat: str) -> None:
        """No switch is down on an input any more, and a message that it had begun will not end."""
        self._feet.let_go(seat)
        self._splitters.pop(seat, None)

    def _let_overhear(self, notes: Iterable[CapturedNote], clock: ClockMap | None) -> None:
        """Tell somebody who looks on of notes, as soon as their clock is known."""
        if self._hearer is None or clock is None:
            return
        channels = self.channels()
        self._hearer(
            [
                (clock.to_service(note.stamp), note.data, string_of(note.data, channels))
                for note in notes
                if is_channel_message(note.data)
            ]
        )

    def _whole(self, seat: str, items: Iterable[InputNote]) -> Iterator[CapturedNote]:
        """The whole messages of what a page captured, but for those of foot switches."""
        for item in items:
            yield from self._notes(seat, CapturedNote(item.seq, item.stamp, bytes(item.data)))

    def _notes(self, seat: str, captured: CapturedNote) -> Iterator[CapturedNote]:
        """The whole messages that bytes of an input hold, or end, but for those of foot switches."""
        for data in self._splitters.setdefault(seat, MidiSplitter()).feed(captured.data):
            if not self._is_foot(seat, data):
                if seat != FOOT_SEAT and self._in_use.hears(seat):
                    self._strings.hear(seat, data)
                yield captured if data == captured.data else replace(captured, data=data)

    def _is_foot(self, seat: str, data: bytes) -> bool:
        """Whether a message is a foot switch; what it is for is done."""
        if self._learner is not None:
            self._learner.hear(seat, data, self._now())
            self._see_switch(self._learner)
            return True
        ours, does = self._feet.pressed(seat, data, self._chosen().switches)
        if does is not None:
            self._press(does)
        return ours

    def _see_switch(self, learner: FootLearner) -> None:
        """End the waiting when a switch was pressed, or none in time."""
        if learner.switch is not None or learner.is_late(self._now()):
            self._learner = None
            self._set_switch(learner.does, "" if learner.switch is None else learner.switch.name)
