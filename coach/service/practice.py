"""What is played in a session: passes begin, are stopped, and follow one another."""

from __future__ import annotations

from collections.abc import Callable

from coach.errors import CoachError, InputError
from coach.service.after_pass import AfterPass
from coach.service.choice import Choice
from coach.service.coaching import Coaching
from coach.service.inputs import Inputs
from coach.service.keeping import Keeper
from coach.service.lessons import Lessons
from coach.service.midi_out import TimedMidi
from coach.service.orders import Ended, Order
from coach.service.pages import Page, Pages
from coach.service.played_on import PlayedOn
from coach.service.protocol import Failure
from coach.service.reporting import StateName
from coach.service.runner import PassRunner
from coach.service.sounders import Sounders
from coach.service.starting import Starting

__all__ = ["Practice"]


class Practice:
    """The passes of a session.

    Args:
        runner: runs them.
        choice: what the next one will be.
        coaching: what the coach offers.
        after: what comes behind each.
        starting: the start of the next.
        played_on: the instrument.
        lessons: learn it.
        sounders: who sounds the click.
        inputs: who takes part.
        keeper: keeps what is played.
        pages: of the session.
        changed: called when the state has changed that pages are told.

    Attributes:
        number: of the last pass on the wire, 0 before the first.
    """

    def __init__(
        self,
        *,
        runner: PassRunner,
        choice: Choice,
        coaching: Coaching,
        after: AfterPass,
        starting: Starting,
        played_on: PlayedOn,
        lessons: Lessons,
        sounders: Sounders,
        inputs: Inputs,
        keeper: Keeper,
        pages: Pages,
        changed: Callable[[], None],
    ) -> None:
        self.number = 0
        self._runner = runner
        self._choice = choice
        self._coaching = coaching
        self._after = after
        self._starting = starting
        self._played_on = played_on
        self._lessons = lessons
        self._sounders = sounders
        self._inputs = inputs
        self._keeper = keeper
        self._pages = pages
        self._changed = changed

    @property
    def order(self) -> Order | None:
        """What is being played; None between passes."""
        return self._runner.order

    @property
    def state(self) -> StateName:
        """Where the session is."""
        return self._runner.state or self._after.resting

    @property
    def is_about_to_change(self) -> bool:
        """Whether the clock alone brings the next change soon: a count-in ends, or the next pass begins."""
        return self._runner.state == "counting in" or self._after.is_going_on

    def start(self, sounder: Page | None, *, of_rung: bool = False) -> None:
        """Begin a pass, as soon as it can begin.

        Args:
            sounder: the page that asks; None where none does.
            of_rung: it goes through what the coach or an earlier pass chose, whose solo is waited for.

        Raises:
            InputError: when a pass is being played, or there is nothing to play or to sound it.
        """
        self.refuse_while_playing()
        self._starting.ask(None if self._send() is not None else sounder, of_rung=of_rung)
        self.start_if_possible()
        if self.order is None:
            self._changed()  # it waits, for a solo that is on the page when it has come

    def start_if_possible(self) -> None:
        """Begin the pass that was asked for, if there is nothing more to wait for."""
        if self.order is not None or not self._starting.is_possible:
            return
        sounder, solo = self._starting.sounder, self._choice.solo
        assert solo is not None
        self._starting.forget()
        try:
            send = self._send()
        except InputError as error:
            self._pages.broadcast(Failure(str(error), "pass"))
            return
        self._after.begins()
        self._sounders.sounds(sounder)
        self.number += 1
        instrument = self._played_on.as_played(self._inputs.channels())
        lean = self._after.lean_ms
        self._begin(self._choice.order(self.number, solo, instrument, lean_ms=lean, sounder=sounder, send=send))

    def toggle(self) -> None:
        """Start, or stop what is played."""
        if self.order is not None:
            self.stop()
        else:
            self.start(self._sounders.page())

    def stop(self) -> None:
        """Stop the pass or, between passes, pause."""
        self._after.wait()
        self._starting.forget()
        if self.order is not None:
            self._runner.stop()
        elif self._after.pause():
            self._changed()

    def stop_waiting(self) -> None:
        """What was asked to begin will not: its solo does not come."""
        self._starting.forget()

    def again(self, page: Page | None = None) -> None:
        """Play the last pass once more.

        Raises:
            InputError: when there is none, or a pass is being played.
        """
        last = self._after.last
        if last is None:
            raise InputError("nothing has been played yet", cure="start a pass")
        self.refuse_while_playing()
        self._choice.take_again(last.order)
        self.start(self._sounders.page(page), of_rung=True)

    def next_rung(self, page: Page | None = None) -> None:
        """Play what the coach offers.

        Raises:
            InputError: when nothing is offered, or a pass is being played.
        """
        self.refuse_while_playing()
        self._coaching.take_rung()
        self.start(self._sounders.page(page), of_rung=True)

    def calibrate(self, asks: Page | None) -> None:
        """Learn the instrument.

        Raises:
            InputError: when a pass is being played, or the page that asks cannot sound the click yet.
        """
        self.refuse_while_playing()
        sounder, send = self._sounders.page(asks), self._sounders.output()
        if sounder is not None and sounder.clock.is_empty:
            raise InputError("the page has only just come", cure="try again in a second")
        self._after.wait()
        self._after.pause()
        self._begin(self._lessons.order(self._inputs.channels(), sounder, send))

    def sit(self, minutes: float) -> None:
        """A sitting begins; with 0 minutes the one that is on ends.

        Raises:
            InputError: when no tune is there to practise.
        """
        self._coaching.sit(minutes)
        self._changed()

    def mark(self, *, clean: bool) -> None:
        """The player marks the last pass.

        Raises:
            InputError: when there is none to mark.
        """
        self._after.mark(self._choice.chosen, clean=clean)
        self._changed()

    def over(self, ended: Ended) -> None:
        """A pass is over."""
        if ended.sentence:
            self._pages.broadcast(Failure(ended.sentence, "pass"))
        if not ended.order.is_kept:
            self._lessons.over(ended)
            self._changed()
            return
        self._after.over(ended, self._choice.chosen)
        self._tell_trouble()
        self._changed()

    def tick(self) -> None:
        """Time goes on: what is due begins."""
        self._tell_trouble()
        if self._after.is_next_due and self.order is None:
            self._go_on()
        self.start_if_possible()

    def tell_begin(self, *pages: Page) -> None:
        """Tell pages of the pass that is played."""
        for page in pages:
            begin = self._runner.begin_for(page)
            if begin is not None:
                page.send(begin)

    def show_begin(self) -> None:
        """Show the pass that is played to those who look on."""
        begin = None if self._pages.observer is None else self._runner.begin_for(None)
        if begin is not None:
            self._pages.show(begin)

    def refuse_while_playing(self) -> None:
        """Refuse what cannot be done during a pass.

        Raises:
            InputError: when one is being played.
        """
        if self.order is not None:
            raise InputError("a pass is being played", cure="stop it first")

    def _tell_trouble(self) -> None:
        """Tell what could not be written."""
        if trouble := self._keeper.trouble():
            self._pages.broadcast(Failure(trouble, "pass"))

    def _go_on(self) -> None:
        """The next pass by itself."""
        self._after.wait()
        try:
            if self._coaching.rung is not None:
                self._coaching.take_rung()
            self.start(self._sounders.page(), of_rung=True)
        except CoachError as error:
            self._after.pause()
            self._pages.broadcast(Failure(str(error), "pass"))

    def _begin(self, order: Order) -> None:
        self._inputs.learn_foot("")
        self._runner.begin(order, self._pages.here)
        self._inputs.join(self._pages.here, order.sounder)
        self._changed()
        self.tell_begin(*self._pages.values())
        self.show_begin()

    def _send(self) -> Callable[[list[TimedMidi]], None] | None:
        """What sounds the click on a MIDI port; None where it does not.

        Raises:
            InputError: when it is to, and no port is open.
        """
        return None if self._choice.chosen.free_time else self._sounders.output()
