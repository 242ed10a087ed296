"""A practice session: its pages, its settings, and what is played next.

A session does no input or output of its own and has no clock: messages and ticks come in, messages go out through the
pages' links, timed MIDI through the ports. Its states are those of the wire's ``state``.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import datetime
from pathlib import Path

from coach.errors import CoachError, InputError
from coach.service import protocol as wire
from coach.service.after_pass import AfterPass
from coach.service.bus import Bus
from coach.service.choice import Choice
from coach.service.climb import Climb
from coach.service.clock import Now
from coach.service.coaching import Coaching
from coach.service.diary import Diary
from coach.service.editing import Desk, Editing
from coach.service.foot import DID
from coach.service.held import clamped, refuse
from coach.service.in_use import InUse
from coach.service.inputs import Inputs
from coach.service.instruments import Instruments
from coach.service.keeping import Keeper
from coach.service.lesson import Lesson, NoLesson
from coach.service.lessons import Lessons
from coach.service.memory import Memory
from coach.service.orders import Ended
from coach.service.outside import MidiOutside
from coach.service.pages import Page, Pages, Sender
from coach.service.passes import CapturedNote
from coach.service.played_on import PlayedOn
from coach.service.practice import Practice
from coach.service.reporting import StateName, state_of
from coach.service.runner import PassRunner
from coach.service.settings import Chosen
from coach.service.showing import Showing
from coach.service.sounders import Sounders
from coach.service.starting import Starting
from coach.service.writing import Fetch, Make
from coach.studio.people import ALONE, Person
from coach.studio.rules import Rules

__all__ = ["Session"]

UNHURRIED = 0.25
"""Seconds between ticks of a session while nothing in it goes by the clock."""

DESERTED = 1.0
"""The same where no page is."""


class Session:
    """A session.

    Args:
        name: on the wire.
        person: who practises.
        fetch: asks for the solos of a tune.
        make: asks for a mixed solo or one for a jam.
        desk: has the edits of tunes.
        keeper: keeps what is played.
        memory: remembers the player, whose name is that of the session.
        now: the service's clock.
        wall: the time of day at the player's place, with its zone.
        midi: the ports.
        climb: the ladder.
        instruments: what is known of instruments.
        listed: gives the list of tunes.
        hello: gives the greeting of a page, from the name of the session.
        bus: by which a student's session shows itself to their teachers; None where there are none.

    Attributes:
        person: who practises.
        pages: that belong to it.
        lesson: what teachers have left for the player.
        tick_at: when time is to go on in it, on the service's clock: thousands of sessions are not looked at in vain.
    """

    def __init__(
        self,
        name: str,
        *,
        person: Person = ALONE,
        fetch: Fetch,
        make: Make,
        desk: Desk,
        keeper: Keeper,
        memory: Memory,
        now: Now,
        wall: Callable[[], datetime],
        midi: MidiOutside,
        climb: Climb,
        instruments: Instruments,
        listed: Callable[[], list[wire.TuneLine]],
        hello: Callable[[str, Page], wire.Hello],
        bus: Bus | None = None,
    ) -> None:
        self.name = name
        self.person = person
        self.pages = Pages(now, midi.reserved)
        self.lesson: Lesson = NoLesson()
        self._now = now
        self._midi = midi
        self._listed = listed
        self._hello = hello
        self._runner = PassRunner(keeper, now, self.pages.broadcast, self._over, midi)
        self._choice = Choice(fetch, make, desk.edits_of, self._solos_arrived, self._rules_of)
        self._diary = Diary(name, memory, now, wall, lambda text: self.pages.broadcast(wire.Failure(text, "records")))
        self._coaching = Coaching(climb, self._choice, self._diary, listed)
        self._after = AfterPass(keeper, now, self._coaching, self._diary, self._tell_report)
        in_use = InUse(self.pages, midi)
        self._played_on = PlayedOn(instruments, in_use, self._choice, self._after, f"the pad of {name}")
        self._lessons = Lessons(self._choice, self._played_on, self.pages.broadcast)
        chosen, known = (lambda: self.chosen), (lambda: self._played_on.tells_strings)
        sounders = Sounders(self.pages, midi, chosen)
        self._inputs = Inputs(self._runner, midi, self.pages, in_use, chosen, self._press, self._set_switch, known, now)
        self._practice = Practice(
            runner=self._runner,
            choice=self._choice,
            coaching=self._coaching,
            after=self._after,
            starting=Starting(self._choice, self._diary, keeper),
            played_on=self._played_on,
            lessons=self._lessons,
            sounders=sounders,
            inputs=self._inputs,
            keeper=keeper,
            pages=self.pages,
            changed=self.tell_state,
        )
        self._editing = Editing(desk, self._choice, self._practice.refuse_while_playing)
        self._played_on.meet()
        self._told_state: tuple[StateName, tuple[str, str]] | None = None
        self.tick_at = 0.0
        self._told_tune = ""
        self._showing = None if bus is None or person.role != "student" else self._shown(bus, wall)

    def _shown(self, bus: Bus, wall: Callable[[], datetime]) -> Showing:
        showing = self.pages.observer = Showing(
            self.person,
            bus,
            self.pages,
            scene=lambda: self._scene(None),
            choose=self._change,
            overhear=self._inputs.overhear,
            reread=self._reread,
            wake=self._wake,
            now=self._now,
            wall=wall,
        )
        showing.told(self._state())
        return showing

    def _wake(self, at: float) -> None:
        self.tick_at = min(self.tick_at, at)

    def _reread(self) -> None:
        self.lesson.reread()

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
        self.tick_at = 0.0
        page = self.pages.come(seat, link)
        self._inputs.entering.forget(seat)  # until it asks again
        page.send(self._hello(self.name, page))
        page.send(wire.Tunes(self._listed()))
        page.send(self._midi.ports())
        for message in self._scene(page):
            page.send(message)
        if self._lessons.learned is not None:
            page.send(self._lessons.learned)
        if trouble := self._played_on.trouble():
            page.send(wire.Failure(trouble, "instrument"))
        if trouble := self._diary.trouble:
            page.send(wire.Failure(trouble, "records"))
        self.lesson.joined(page)
        if self._showing is not None:
            self._showing.joined(page)
        page.ping_if_due(self._now())
        return page

    def _scene(self, page: Page | None) -> list[wire.FromService]:
        """All that makes up what is seen now, for a page or, where none is named, for those who look on."""
        scene: list[wire.FromService] = [self._state()]
        if self._after.report is not None:
            scene.append(self._after.report)
        begin = self._runner.begin_for(page)
        return scene if begin is None else [*scene, begin, *self._runner.told]

    def folder_of(self, number: int) -> Path | None:
        """The folder in which a pass is kept; None where there is none."""
        return self._after.folder_of(number)

    def place_of(self, number: int) -> tuple[Path, int] | None:
        """The folder in which a pass is kept and its number there; None where there is none."""
        return self._after.place_of(number)

    @property
    def is_deserted(self) -> bool:
        """Whether no page is here and nothing is played."""
        return self._runner.order is None and not self.pages.here

    @property
    def is_played(self) -> bool:
        """Whether a pass is being played."""
        return self._runner.order is not None

    def plays(self, tune: str) -> bool:
        """Whether a tune is chosen, or is the one of the pass that is played."""
        order = self._runner.order
        return tune == self.chosen.tune or (order is not None and tune == order.piece.tune)

    def practises(self, tune: str) -> bool:
        """Whether a tune is played that the player has, beside that it was named."""
        return self.plays(tune) and (tune != self.chosen.tune or self._choice.has_solos)

    def take(self, page: Page, message: wire.FromPage) -> None:
        """Take a message of a page.

        Raises:
            CoachError: when what it asks cannot be done.
        """
        if not isinstance(message, wire.Notes | wire.Pong):
            self.tick_at = 0.0
        match message:
            case wire.Notes():
                self._inputs.take_notes(page, message)
            case wire.Input():
                self._inputs.take_input(page, message)
                self._meet()
            case wire.Pong():
                self._take_pong(page, message)
            case wire.Sounding():
                if self._runner.sounding(page, message.number, message.origin):
                    self._practice.tell_begin(*(other for other in self.pages.values() if other is not page))
                    self._practice.show_begin()
                    self.tell_state()
            case wire.Settings():
                self._change(message)
            case wire.Start():
                self.ruled()
                self._practice.start(page if message.sounds else None)
            case wire.Stop():
                self._practice.stop()
            case wire.Again():
                self._practice.again(page)
            case wire.NextRung():
                self._practice.next_rung(page)
            case wire.Sitting():
                self._practice.sit(message.minutes)
            case wire.Calibrate():
                self._practice.calibrate(page if message.sounds else None)
            case wire.LearnFoot():
                self._learn_foot(message.does)
            case wire.Mark():
                self._practice.mark(clean=message.clean)
            case wire.Enter():
                self._inputs.entering.ask(page, on=message.on)
            case wire.Edit() | wire.Undo() | wire.Redo():
                self._editing.ask(page, message)
            case wire.Join() | wire.Desk() | wire.LookOn() | wire.Steer():
                raise InputError("the page has joined already")
            case wire.Answer():
                if self._showing is None:
                    raise InputError("nothing was offered")
                self._showing.answer(message)

    # ------------------------------------------------------------------------------------------ inputs

    def midi_in(self, seat: str, note: CapturedNote) -> None:
        """Take a message that the service itself captured."""
        self._inputs.midi_in(seat, note)

    def midi_lost(self, seat: str) -> None:
        """An input of the service has vanished."""
        self._inputs.lost(seat)

    def _take_pong(self, page: Page, pong: wire.Pong) -> None:
        is_first = page.clock.is_empty
        page.take_pong(pong, self._now())
        self._runner.lose_clock(page)
        order = self._runner.order
        if is_first and order is not None and order.sounder is not page:
            self._practice.tell_begin(page)  # now it is known when position 0 is heard on its clock
        self._practice.start_if_possible()

    def _press(self, does: str) -> None:
        """A foot switch was pressed."""
        switch = self.chosen.switches[does]
        assert switch is not None
        self.pages.broadcast(wire.Foot(switch.name, DID[does]))
        try:
            {"start": self._practice.toggle, "again": self._practice.again, "next": self._practice.next_rung}[does]()
        except CoachError as error:
            self.pages.broadcast(wire.Failure(str(error), "foot"))

    def _learn_foot(self, does: str) -> None:
        self._practice.refuse_while_playing()
        self._inputs.learn_foot(does)
        self.tell_state()

    def _set_switch(self, does: str, name: str) -> None:
        self._lessons.set_switch(does, name)
        self.tell_state()

    # ------------------------------------------------------------------------------------------ settings

    def recall(self, given: Callable[[], Collection[str]], *, is_whole: Callable[[], bool]) -> None:
        """Ask for what is remembered of the player; then a tune is chosen, as :meth:`choose_first` does."""

        def opened() -> None:
            self._coaching.opened()
            self._coaching.arrived()
            self.choose_first(given(), is_whole=is_whole())
            self.tell_state()

        self._diary.recall(opened)

    def choose_first(self, given: Collection[str], *, is_whole: bool) -> None:
        """Choose the tune to begin with: that of the last time, else the first, and among ``given`` ones, if any.

        Args:
            given: the ids of the tunes that the service was begun with.
            is_whole: whether the list of tunes is whole.
        """
        if self._coaching.choose_first(given, is_whole=is_whole):
            self.tell_state()

    def _change(self, message: wire.Settings) -> None:
        if (message.midi_in, message.midi_out, message.midi_foot) != (None, None, None):
            try:
                self._midi.choose(midi_in=message.midi_in, midi_out=message.midi_out, midi_foot=message.midi_foot)
            finally:
                self.tell_ports()
        message = self._meet_rules(message)
        self._coaching.asked(message)
        wishes = self._coaching.wishes
        before = self._choice.change(message)
        self._after.settings_changed(before, self.chosen)
        self._coaching.changed(message, wishes_before=wishes)
        try:
            self._played_on.told(message)
        finally:
            self.tell_state()

    def _tell_report(self, report: wire.PracticeReport) -> None:
        self.pages.broadcast(report)
        self.tick_at = 0.0  # a pass may wait for this
        if report.whole and report.clean:
            self.lesson.reread()  # what was reached of what is set may be more now

    def _rules_of(self, tune: str) -> Rules | None:
        return self.lesson.rules_of(tune)

    def ruled(self) -> None:
        """What a teacher has set may be otherwise now, or its last day over."""
        if self._coaching.ruled():
            self.tell_state()

    def _meet_rules(self, message: wire.Settings) -> wire.Settings:
        """Settings as far as what a teacher has set for the tune lets them be; a tempo that is too fast is less, in
        words.

        Raises:
            InputError: when what a teacher has set would change.
        """
        self.ruled()
        for tune in dict.fromkeys(
            (self.chosen.tune, self._choice.at_hand) if message.tune is None else (message.tune,)
        ):
            rules = self.lesson.rules_of(tune)
            refuse(message, rules)
            message, said = clamped(message, rules)
            if said:
                self.pages.broadcast(wire.Failure(said, "assigned"))
        return message

    def _meet(self) -> None:
        """See what is played on now; what was learned of one instrument says nothing of another."""
        if self._played_on.meet():
            self._lessons.learned = None
            self._inputs.changed()
            self.tell_state()

    def edits_changed(self, tune: str) -> None:
        """The edits of a tune are others now, whoever made them."""
        self._editing.changed(tune)

    def licks_changed(self) -> None:
        """The licks that solos are made with are others now."""
        self._choice.make_anew()

    def _solos_arrived(self, error: CoachError | None) -> None:
        if error is not None:
            self._practice.stop_waiting()
            self.pages.broadcast(wire.Failure(str(error), "tune"))
        self._coaching.arrived()
        self.tell_state()
        self._practice.start_if_possible()

    # ------------------------------------------------------------------------------------------ time and state

    def _over(self, ended: Ended) -> None:
        self._practice.over(ended)

    def tick(self) -> None:
        """Time goes on; called when ``tick_at`` has come, or sooner."""
        self.pages.tick()
        if self._runner.order is None:
            for seat in self.pages.forget():
                self._inputs.forget(seat)
        self._meet()
        for seat, note in self._midi.due():
            self.midi_in(seat, note)
        self._inputs.tick()
        self._runner.tick(self.pages.values())
        self._diary.tick()
        self._practice.tick()
        if self._showing is not None:
            self._showing.tick()
        if (self._practice.state, self._inputs.learning_foot) != self._told_state:
            self.tell_state()
        self.tick_at = self._now() + self._at_ease()
        if self._showing is not None:
            self._wake(self._showing.due)

    def _at_ease(self) -> float:
        """For how many seconds nothing happens here but by messages."""
        if self._midi.reserved or self._inputs.learning_foot[0] or self._practice.is_about_to_change:
            return 0.0
        here = self.pages.here
        if any(page.is_settling for page in here):
            return 0.0
        return UNHURRIED if here or self._runner.order is not None else DESERTED

    def close(self) -> None:
        """The service ends, or needs the session's place."""
        self._runner.close()
        if self._showing is not None:
            self._showing.close()

    def tell_state(self) -> None:
        """Tell every page how the session stands."""
        self._told_state = self._practice.state, self._inputs.learning_foot
        self.pages.broadcast(self._state())
        if self.chosen.tune != self._told_tune:
            self._told_tune = self.chosen.tune
            self.lesson.chosen(self._told_tune)

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
        shown = order if order is not None and order.is_kept else None
        solo = self._choice.solo if shown is None else shown.solo
        waits = order is not None and self._runner.is_waiting
        return state_of(
            chosen,
            name=self._practice.state,
            number=self._practice.number,
            solo=solo,
            title=next((line.title for line in self._listed() if line.id == chosen.tune), ""),
            rung=self._coaching.told_rung(),
            waiting="Waiting for the page to sound the click." if waits else self._choice.waiting,
            instrument=self._played_on.name,
            is_learned=self._played_on.is_learned,
            learning=order is not None and not order.is_kept,
            foot=self._inputs.learning_foot,
            sitting=self._coaching.sitting(),
            thinks=self._coaching.thinks,
            solos=self._choice.solos,
            edits=self._editing.told(shown),
        )
