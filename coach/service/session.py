"""A practice session: its pages, its settings, and what is played next.

A session does no input or output of its own and has no clock: messages and ticks come in, messages go out through the
pages' links, timed MIDI through the ports. Its states are those of the wire's ``state``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from coach.errors import CoachError, InputError
from coach.service import protocol as wire
from coach.service.after_pass import AfterPass
from coach.service.choice import Choice, Fetch, Make
from coach.service.climb import Climb
from coach.service.clock import Now
from coach.service.foot import DID
from coach.service.inputs import Inputs
from coach.service.instruments import Instruments
from coach.service.keeping import Keeper
from coach.service.lessons import Lessons
from coach.service.orders import Ended, Order
from coach.service.outside import MidiOutside
from coach.service.pages import Page, Pages, Sender
from coach.service.passes import CapturedNote
from coach.service.played_on import PlayedOn
from coach.service.reporting import StateName, state_of
from coach.service.runner import PassRunner
from coach.service.settings import Chosen
from coach.service.sounders import Sounders
from coach.takes.sessions import Instrument

__all__ = ["Session"]


class Session:
    """A session.

    Args:
        name: on the wire.
        fetch: asks for the solos of a tune.
        make: asks for a mixed solo or one for a jam.
        keeper: keeps what is played.
        now: the service's clock.
        midi: the ports.
        climb: the ladder.
        instruments: what is known of instruments.
        listed: gives the list of tunes.
        hello: gives the greeting of a page: session, seat and what is acknowledged.

    Attributes:
        pages: that belong to it.
    """

    def __init__(
        self,
        name: str,
        *,
        fetch: Fetch,
        make: Make,
        keeper: Keeper,
        now: Now,
        midi: MidiOutside,
        climb: Climb,
        instruments: Instruments,
        listed: Callable[[], list[wire.TuneLine]],
        hello: Callable[[str, str, int], wire.Hello],
    ) -> None:
        self.name = name
        self.pages = Pages(now, midi.reserved)
        self._now = now
        self._midi = midi
        self._listed = listed
        self._hello = hello
        self._runner = PassRunner(keeper, now, self.pages.broadcast, self._over, midi)
        self._choice = Choice(fetch, make, self._solos_arrived)
        self._keeper = keeper
        self._after = AfterPass(name, keeper, now, climb)
        self._number = 0
        self._start_when_known: str | None = None
        self._played_on = PlayedOn(instruments, midi, self._choice, self._after, f"the pad of {name}")
        self._lessons = Lessons(self._choice, self._played_on, self.pages.broadcast)
        chosen, known = (lambda: self.chosen), (lambda: self._played_on.tells_strings)
        self._sounders = Sounders(self.pages, midi, chosen)
        self._inputs = Inputs(self._runner, midi, self.pages, chosen, self._press, self._set_switch, known, now)
        self._played_on.meet()
        self._told_state: tuple[StateName, tuple[str, str]] | None = None

    @property
    def chosen(self) -> Chosen:
        """The settings."""
        return self._choice.chosen

    # ------------------------------------------------------------------------------------------ pages

    def join(self, seat: str, link: Sender) -> Page:
        """A page comes, or comes back.

        Raises:
            InputError: when its seat is one of the service's own, or there are too many pages.
        """
        page = self.pages.come(seat, link)
        page.send(self._hello(self.name, seat, page.taken.seq))
        page.send(wire.Tunes(self._listed()))
        page.send(self._midi.ports())
        page.send(self._state())
        if self._after.report is not None:
            page.send(self._after.report)
        begin = self._runner.begin_for(page)
        if begin is not None:
            page.send(begin)
            for message in self._runner.told:
                page.send(message)
        if self._lessons.learned is not None:
            page.send(self._lessons.learned)
        if trouble := self._played_on.trouble():
            page.send(wire.Failure(trouble, "instrument"))
        page.ping_if_due(self._now())
        return page

    def folder_of(self, number: int) -> Path | None:
        """The folder in which a pass is kept; None where there is none."""
        return self._after.folder_of(number)

    @property
    def is_deserted(self) -> bool:
        """Whether no page is here and nothing is played."""
        return self._runner.order is None and not self.pages.here

    def take(self, page: Page, message: wire.FromPage) -> None:
        """Take a message of a page.

        Raises:
            CoachError: when what it asks cannot be done.
        """
        match message:
            case wire.Notes():
                self._inputs.take_notes(page, message)
            case wire.Pong():
                self._take_pong(page, message)
            case wire.Sounding():
                if self._runner.sounding(page, message.number, message.origin):
                    self._tell_begin(*(other for other in self.pages.values() if other is not page))
                    self.tell_state()
            case wire.Settings():
                self._change(message)
            case wire.Start():
                self._start(page if message.sounds else None)
            case wire.Stop():
                self._stop()
            case wire.Again():
                self._again(page)
            case wire.NextRung():
                self._next_rung(page)
            case wire.Calibrate():
                self._calibrate(page if message.sounds else None)
            case wire.LearnFoot():
                self._learn_foot(message.does)
            case wire.Mark():
                self._mark(clean=message.clean)
            case wire.Join():
                raise InputError("the page has joined already")

    # ------------------------------------------------------------------------------------------ inputs

    def midi_in(self, seat: str, note: CapturedNote) -> None:
        """Take a message that the service itself captured."""
        self._inputs.midi_in(seat, note)

    def midi_lost(self, seat: str) -> None:
        """An input of the service has vanished."""
        self._inputs.lost(seat)

    def _take_pong(self, page: Page, pong: wire.Pong) -> None:
        is_first = page.clock.best is None
        page.take_pong(pong, self._now())
        self._runner.lose_clock(page)
        order = self._runner.order
        if is_first and order is not None and order.sounder is not page:
            self._tell_begin(page)  # now it is known when position 0 is heard on its clock
        if self._start_when_known == page.seat and page.clock.best is not None:
            self._start_when_known = None
            if self._runner.order is None:
                self._start(page)

    def _press(self, does: str) -> None:
        """A foot switch was pressed."""
        switch = self.chosen.switches[does]
        assert switch is not None
        self.pages.broadcast(wire.Foot(switch.name, DID[does]))
        try:
            {"start": self._toggle, "again": self._again, "next": self._next_rung}[does]()
        except CoachError as error:
            self.pages.broadcast(wire.Failure(str(error), "foot"))

    def _learn_foot(self, does: str) -> None:
        self._refuse_while_playing()
        self._inputs.learn_foot(does)
        self.tell_state()

    def _set_switch(self, does: str, name: str) -> None:
        self._lessons.set_switch(does, name)
        self.tell_state()

    # ------------------------------------------------------------------------------------------ settings

    def choose_tune(self, tune: str) -> None:
        """Choose a tune, as a page does by its settings."""
        self._change(wire.Settings(tune=tune))

    def _change(self, message: wire.Settings) -> None:
        if (message.midi_in, message.midi_out, message.midi_foot) != (None, None, None):
            try:
                self._midi.choose(midi_in=message.midi_in, midi_out=message.midi_out, midi_foot=message.midi_foot)
            finally:
                self.tell_ports()
        before = self._choice.change(message)
        self._after.settings_changed(before, self.chosen)
        try:
            self._played_on.told(message)
        finally:
            self.tell_state()

    def _meet(self) -> None:
        """See what is played on now; what was learned of one instrument says nothing of another."""
        if self._played_on.meet():
            self._lessons.learned = None
            self._inputs.changed()
            self.tell_state()

    def _solos_arrived(self, error: CoachError | None) -> None:
        if error is not None:
            self.pages.broadcast(wire.Failure(str(error), "tune"))
        self.tell_state()

    # ------------------------------------------------------------------------------------------ what is played

    def _toggle(self) -> None:
        if self._runner.order is not None:
            self._stop()
        else:
            self._start(self._sounders.page())

    def _start(self, sounder: Page | None) -> None:
        self._refuse_while_playing()
        solo = self._choice.solo
        if solo is None:
            raise InputError(self._choice.waiting or "no tune is chosen", cure="choose a tune and wait for its solo")
        send = None if self.chosen.free_time else self._sounders.output()
        if send is not None:
            sounder = None
        if sounder is not None and sounder.clock.best is None:
            self._start_when_known = sounder.seat
            return
        self._after.begins()
        self._sounders.sounds(sounder)
        channels = self._inputs.channels()
        self._number += 1
        known = self._played_on.is_latency_known
        instrument = Instrument(self._midi.instrument, channels, self.chosen.latency(channels), known)
        lean = self._after.lean_ms
        order = self._choice.order(self._number, solo, instrument, lean_ms=lean, sounder=sounder, send=send)
        self._begin(order)

    def _calibrate(self, asks: Page | None) -> None:
        """Learn the instrument."""
        self._refuse_while_playing()
        sounder, send = self._sounders.page(asks), self._sounders.output()
        if sounder is not None and sounder.clock.best is None:
            raise InputError("the page has only just come", cure="try again in a second")
        self._after.wait()
        self._after.pause()
        self._begin(self._lessons.order(self._inputs.channels(), sounder, send))

    def _begin(self, order: Order) -> None:
        self._inputs.learn_foot("")
        self._runner.begin(order, self.pages.here)
        self._inputs.join(self.pages.here, order.sounder)
        self.tell_state()
        self._tell_begin(*self.pages.values())

    def _tell_begin(self, *pages: Page) -> None:
        for page in pages:
            begin = self._runner.begin_for(page)
            if begin is not None:
                page.send(begin)

    def _stop(self) -> None:
        self._after.wait()
        self._start_when_known = None
        if self._runner.order is not None:
            self._runner.stop()
        elif self._after.pause():
            self.tell_state()

    def _again(self, page: Page | None = None) -> None:
        last = self._after.last
        if last is None:
            raise InputError("nothing has been played yet", cure="start a pass")
        self._refuse_while_playing()
        self._choice.take_again(last.order)
        self._start(self._sounders.page(page))

    def _next_rung(self, page: Page | None = None) -> None:
        rung = self._after.rung
        if rung is None:
            raise InputError("no next rung is offered yet", cure="play a pass first")
        self._refuse_while_playing()
        self._choice.take_rung(rung)
        self._start(self._sounders.page(page))

    def _refuse_while_playing(self) -> None:
        if self._runner.order is not None:
            raise InputError("a pass is being played", cure="stop it first")

    def _over(self, ended: Ended) -> None:
        """A pass is over."""
        if ended.sentence:
            self.pages.broadcast(wire.Failure(ended.sentence, "pass"))
        if not ended.order.is_kept:
            self._lessons.over(ended)
            self.tell_state()
            return
        report = self._after.over(ended, self._choice)
        if trouble := self._keeper.trouble():
            self.pages.broadcast(wire.Failure(trouble, "pass"))
        self.tell_state()
        if report is not None:
            self.pages.broadcast(report)

    def _mark(self, *, clean: bool) -> None:
        report = self._after.mark(self._choice, clean=clean)
        self.tell_state()
        self.pages.broadcast(report)

    # ------------------------------------------------------------------------------------------ time and state

    def tick(self) -> None:
        """Time goes on; called several times a second."""
        self.pages.tick()
        if self._runner.order is None:
            for seat in self.pages.forget():
                self._inputs.forget(seat)
        self._meet()
        for seat, note in self._midi.due():
            self.midi_in(seat, note)
        self._inputs.tick()
        self._runner.tick(self.pages.values())
        if self._after.is_next_due and self._runner.order is None:
            self._go_on()
        if (self._state_now, self._inputs.learning_foot) != self._told_state:
            self.tell_state()

    def _go_on(self) -> None:
        """The next pass by itself."""
        self._after.wait()
        if self._after.rung is not None:
            self._choice.take_rung(self._after.rung)
        try:
            self._start(self._sounders.page())
        except CoachError as error:
            self._after.pause()
            self.pages.broadcast(wire.Failure(str(error), "pass"))

    def close(self) -> None:
        """The service ends."""
        self._runner.close()

    @property
    def _state_now(self) -> StateName:
        return self._runner.state or self._after.resting

    def tell_state(self) -> None:
        """Tell every page how the session stands."""
        self._told_state = self._state_now, self._inputs.learning_foot
        self.pages.broadcast(self._state())

    def tell_ports(self) -> None:
        """Tell every page of the ports."""
        self._meet()
        self.pages.broadcast(self._midi.ports())

    def tell_tunes(self) -> None:
        """Tell every page of the list of tunes."""
        self.pages.broadcast(wire.Tunes(self._listed()))

    def _state(self) -> wire.State:
        chosen, order = self.chosen, self._runner.order
        # While a pass runs, its own solo stays on the page, whatever is chosen for the next.
        solo = self._choice.solo if order is None or not order.is_kept else order.solo
        waits = order is not None and self._runner.is_waiting
        return state_of(
            chosen,
            name=self._state_now,
            number=self._number,
            solo=solo,
            title=next((line.title for line in self._listed() if line.id == chosen.tune), ""),
            rung=self._after.rung,
            waiting="Waiting for the page to sound the click." if waits else self._choice.waiting,
            instrument=self._played_on.name,
            is_learned=self._played_on.is_learned,
            learning=order is not None and not order.is_kept,
            foot=self._inputs.learning_foot,
        )
